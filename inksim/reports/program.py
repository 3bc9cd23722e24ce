"""What made a document: it stands on every one, so that a number can be made again."""

from inksim import __version__

PROGRAM = f"inksim {__version__}"
