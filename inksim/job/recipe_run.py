"""Grams of a recipe for a job's run: of the color that it is mixed for."""

from __future__ import annotations

from inksim.colour import delta_e_2000
from inksim.common import InputError
from inksim.job.costs import ink_per_print_g, run_ink_g
from inksim.job.job import Job, JobColour
from inksim.printing import Build, tabulate, wet_deposit_um
from inksim.stock import PressValues, Recipe, Target

SAME_DE00 = 1.0
"""A job's color this near a target is the one that is meant."""


def colour_of(job: Job, target: Target) -> JobColour:
    """The job's color whose target this is.

    Raises
    ------
    InputError : none of them.
    """
    asked = target.name.lower()
    for each in job.colours:
        if asked in (each.name.lower(), each.target.name.lower()):
            return each
    away = [float(delta_e_2000(target.lab_d50, each.target.lab_d50)) for each in job.colours]
    if min(away) > SAME_DE00:
        names = ", ".join(each.name for each in job.colours)
        raise InputError(
            f"the job '{job.name}' does not print the color '{target.name}'; its colors are "
            f"{names}."
        )
    return job.colours[away.index(min(away))]


def recipe_run_g(
    recipe: Recipe, build: Build, *, job: Job, target: Target, press: PressValues
) -> dict[str, float]:
    """Wet grams of each ink to have ready for a job's run of its color on the build's garment.

    Raises
    ------
    InputError : the job has not that color, or does not print on that garment.
    """
    names = [each.name for each in job.garments]
    if build.garment.name not in names:
        raise InputError(
            f"the job '{job.name}' does not print on '{build.garment.name}'; it prints on "
            f"{', '.join(names)}."
        )
    own = job.on(build.garment)
    colour = colour_of(job, target)
    table = tabulate([build])
    wet = float(wet_deposit_um(table, press)[0, len(build.layers) - 1])
    printed = ink_per_print_g(
        wet, area_cm2=colour.area_cm2, density_g_cm3=build.colour.ink.density_g_cm3
    )
    ready = run_ink_g(
        printed, quantity=own.quantity, waste_share=own.costs.waste_share,
        left_g=own.costs.kept_in_screen_g,
    )  # fmt: skip
    return recipe.scaled(float(ready))
