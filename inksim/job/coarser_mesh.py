"""What a coarser mesh would buy on dark cloth: said beside the way to take, never chosen by itself.

More ink over dark cloth hides more of it, so the color gains chroma; the film is thicker, costs
ink and is harder to cure (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inksim.colour import Viewing, chroma, lab as lab_of
from inksim.decision import Verdict, verdict_of
from inksim.job.costs import ink_per_print_g
from inksim.job.job import Job
from inksim.job.plans import Plan
from inksim.printing import Prediction, predict
from inksim.shop import Shop
from inksim.stock import Screen

DARK_L, WORTH_SAYING_C, WORTH_SAYING_DE00 = 50.0, 2.0, 1.0
"""Cloth darker than this, and gains of chroma and of ΔE00 from which it is said [assumption]."""


def coarser_words(shop: Shop, plan: Plan, *, job: Job, viewing: Viewing) -> str:
    """'through 110 instead of 160 it would gain C* 6: …'; '' where nothing is to be gained."""
    build = plan.build
    if build.bare or lab_of(build.garment.reflectance, viewing)[0] >= DARK_L or job.lines_per_inch:
        return ""
    top = build.colour
    coarser = [screen for screen in _printed_through(shop, plan) if _lays_more(screen, top.screen)]
    if not coarser or top.ink.kind != "color":
        return ""
    found = predict(
        [replace(build, layers=(*build.layers[:-1], replace(top, screen=s))) for s in coarser],
        press=shop.press,
        viewing=viewing,
        target=plan.colour.target,
        tolerance=plan.colour.tolerance,
    )
    now = plan.verdict.median_de00
    best = min(found, key=lambda each: _verdict(each).median_de00)
    gain = float(chroma(best.lab) - chroma(plan.prediction.lab))
    then = _verdict(best)
    better = (
        then.chance >= plan.verdict.chance + 0.01 or then.median_de00 <= now - WORTH_SAYING_DE00
    )
    if gain < WORTH_SAYING_C or then.median_de00 >= now or not better:
        return ""
    more = float(
        ink_per_print_g(
            best.wet_um - plan.prediction.wet_um,
            area_cm2=plan.colour.area_cm2,
            density_g_cm3=top.ink.density_g_cm3,
        )
    )
    price = top.ink.price_per_kg
    cost = "" if price is None else f" ({more * price / 1000:.3f} {job.costs.currency})"
    return (
        f"through {best.build.colour.screen.threads_per_inch:.0f} instead of "
        f"{top.screen.threads_per_inch:.0f} threads/inch it would gain C* {gain:.0f}: ΔE00 "
        f"{then.median_de00:.1f} instead of {now:.1f} to expect, {then.percent} chance instead of "
        f"{plan.verdict.percent}, for {more:.2f} g more ink a print{cost} and a thicker film to "
        "cure; yours to choose"
    )


def _printed_through(shop: Shop, plan: Plan) -> Sequence[Screen]:
    """Screens that the ink's own limits allow."""
    ink = plan.build.colour.ink
    return [
        screen
        for screen in shop.screens.values()
        if ink.coarsest_threads_per_inch <= screen.threads_per_inch <= ink.finest_threads_per_inch
    ]


def _lays_more(screen: Screen, than: Screen) -> bool:
    return screen.volume_cm3_m2 > than.volume_cm3_m2 and (
        screen.threads_per_inch < than.threads_per_inch
    )


def _verdict(prediction: Prediction) -> Verdict:
    assert prediction.interval is not None
    return verdict_of(prediction.interval)
