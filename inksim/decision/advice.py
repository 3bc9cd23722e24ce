"""The decision for one ink, garment and target, and its reasons in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing, chroma, lab as lab_of
from inksim.common import ROUTE_TITLES, ROUTE_WORDS, FloatArray, counted
from inksim.decision.verdict import Verdict, whole_percent
from inksim.optics import external_from_internal, reflectance_from_ks
from inksim.printing import (
    ROUTES,
    Prediction,
    Route,
    build_words,
    discharged_ks as ks_discharged,
)
from inksim.stock import Garment, Ink, Target


@dataclass(frozen=True, kw_only=True)
class RouteResult:
    """Outcome of one route.

    usable: whether the route can be printed at all; why_not explains if not.
    best: the build to print by this route, see `as_good`; verdict: on it.
    nominal: whether its most likely color is inside the tolerance; margin: by how much.
    """

    route: Route
    usable: bool
    why_not: str
    best: Prediction | None
    verdict: Verdict | None
    nominal: bool
    margin: float

    @property
    def chance(self) -> float:
        """Chance that its build lands; 0 without a build."""
        return self.verdict.chance if self.verdict else 0.0

    @property
    def distance(self) -> float:
        """Nominal ΔE00 of its build from the target; infinite without a build."""
        if self.best is None:
            return np.inf
        assert self.best.delta_e_2000 is not None
        return self.best.delta_e_2000


@dataclass(frozen=True, kw_only=True)
class Advice:
    """The decision for one ink on one garment against one target.

    route: the one to print by. verdict: on its build, with what would help. ranking: where data
    only rank, how sure the choice of the route is, against the one it was weighed with; else ''.
    """

    route: Route
    verdict: Verdict
    ranking: str
    reasons: tuple[str, ...]
    routes: tuple[RouteResult, ...]
    tolerance: float
    target: Target

    @property
    def chosen(self) -> RouteResult:
        """The result of the route to print by."""
        return next(r for r in self.routes if r.route == self.route)

    @property
    def best(self) -> Prediction:
        """The print to expect."""
        assert self.chosen.best is not None
        return self.chosen.best

    @property
    def nominal(self) -> bool:
        """Whether the most likely color of any build is inside the tolerance."""
        return any(r.nominal for r in self.routes)


def difference_words(standard: FloatArray, trial: FloatArray) -> str:
    """Describe how a color (Lab) differs from the standard, largest part first."""
    chroma_s, chroma_t = float(chroma(standard)), float(chroma(trial))
    lightness = float(trial[0] - standard[0])
    colourful = chroma_t - chroma_s
    squared = float(np.sum((trial[1:] - standard[1:]) ** 2)) - colourful**2
    hue = float(np.sqrt(max(squared, 0.0)))
    parts = [
        (abs(lightness), "darker" if lightness < 0 else "lighter"),
        (abs(colourful), "duller" if colourful < 0 else "more colorful"),
        (hue, "of another hue"),
    ]
    said = [words for size, words in sorted(parts, reverse=True) if size >= 1.5]
    return " and ".join(said[:2]) or "a touch different"


def _expected(result: RouteResult) -> str:
    """'ΔE00 2.1 (0.8 to 4.9), 66% chance'."""
    assert result.verdict is not None
    return f"{result.verdict.expected}, {result.verdict.percent} chance"


def _to_print(advice: Advice) -> str:
    """Sentence on the build to print, and its nominal color against the tolerance."""
    result = advice.chosen
    where = (
        f"{_size(result.margin)} inside the tolerance of {advice.tolerance:g}"
        if result.nominal
        else f"{_size(-result.margin)} outside the tolerance of {advice.tolerance:g}"
    )
    return (
        f"{ROUTE_TITLES[result.route]}: {build_words(advice.best.build)}. The most likely color is "
        f"nominally ΔE00 {result.distance:.1f} off, {where}."
    )


def _size(margin: float) -> str:
    """The margin with one decimal, or two where one would show 0.0."""
    return f"{margin:.1f}" if margin >= 0.05 else f"{margin:.2f}"


def _easier(result: RouteResult, advice: Advice) -> str:
    """Sentence on a route of less work that could be printed but is passed over."""
    return (
        f"{ROUTE_TITLES[result.route]} it is less sure: {_expected(result)} against "
        f"{whole_percent(advice.chosen.chance):.0f}% {ROUTE_WORDS[advice.route]}, "
        "which is worth the work."
    )


def _costlier(result: RouteResult, advice: Advice, *, gain: float) -> str:
    """Sentence on a route of more work that is not taken."""
    more = "more screens and ink" if advice.route == "straight" else "a flash and more ink"
    added = result.chance - advice.chosen.chance
    worth = f"only {counted(round(100 * added), 'point')} more" if added >= 0.005 else "no surer"
    if added >= gain:
        worth = f"not {100 * gain:.0f} points more than by every easier route"
    return f"{ROUTE_TITLES[result.route]}: {_expected(result)}, {worth}, at {more}."


def _missing(result: RouteResult, advice: Advice, *, viewing: Viewing) -> str:
    """Sentence on why a route does not come near, or cannot be printed."""
    if result.best is None:
        return f"{ROUTE_TITLES[result.route]}: no, because {result.why_not}."
    best = result.best
    text = (
        f"{ROUTE_TITLES[result.route]} the nearest print is ΔE00 {result.distance:.1f} "
        f"away, {difference_words(advice.target.lab(viewing), best.lab)} than the target"
    )
    if result.route == "straight":
        text += f"; {best.show_through:.0%} of the garment's lightness still shows through"
    elif result.route == "discharge-base":
        garment = best.build.garment
        cloth = external_from_internal(reflectance_from_ks(ks_discharged(garment)))
        text += f"; the discharged cloth is at L* {lab_of(cloth, viewing)[0]:.0f}, not white"
    else:
        text += (
            f"; this ink over white is at L* {best.lab[0]:.0f}, C* {float(chroma(best.lab)):.0f}"
        )
    return text + "."


def reasons_of(
    advice: Advice, *, garment: Garment, ink: Ink, viewing: Viewing, gain: float
) -> tuple[str, ...]:
    """Explain the decision: what to print, why easier routes do not do, and the alternatives."""
    at = ROUTES.index(advice.route)
    reasons = [_to_print(advice)]
    if not advice.nominal:
        reasons.append(
            f"No build of '{ink.name}' on '{garment.name}' is nominally inside the tolerance. "
            f"{_another(advice, viewing=viewing)}"
        )
    for result in advice.routes[:at]:
        if result.nominal:
            reasons.append(_easier(result, advice))
        else:
            reasons.append(_missing(result, advice, viewing=viewing))
    for result in advice.routes[at + 1 :]:
        if result.nominal:
            reasons.append(_costlier(result, advice, gain=gain))
        else:
            reasons.append(_missing(result, advice, viewing=viewing))
    if advice.ranking:
        reasons.append(f"How sure this order is: {advice.ranking}.")
    if advice.route == "discharge-base":
        reasons.append(
            "Discharge gives a softer hand than white, but an off-white ground, and fumes: test a "
            "swatch of this very garment lot first."
        )
    return tuple(reasons)


def _another(advice: Advice, *, viewing: Viewing) -> str:
    """Sentence on what would bring the target into reach."""
    standard, nearest = advice.target.lab(viewing), advice.best
    too_dark = nearest.lab[0] < standard[0] - 1.5
    cloth_is_dark = lab_of(nearest.build.garment.reflectance, viewing)[0] < 80.0
    lighter = ", a lighter shirt" if too_dark and cloth_is_dark else ""
    return (
        f"The print would be {difference_words(standard, nearest.lab)}: another ink "
        f"(a mix, too){lighter} or a wider tolerance would help."
    )
