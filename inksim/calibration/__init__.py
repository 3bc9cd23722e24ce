"""Calibration of the press from readings of its own prints: posterior, checks and history.

The fit is maximum a posteriori, with the priors of the press and of the inks. `prints_to_read`
proposes which prints to read next."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
