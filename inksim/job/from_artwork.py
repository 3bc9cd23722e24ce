"""Make a job of an artwork: its flat colors with their areas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from inksim.artwork import Flats, mapped_inks
from inksim.common import InputError, hex_key
from inksim.decision import on_top
from inksim.job.job import MM2_PER_CM2, Job, JobColour
from inksim.job.schema import BASE_CHOKE_MM, CLOTH_M2, Preference
from inksim.printing import Route
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, target_from_hex

T = TypeVar("T")


def colours_of_flats(
    flats: Flats,
    *,
    shop: Shop,
    width_px: int,
    width_mm: float,
    tolerance: float,
    inks: Mapping[str, str] | None = None,
    routes: Mapping[str, Route] | None = None,
    tolerances: Mapping[str, float] | None = None,
    source: str = "the mapping",
) -> tuple[JobColour, ...]:
    """The colors of an artwork printed at a width, each named by its code; those left out are not.

    inks: ink names by the hex code of a flat ('none' leaves it out); the others are chosen by the
    decision. routes, tolerances: of single flats, by hex code. source: what holds the inks, as
    messages say it.

    Raises
    ------
    InputError : an unknown ink or flat, an ink that is no color, or nothing left to print.
    """
    cm2_per_px = (width_mm / width_px) ** 2 / MM2_PER_CM2
    mapped = mapped_inks(flats, inks or {}, shop=shop, source=source)
    by_hand = of_flats(flats, routes or {}, what="routes")
    within = of_flats(flats, tolerances or {}, what="tolerances")
    colours = tuple(
        JobColour(
            name=flat.hex,
            target=target_from_hex(flat.hex),
            ink=None if (ink := mapped.get(flat.hex)) is None else on_top(ink),
            area_cm2=flat.pixels * cm2_per_px,
            tolerance=within.get(flat.hex, tolerance),
            route=by_hand.get(flat.hex),
        )
        for flat in flats.colours
        if mapped.get(flat.hex, True) is not None
    )
    if not colours:
        raise InputError("nothing is left to print; leave fewer colors out.")
    return colours


def of_flats(flats: Flats, values: Mapping[str, T], *, what: str) -> dict[str, T]:
    """Values by the hex code of a flat, the codes as the flats have them.

    Raises
    ------
    InputError : a color that the artwork does not have.
    """
    known = [flat.hex for flat in flats.colours]
    made = {}
    for code, value in values.items():
        normal = hex_key(code)
        if normal not in known:
            raise InputError(
                f"{what} names {code}, which is no flat color of this artwork; it has "
                f"{', '.join(known)}."
            )
        made[normal] = value
    return made


def job_of_artwork(
    name: str,
    flats: Flats,
    *,
    width_px: int,
    width_mm: float,
    shop: Shop,
    garments: Sequence[Garment],
    quantity: int = 1,
    tolerance: float | None = None,
    inks: Mapping[str, str] | None = None,
    choke_mm: float = BASE_CHOKE_MM,
    press: StationsEntry | None = None,
    prefer: Preference = "work",
    merge: bool = True,
    keep_apart: Sequence[str] = (),
) -> Job:
    """Make a job of an artwork printed at a width.

    Parameters
    ----------
    flats : of the artwork. inks: by hand, see `colours_of_flats`.
    quantity : of each garment. tolerance, press: the shop's if not given.

    Raises
    ------
    InputError : nothing is printed, or an unknown ink or flat.
    """
    return Job(
        name=name,
        invented=shop.invented,
        note="",
        garments=tuple(garments),
        quantities=(quantity,) * len(garments),
        colours=colours_of_flats(
            flats,
            shop=shop,
            width_px=width_px,
            width_mm=width_mm,
            tolerance=shop.habits.tolerance_de00 if tolerance is None else tolerance,
            inks=inks,
        ),
        press=press or shop.stations,
        lines_per_inch=0.0,
        cloth_m2=CLOTH_M2,
        base_choke_mm=choke_mm,
        prints_per_hour=None,
        costs=shop.costs,
        prefer=prefer,
        merge=merge,
        keep_apart=tuple(keep_apart),
    )
