"""Instrument files to spectra: CSV, CGATS.17, CxF3 and lists of colors.

A reading keeps its conditions (geometry, light, observer, backing) and is checked once, here; a new
format is a row in `formats` and a module. This room knows of no shop."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
