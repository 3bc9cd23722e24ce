"""A way to print a job in words: its verdict, and what else has to be told."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.colour import delta_e_2000
from inksim.common import listed
from inksim.job.decide import GarmentAnswer
from inksim.job.plans import Alternative, Plan


def way_words(way: Alternative) -> str:
    """The verdict on all printed colors of a way, the weakest named."""
    if not way.printed:
        return "nothing is printed"
    tolerances = {plan.colour.tolerance for plan in way.printed}
    return way.verdict.said_of_all(
        len(way.printed),
        weakest=way.weakest.called,
        tolerance=tolerances.pop() if len(tolerances) == 1 else None,
    )


def told(found: GarmentAnswer, way: Alternative) -> list[str]:
    """What has to be told of a way: colors left bare, merged or alike, two runs, an inexact search.

    Sentences; none where there is nothing to tell.
    """
    said = []
    bare = [plan.colour.name for plan in way.plans if plan.build.bare]
    if bare:
        said.append(f"{_listed(bare)} left bare: the cloth itself is the color.")
    merged: dict[str, list[str]] = {}
    for plan in way.plans:
        if plan.merged:
            merged.setdefault(plan.merged, []).append(plan.colour.name)
    said += [
        f"{_listed(names)} {merged_words(into, colours=len(names))}."
        for into, names in merged.items()
    ]
    said += [_alike_words(plans) for plans in _alike(way)]
    if way.way.runs > 1:
        said.append(
            f"In {way.way.runs} runs, because the press has too few stations or flash units for "
            "one: every shirt is loaded, printed and cured that often, and the cost counts it."
        )
    if not found.exact:
        said.append(
            "The job has more ways than can be searched through: one between those shown may have "
            "been missed."
        )
    return said


def merged_words(into: str, *, colours: int = 1) -> str:
    """Clause on colors that are printed as another one."""
    lacks = "it" if colours == 1 else "them"
    return f"printed as {into}, because the press has no screen for {lacks}"


def _alike(way: Alternative) -> list[list[Plan]]:
    """Plans of printed colors that have one build although none was merged."""
    groups: dict[str, list[Plan]] = {}
    for plan in way.printed:
        if not plan.merged:
            groups.setdefault(plan.answer.words, []).append(plan)
    return [plans for plans in groups.values() if len(plans) > 1]


def _alike_words(plans: Sequence[Plan]) -> str:
    """That they are one color on the shirt; of colors that anybody tells apart, how far they are.

    That is farther than the tolerance of either.
    """
    names = [plan.colour.name for plan in plans]
    said = f"{listed(names)} come out alike: one ink of this shop is the nearest to each."
    labs = np.stack([plan.colour.target.lab(plan.prediction.viewing) for plan in plans])
    apart = float(max(delta_e_2000(lab, labs).max() for lab in labs))
    if apart <= max(plan.colour.tolerance for plan in plans):
        return said
    return f"{said} They are ΔE00 {apart:.0f} apart as drawn, and merged for want of another ink."


def _listed(names: Sequence[str]) -> str:
    verb = "is" if len(names) == 1 else "are"
    return f"{', '.join(names)} {verb}"
