"""Characterize inks from drawdowns: K and S of all inks at once, with standard errors.

`characterise` fits all drawdowns together: over black and over white, masstones and tints, of any
recipe, thickness known or not. `predict_drawdown` predicts the reading of another recipe. The
forward model is film_model.py, pose.py sets up its arrays and priors, least_squares.py fits.

Prior standard deviations, all adjustable: 20 % of a film's thickness (10 % where it was measured),
3 % between over black and over white of one film, 20 % of an ink's share of the dry film (solids
and density), 0.002 of a reading; 0 switches one off. They are the middle of what
tests/accuracy/drawdowns.py found to matter little.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from inksim.colour import BANDS, Viewing, contrast_ratio, delta_e_2000, lab
from inksim.common import FloatArray, InputError, unknown
from inksim.drawdowns.drawdown import Drawdown, volume_fractions
from inksim.drawdowns.film_model import film_slopes, strengthened, surface_in, surface_out
from inksim.drawdowns.findings import DrawdownFit, FitView, InkFit, sheet_findings
from inksim.drawdowns.least_squares import fit_inks
from inksim.drawdowns.pose import Posed, pose
from inksim.drawdowns.sheet_errors import SheetFit
from inksim.drawdowns.sheet_verdict import SheetCheck
from inksim.optics import SURFACE, Surface, effective_ks

Geometry = Literal["45:0", "d:8-sce", "d:8-sci"]
GEOMETRIES: tuple[str, ...] = get_args(Geometry)
WITHIN_FILM_SD = 0.03
STRENGTH_SD = 0.20
DIRECTNESS_SD = 0.7
MILD_SMOOTHNESS_SD = 0.3
"""Roughness of the roughest of 33 measured dyed textiles, in K/S; see
tests/drawdowns/test_smoothness.py."""
NOISE = 0.002


@dataclass(frozen=True, kw_only=True, eq=False)
class Characterisation:
    """Inks characterized from drawdowns.

    Parameters
    ----------
    inks : by name, with K and S, their standard errors, and the bands where they are known.
    unit : "µm" if K and S are per µm of dry film, "film" if per film, for films all alike.
    thicknesses : (D,) fitted, µm or shared films, in the order of the drawdowns.
    drawdowns : measured against fitted, in the same order.
    noise : standard deviation of a reading about the fit.
    directness : η, 0 for diffuse light in every film (plain Kubelka–Munk), about 0.8 by radiative
        transfer for films lit from one direction; see `optics.directness`.
    smoothness_sd : as requested; None if every band was fitted by itself.
    warnings : in shop words, the most important first.
    """

    inks: Mapping[str, InkFit]
    unit: Literal["µm", "film"]
    thicknesses: FloatArray
    drawdowns: tuple[DrawdownFit, ...]
    noise: float
    directness: float
    geometry: str
    surface: Surface
    densities: Mapping[str, float] | None
    smoothness_sd: float | None
    warnings: tuple[str, ...]
    converged: bool
    sheet: SheetFit
    least_noise: float
    """The fit itself, and the noise of a reading that was stated."""
    check: SheetCheck | None = None
    """What leaving out one recipe at a time says, if asked: see sheet_check.py."""
    mixing_k: FloatArray
    mixing_s: FloatArray
    """(n, 31): coefficients that mix linearly, before the directness law; K and S if η is 0."""

    @property
    def mean_delta_e(self) -> float:
        """Mean ΔE00 of the fit over the drawdowns."""
        return float(np.mean([d.delta_e for d in self.drawdowns]))


def characterise(
    drawdowns: Sequence[Drawdown],
    *,
    geometry: Geometry = "45:0",
    surface: Surface = SURFACE,
    densities: Mapping[str, float] | None = None,
    thickness_sd: float | None = None,
    within_film_sd: float = WITHIN_FILM_SD,
    strength_sd: float = STRENGTH_SD,
    directness_sd: float = DIRECTNESS_SD,
    smoothness_sd: float | None = None,
    noise: float = NOISE,
    viewing: Viewing = Viewing(),
) -> Characterisation:
    """Fit K and S of every ink in the drawdowns, with their standard errors.

    Parameters
    ----------
    drawdowns : see `Drawdown`. Without any thickness all are taken as about the same film, and K,
        S are per that film.
    geometry : of the instrument, for all readings, also of the cards.
    surface : k1, k2 of the films and cards.
    densities : g/cm³ of each ink: then the recipes are mass fractions and are converted.
    thickness_sd : relative standard deviation of a film's thickness from what is stated; None is
        0.20 if unknown, 0.10 if measured; 0 holds them.
    within_film_sd : the same between readings of one film.
    strength_sd : relative prior sd of an ink's share of the dry volume.
    directness_sd : prior sd of η about 0, plain Kubelka–Munk.
    smoothness_sd : of the second difference of log K and log S over the bands: None fits each band
        by itself, `MILD_SMOOTHNESS_SD` is for noisy readings; see smoothness.py.
    noise : least standard deviation of a reading.
    viewing : for ΔE00 and contrast ratio.

    Raises
    ------
    InputError : no drawdown; an unknown geometry; inks that always come in the same proportions; a
        negative standard deviation; an ink without density.
    """
    _check_options(
        geometry,
        {
            "thickness_sd": thickness_sd or 0.0,
            "within_film_sd": within_film_sd,
            "strength_sd": strength_sd,
            "directness_sd": directness_sd,
        },
        noise,
    )
    if smoothness_sd is not None and not (np.isfinite(smoothness_sd) and smoothness_sd > 0):
        raise InputError(
            f"smoothness_sd is {smoothness_sd:g}; it must be above 0, or None to leave bands apart."
        )
    if not drawdowns:
        raise InputError("there is no drawdown to characterize inks from.")
    posed = pose(
        drawdowns,
        densities=densities,
        surface=surface,
        specular_included=geometry == "d:8-sci",
        thickness_sd=thickness_sd,
        within_film_sd=within_film_sd,
        strength_sd=strength_sd,
        directness_sd=directness_sd,
        smoothness_sd=smoothness_sd,
        noise=noise,
    )
    return _conclude(
        drawdowns,
        posed,
        fit_inks(posed.problem),
        geometry=geometry,
        densities=densities,
        strength_sd=strength_sd,
        smoothness_sd=smoothness_sd,
        noise=noise,
        viewing=viewing,
    )


def predict_drawdown(
    characterisation: Characterisation,
    *,
    recipe: Mapping[str, float],
    backing: npt.ArrayLike,
    thickness_um: float | None = None,
) -> FloatArray:
    """Predict the external reflectance (31,) of a recipe's film over a card.

    Parameters
    ----------
    characterisation : of the inks in the recipe; see `characterise`.
    recipe : in the terms of the drawdowns: dry volume fractions, or mass fractions if
        `characterise` was given densities; parts that do not sum to 1 are divided by their sum.
    backing : (31,) the bare card's reading, or "black" or "white".
    thickness_um : of the dry film; left out if K and S are per shared film.

    Raises
    ------
    InputError : an ink that was not fitted; a thickness missing or without meaning.
    """
    c = characterisation
    # For a drawdown's checks of recipe, card and thickness; the reading is a dummy.
    film = Drawdown(
        recipe=recipe, backing=backing, reading=np.zeros(BANDS), thickness_um=thickness_um
    )
    for ink in film.recipe:
        if ink not in c.inks:
            raise unknown(ink, c.inks, what="ink", where="among those characterized")
    thickness = film_thickness(c, thickness_um, where=film.label)
    parts = dict(film.recipe)
    if c.densities is not None:
        parts = volume_fractions(parts, densities=c.densities)
    believed = np.array([parts.get(ink, 0.0) for ink in c.inks])
    shares = strengthened(believed, np.log([ink.strength for ink in c.inks.values()]))
    k, s = effective_ks(shares @ c.mixing_k, shares @ c.mixing_s, c.directness)
    return film_reading(c, k, s, card=film.card, thickness=thickness)


def film_thickness(
    characterisation: Characterisation, thickness_um: float | None, *, where: str
) -> float:
    """A film's thickness in the unit of the K and S: µm, or 1 for films all alike.

    Raises
    ------
    InputError : a thickness missing or without meaning.
    """
    if characterisation.unit == "film" and thickness_um is not None:
        raise InputError(
            f"{where}: a thickness of {thickness_um:g} µm says nothing here, for the inks "
            "were characterized per film of unknown thickness; leave it out."
        )
    if characterisation.unit == "µm" and thickness_um is None:
        raise InputError(f"{where}: give the film's thickness in µm; the inks are known per µm.")
    return 1.0 if thickness_um is None else thickness_um


def film_reading(
    characterisation: Characterisation,
    K: FloatArray,
    S: FloatArray,
    *,
    card: FloatArray,
    thickness: float,
) -> FloatArray:
    """External reflectance (..., 31) of films of K, S (..., 31) over a card's reading (31,).

    As the characterization's instrument reads them; thickness: see `film_thickness`.
    """
    c = characterisation
    sci = c.geometry == "d:8-sci"
    inside, _ = surface_in(card, c.surface, specular_included=sci)
    film = film_slopes(K * thickness, S * thickness, np.broadcast_to(inside, K.shape))[0]
    return surface_out(film, c.surface, specular_included=sci)[0]


def _check_options(geometry: str, deviations: Mapping[str, float], noise: float) -> None:
    if geometry not in GEOMETRIES:
        raise unknown(geometry, GEOMETRIES, what="geometry", where="for drawdowns")
    for name, value in deviations.items():
        if not (np.isfinite(value) and value >= 0):
            raise InputError(f"{name} is {value:g}; it must be 0 or more.")
    if not (np.isfinite(noise) and noise > 0):
        raise InputError(f"the noise of a reading is {noise:g}; it must be above 0, such as 0.002.")


def _conclude(
    drawdowns: Sequence[Drawdown],
    posed: Posed,
    fitted: SheetFit,
    *,
    geometry: str,
    densities: Mapping[str, float] | None,
    strength_sd: float,
    smoothness_sd: float | None,
    noise: float,
    viewing: Viewing,
) -> Characterisation:
    names, scale, problem = posed.names, posed.scale, posed.problem
    films = len(drawdowns)
    delta, log_strength, directness = np.split(fitted.state.shared, [films, films + len(names)])
    inks = {
        name: InkFit(
            name=name,
            K=fitted.K[:, at] / scale,
            S=fitted.S[:, at] / scale,
            K_error=fitted.K_error[:, at] / scale,
            S_error=fitted.S_error[:, at] / scale,
            strength=float(np.exp(log_strength[at])),
            film_um=scale,
            apart=fitted.apart[at] / scale**2,
            common=fitted.common[at] / scale**2,
            read_once=at in problem.guessed,
        )
        for at, name in enumerate(names)
    }
    read = tuple(
        DrawdownFit(
            drawdown=d,
            fitted=fitted.fitted[at],
            delta_e=float(
                delta_e_2000(
                    lab(np.maximum(d.measured, 0.0), viewing), lab(fitted.fitted[at], viewing)
                )
            ),
            contrast_error=_contrast_error(drawdowns, fitted.fitted, at, viewing),
            thickness=float(posed.thickness[at] * np.exp(delta[at])),
            thickness_factor=float(np.exp(delta[at])),
        )
        for at, d in enumerate(drawdowns)
    )
    view = FitView(
        inks=inks,
        drawdowns=read,
        fractions=problem.fractions,
        noise=fitted.noise,
        thickness_sd=posed.thickness_sd,
        strength_sd=strength_sd,
        limit=1.0 if problem.specular_included else 1.0 - problem.surface.k1,
        surface=problem.surface,
        specular_included=problem.specular_included,
        converged=fitted.converged,
    )
    return Characterisation(
        inks=MappingProxyType(inks),
        unit="µm" if posed.stated else "film",
        thicknesses=np.array([d.thickness for d in read]),
        drawdowns=read,
        noise=fitted.noise,
        directness=float(directness[0]),
        geometry=geometry,
        surface=problem.surface,
        densities=None if densities is None else MappingProxyType(dict(densities)),
        smoothness_sd=smoothness_sd,
        warnings=sheet_findings(view),
        converged=fitted.converged,
        sheet=fitted,
        least_noise=noise,
        mixing_k=np.exp(fitted.state.log_k).T / scale,
        mixing_s=np.exp(fitted.state.log_s).T / scale,
    )


def _contrast_error(
    drawdowns: Sequence[Drawdown], fitted: FloatArray, at: int, viewing: Viewing
) -> float | None:
    """Fitted less measured contrast ratio of a film over black and white; None without the pair."""
    one = drawdowns[at]
    film = [i for i, d in enumerate(drawdowns) if d.same_film == one.same_film]
    dark = min(film, key=lambda i: float(drawdowns[i].card.mean()))
    light = max(film, key=lambda i: float(drawdowns[i].card.mean()))
    if float((drawdowns[light].card - drawdowns[dark].card).mean()) < 0.3 or at not in (
        dark,
        light,
    ):
        return None
    measured = contrast_ratio(
        np.maximum(drawdowns[dark].measured, 0.0), drawdowns[light].measured, viewing
    )
    return float(contrast_ratio(fitted[dark], fitted[light], viewing) - measured)
