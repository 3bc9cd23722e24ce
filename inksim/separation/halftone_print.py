"""Halftone print model: the color of a garment, a base or none and up to six inks as halftones.

Coverages are arrays (..., C), one share of the area per plate, garment side first: the base if
there is one, then the inks in print order. They are areas on the shirt, dots grown. Every fiber
quantile q has its own mosaic of primaries, R(q) = (Σ w·R_p(q)^(1/n))^n; the swatch is its mean over
q, the picture draws R(q(x, y)), as for flat prints; overprints have the same films, soak and
pick-up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inksim.colour import Viewing, lab as lab_of, weights
from inksim.common import FloatArray, InputError
from inksim.optics import (
    COMFORTABLE_MESH_RATIO,
    LEAST_MESH_RATIO,
    compensated,
    demichel,
    nested,
    quantile_nodes,
    ruling_warning,
    yule_nielsen,
)
from inksim.printing import Build, Layer, Route, Slabs, lower, point_reflectance, tabulate
from inksim.separation.inversion import Mosaic, mosaic, mosaic_xyz
from inksim.shop import Shop, usual_build
from inksim.stock import Garment, Ink, PressValues, Screen, prints_through

MOST_INKS = 6
DEFAULT_LINES_PER_INCH = 45.0
LINES_PER_INCH = (10.0, 150.0)
_BLOCK = 1 << 14  # prints at a time, to bound memory


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalSet:
    """The layers that print a tonal picture: base or none, and the inks in print order.

    most_total_coverage: sum of the colors' coverages that no place of the print exceeds; wet on wet
    more smears and does not cure through (common practice, no source).
    """

    garment: Garment
    route: Route
    base: Layer | None
    colours: tuple[Layer, ...]
    press: PressValues
    lines_per_inch: float
    most_total_coverage: float = float(MOST_INKS)

    def __post_init__(self) -> None:
        """Refuse too many or repeated inks, a base among them, and an odd line count."""
        if not 1 <= len(self.colours) <= MOST_INKS:
            raise InputError(
                f"a tonal print takes 1 to {MOST_INKS} inks, but {len(self.colours)} are given."
            )
        names = [layer.ink.name for layer in self.colours]
        twice = [name for name in names if names.count(name) > 1]
        if twice:
            raise InputError(f"ink '{twice[0]}' is given twice; give each ink once.")
        for layer in self.colours:
            if layer.ink.is_base:
                raise InputError(
                    f"ink '{layer.ink.name}' is a {layer.ink.kind}; it goes under the colors as "
                    "the base, not among the inks."
                )
        least, most = LINES_PER_INCH
        if not least <= self.lines_per_inch <= most:
            raise InputError(
                f"a halftone of {self.lines_per_inch:g} lines/inch is asked for; give {least:g} to "
                f"{most:g}, on garments usually 35 to 55."
            )

    @property
    def layers(self) -> tuple[Layer, ...]:
        """One layer per plate, in the order of the coverages."""
        return (() if self.base is None else (self.base,)) + self.colours

    @property
    def warnings(self) -> tuple[str, ...]:
        """Warnings on the line count for each plate's mesh."""
        said = [
            (layer.ink.name, ruling_warning(layer.screen.threads_per_inch,
                                            lines_per_inch=self.lines_per_inch))
            for layer in self.layers
        ]  # fmt: skip
        return tuple(f"{name}: {words}" for name, words in said if words)

    @property
    def growth(self) -> tuple[float, float]:
        """Dot growth in µm and lines/inch."""
        return float(self.press.dot_growth_um), self.lines_per_inch

    def on_plate(self, coverages: npt.ArrayLike) -> FloatArray:
        """Coverages on the plates that print coverages on the shirt: dot growth compensated."""
        um, lines = self.growth
        return compensated(coverages, growth_um=um, lines_per_inch=lines)


def tonal_screen(shop: Shop, ink: Ink, *, lines_per_inch: float, usual: float) -> Screen:
    """Choose the screen for a halftone: enough threads per line first, then the usual count.

    Of the screens the ink prints through, those with 4.5 threads per line or more; else 3.5; else
    the finest. Among them the one nearest to the usual thread count.
    """
    usable = [s for s in shop.screens.values() if prints_through(ink, s)]
    for ratio in (COMFORTABLE_MESH_RATIO, LEAST_MESH_RATIO):
        roomy = [s for s in usable if s.threads_per_inch >= ratio * lines_per_inch - 0.5]
        if roomy:
            return min(roomy, key=lambda s: abs(s.threads_per_inch - usual))
    if usable:
        return max(usable, key=lambda s: s.threads_per_inch)
    return shop.screen_near(usual, ink=ink)  # says what is missing


def tonal_set(
    shop: Shop,
    *,
    garment: Garment,
    inks: Sequence[Ink],
    route: Route,
    lines_per_inch: float = DEFAULT_LINES_PER_INCH,
) -> TonalSet:
    """Set up a tonal print as this shop would: screens for the line count, passes by habit.

    Colors are printed wet on wet, in the order given, over a base that is flashed by habit
    [assumption: common practice].

    Raises
    ------
    InputError : no ink, too many, one twice, a base among them; no base ink or screen for it; a
        cloth without discharge data for the discharge route; an odd line count.
    """
    if not inks:
        raise InputError("a tonal print needs at least one ink; name one of the shop's.")
    habits = shop.habits
    usual = (
        habits.straight_threads_per_inch
        if route == "straight"
        else habits.over_base_threads_per_inch
    )
    colours, base = [], None
    for ink in inks:
        layers = usual_build(shop, garment=garment, ink=ink, route=route).layers
        screen = tonal_screen(shop, ink, lines_per_inch=lines_per_inch, usual=usual)
        top = layers[-1]
        colours.append(Layer(ink=ink, screen=screen, passes=top.passes, flash=False))
        if len(layers) > 1:
            base = layers[0]
    if base is not None:
        screen = tonal_screen(
            shop, base.ink, lines_per_inch=lines_per_inch, usual=base.screen.threads_per_inch
        )
        base = Layer(ink=base.ink, screen=screen, passes=base.passes, flash=base.flash)
    return TonalSet(
        garment=garment,
        route=route,
        base=base,
        colours=tuple(colours),
        press=shop.press.values,
        lines_per_inch=lines_per_inch,
        most_total_coverage=shop.rules.most_total_coverage,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalModel:
    """A tonal set as arrays: N inks, a base or none, P = 2^N or 2·2^N primaries.

    cloth (31,) external, the first primary; slabs: the P − 1 others, in the order of the weights.
    """

    inks: int
    has_base: bool
    n: float
    cloth: FloatArray
    slabs: Slabs

    @property
    def plates(self) -> int:
        """Number of plates, C."""
        return self.inks + self.has_base

    def weights(self, coverages: npt.ArrayLike) -> FloatArray:
        """Shares (..., P) of the primaries for coverages (..., C)."""
        a = np.asarray(coverages, dtype=np.float64)
        if a.shape[-1] != self.plates:
            raise InputError(f"{a.shape[-1]} coverages are given for {self.plates} plates.")
        return nested(a[..., 1:], base=a[..., 0]) if self.has_base else demichel(a)

    def primaries(self, q: npt.ArrayLike) -> FloatArray:
        """External reflectance (Q, P, 31) of the primaries at fiber quantiles (Q,)."""
        printed = np.moveaxis(point_reflectance(self.slabs, q), 1, 0)
        bare = np.broadcast_to(self.cloth, (len(printed), 1, self.cloth.size))
        return np.concatenate([bare, printed], axis=1)


def tonal_model(tonal: TonalSet) -> TonalModel:
    """Lower a tonal set to its primaries: every overprint of its inks, on cloth and on the base."""
    inks = len(tonal.colours)
    builds = []
    for under in ((), (tonal.base,)) if tonal.base is not None else ((),):
        for overprint in range(2**inks):
            films = [c for i, c in enumerate(tonal.colours) if overprint >> i & 1]
            layers = tuple(layer for layer in (*under, *films) if layer is not None)
            if layers:
                route = tonal.route if under else "straight"
                builds.append(Build(garment=tonal.garment, layers=layers, route=route))
    return TonalModel(
        inks=inks,
        has_base=tonal.base is not None,
        n=float(tonal.press.yule_nielsen_n),
        cloth=tonal.garment.reflectance,
        slabs=lower(tabulate(builds), tonal.press),
    )


def tonal_reflectance(model: TonalModel, coverages: npt.ArrayLike, *, nodes: int = 8) -> FloatArray:
    """External reflectance (..., 31) of even tints of coverages (..., C): the mean over q."""
    q, weight = quantile_nodes(nodes)
    shares = model.weights(coverages)
    mean = np.zeros((*shares.shape[:-1], model.cloth.size))
    for at, R in zip(weight, model.primaries(q), strict=True):
        mean += at * yule_nielsen(shares, R, n=model.n)
    return mean


def quick_mosaic(model: TonalModel, viewing: Viewing, *, nodes: int, paired: bool) -> Mosaic:
    """The model as a `Mosaic`, for many colors at once."""
    q, weight = quantile_nodes(nodes)
    return mosaic(
        model.primaries(q),
        quantile_weight=weight,
        light=weights(viewing.light, viewing.observer),
        n=model.n,
        has_base=model.has_base,
        paired=paired,
    )


def quick_xyz(model: TonalModel, coverages: FloatArray, viewing: Viewing) -> FloatArray:
    """XYZ (M, 3) of many even tints (M, C): within 0.05 ΔE00 of `tonal_reflectance`."""
    exact = quick_mosaic(model, viewing, nodes=5, paired=False)
    out = np.empty((len(coverages), 3))
    for top in range(0, len(coverages), _BLOCK):
        part = slice(top, top + _BLOCK)
        out[part] = mosaic_xyz(exact, model.weights(coverages[part]))
    return out


def tonal_lab(model: TonalModel, coverages: npt.ArrayLike, viewing: Viewing) -> FloatArray:
    """CIELAB (..., 3) of even tints of coverages (..., C)."""
    return lab_of(tonal_reflectance(model, coverages), viewing)
