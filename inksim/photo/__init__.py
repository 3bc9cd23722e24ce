"""Colors read from a photo or a scan in which a chart of known patches lies, with how sure.

A shop without an instrument has a camera or a scanner. A chart in the same picture tells what they
make of known colors (`camera_of`); every other region is then read through that camera. Says of
each color how far it may be off by itself, and how far with all others of the picture.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
