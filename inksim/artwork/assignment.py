"""Inks given to flat colors by hand, in a mapping file: what is not named is decided."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from inksim.artwork.flats import Flats
from inksim.common import InputError, hex_key, toml_of
from inksim.shop import Shop
from inksim.stock import Ink

NOT_PRINTED = "none"


def read_mapping(path: Path) -> dict[str, str]:
    """Read a small TOML file of `"#rrggbb" = "Ink Name"` lines; 'none' leaves a color bare.

    Raises
    ------
    InputError : unreadable, not TOML, or something else than text on either side.
    """
    try:
        document = toml_of(path.read_bytes())
    except OSError as error:
        raise InputError(f"mapping '{path}' cannot be read: {error.strerror}.") from None
    except InputError as error:
        raise InputError(f"mapping '{path}' is {error}.") from None
    for code, ink in document.items():
        if not isinstance(ink, str):
            raise InputError(
                f'mapping \'{path}\', {code}: write lines like "#e8622c" = "Ink Name".'
            )
    return document


def mapped_inks(
    flats: Flats, mapping: Mapping[str, str], *, shop: Shop, source: str = "the mapping"
) -> dict[str, Ink | None]:
    """The ink of each mapped flat by its hex code; None where it is left bare.

    source: what holds the mapping, as the message says it.

    Raises
    ------
    InputError : a color the artwork does not have, or an unknown ink.
    """
    known = [flat.hex for flat in flats.colours]
    result: dict[str, Ink | None] = {}
    for code, name in mapping.items():
        normal = hex_key(code)
        if normal not in known:
            raise InputError(
                f"{source} names {code}, which is no flat color of this artwork; "
                f"it has {', '.join(known)}."
            )
        result[normal] = None if name.lower() == NOT_PRINTED else shop.ink(name)
    return result
