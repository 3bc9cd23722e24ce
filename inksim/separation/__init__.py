"""Separation of tonal and flat pictures into plates, and plates to files.

The print model is inverted on a lattice over sRGB and applied per pixel. Also trap, choke and
register, and soft proofs as .cube and ICC profile."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
