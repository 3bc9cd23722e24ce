"""Candidate builds: every build the rules of the trade allow, as columns of indices.

A `BuildSpace` holds one small integer per choice and build; a `Build` is made only on request.
`build_space` makes the full grid of route × ink × screen × passes × base × base screen × base
passes × flash by index arithmetic, and masks what the rules of the trade do not allow.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields

import numpy as np

from inksim.colour import BANDS
from inksim.common import BoolArray, FloatArray, IndexArray, InputError
from inksim.decision.discharge import discharge_facts
from inksim.decision.rules_kept import DISCHARGE, STRAIGHT, WHITE, Choices
from inksim.decision.trade_rules import Rule, broken, kept_rules, own_numbers
from inksim.printing import ROUTES, Build, BuildTable, Layer, Route, cloth_ks, discharged_ks
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink, Screen

NO_BASE = -1
MOST_PASSES = 4
"""A layer takes 1 to 4 passes: see `Layer`."""
_COLUMNS = ("garment", "route", "ink", "screen", "passes", "base", "base_screen", "base_passes")


@dataclass(frozen=True, kw_only=True, eq=False)
class BuildSpace:
    """N builds as columns of indices into the stock.

    route: into ROUTES; garment, ink, screen, base, base_screen: into the tuples of the same kind,
    base and base_screen `NO_BASE` for straight builds, and where a discharge base itself is the
    color; passes, base_passes: strokes; flash: whether the base is flashed.
    """

    garments: tuple[Garment, ...]
    inks: tuple[Ink, ...]
    bases: tuple[Ink, ...]
    screens: tuple[Screen, ...]
    garment: IndexArray
    route: IndexArray
    ink: IndexArray
    screen: IndexArray
    passes: IndexArray
    base: IndexArray
    base_screen: IndexArray
    base_passes: IndexArray
    flash: BoolArray

    def __len__(self) -> int:
        """Return the number of builds."""
        return int(self.route.size)

    def take(self, which: IndexArray | BoolArray | slice) -> BuildSpace:
        """Return some of the builds, by index, mask or slice."""
        stock = {f: getattr(self, f) for f in ("garments", "inks", "bases", "screens")}
        return BuildSpace(
            **stock, **{f: getattr(self, f)[which] for f in _COLUMNS}, flash=self.flash[which]
        )

    def build(self, at: int) -> Build:
        """Return one build as an object."""
        top = Layer(
            ink=self.inks[self.ink[at]],
            screen=self.screens[self.screen[at]],
            passes=int(self.passes[at]),
        )
        under: tuple[Layer, ...] = ()
        if self.base[at] != NO_BASE:
            under = (
                Layer(
                    ink=self.bases[self.base[at]],
                    screen=self.screens[self.base_screen[at]],
                    passes=int(self.base_passes[at]),
                    flash=bool(self.flash[at]),
                ),
            )
        return Build(
            garment=self.garments[self.garment[at]],
            layers=(*under, top),
            route=ROUTES[self.route[at]],
        )

    def builds(self, which: Iterable[int] | None = None) -> list[Build]:
        """Return some builds as objects, or all."""
        return [self.build(int(at)) for at in (range(len(self)) if which is None else which)]

    @property
    def lone(self) -> BoolArray:
        """Mask (N,) of the builds whose color is a discharge base by itself."""
        return np.asarray((self.route == DISCHARGE) & (self.base == NO_BASE))

    @property
    def again(self) -> BoolArray:
        """Mask (N,) of print, flash, print: a white over itself, which one screen can do."""
        if not self.bases:
            return np.zeros(len(self), dtype=np.bool_)
        names = [ink.name for ink in self.inks]
        own = np.array([names.index(b.name) if b.name in names else -1 for b in self.bases])
        return np.asarray(
            (self.base != NO_BASE)
            & (own[self.base] == self.ink)
            & (self.base_screen == self.screen)
        )

    def table(self) -> BuildTable:
        """Tabulate all builds, as `printing.tabulate` does with `Build` objects."""
        if not len(self):
            raise InputError("there is no build to evaluate.")
        based = self.base != NO_BASE
        layers = 2 if based.any() else 1
        volumes = np.array([s.volume_cm3_m2 for s in self.screens])
        inks, ink = (*self.inks, *self.bases), np.array(self.ink)
        base = np.where(based, self.base + len(self.inks), 0)
        stock = {f: _by_ink(inks, f) for f in ("K", "S", "solids_by_volume")}

        def columns(first: FloatArray, second: FloatArray, pad: float) -> FloatArray:
            """Base then color where there is a base; color then padding where there is none."""
            if layers == 1:
                return second[:, None]
            wide = based.reshape(-1, *(1,) * (first.ndim - 1))
            return np.stack([np.where(wide, first, second), np.where(wide, second, pad)], axis=1)

        volume = volumes[self.screen]
        under = volumes[np.where(based, self.base_screen, 0)]
        flash = np.where(based, self.flash, True)
        dyed, done = (np.stack([f(g) for g in self.garments]) for f in (cloth_ks, _discharged))
        discharges = self.route == DISCHARGE
        cloth = dyed[self.garment]
        return BuildTable(
            ink_volume_um=columns(under, volume, 0.0),
            passes=columns(self.base_passes.astype(np.float64), self.passes.astype(np.float64), 1),
            solids=columns(stock["solids_by_volume"][base], stock["solids_by_volume"][ink], 0.0),
            flash=np.stack([flash, np.ones_like(flash)], axis=1)[:, :layers],
            K=columns(stock["K"][base], stock["K"][ink], 0.0),
            S=columns(stock["S"][base], stock["S"][ink], 0.0),
            cloth_ks=cloth,
            discharged_ks=np.where(discharges[:, None], done[self.garment], cloth),
            discharges=discharges,
        )


def _by_ink(inks: Sequence[Ink], field: str) -> FloatArray:
    return np.stack([np.asarray(getattr(ink, field), dtype=np.float64) for ink in inks])


def _discharged(garment: Garment) -> FloatArray:
    """K/S of a fully discharged cloth; NaN where it is not known, so that no use goes unnoticed."""
    return discharged_ks(garment) if garment.discharge_is_known else np.full(BANDS, np.nan)


def build_space(
    shop: Shop,
    *,
    garments: Sequence[Garment],
    inks: Sequence[Ink],
    routes: Sequence[Route] = ROUTES,
    lines_per_inch: float = 0.0,
    stations: StationsEntry | None = None,
) -> BuildSpace:
    """Return every build that the rules of the trade allow, garment by garment.

    Parameters
    ----------
    inks : to print on top: colors, and bases that are a color themselves, straight on the cloth or
        a white over a base.
    routes : those to consider; a base route takes every base ink of its kind that the shop has.
    lines_per_inch : of the artwork's halftone; 0 for solid areas.
    stations : of the press, which a build by itself must not exceed; None: whatever it takes.
    """
    rules = kept_rules(shop.rules)
    grid = _sensible(_grid(shop, inks=inks, routes=routes))
    by_screens = tuple(r for r in rules if r.about == "screens")
    choices = _choices(grid, lines_per_inch=lines_per_inch)
    sound = grid.take(_keeping(choices, shop, by_screens))
    if stations is not None:
        sound = sound.take(fits_press(sound, stations))
    crossed = _over_garments(sound, tuple(garments))
    by_cloth = tuple(r for r in rules if r.about == "cloth")
    choices = _choices(crossed, lines_per_inch=lines_per_inch)
    return crossed.take(_keeping(choices, shop, by_cloth))


def _sensible(space: BuildSpace) -> BuildSpace:
    """Without whites over white but for the same one again through the same mesh, one stroke.

    A finer mesh over a base of white evens out nothing that the same one would not (common
    practice, no source).
    """
    white = np.array([ink.kind == "white-base" for ink in space.inks], dtype=np.bool_)
    if not white.any():
        return space
    over = white[space.ink] & (space.route == WHITE)
    return space.take(~over | (space.again & (space.passes == 1)))


def fits_press(space: BuildSpace, stations: StationsEntry) -> BoolArray:
    """Mask (N,) of the builds that a press has the stations and flash units for, each by itself."""
    based = space.base != NO_BASE
    screens = 1 + (based & ~space.again)
    fits = stations.fits(screens=screens, flashes=(based & space.flash).astype(np.intp))
    return np.asarray(fits)


def _keeping(choices: Choices, shop: Shop, rules: tuple[Rule, ...]) -> BoolArray:
    return np.logical_not(broken(choices, shop.rules, rules=rules).any(axis=0))


def why_none(
    shop: Shop, *, garment: Garment, ink: Ink, route: Route, lines_per_inch: float = 0.0
) -> str:
    """Say which rules leave no build of an ink on a garment by a route; '' if there is one."""
    grid = _grid(shop, inks=[ink], routes=[route])
    if not len(grid):
        return f"this shop has no ink of kind '{route}'" if shop.screens else "it has no screens"
    crossed = _over_garments(grid, (garment,))
    rules = kept_rules(shop.rules)
    choices = _choices(crossed, lines_per_inch=lines_per_inch)
    breaks = broken(choices, shop.rules, rules=rules)
    if not breaks.any(axis=0).all():
        return ""
    return "; ".join(
        # a number of the shop's own is why, and what to change
        f"{rule.asks}{own_numbers(rule, shop.rules) or f': {rule.why}'}"
        for rule in _to_blame(breaks, rules)
    )


def _to_blame(breaks: BoolArray, rules: Sequence[Rule]) -> list[Rule]:
    """The fewest rules, greedily, that together forbid every build; strictest first."""
    left = np.ones(breaks.shape[1], dtype=np.bool_)
    blamed: list[Rule] = []
    while left.any():
        strictest = int(np.argmax(breaks[:, left].sum(axis=1)))
        blamed.append(rules[strictest])
        left &= ~breaks[strictest]
    return blamed


def _grid(shop: Shop, *, inks: Sequence[Ink], routes: Sequence[Route]) -> BuildSpace:
    """The full grid, before any rule and without a garment."""
    screens = tuple(shop.screens.values())
    bases = tuple(i for i in shop.inks.values() if i.is_base)
    kinds = np.array([ROUTES.index(b.kind) if b.kind in ROUTES else STRAIGHT for b in bases], int)
    wanted = [ROUTES.index(route) for route in routes]
    parts: list[dict[str, IndexArray]] = []
    lone = np.array([ink.kind == "discharge-base" for ink in inks], dtype=np.bool_)
    for route, tops in ((STRAIGHT, np.flatnonzero(~lone)), (DISCHARGE, np.flatnonzero(lone))):
        if route not in wanted:
            continue
        ink, screen, passes = _every(tops.size, len(screens), MOST_PASSES)
        none = np.full(ink.shape, NO_BASE)
        parts.append(
            {
                "route": np.full(ink.shape, route),
                "ink": tops[ink],
                "screen": screen,
                "passes": passes + 1,
                "base": none,
                "base_screen": none,
                "base_passes": np.zeros_like(ink),
                "flash": np.zeros_like(ink),
            }
        )
    under = np.flatnonzero(np.isin(kinds, [r for r in wanted if r != STRAIGHT]))
    order = under[np.argsort(kinds[under], kind="stable")]
    tops = np.flatnonzero(~lone)
    base, ink, base_screen, base_passes, flash, screen, passes = _every(
        order.size, tops.size, len(screens), MOST_PASSES, 2, len(screens), MOST_PASSES
    )
    parts.append(
        {
            "route": kinds[order][base],
            "ink": tops[ink],
            "screen": screen,
            "passes": passes + 1,
            "base": order[base],
            "base_screen": base_screen,
            "base_passes": base_passes + 1,
            "flash": flash,
        }
    )
    columns = {f: np.concatenate([part[f] for part in parts]) for f in parts[0]}
    return BuildSpace(
        garments=(),
        inks=tuple(inks),
        bases=bases,
        screens=screens,
        garment=np.zeros_like(columns["ink"]),
        flash=columns.pop("flash").astype(np.bool_),
        **columns,
    )


def _every(*counts: int) -> IndexArray:
    """Cartesian product of index ranges, the last changing fastest: (k, product)."""
    return np.indices(counts, dtype=np.intp).reshape(len(counts), -1)


def _over_garments(space: BuildSpace, garments: tuple[Garment, ...]) -> BuildSpace:
    """Every build on every garment, garment by garment."""
    count, size = len(garments), len(space)
    tiled = {
        f.name: np.tile(getattr(space, f.name), count)
        for f in fields(space)
        if f.name in (*_COLUMNS, "flash")
    }
    tiled["garment"] = np.repeat(np.arange(count), size)
    return BuildSpace(
        garments=garments, inks=space.inks, bases=space.bases, screens=space.screens, **tiled
    )


def _choices(space: BuildSpace, *, lines_per_inch: float) -> Choices:
    """Columns that the rules test; before garments are crossed in, the cloth's are 0."""
    counts = np.array([s.threads_per_inch for s in space.screens])
    limits = {
        f: np.array([getattr(i, f) for i in (*space.inks, *space.bases)], dtype=np.float64)
        for f in ("coarsest_threads_per_inch", "finest_threads_per_inch", "max_passes")
    }
    lone = space.lone  # held to what a base is
    based = (space.base != NO_BASE) | lone
    base = np.where(lone, space.ink, np.where(based, space.base + len(space.inks), 0))

    def of_base(values: FloatArray, at: IndexArray) -> FloatArray:
        return np.where(based, values[np.where(based, at, 0)] if values.size else np.nan, np.nan)

    def of_cloth(name: str) -> FloatArray:
        values = [getattr(g, name) for g in space.garments]
        return np.array(values)[space.garment] if values else np.zeros(len(space))

    coarsest, finest, most = limits.values()
    facts = [discharge_facts(g) for g in space.garments]
    share, grade, moved = (
        np.array([getattr(f, name) for f in facts])[space.garment]
        if facts
        else np.zeros(len(space))
        for name in ("cellulose_share", "grade", "dye_de00")
    )
    return Choices(
        route=space.route,
        threads_per_inch=counts[space.screen],
        passes=space.passes.astype(np.float64),
        ink_coarsest=coarsest[space.ink],
        ink_finest=finest[space.ink],
        ink_max_passes=most[space.ink],
        ink_is_white=np.array([i.kind == "white-base" for i in space.inks], bool)[space.ink],
        ink_stands_discharge=np.array([i.stands_discharge for i in space.inks], bool)[space.ink],
        base_threads_per_inch=of_base(counts, np.where(lone, space.screen, space.base_screen)),
        base_passes=np.where(lone, space.passes, np.where(based, space.base_passes, np.nan)),
        base_coarsest=of_base(coarsest, base),
        base_finest=of_base(finest, base),
        base_max_passes=of_base(most, base),
        flash=space.flash,
        blocks_dye=np.array([i.blocks_dye for i in (*space.inks, *space.bases)], bool)[
            np.where(based, base, space.ink)
        ],
        has_plain_white=any(b.kind == "white-base" and not b.blocks_dye for b in space.bases),
        lines_per_inch=lines_per_inch,
        cellulose_share=share,
        discharge_grade=grade,
        dye_de00=moved,
        polyester_share=of_cloth("polyester"),
        de00_from_white=of_cloth("de00_from_white"),
    )
