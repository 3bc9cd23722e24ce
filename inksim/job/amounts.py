"""Ink and water of one way to print a job."""

from __future__ import annotations

import numpy as np

from inksim.decision import Evaluated
from inksim.job.costs import InkUse, ink_per_print_g, run_ink_g
from inksim.job.drying import ink_water_g_m2
from inksim.job.job import Job
from inksim.job.search import CM2_PER_M2, Way
from inksim.stock import Ink


def ink_uses(job: Job, evaluated: Evaluated, way: Way) -> tuple[InkUse, ...]:
    """Amount of each ink, bases first: on one print, and to have ready for the run."""
    space = evaluated.space
    grams: dict[str, float] = {}
    stock: dict[str, Ink] = {}
    screens: dict[str, set[object]] = {}

    def add(ink: Ink, wet_um: float, area_cm2: float, screen: object) -> None:
        stock[ink.name] = ink
        laid = ink_per_print_g(wet_um, area_cm2=area_cm2, density_g_cm3=ink.density_g_cm3)
        grams[ink.name] = grams.get(ink.name, 0.0) + float(laid)
        screens.setdefault(ink.name, set()).add(screen)

    for ground in way.grounds:
        for option in way.options:
            if option.ground == ground:
                base = space.bases[ground.base]
                area = job.colours[option.colour].area_cm2
                add(base, float(evaluated.wet_um[option.build, 0]), area, ground)
    for option in way.options:
        ink = space.inks[option.screen[0]]
        area = job.colours[option.colour].area_cm2
        add(ink, float(evaluated.wet_um[option.build, 1]), area, option.screen)
    return tuple(
        InkUse(
            name=name,
            print_g=print_g,
            run_g=float(
                run_ink_g(
                    print_g,
                    quantity=job.quantity,
                    waste_share=job.costs.waste_share,
                    left_g=job.costs.ink_left_g_per_screen * len(screens[name]),
                )
            ),
            price_per_kg=stock[name].price_per_kg,
        )
        for name, print_g in grams.items()
    )


def water_g(job: Job, evaluated: Evaluated, way: Way) -> float:
    """Water in all films of one print, g."""
    space, total = evaluated.space, 0.0
    for option in way.options:
        layers = [space.inks[option.screen[0]].solids_by_volume]
        wet = [evaluated.wet_um[option.build, 1]]
        if option.ground in way.grounds:
            layers.append(space.bases[option.ground.base].solids_by_volume)
            wet.append(evaluated.wet_um[option.build, 0])
        area_m2 = job.colours[option.colour].area_cm2 / CM2_PER_M2
        water = ink_water_g_m2(np.array(wet), solids_by_volume=np.array(layers))
        total += float(water.sum()) * area_m2
    return total
