"""Findings of a fit of drawdowns on inks, films and readings, in shop words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from inksim.colour import WAVELENGTHS_NM
from inksim.common import BoolArray, FloatArray
from inksim.drawdowns.drawdown import SUM_TOLERANCE, Drawdown, is_read_once, reads_the_wrong_way
from inksim.optics import Surface

HIDES = 0.01
"""Difference of reflectance below which over black and over white read alike."""
KNOWN_SHARE, KNOWN_DEPTH = 0.5, 0.02
"""K or S is known if its error is below half of it, or below 0.02 for the whole film."""
GLOW, CLEAR = 0.014, 0.1
"""Fluorescence: reflectance above the fit by the first, where K of the film is below the second."""
FAR_FILM, FAR_STRENGTH = 3.0, 2.5
"""Standard deviations."""
POOR_DELTA_E, POOR_TIMES = 3.0, 4.0


@dataclass(frozen=True, kw_only=True, eq=False)
class InkFit:
    """One characterized ink: K, S (31,) per µm (or per film), with standard errors.

    strength: factor on its share of the dry film in mixtures, against the recipes.
    film_um: median film of the drawdowns, in the same unit.
    apart: (31, 2, 2) covariance of K and S within a band, with what all bands share held; common:
    (2, 31, 2, 31) what that adds. read_once: in one reading only, so that S is a guess.
    """

    name: str
    K: FloatArray
    S: FloatArray
    K_error: FloatArray
    S_error: FloatArray
    strength: float
    film_um: float
    apart: FloatArray
    common: FloatArray
    read_once: bool

    def __post_init__(self) -> None:
        """Freeze the spectra."""
        for field in ("K", "S", "K_error", "S_error", "apart", "common"):
            getattr(self, field).flags.writeable = False

    @cached_property
    def K_known(self) -> BoolArray:
        """Mask (31,) of the bands where K is known."""
        return self._known(self.K, self.K_error)

    @cached_property
    def S_known(self) -> BoolArray:
        """Mask (31,) of the bands where S is known."""
        return self._known(self.S, self.S_error)

    def _known(self, value: FloatArray, error: FloatArray) -> BoolArray:
        return np.asarray(error < np.maximum(KNOWN_SHARE * value, KNOWN_DEPTH / self.film_um))


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawdownFit:
    """One drawdown compared with the fit.

    fitted: (31,) external. contrast_error: fitted less measured contrast ratio, None unless the
    film was read over black and over white. thickness: fitted, µm or films;
    thickness_factor: fitted over stated.
    """

    drawdown: Drawdown
    fitted: FloatArray
    delta_e: float
    contrast_error: float | None
    thickness: float
    thickness_factor: float

    @property
    def name(self) -> str:
        """Name in messages."""
        return self.drawdown.label

    @property
    def measured(self) -> FloatArray:
        """The reading (31,), external."""
        return self.drawdown.measured


@dataclass(frozen=True, kw_only=True, eq=False)
class FitView:
    """Data of a fit for the findings. fractions (D, n); limit: highest reading a film can have."""

    inks: Mapping[str, InkFit]
    drawdowns: tuple[DrawdownFit, ...]
    fractions: FloatArray
    noise: float
    thickness_sd: FloatArray
    strength_sd: float
    limit: float
    surface: Surface
    specular_included: bool
    converged: bool


def sheet_findings(view: FitView) -> tuple[str, ...]:
    """All warnings, the most important first."""
    found = [*_swapped(view), *_fluorescence(view), *_poor(view)]
    found += [*_readings_off(view), *_cards_off(view)]
    found += [*_read_once(view), *_sums_off(view)]
    found += [*_hiding(view), *_unknown(view), *_films_off(view), *_strengths_off(view)]
    if not view.converged:
        found.append("the fit did not settle: check recipes, cards and thicknesses.")
    return tuple(found)


def bands_in_words(bands: BoolArray) -> str:
    """Format a mask (31,) of bands: '430–480, 600 nm'."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bands, [False]]).astype(int)))
    runs = [
        f"{WAVELENGTHS_NM[a]:.0f}"
        if b - a == 1
        else f"{WAVELENGTHS_NM[a]:.0f}–{WAVELENGTHS_NM[b - 1]:.0f}"
        for a, b in edges.reshape(-1, 2)
    ]
    return "all bands" if bands.all() else ", ".join(runs) + " nm"


def _adjacent(bands: BoolArray) -> BoolArray:
    """Drop isolated bands: one alone is noise."""
    padded = np.concatenate([[False], bands, [False]])
    return np.asarray(bands & (padded[:-2] | padded[2:]))


def _fluorescence(view: FitView) -> list[str]:
    """Fluorescence: readings above the limit of a passive film, or above a fit whose K is 0.

    An ink that emits would need K below 0 where it absorbs nothing; the remainder shows in all
    readings of a recipe as light above the fit, most of all in tints with white. Of the inks in
    such recipes the one with the largest share of them is named.
    """
    names = list(view.inks)
    recipes: dict[tuple[object, ...], list[int]] = {}
    for i, d in enumerate(view.drawdowns):
        recipes.setdefault(d.drawdown.same_film, []).append(i)
    holds = np.array([view.fractions[own[0]] > 0.04 for own in recipes.values()])
    glows = np.array(
        [
            _glow(view, [view.drawdowns[i] for i in own], holds[at])
            for at, own in enumerate(recipes.values())
        ]
    )
    share = (holds * np.asarray(glows.any(axis=1))[:, None]).sum(axis=0) / np.maximum(
        holds.sum(axis=0), 1
    )
    strength = np.array([float(ink.K.max()) for ink in view.inks.values()])
    share = share + 1e-3 * strength / strength.max()
    by_ink: dict[int, BoolArray] = {}
    for at in np.flatnonzero(glows.any(axis=1)):
        blamed = int(np.argmax(np.where(holds[at], share, -1.0)))
        by_ink[blamed] = glows[at] | by_ink.get(blamed, glows[at])
    return [
        f"{names[at]}: at {bands_in_words(bands)} it gives back more light than any ink without "
        "fluorescence can. What is fitted does not hold for it: read it with UV and blue excluded "
        "where the instrument can, and check it on the print."
        for at, bands in by_ink.items()
    ]


def _glow(view: FitView, readings: list[DrawdownFit], holds: BoolArray) -> BoolArray:
    """Mask of the bands where all readings of one recipe exceed what its inks can reflect."""
    excess = [d.measured - d.fitted for d in readings]
    least, mean = np.min(excess, axis=0), np.mean(excess, axis=0)
    inks = [ink for ink, held in zip(view.inks.values(), holds, strict=True) if held]
    clear = np.all([ink.K * ink.film_um < CLEAR for ink in inks], axis=0)
    above = (least > GLOW / 2.0) & (mean > max(GLOW, 2.5 * view.noise)) & clear
    for d in readings:
        above |= d.measured > max(view.limit, float(d.drawdown.card.max())) + GLOW
    return _adjacent(above)


def _swapped(view: FitView) -> list[str]:
    films: dict[tuple[object, ...], list[Drawdown]] = {}
    for d in view.drawdowns:
        films.setdefault(d.drawdown.same_film, []).append(d.drawdown)
    return [
        f"{one.label} and {two.label}: the film reads darker over the lighter card, as no film "
        "can; the cards or the readings are swapped."
        for own in films.values()
        for one, two in combinations(own, 2)
        if reads_the_wrong_way(one.card, one.measured, two.card, two.measured)
    ]


def _poor(view: FitView) -> list[str]:
    usual = float(np.median([d.delta_e for d in view.drawdowns]))
    if usual <= POOR_DELTA_E:
        return []
    return [
        f"half of the drawdowns are {usual:.1f} ΔE00 or more from the fit: their cards, recipes, "
        "thicknesses and readings do not go together, and the fit is not to be relied on."
    ]


def _readings_off(view: FitView) -> list[str]:
    usual = float(np.median([d.delta_e for d in view.drawdowns]))
    return [
        f"{d.name} is {d.delta_e:.1f} ΔE00 from what the other drawdowns say: check its recipe, "
        "its film and its reading."
        for d in view.drawdowns
        if d.delta_e > max(POOR_DELTA_E, POOR_TIMES * usual)
    ]


def _cards_off(view: FitView) -> list[str]:
    found = []
    cards = {d.drawdown.card.tobytes(): d.drawdown for d in view.drawdowns}
    for of in cards.values():
        top = float(of.card.max())
        bottom = view.surface.k1 if view.specular_included else 0.0
        if top > view.limit:
            found.append(
                f"the {of.card_word} card reads {top:.3f}, more than the {view.limit:.3f} that a "
                "card without fluorescence can; it is taken as a perfect diffuser there."
            )
        if float(of.card.min()) < bottom:
            found.append(
                f"the {of.card_word} card reads {of.card.min():.3f}, less than the reflection of "
                f"the surface itself ({bottom:.3f}): check the specular setting; it is taken as "
                "black there."
            )
    return found


def _read_once(view: FitView) -> list[str]:
    all_of_them = [d.drawdown for d in view.drawdowns]
    return [
        f"{ink} is in one reading only, which cannot tell what it absorbs from what it scatters: "
        "the lesser of the two is a guess. Add the same film over the other card, or a tint "
        "with white."
        for ink in view.inks
        if is_read_once(all_of_them, ink)
    ]


def _sums_off(view: FitView) -> list[str]:
    off = [d for d in view.drawdowns if abs(d.drawdown.stated_sum - 1.0) > SUM_TOLERANCE]
    if not off:
        return []
    more = f" and {len(off) - 1} more recipes do" if len(off) > 1 else " does"
    return [
        f"{off[0].name}{more} not sum to 1 (it sums to {off[0].drawdown.stated_sum:.4g}): taken as "
        "parts of that sum. If anything is left out of the recipe, name it."
    ]


def _hidden(view: FitView, at: int) -> BoolArray:
    """Mask of the bands where pure films of an ink read alike over black and over white."""
    pure = [view.drawdowns[i] for i in np.flatnonzero(view.fractions[:, at] > 0.999)]
    pairs = [
        np.abs(one.measured - two.measured)
        for one, two in combinations(pure, 2)
        if one.drawdown.same_film == two.drawdown.same_film
        and np.mean(np.abs(one.drawdown.card - two.drawdown.card)) > 0.3
    ]
    none = np.zeros(WAVELENGTHS_NM.shape, dtype=np.bool_)
    return _adjacent(np.max(pairs, axis=0) < HIDES) if pairs else none


def _hiding(view: FitView) -> list[str]:
    """Inks whose pure film hides: S then comes from tints, or is unknown."""
    found = []
    for at, ink in enumerate(view.inks.values()):
        hides = _hidden(view, at)
        lost = hides & ~ink.S_known
        alike = (
            f"{ink.name} hides: over black and over white it reads alike (within "
            f"{100 * HIDES:g} % reflectance) at "
            f"{bands_in_words(hides)}"
        )
        if lost.any():
            found.append(
                f"{alike}, and its scattering is not known at {bands_in_words(lost)}; "
                "make a thinner film or a tint with white."
            )
        elif hides.sum() > hides.size // 2:
            found.append(f"{alike}; there its scattering is known from its mixtures only.")
    return found


def _unknown(view: FitView) -> list[str]:
    """Bands where K or S is unknown and hiding is not the reason already given."""
    found = []
    for at, ink in enumerate(view.inks.values()):
        for what, known in (
            ("absorption", ink.K_known),
            ("scattering", ink.S_known | _hidden(view, at)),
        ):
            if (~known).any():
                found.append(
                    f"{ink.name}: {what} is not known at {bands_in_words(~known)} (its standard "
                    "error is over half of it); add a tint with white, or a film of another "
                    "thickness over black and over white."
                )
    return found


def _films_off(view: FitView) -> list[str]:
    found = {}
    for d, sd in zip(view.drawdowns, view.thickness_sd, strict=True):
        if sd > 0 and abs(np.log(d.thickness_factor)) > FAR_FILM * sd:
            found[d.drawdown.same_film] = (
                f"{d.name} fits a film {d.thickness_factor:.2f} times as thick as stated: measure "
                "it again, and check its recipe."
            )
    return list(found.values())


def _strengths_off(view: FitView) -> list[str]:
    return [
        f"{ink.name} acts in mixtures like {ink.strength:.2f} times its share: check its solids "
        "and density, or how its mixtures were weighed."
        for ink in view.inks.values()
        if view.strength_sd > 0 and abs(np.log(ink.strength)) > FAR_STRENGTH * view.strength_sd
    ]
