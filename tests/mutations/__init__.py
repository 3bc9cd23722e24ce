"""One-line changes of the program, each of which some test has to notice."""
