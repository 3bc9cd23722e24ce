"""Drawing: cloth, labels and halftones to pixels, shirts, contact sheets.

One table look-up per pixel; pictures are shrunk in linear light."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
