"""Targets by name, color value or file of readings."""

from __future__ import annotations

from inksim.readings import reading_suffixes, split_reference
from inksim.shop.shop import Shop
from inksim.stock import Target


def target_of(shop: Shop, text: str) -> Target:
    """Look up a target: a name or value (`Shop.target`), or a reading, ``FILE`` or ``FILE#sample``.

    Raises
    ------
    InputError : it is neither; see `Shop.target` and `pick`.
    """
    file, _ = split_reference(text)
    named = {name.lower() for names in (shop.targets, shop.palette) for name in names}
    a_file = file.is_file() or file.suffix.lower() in reading_suffixes()
    if text.strip().lower() in named or not a_file:
        return shop.target(text)
    from inksim.readings import pick, target_from_reading  # few targets are read from a file

    return target_from_reading(pick([text]))
