"""What it takes to print a set of tonal plates: screens on the press, ink, dryer and cost.

Flat colors get theirs from the decision on their job; a picture in halftones from its plates, by
the same amounts, rates and order.
"""

from __future__ import annotations

from dataclasses import dataclass

from inksim.job import (
    CLOTH_M2,
    Bill,
    DryerLoad,
    InkUse,
    PressScreen,
    bill,
    dryer_load,
    film_water_g,
    ink_uses,
    rates_of,
    run_ink_g,
)
from inksim.separation.plates import PlateSet
from inksim.separation.tonal_inks import press_barrier
from inksim.shop import Shop, StationsEntry
from inksim.stock import cure_of


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateRun:
    """The run of a set of plates.

    screens: in print order, numbered; a plate's color index is its place among them. stations:
    taken, flash units with them; press: what there is. cure: °C and s. barrier: why the press
    cannot print it and what would help; '' if it can.
    """

    plates: PlateSet
    quantity: int
    press: StationsEntry
    screens: tuple[PressScreen, ...]
    inks: tuple[InkUse, ...]
    dryer: DryerLoad
    cure: tuple[float, float]
    bill: Bill
    stations: int
    barrier: str


def run_of_plates(
    plates: PlateSet,
    *,
    shop: Shop,
    quantity: int = 1,
    press: StationsEntry | None = None,
    cloth_m2: float = CLOTH_M2,
) -> PlateRun:
    """Work out the run of a set of plates on a shop's press.

    Parameters
    ----------
    plates : in print order, base first.
    quantity : prints. press: the shop's if not given. cloth_m2: cloth of one garment.
    """
    press = press or shop.stations
    screens = tuple(
        PressScreen(
            number=at + 1,
            run=1,
            ink=plate.ink,
            screen=plate.layer.screen,
            goes=(plate.layer.passes,),
            flash=plate.layer.flash if plate.is_base else None,
            base=plate.is_base,
            over=tuple(range(1, len(plates.plates))) if plate.is_base else (),
            shows=() if plate.is_base else (at,),
            area_cm2=plate.area_cm2,
            print_g=plate.ink_g,
            run_g=float(
                run_ink_g(
                    plate.ink_g,
                    quantity=quantity,
                    waste_share=shop.costs.waste_share,
                    left_g=shop.costs.ink_left_g_per_screen,
                )
            ),
            choke_mm=plates.choke_mm if plate.is_base else None,
        )
        for at, plate in enumerate(plates.plates)
    )
    flashes = sum(bool(screen.flash) for screen in screens)
    water = sum(film_water_g(plate.ink, plate.ink_g) for plate in plates.plates)
    low = shop.dye_migrates(plates.garment)
    cure = cure_of([screen.ink for screen in screens], low_cure=low)
    dryer = dryer_load(
        water,
        garment=plates.garment,
        cloth_g=plates.garment.weight_g_m2 * cloth_m2,
        cure_celsius=cure[0],
    )
    inks = ink_uses(screens, costs=shop.costs, low_cure=low)
    return PlateRun(
        plates=plates,
        quantity=quantity,
        press=press,
        screens=screens,
        inks=inks,
        dryer=dryer,
        cure=cure,
        bill=bill(
            rates_of(shop.costs),
            quantity=quantity,
            screens=len(screens),
            strokes=sum(screen.strokes for screen in screens),
            flashes=flashes,
            inks=inks,
            dryer_kwh=dryer.kwh(quantity, efficiency=shop.costs.dryer_efficiency),
        ),
        stations=press.taken(screens=len(screens), flashes=flashes),
        barrier=press_barrier(
            sum(not screen.base for screen in screens), plates.route or "straight", press
        ),
    )
