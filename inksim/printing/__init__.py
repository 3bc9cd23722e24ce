"""The print model: a build on a garment to its color, with how sure.

A `Build` is lowered once to plain arrays (`Slabs`); only those meet the optics. `predict` gives
colors, `sensitivity` and `uncertainty` the intervals around them."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
