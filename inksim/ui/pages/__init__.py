"""Pages, a module each; the parts of a long one are modules named after it."""
