"""A target by name, by color or by a reading in a file."""

from __future__ import annotations

from inksim.readings import pick, reading_suffixes, split_reference, target_from_reading
from inksim.shop.shop import Shop
from inksim.stock import Target


def target_of(shop: Shop, text: str) -> Target:
    """Find a target by name or color, or read it from a file as ``FILE`` or ``FILE#sample``.

    Raises
    ------
    InputError : it is neither; see `Shop.target` and `pick`.
    """
    file, _ = split_reference(text)
    named = {name.lower() for names in (shop.targets, shop.palette) for name in names}
    a_file = file.is_file() or file.suffix.lower() in reading_suffixes()
    if text.strip().lower() in named or not a_file:
        return shop.target(text)
    return target_from_reading(pick([text]))
