"""Which ink prints which flat color: from a mapping file, or the nearest predicted print."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inksim.artwork.flats import FlatColour, Flats
from inksim.colour import Viewing, delta_e_2000, lab_from_hex
from inksim.common import InputError
from inksim.printing import predict_nominal
from inksim.shop import Shop, usable_routes, usual_build
from inksim.stock import Garment, Ink

NOT_PRINTED = "none"


@dataclass(frozen=True, kw_only=True)
class Assignment:
    """One flat color of the artwork and the ink that prints it; ink None leaves it bare."""

    flat: FlatColour
    ink: Ink | None
    chosen_by: str


def read_mapping(path: Path) -> dict[str, str]:
    """Read a small TOML file of `"#rrggbb" = "Ink Name"` lines; 'none' leaves a color bare.

    Raises
    ------
    InputError : unreadable, not TOML, or something else than text on either side.
    """
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"mapping '{path}' cannot be read: {error.strerror}.") from None
    except (ValueError, RecursionError) as error:
        raise InputError(f"mapping '{path}' is not a TOML text file: {error}.") from None
    for code, ink in document.items():
        if not isinstance(ink, str):
            raise InputError(
                f'mapping \'{path}\', {code}: write lines like "#e8622c" = "Ink Name".'
            )
    return document


def assign_inks(
    flats: Flats, *, shop: Shop, garment: Garment, mapping: Mapping[str, str] | None = None
) -> tuple[Assignment, ...]:
    """Assign an ink to every flat color: from the mapping, else the nearest predicted print.

    Nearest: the smallest ΔE00 between the flat (sRGB) and the ink's usual print over a white base
    on this garment, so that the ink is chosen for its own color and not for the cloth's.

    Raises
    ------
    InputError : a mapped color the artwork does not have, an unknown ink, or no color ink at all.
    """
    viewing = Viewing()
    if not flats.colours:
        raise InputError("the artwork prints nothing: every pixel of it is transparent.")
    inks = shop.colour_inks
    if not inks:
        raise InputError("this shop has no ink of kind 'colour'; add one to inks.toml.")
    wanted = mapped_inks(flats, mapping or {}, shop=shop)
    # Without a white base the ink's own color is best seen straight on the cloth.
    route = usable_routes(garment, shop=shop)[-1]
    builds = [usual_build(shop, garment=garment, ink=ink, route=route) for ink in inks]
    prints = np.stack(
        [p.lab for p in predict_nominal(builds, press=shop.press.values, viewing=viewing)]
    )
    made = []
    for flat in flats.colours:
        if flat.hex in wanted:
            made.append(Assignment(flat=flat, ink=wanted[flat.hex], chosen_by="mapping"))
            continue
        distance = delta_e_2000(lab_from_hex(flat.hex, viewing), prints)
        made.append(
            Assignment(flat=flat, ink=inks[int(np.argmin(distance))], chosen_by="nearest print")
        )
    return tuple(made)


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
        normal = "#" + code.strip().lstrip("#").lower()
        if normal not in known:
            raise InputError(
                f"{source} names {code}, which is no flat color of this artwork; "
                f"it has {', '.join(known)}."
            )
        result[normal] = None if name.lower() == NOT_PRINTED else shop.ink(name)
    return result
