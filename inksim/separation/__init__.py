"""Tonal pictures to halftone plates, and plates to files.

The print model inverted per pixel, through a lattice over sRGB; trap, choke and register; soft
proofs as .cube and ICC profile."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
