"""Recipes for the colors of a decided job that no stock ink lands."""

from __future__ import annotations

from dataclasses import replace

from inksim.job.decide import GarmentAnswer, JobAnswer
from inksim.mixing import Instead, recipes_instead
from inksim.printing import ROUTES
from inksim.shop import Shop


def mixed_instead(
    shop: Shop, answer: JobAnswer, found: GarmentAnswer
) -> tuple[Instead | None, ...]:
    """A recipe for each color of the chosen way on a garment; None where it lands, or is merged.

    As a palette gives it, by every route that the job's press prints one color by, or by the one
    that the job sets. Store a recipe as an ink of the shop, and the job is decided with it as with
    any other.
    """
    if found.best is None:
        return ()
    there = replace(shop, stations=found.job.press)
    return tuple(
        None
        if plan.merged
        else recipes_instead(
            there,
            plan.answer,
            viewing=answer.viewing,
            routes=[plan.colour.route] if plan.colour.route else ROUTES,
        )
        for plan in found.best.plans
    )
