"""Ink, water and joint chance of landing of one way to print a job."""

from __future__ import annotations

import numpy as np

from inksim.colour import delta_e_2000
from inksim.common import FloatArray
from inksim.decision import Evaluated
from inksim.job.costs import InkUse, ink_per_print_g, run_ink_g
from inksim.job.drying import ink_water_g_m2
from inksim.job.job import Job
from inksim.job.search import CM2_PER_M2, Way
from inksim.printing import Response, normal_points
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


def joint_chance(
    response: Response,
    *,
    standards: FloatArray,
    tolerances: FloatArray,
    shared: int = 128,
    own: int = 64,
) -> float:
    """Joint probability that all C colors of one run land.

    The colors share press and cloth: for each of `shared` samples of those, the conditional
    probability of each color is taken over `own` samples of its inks and of the model error; their
    product is averaged. Inks are taken as independent, even where two colors share one [assumption:
    the chance is then a little low].

    Parameters
    ----------
    response : of the C builds, in order. standards (C, 3), tolerances (C,).
    """
    common, apart = response.shared, ~response.shared
    z = normal_points(shared, int(common.sum()))
    y = normal_points(own, int(apart.sum()) + 3)
    moved, noise = y[:, :-3], y[:, -3:]
    product = np.ones(shared)
    for at, (standard, tolerance) in enumerate(zip(standards, tolerances, strict=True)):
        slope, curve = response.slope[:, at], response.curve[:, at]
        of_press = z @ slope[common] + z**2 @ curve[common]
        of_ink = moved @ slope[apart] + moved**2 @ curve[apart] + response.model_sd * noise
        lab = response.center[at] + of_press[:, None] + of_ink[None]
        lab[..., 0] = np.maximum(lab[..., 0], 0.0)
        product *= np.mean(delta_e_2000(standard, lab) <= tolerance, axis=1)
    return float(product.mean())
