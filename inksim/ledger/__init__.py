"""What is kept of a job: its folder, the proofs issued, and whether what was promised came true."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
