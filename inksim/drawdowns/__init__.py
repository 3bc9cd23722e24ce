"""Absorption and scattering of inks from films drawn down on cards.

One least squares over all inks and films of a sheet, with standard errors, and findings in shop
words on what the sheet can and cannot tell."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
