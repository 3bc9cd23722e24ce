"""inksim: what a semi-transparent ink will look like printed on a coloured garment."""

__version__ = "0.1.0"
