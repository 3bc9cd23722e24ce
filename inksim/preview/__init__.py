"""An artwork on a garment as it is decided and by every route, for command line and app alike.

From a picture file to the pictures, colors and verdicts that commands write and pages show."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
