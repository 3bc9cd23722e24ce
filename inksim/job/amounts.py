"""Ink and water of one way to print a job."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.common import counted
from inksim.decision import Evaluated
from inksim.job.costs import Bill, CostItem, InkUse, Rates
from inksim.job.drying import dryer_load, ink_water_g_m2
from inksim.job.job import Job
from inksim.job.options import CM2_PER_M2, layers_of
from inksim.job.press_screens import PressScreen
from inksim.job.search import Way
from inksim.shop import CostsEntry
from inksim.stock import handling_of


def ink_uses(
    screens: Sequence[PressScreen], *, costs: CostsEntry, low_cure: bool
) -> tuple[InkUse, ...]:
    """Amount of each ink, in print order. low_cure: see `handling_of`."""
    more = costs.kept_in_screen_g - costs.ink_left_g_per_screen
    stock: dict[str, list[PressScreen]] = {}
    for each in screens:
        stock.setdefault(each.ink.name, []).append(each)
    return tuple(
        InkUse(
            name=name,
            print_g=sum(each.print_g for each in own),
            run_g=sum(each.run_g for each in own),
            ready_g=sum(each.run_g + more for each in own),
            price_per_kg=own[0].ink.price_per_kg,
            handling=handling_of(own[0].ink, low_cure=low_cure),
        )
        for name, own in stock.items()
    )


def water_g(job: Job, evaluated: Evaluated, way: Way) -> float:
    """Water in all films of one print, g."""
    total = 0.0
    for option in way.options:
        if option.bare:
            continue
        layers = layers_of(evaluated, option.build)
        water = ink_water_g_m2(
            np.array([wet for _, wet in layers]),
            solids_by_volume=np.array([ink.solids_by_volume for ink, _ in layers]),
        )
        total += float(water.sum()) * job.colours[option.colour].area_cm2 / CM2_PER_M2
    return total


def second_run_kwh(job: Job) -> float:
    """Energy to heat and dry the cloth once more, for all shirts."""
    (garment,) = job.garments
    load = dryer_load(0.0, garment=garment, cloth_g=garment.weight_g_m2 * job.cloth_m2)
    return load.kwh(job.quantity, efficiency=job.costs.dryer_efficiency)


def second_run_cost(job: Job, rates: Rates) -> float:
    """Cost of putting every shirt on the press once more: loading, and the dryer."""
    return job.quantity * rates.per_garment + second_run_kwh(job) * rates.per_kwh


def plate_key(screen: PressScreen) -> tuple[object, ...]:
    """What makes screens of two garments one: ink, mesh, strokes and the colors on the plate."""
    return screen.ink.name, screen.screen.name, screen.goes, screen.base, screen.colours


def shared_bill(
    parts: Sequence[tuple[Bill, Sequence[PressScreen]]], *, rates: Rates
) -> Bill | None:
    """The bill of a job on several garments: a screen that two of them use is made once.

    parts: of each garment its bill and its screens, see `plate_key`.
    """
    if not parts:
        return None
    keys = {plate_key(screen) for _, own in parts for screen in own}
    items: dict[str, CostItem] = {}
    for bill_of, _ in parts:
        for item in bill_of.items:
            there = items.get(item.name)
            items[item.name] = CostItem(
                name=item.name, amount=item.amount + (there.amount if there else 0.0), how=""
            )
    if "screens" in items:
        items["screens"] = CostItem(
            name="screens", amount=len(keys) * rates.per_screen, how=counted(len(keys), "screen")
        )
    return Bill(
        currency=rates.currency,
        items=tuple(items.values()),
        missing=tuple(dict.fromkeys(m for bill_of, _ in parts for m in bill_of.missing)),
        quantity=sum(bill_of.quantity for bill_of, _ in parts),
    )
