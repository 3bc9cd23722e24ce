"""The ink order of a job: every ink over all garments and runs, in grams and in buckets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inksim.job.amounts import plate_key
from inksim.job.decide import JobAnswer
from inksim.stock import Handling

LARGE = 8
"""Largest buckets above which more of them are taken without weighing other sizes."""


@dataclass(frozen=True, kw_only=True)
class OrderLine:
    """One ink to have ready.

    ready_g: with what is mixed in; ink_g: without; additive, additive_g: what is mixed in, '' and 0
    where nothing is. buckets: size in g and count, largest first; over_g: left in them.
    """

    ink: str
    ready_g: float
    ink_g: float
    additive: str
    additive_g: float
    buckets: tuple[tuple[float, int], ...]
    over_g: float


@dataclass(frozen=True, kw_only=True)
class InkOrder:
    """All inks of a job. screens: to make, those that garments share counted once.

    not_printed: why garments that cannot be printed are not in it.
    """

    lines: tuple[OrderLine, ...]
    screens: int
    bucket_g: tuple[float, ...]
    not_printed: tuple[str, ...]


def ink_order(answer: JobAnswer) -> InkOrder:
    """Order the ink of a decided job.

    The amounts are those to have ready by each garment's way (`Alternative.inks`), less what keeps
    a screen flooded where a later garment goes on through the same screen with the same mixture.
    """
    costs = answer.job.costs
    parts: dict[str, dict[str, float]] = {}
    screens: set[object] = set()
    mixtures: set[tuple[object, ...]] = set()

    def add(handling: Handling, mixed_g: float) -> None:
        ink_g, additive_g = handling.parts_g(mixed_g)
        own = parts.setdefault(handling.ink, {"": 0.0})
        own[""] += ink_g
        if handling.additive:
            own[handling.additive] = own.get(handling.additive, 0.0) + additive_g

    for found in answer.garments:
        if found.best is None:
            continue
        mixed = {use.name: use.handling for use in found.best.inks}
        here: set[tuple[object, ...]] = set()
        for use in found.best.inks:
            add(use.handling, use.ready_g)
        for screen in found.best.screens:
            handling = mixed[screen.ink.name]
            key = (plate_key(screen), handling.additive, handling.additive_share)
            if key in mixtures:
                add(handling, -costs.kept_in_screen_g)
            here.add(key)
        mixtures |= here
        screens |= {plate for plate, *_ in here}
    sizes = tuple(sorted(set(costs.bucket_g), reverse=True))
    return InkOrder(
        lines=tuple(_line(name, own, sizes) for name, own in parts.items()),
        screens=len(screens),
        bucket_g=sizes,
        not_printed=tuple(
            f"{found.garment.name}: {found.barrier}" for found in answer.garments if not found.best
        ),
    )


def _line(name: str, parts: dict[str, float], sizes: Sequence[float]) -> OrderLine:
    ink_g = parts[""]
    added = {what: grams for what, grams in parts.items() if what}
    counts = buckets_for(ink_g, sizes)
    return OrderLine(
        ink=name,
        ready_g=ink_g + sum(added.values()),
        ink_g=ink_g,
        additive=" and ".join(added),
        additive_g=sum(added.values()),
        buckets=tuple((size, count) for size, count in zip(sizes, counts, strict=True) if count),
        over_g=sum(size * n for size, n in zip(sizes, counts, strict=True)) - ink_g,
    )


def buckets_for(grams: float, sizes: Sequence[float]) -> tuple[int, ...]:
    """How many buckets of each size (g, largest first) hold an amount with the least left over.

    Of equal remainders, the fewest buckets. Above `LARGE` of the largest, more of those are taken.
    """
    whole = max(0, int(grams // sizes[0]) - LARGE)
    counts = min(
        _fillings(grams - whole * sizes[0], sizes),
        key=lambda n: (round(sum(c * s for c, s in zip(n, sizes, strict=True)), 6), sum(n)),
    )
    return (counts[0] + whole, *counts[1:])


def _fillings(grams: float, sizes: Sequence[float]) -> list[tuple[int, ...]]:
    """Every way to hold an amount in which no bucket can be left out."""
    most = max(0, -int(-grams // sizes[0]))
    if len(sizes) == 1:
        return [(most,)]
    return [
        (count, *rest)
        for count in range(most + 1)
        for rest in _fillings(grams - count * sizes[0], sizes[1:])
    ]
