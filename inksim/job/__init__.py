"""A whole run: colors decided together under the stations of the press, with costs and why.

The search keeps every way that nothing beats (the Pareto front); `decide` names the one to take."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
