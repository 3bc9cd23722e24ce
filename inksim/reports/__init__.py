"""Reports: text, JSON and PDF, charts, press tickets and proofs.

Words and layout only: every number comes from a room below."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
