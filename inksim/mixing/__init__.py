"""The ink room: the print model inverted, from a color to the inks that print it.

`find_recipes` looks over all small sets of a shop's inks on every sensible build of a garment;
`recipes_for` says what a drawdown was made of. How inks mix is `stock`'s, what a print looks like
`printing`'s, and what may be promised of it `decision`'s."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
