"""A picture file to pixels, to flat colors, and to the inks that print them.

Untrusted drawings (SVG, PDF, layers) are rendered in a sandboxed child process. `assignment` reads
the inks given to flats by hand."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
