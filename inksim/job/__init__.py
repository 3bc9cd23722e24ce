"""A whole run: colors decided together under the stations of the press, with costs and why.

The search returns the Pareto front of ways to print the job; `decide_job` chooses among them."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
