"""Recipes for the colors of a decided job that no stock ink lands."""

from __future__ import annotations

from inksim.job.decide import GarmentAnswer, JobAnswer
from inksim.mixing import Instead, recipes_instead
from inksim.printing import ROUTES
from inksim.shop import Shop


def mixed_instead(
    shop: Shop, answer: JobAnswer, found: GarmentAnswer
) -> tuple[Instead | None, ...]:
    """A recipe for each color of the chosen way on a garment; None where it lands, or is merged.

    Only by the bases that the way has, or straight: so the screens and flashes of the way do for
    the mix too. Store a recipe as an ink of the shop, and the job is decided with it as with any.
    """
    if found.best is None:
        return ()
    there = {plan.build.route for plan in found.best.printed} | {"straight"}
    return tuple(
        None
        if plan.merged
        else recipes_instead(
            shop,
            plan.answer,
            viewing=answer.viewing,
            routes=[plan.colour.route] if plan.colour.route else [r for r in ROUTES if r in there],
        )
        for plan in found.best.plans
    )
