"""What may be mixed for a garment: inks, sets of them, and the builds that each may take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision import BuildSpace, build_space
from inksim.mixing.inversion import StockArrays
from inksim.printing import Build, Route
from inksim.shop import Shop
from inksim.stock import Garment, Ink


def stock_arrays(inks: Sequence[Ink]) -> StockArrays:
    """Inks as arrays, per µm of wet ink."""
    bare = np.stack([ink.mixing_ks for ink in inks])
    solids = np.array([ink.solids_by_volume for ink in inks])
    return StockArrays(
        k=bare[:, 0] * solids[:, None],
        s=bare[:, 1] * solids[:, None],
        solids=solids,
        directness=np.array([ink.directness for ink in inks]),
        load=_load(inks),
    )


def _load(inks: Sequence[Ink]) -> FloatArray | None:
    """See `StockArrays`."""
    if not any(_is_concentrate(ink) for ink in inks):
        return None
    return np.array(
        [
            ink.density_g_cm3 * (1.0 / (ink.most_in_mix or 1.0) - 1.0)
            if _is_concentrate(ink)
            else -ink.density_g_cm3
            for ink in inks
        ]
    )


def _is_concentrate(ink: Ink) -> bool:
    return ink.most_in_mix is not None and ink.most_in_mix < 1.0


def inks_to_mix(shop: Shop) -> tuple[Ink, ...]:
    """Colors, whites and clear bases; a white that blocks dye only where there is no other."""
    plain = any(i.kind == "white-base" and not i.blocks_dye for i in shop.inks.values())
    return tuple(
        ink
        for ink in shop.inks.values()
        if ink.kind != "discharge-base" and not (plain and ink.blocks_dye)
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class OpenBuilds:
    """N builds of a garment with the ink on top open.

    space: of the builds, with a stand-in on top. allowed (N, n): which inks each may take.
    """

    space: BuildSpace
    allowed: BoolArray


def open_builds(
    shop: Shop,
    *,
    garment: Garment,
    inks: Sequence[Ink],
    routes: Sequence[Route],
    like: Build | None = None,
) -> OpenBuilds:
    """Builds that the rules of the trade allow any of the inks, as a color on top.

    A mixture has the tightest limits of its parts, so it takes the builds that all of them take.
    like: a build whose screens, passes and base are kept; then it is the only one.
    """
    stand_ins = [replace(ink, kind="color", blocks_dye=False) for ink in inks]
    space = build_space(
        shop, garments=[garment], inks=stand_ins, routes=routes, stations=shop.stations
    )
    columns = ("route", "screen", "passes", "base", "base_screen", "base_passes", "flash")
    keys = np.stack([np.asarray(getattr(space, f), dtype=np.intp) for f in columns], axis=1)
    _, first, own = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    allowed = np.zeros((first.size, len(inks)), dtype=np.bool_)
    allowed[own.reshape(-1), space.ink] = True
    kept = np.arange(first.size)
    if like is not None:
        kept = np.array(
            [at for at in kept if _films(space.build(int(first[at]))) == _films(like)],
            dtype=np.intp,
        )
    return OpenBuilds(space=space.take(first[kept]), allowed=allowed[kept])


def _films(build: Build) -> tuple[object, ...]:
    """What a build is, but for the ink on top and the cloth."""
    layers = [(each.screen.name, each.passes) for each in build.layers]
    under = [(each.ink.name, each.flash) for each in build.layers[:-1]]
    return build.route, *layers, *under


def sets_of(inks: Sequence[Ink], *, most: int) -> IndexArray:
    """Every set of 1 to `most` inks (P, most), −1 pads: a color in it, not concentrates alone."""
    coloured = np.array([ink.kind == "color" for ink in inks], dtype=np.bool_)
    binds = np.array([not _is_concentrate(ink) for ink in inks], dtype=np.bool_)
    made = every_set(len(inks), most=most)
    there = made >= 0
    return made[(coloured[made] & there).any(axis=1) & (binds[made] & there).any(axis=1)]


def every_set(count: int, *, most: int) -> IndexArray:
    """Every set of 1 to `most` of so many inks (P, most), −1 pads."""
    rows = []
    for size in range(1, min(most, count) + 1):
        own = np.array(list(combinations(range(count), size)), dtype=np.intp)
        rows.append(np.pad(own, ((0, 0), (0, most - size)), constant_values=-1))
    return np.concatenate(rows)


def start_theta(ink: IndexArray, stock: StockArrays) -> FloatArray:
    """Where the search begins (P, m): every ink in inverse proportion to its strength."""
    strength = (stock.k + stock.s).mean(axis=1)
    weak = 1.0 / (strength + 0.3 * strength.mean())
    return np.asarray(np.log(weak)[ink])
