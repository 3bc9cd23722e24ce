"""What a shop owns and aims at: ink, garment, screen, press, target, as frozen dataclasses.

Every number says where it comes from (`Provenance`: measured, photo, recovered or invented), and
`provenance` holds the prior standard deviations that follow from that."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
