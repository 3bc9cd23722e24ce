"""What is kept of a job: its folder, the proofs issued, and whether what was promised came true.

A kept job is a folder under the shop with a file that a person can edit. A proof seals what it
promises before anything is printed; readings of the print score it later."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
