"""Light in ink films: Kubelka-Munk layers, the surface, uneven films, halftone dots.

Short pure functions over arrays, each with its equation and source. Nothing here knows of shops,
inks by name, files or pages."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
