"""What a shop's proofs said against what happened: chances, distances, and how they drift.

It is fed back in words only: nothing here changes a prediction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from inksim.calibration import rows_kept
from inksim.common import counted, day_of
from inksim.ledger.outcomes import Outcome, outcomes, read_outcomes
from inksim.ledger.promises import missing_numbers, sealed_proofs
from inksim.shop import Shop, demo_shop_folder, is_demo
from inksim.stock import READING_DE00

DEMO_FILE = "invented-record.csv"
EDGES = (0.0, 0.3, 0.5, 0.7, 0.9, 1.0)
"""Bins of the stated chance [assumption]."""
LEAST_COLOURS, LEAST_PROOFS = 10, 3
"""Fewest prints, and of how many proofs, before a sentence judges a chance [assumption].

With 10 the 95 % range of a share is at most 53 points wide (Wilson), with 5 it is 66: below, not
even a promise kept half as often as stated could be told from luck. The colors of one proof are off
together, by one press and one cloth, so that one bad day must not speak for a shop."""
Z_SHOWN, Z_SAID = 1.959963984540054, 2.5758293035489004
"""Normal quantiles of the ranges: shown, 95 %; said, 99 %, so that of the five bins together one is
spoken of by luck in one record in twenty."""

UNSURE_DE00 = 2.0 * READING_DE00
"""Of a reading that is off by more, a sentence says so: twice an instrument's [assumption]."""


@dataclass(frozen=True, kw_only=True)
class ChanceBin:
    """Prints whose chance was stated between `least` and `most`.

    stated : their mean chance; nan without a print. proofs: of how many. low, high: 95 % range of
    the share that lands, were they independent.
    """

    least: float
    most: float
    prints: int
    proofs: int
    stated: float
    landed: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share that landed."""
        return self.landed / self.prints if self.prints else float("nan")

    @property
    def told(self) -> bool:
        """Whether there are enough to judge by."""
        return self.prints >= LEAST_COLOURS and self.proofs >= LEAST_PROOFS


@dataclass(frozen=True, kw_only=True)
class Distances:
    """ΔE00 of some prints. by: 'data', 'ink', 'lot', 'month' or ''.

    promised, found: the means of the medians promised and of what was found; farther: median of
    the difference, low, high: its quartiles.
    """

    by: str
    name: str
    prints: int
    promised: float
    found: float
    farther: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class InsideShare:
    """Prints inside the interval stated for them, which 9 in 10 should be.

    by: 'data', 'route' or ''. low, high: 95 % range of the share, were they independent.
    """

    by: str
    name: str
    prints: int
    inside: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share inside."""
        return self.inside / self.prints


@dataclass(frozen=True, kw_only=True)
class TrackRecord:
    """A shop's record. proofs, colors: issued; scored: prints that were read.

    invented : the demo's, of no press. altered : numbers of proofs that were changed, or are gone.
    said : what it comes to, in sentences.
    """

    name: str
    invented: bool
    since: str
    proofs: int
    colours: int
    prints: tuple[Outcome, ...]
    listed: tuple[Outcome, ...]
    bins: tuple[ChanceBin, ...]
    distances: tuple[Distances, ...]
    inside: tuple[InsideShare, ...]
    altered: tuple[int, ...]
    unmatched: tuple[str, ...]
    said: tuple[str, ...]

    @property
    def scored(self) -> int:
        """How many prints were read."""
        return len(self.prints)

    def by(self, kind: str) -> tuple[Distances, ...]:
        """Distances grouped by one kind: data, ink, lot or month."""
        return tuple(each for each in self.distances if each.by == kind)


def record_of_shop(shop: Shop, *, since: str = "") -> TrackRecord:
    """The record of a shop; of the demo shop an invented one.

    since : proofs from this day on: see `day_of`.

    Raises
    ------
    InputError : no such day, or a file of promises or a history that cannot be read.
    """
    since = day_of(since) if since else ""
    if is_demo(shop.folder):
        listed = read_outcomes((demo_shop_folder() / DEMO_FILE).read_text("utf-8"))
        listed = tuple(each for each in listed if each.promised_on >= since)
        return record_of(listed, name=shop.name, invented=True, since=since)
    folder: Path = shop.folder
    proofs = [each for each in sealed_proofs(folder) if each.day >= since or each.altered]
    held = outcomes(proofs, [each.row for each in rows_kept(folder)])
    return record_of(
        held.each,
        name=shop.name,
        since=since,
        issued=len(proofs),
        altered=(*(each.number for each in proofs if each.altered), *missing_numbers(folder)),
        unmatched=held.unmatched,
    )


def record_of(
    listed: Sequence[Outcome],
    *,
    name: str,
    invented: bool = False,
    since: str = "",
    issued: int | None = None,
    altered: Sequence[int] = (),
    unmatched: Sequence[str] = (),
) -> TrackRecord:
    """Work out a record of outcomes. issued: proofs, also those of which no color was printed."""
    prints = tuple(each for each in listed if each.found is not None)
    bins = tuple(_bin(prints, least, most) for least, most in pairwise(EDGES))
    colours = len(listed) - len(prints) + len({_promise(each) for each in prints})
    proofs = len({each.proof for each in listed}) if issued is None else issued
    return TrackRecord(
        name=name,
        invented=invented,
        since=since,
        proofs=proofs,
        colours=colours,
        prints=prints,
        listed=tuple(listed),
        bins=bins,
        distances=(
            *([_distances("", "all", prints)] if prints else []),
            *_grouped(prints, "data", lambda each: each.data),
            *_grouped(prints, "ink", lambda each: each.ink),
            *_grouped(
                [each for each in prints if each.ink_lot],
                "lot",
                lambda each: f"{each.ink}, lot {each.ink_lot}",
            ),
            *_grouped(prints, "month", lambda each: each.read_on[:7]),
        ),
        inside=(
            *([_inside("", "all", prints)] if prints else []),
            *(
                _inside("data", n, [p for p in prints if p.data == n])
                for n in _names(prints, "data")
            ),
            *(
                _inside("route", n, [p for p in prints if p.route == n])
                for n in _names(prints, "route")
            ),
        ),
        altered=tuple(altered),
        unmatched=tuple(unmatched),
        said=tuple(_said(prints, bins, proofs=proofs, altered=altered)),
    )


def wilson(landed: int, count: int, *, z: float = Z_SHOWN) -> tuple[float, float]:
    """Range of a share of which `landed` of `count` were seen.

    Wilson's score interval (E. B. Wilson 1927, J. Am. Stat. Assoc. 22, 209). 0 to 1 for none.
    """
    if count == 0:
        return 0.0, 1.0
    share, z2 = landed / count, z * z
    middle = (share + z2 / (2 * count)) / (1 + z2 / count)
    half = z / (1 + z2 / count) * (share * (1 - share) / count + z2 / (4 * count**2)) ** 0.5
    return max(0.0, middle - half), min(1.0, middle + half)


def _promise(each: Outcome) -> tuple[object, ...]:
    return each.proof, each.garment, each.ink, each.route, each.median, each.chance


def _bin(prints: Sequence[Outcome], least: float, most: float) -> ChanceBin:
    """The last bin has its upper edge, the others have not."""
    inside = [p for p in prints if least <= p.chance < most or p.chance == most == EDGES[-1]]
    landed = sum(p.landed for p in inside)
    low, high = wilson(landed, len(inside))
    return ChanceBin(
        least=least,
        most=most,
        prints=len(inside),
        proofs=len({p.proof for p in inside}),
        stated=float(np.mean([p.chance for p in inside])) if inside else float("nan"),
        landed=landed,
        low=low,
        high=high,
    )


def _names(prints: Sequence[Outcome], field: str) -> list[str]:
    return sorted({str(getattr(each, field)) for each in prints})


def _inside(by: str, name: str, prints: Sequence[Outcome]) -> InsideShare:
    inside = sum(each.inside for each in prints)
    low, high = wilson(inside, len(prints))
    return InsideShare(
        by=by, name=name, prints=len(prints), inside=inside, low=low, high=high
    )  # fmt: skip


def _grouped(
    prints: Sequence[Outcome], by: str, key: Callable[[Outcome], str]
) -> Iterable[Distances]:
    names = sorted({key(each) for each in prints})
    return [_distances(by, name, [p for p in prints if key(p) == name]) for name in names]


def _distances(by: str, name: str, prints: Sequence[Outcome]) -> Distances:
    low, middle, high = np.quantile([each.farther for each in prints], [0.25, 0.5, 0.75]).tolist()
    return Distances(
        by=by,
        name=name,
        prints=len(prints),
        promised=float(np.mean([each.median for each in prints])),
        found=float(np.mean([each.found or 0.0 for each in prints])),
        farther=middle,
        low=low,
        high=high,
    )


def _said(
    prints: Sequence[Outcome], bins: Sequence[ChanceBin], *, proofs: int, altered: Sequence[int]
) -> Iterable[str]:
    if altered:
        *some, last = map(str, altered)
        yield (
            f"Proofs no. {', '.join(some)} and {last} were changed after they were sealed, or are "
            "gone; they count for nothing here."
            if some
            else f"Proof no. {last} was changed after it was sealed, or is gone; it counts for "
            "nothing here."
        )
    if not proofs:
        yield (
            "No proof has been issued yet, so there is no record; 'inksim proof' seals what it "
            "promises."
        )
        return
    if not prints:
        yield (
            "No print has been read yet; the table of readings that comes with a press ticket "
            "names the proof: fill it in and give it to 'inksim calibrate', or to the shop's page "
            "under Press, and it scores the proof."
        )
        return
    told = [each for each in bins if each.told]
    if not told:
        yield (
            f"Too few prints to judge the chances by: it takes {LEAST_COLOURS} with about the same "
            f"chance, of {LEAST_PROOFS} proofs; with fewer not even a promise kept half as often "
            "as stated can be told from luck."
        )
    off = [words for each in told if (words := _judged(each))]
    yield from off
    if told and not off:
        yield "The chances stated are what landed, as far as these prints can tell."
    yield from _distance_said(prints)
    yield from _reading_said(prints)


def _reading_said(prints: Sequence[Outcome]) -> Iterable[str]:
    """How many prints were read by what is off so far that it shows in their distances."""
    unsure = [each for each in prints if (each.off_de00 or 0.0) > UNSURE_DE00]
    if not unsure:
        return
    by = ", ".join(sorted({each.read_by for each in unsure}))
    off = max(each.off_de00 or 0.0 for each in unsure)
    yield (
        f"{len(unsure)} of {len(prints)} prints were read by {by}, up to {off:.1f} ΔE00 off on "
        "average: their distances hold that too, and mostly look longer for it."
    )


def _judged(each: ChanceBin) -> str:
    """What is wrong with the chances of a bin; '' if nothing can be told."""
    low, high = wilson(each.landed, each.prints, z=Z_SAID)
    if low <= each.stated <= high:
        return ""
    points = round(100 * abs(each.stated - each.share))
    way = "high" if each.stated > each.share else "low"
    return (
        f"Of {counted(each.prints, 'color')} promised at "
        f"{100 * each.least:.0f}–{100 * each.most:.0f}%, {each.landed} landed: your chances there "
        f"are about {counted(points, 'point')} too {way}; calibrate the press with these readings."
    )


def _distance_said(prints: Sequence[Outcome]) -> Iterable[str]:
    """A sign test: half of the prints should be farther off than the median promised."""
    if len(prints) < LEAST_COLOURS or len({each.proof for each in prints}) < LEAST_PROOFS:
        return
    farther = sum(each.farther > 0 for each in prints)
    low, high = wilson(farther, len(prints), z=Z_SAID)
    if low <= 0.5 <= high:
        return
    middle = float(np.median([each.farther for each in prints]))
    way = "farther from" if middle > 0 else "nearer to"
    yield (
        f"{farther} of {len(prints)} prints were farther off than the median promised; they come "
        f"out ΔE00 {abs(middle):.1f} {way} the color asked for than was said."
    )
