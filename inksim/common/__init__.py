"""What every room needs: errors in words, units, words said everywhere, files written whole.

Nothing here knows what an ink is. An error raised by inksim is an `InksimError`; bad input is an
`InputError`, one sentence that says what, where, the value, what is allowed and what to do next."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
