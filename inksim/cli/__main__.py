"""Run the command line: `python -m inksim.cli`."""

from inksim.cli.commands import main

main()
