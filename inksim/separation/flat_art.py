"""Plates of flat artwork: those of the screens that its decided job is printed with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from inksim.common import MM_PER_INCH, InputError, Uint8Array
from inksim.job import PressScreen
from inksim.printing import Layer
from inksim.separation.fine_lines import least_line_mm
from inksim.separation.plates import PlateSet, check_plates, plate_of, wet_um
from inksim.separation.trap import choked, trapped
from inksim.shop import Shop
from inksim.stock import Garment


def flat_shirts(
    labels: Uint8Array,
    screens: Sequence[PressScreen],
    colours: Sequence[int | None],
    *,
    px_per_mm: float,
    choke_mm: float,
    trap_mm: float,
) -> list[Uint8Array]:
    """What each screen prints, (H, W) uint8, 255 a solid.

    A base is under the colors that go over it, choked there, and where it is a color itself;
    colors are trapped into their neighbors, but not into a base that they lie on anyway.

    Parameters
    ----------
    labels (H, W) : 0 bare cloth, n the n-th of `colours`.
    screens : of one way, in print order.
    colours : the color of the job that each flat is; None where it is left out.
    """

    def area(which: Iterable[int]) -> Uint8Array:
        table = np.zeros(256, dtype=np.uint8)
        table[[n for n, colour in enumerate(colours, start=1) if colour in set(which)]] = 255
        return table[labels]

    shown = [area(screen.shows) for screen in screens]
    made = []
    for at, screen in enumerate(screens):
        if screen.base:
            under = area(screen.over)
            whole = np.maximum(under, shown[at])
            made.append(choked(whole, [under], radius_px=choke_mm * px_per_mm))
            continue
        others = [
            shown[n]
            for n, other in enumerate(screens)
            if n != at and other.shows and not set(screen.shows) & set(other.over)
        ]
        made.append(trapped(shown[at], others, radius_px=trap_mm * px_per_mm))
    return made


def screen_layers(screen: PressScreen) -> tuple[Layer, ...]:
    """The films that a screen lays down: two where it is printed, flashed and printed again."""
    return tuple(
        Layer(
            ink=screen.ink,
            screen=screen.screen,
            passes=strokes,
            flash=screen.flash is not False,
        )
        for strokes in screen.goes
    )


def flat_plates(
    labels: Uint8Array,
    screens: Sequence[PressScreen],
    colours: Sequence[int | None],
    *,
    garment: Garment,
    shop: Shop,
    dpi: float,
    choke_mm: float = 0.0,
    trap_mm: float = 0.0,
) -> PlateSet:
    """Make the plates of flat artwork: one for each screen of the way decided, in print order.

    Parameters
    ----------
    labels, screens, colours : see `flat_shirts`.
    shop : whose press prints them, and whose rules say what the cloth holds.

    Raises
    ------
    InputError : nothing is printed, dpi out of reason, a choke or trap below 0 or above 2 mm.
    """
    check_plates(dpi, choke_mm, trap_mm)
    if not screens:
        raise InputError("no color of the artwork is printed: there is no plate to make.")
    shirts = flat_shirts(
        labels,
        screens,
        colours,
        px_per_mm=dpi / MM_PER_INCH,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
    plates = [
        plate_of(
            screen_layers(screen)[0],
            film=shirt,
            shirt=shirt,
            wet_um=sum(wet_um(garment, screen_layers(screen), shop.press.values)),
            detail_mm=least_line_mm(screen.screen, cloth_mm=shop.rules.least_line_on_knit_mm),
            is_base=screen.base,
            dpi=dpi,
            lines_per_inch=0.0,
            goes=screen.goes,
            run=screen.run,
        )
        for screen, shirt in zip(screens, shirts, strict=True)
    ]
    return PlateSet(
        garment=garment,
        route=None,
        plates=tuple(plates),
        dpi=dpi,
        lines_per_inch=0.0,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
