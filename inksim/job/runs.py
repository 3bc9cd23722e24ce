"""In which run each screen of a job is printed, where its screens do not all fit the press."""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import NamedTuple

from inksim.shop import StationsEntry


class OnPress(NamedTuple):
    """A screen and the room it takes. over: the base screens, by index, that it is printed on.

    base, wet: whether it is a base, and one that stays wet under its colors; flash: whether it is
    flashed.
    """

    base: bool
    wet: bool
    flash: bool
    over: tuple[int, ...]


@lru_cache(maxsize=2048)  # ways of one job differ in inks more often than in the room they take
def in_runs(
    screens: tuple[OnPress, ...], press: StationsEntry, *, runs: int
) -> tuple[int, ...] | None:
    """The run of each screen, from 1; None where so many runs do not hold them.

    Colors are in the run of a base that stays wet under them, and not before any other base of
    theirs, which is cured from one run to the next. Screens are dealt out in their order, each into
    the first run that has room.
    """
    bases = [at for at, each in enumerate(screens) if each.base]

    def late(places: tuple[int, ...]) -> int:
        """Dry bases early, wet ones with all on them last."""
        return sum(-run if screens[at].wet else run for at, run in zip(bases, places, strict=True))

    for places in sorted(product(range(1, runs + 1), repeat=len(bases)), key=late):
        of_base = dict(zip(bases, places, strict=True))
        made = _dealt(screens, of_base, press, runs=runs)
        if made is not None:
            return made
    return None


def _dealt(
    screens: tuple[OnPress, ...], of_base: dict[int, int], press: StationsEntry, *, runs: int
) -> tuple[int, ...] | None:
    stations, flashes = [0] * (runs + 1), [0] * (runs + 1)
    made: dict[int, int] = {}

    def put(at: int, run: int) -> bool:
        each = screens[at]
        taken = press.taken(screens=1, flashes=int(each.flash))
        if stations[run] + taken > press.stations or flashes[run] + each.flash > press.flashes:
            return False
        stations[run] += taken
        flashes[run] += each.flash
        made[at] = run
        return True

    damp = {at for at in of_base if screens[at].wet}
    bound = {
        at: {of_base[b] for b in each.over if b in damp}
        for at, each in enumerate(screens)
        if damp & set(each.over)
    }
    for at, run in of_base.items():
        if not put(at, run):
            return None
    for at, where in bound.items():
        if len(where) > 1 or not put(at, min(where)):
            return None
    for at, each in enumerate(screens):
        if at in made:
            continue
        first = max((of_base[b] for b in each.over), default=1)
        if not any(put(at, run) for run in range(first, runs + 1)):
            return None
    return tuple(made[at] for at in range(len(screens)))
