"""A way to print a job in words: its verdict, and what else has to be told."""

from __future__ import annotations

from collections.abc import Sequence

from inksim.job.decide import GarmentAnswer
from inksim.job.plans import Alternative


def way_words(way: Alternative) -> str:
    """The verdict on all printed colors of a way, the weakest named."""
    if not way.printed:
        return "nothing is printed"
    tolerances = {plan.colour.tolerance for plan in way.printed}
    return way.verdict.said_of_all(
        len(way.printed),
        weakest=way.weakest.colour.name,
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
        f"{_listed(names)} printed as {into}, because the press has no screen for "
        f"{'it' if len(names) == 1 else 'them'}."
        for into, names in merged.items()
    ]
    said += [
        f"{', '.join(names[:-1])} and {names[-1]} come out alike: one ink of this shop is the "
        "nearest to each."
        for names in _alike(way)
    ]
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


def _alike(way: Alternative) -> list[list[str]]:
    """Names of printed colors that have one build although none was merged."""
    groups: dict[str, list[str]] = {}
    for plan in way.printed:
        if not plan.merged:
            groups.setdefault(plan.answer.words, []).append(plan.colour.name)
    return [names for names in groups.values() if len(names) > 1]


def _listed(names: Sequence[str]) -> str:
    verb = "is" if len(names) == 1 else "are"
    return f"{', '.join(names)} {verb}"
