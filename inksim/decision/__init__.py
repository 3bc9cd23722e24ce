"""Which build, base and ink: every sensible build of a shop, compared with a target.

`advise` decides for one color on one garment, `palette_on_stock` for a palette on every garment.
The rules of the trade say which builds a printer would consider, and why."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
