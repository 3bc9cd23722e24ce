"""Films

Kubelka and Munk's film against the two differential equations it solves, and against radiative
transfer (adding-doubling), which they simplify: two streams of light instead of every direction.

How large that simplification is depends on how K and S were found. The first table takes them
from the film itself, as a shop does: K and S are fitted to its readings over black and over white,
and then the film of half and of twice that thickness is predicted over black, gray and white cards.
The second takes them from the pigment, by the usual conversion K = 2μa, S = (3μs - μa)/4 [Mudgett &
Richards, Appl. Opt. 10 (1971) 1485; Star, Marijnissen & van Gemert, Phys. Med. Biol. 33 (1988) 437;
both from memory], and predicts its readings over the same cards. inksim only ever does the first.

Optical thickness is (μa + μs)·X and albedo μs/(μa + μs), scattering isotropic; light inside the
surface is diffuse, index 1.5, as Saunderson assumes; spectra are flat, so a difference is one of
lightness. Each cell is the worst case, ΔE00.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product

import iadpython
import numpy as np
from scipy.integrate import solve_bvp
from scipy.special import expn

from inksim.colour.cielab import cielab_from_xyz, delta_e_2000
from inksim.colour.grid import BANDS
from inksim.colour.lights import white_xyz
from inksim.colour.viewing import Viewing
from inksim.optics.kubelka_munk import (
    SURFACE,
    Surface,
    external_from_internal,
    film,
    film_over,
    internal_from_external,
)
from inksim.printing.opacity import Card, covering_thickness_um, film_contrast_ratio
from tests.accuracy import Detail, Row, row
from tests.conftest import read_check_values
from tests.two_backings import invert_over_two_backings

ORDER = 30
ALBEDOS = (0.1, 0.3, 0.5, 0.7, 0.9, 0.97, 0.99, 0.999, 0.9999)
THICKNESSES = (0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0)
CARDS = {"black": 0.01, "gray": 0.20, "white": 0.80}  # external
ANGLES = 16
LEAST_ALBEDO = 0.5  # from here on the first table promises less than 1 ΔE00 everywhere

RADIATIVE = "radiative transfer, adding-doubling (iadpython, MIT)"


def rows() -> list[Row]:
    """Film against flux equations and against radiative transfer."""
    used = _grid(_error_in_use)
    scattering = used[np.array(ALBEDOS) >= LEAST_ALBEDO]
    return [
        _flux_equations(),
        *_opacity(),
        _solver_itself(),
        row(
            f"Fitted film at half and twice its thickness, albedo {LEAST_ALBEDO:g} and above",
            RADIATIVE,
            scattering,
            limits={"worst": 1.0},
        ),
        row(
            f"the same, albedo below {LEAST_ALBEDO:g}: dyes that hardly scatter",
            RADIATIVE,
            used[np.array(ALBEDOS) < LEAST_ALBEDO],
            limits={"worst": 2.0},
        ),
        row("K and S from the pigment's own μa and μs", RADIATIVE, _grid(_error_converted)),
    ]


def details() -> list[Detail]:
    """Kubelka-Munk's own error by optical thickness and albedo."""
    used, converted = _grid(_error_in_use), _grid(_error_converted)
    return [
        Detail(
            title="Kubelka–Munk's own error, K and S fitted to the film",
            text=_range_in_words(used),
            head=_HEAD,
            cells=_cells(used),
        ),
        Detail(
            title="Kubelka–Munk's own error, K and S converted from the pigment",
            text=_range_in_words(converted),
            head=_HEAD,
            cells=_cells(converted),
        ),
    ]


# -- the flux equations


def _flux_equations() -> Row:
    """dI/dx = -(K+S)I + SJ, dJ/dx = (K+S)J - SI, I(0) = 1, J(X) = Rg·I(X); R = J(0)."""
    errors = []
    for K, S, X, backing in product((0.0, 0.02, 0.3), (0.0, 0.02, 0.5), (2.0, 10.0), (0.05, 0.7)):

        def slopes(_x: np.ndarray, y: np.ndarray) -> np.ndarray:
            down, up = y
            return X * np.array([-(K + S) * down + S * up, (K + S) * up - S * down])  # noqa: B023

        def ends(top: np.ndarray, bottom: np.ndarray) -> np.ndarray:
            return np.array([top[0] - 1.0, bottom[1] - backing * bottom[0]])  # noqa: B023

        x = np.linspace(0.0, 1.0, 41)
        start = np.full((2, x.size), 0.5)
        solved = solve_bvp(slopes, ends, x, start, tol=1e-10, max_nodes=50_000)
        if not solved.success:
            raise RuntimeError(f"solve_bvp: {solved.message}")
        errors.append(float(film_over(K, S, thickness_um=X, backing=backing)) - solved.y[1, 0])
    return row(
        "Film over a backing",
        "the flux equations of Kubelka & Munk 1931, scipy.integrate.solve_bvp",
        errors,
        unit="R",
        limits={"worst": 1e-8},
    )


def _opacity() -> list[Row]:
    """Internal contrast ratios over black 0 and white 0.8, and the film that reaches 0.98."""
    checks, flat, viewing = read_check_values(), np.ones(BANDS), Viewing()
    given = {"card": Card(black=1e-12 * flat, white=0.8 * flat), "viewing": viewing}
    given |= {"surface": Surface(0.0, 0.0)}
    ratios = [
        float(film_contrast_ratio(float(ks) * flat, flat, thickness_um=float(SX), **given)) - value
        for ks, line in checks["contrast_ratio_internal"].items()
        for SX, value in line.items()
    ]
    thick = [
        (covering_thickness_um(float(ks) * flat, flat, **given) or np.nan) - SX
        for ks, SX in checks["SX_for_CR098"].items()
    ]
    source = "closed form, 1931 exponentials, matrix exponential and ODE, computed beforehand"
    return [
        row(
            "Contrast ratio inside the surface", source, ratios, unit="Y/Y", limits={"worst": 1e-4}
        ),
        row(
            "S·X that reaches a contrast ratio of 0.98",
            source,
            thick,
            unit="S·X",
            limits={"worst": 1e-4},
        ),
    ]


# -- radiative transfer


@cache
def _layer(albedo: float, optical: float) -> tuple[float, float]:
    """Reflectance and transmittance of a free layer for diffuse light."""
    sample = iadpython.Sample(a=albedo, b=optical, g=0.0, quad_pts=ANGLES)
    _, _, reflected, transmitted = sample.rt()
    return float(reflected), float(transmitted)


def _solver_itself() -> Row:
    """The other solver must be good too: without scattering T = 2 E3(b), exactly."""
    errors = [_layer(0.0, b)[1] - 2.0 * expn(3, b) for b in THICKNESSES]
    return row(
        "The radiative-transfer solver itself, no scattering",
        "exact: 2 E₃(b), scipy.special",
        errors,
        unit="T",
        limits={"worst": 1e-5},
    )


def _true_reading(albedo: float, optical: float, card: float) -> float:
    """External reading by radiative transfer, over a card of this external reflectance."""
    reflected, transmitted = _layer(albedo, optical)
    backing = float(internal_from_external(card))
    inside = reflected + transmitted**2 * backing / (1.0 - reflected * backing)
    # Saunderson, written out: light leaves through a surface that turns k2 of it back
    k1, k2 = SURFACE
    return (1.0 - k1) * inside * (1.0 - k2) / (1.0 - k2 * inside)


def _difference(one: float, two: float) -> float:
    white = white_xyz("D50", 2)
    labs = [cielab_from_xyz(R * white, white=white) for R in (one, two)]
    return float(delta_e_2000(*labs))


def _error_in_use(albedo: float, optical: float) -> float:
    black, white = (
        internal_from_external(_true_reading(albedo, optical, CARDS[card]))
        for card in ("black", "white")
    )
    K, S = invert_over_two_backings(
        black,
        white,
        backing_1=internal_from_external(CARDS["black"]),
        backing_2=internal_from_external(CARDS["white"]),
        thickness_um=optical,
    )
    errors = []
    for times, card in product((0.5, 2.0), CARDS.values()):
        inside = film_over(K, S, thickness_um=times * optical, backing=internal_from_external(card))
        predicted = float(external_from_internal(inside))
        errors.append(_difference(_true_reading(albedo, times * optical, card), predicted))
    return max(errors)


def _error_converted(albedo: float, optical: float) -> float:
    absorbed = 1.0 - albedo
    K, S = 2.0 * absorbed, max(0.0, (3.0 * albedo - absorbed) / 4.0)
    R0, T = film(K, S, thickness_um=optical)
    errors = []
    for card in CARDS.values():
        backing = internal_from_external(card)
        predicted = float(external_from_internal(R0 + T * T * backing / (1.0 - R0 * backing)))
        errors.append(_difference(_true_reading(albedo, optical, card), predicted))
    return max(errors)


def _grid(error: Callable[[float, float], float]) -> np.ndarray:
    return np.array([[error(albedo, optical) for optical in THICKNESSES] for albedo in ALBEDOS])


_HEAD = ["albedo", *(f"{b:g}" for b in THICKNESSES)]


def _cells(errors: np.ndarray) -> list[list[str]]:
    """Errors below 1 as they are, others in bold."""
    return [
        [f"{albedo:g}", *(f"{e:.2f}" if e < 1.0 else f"**{e:.2f}**" for e in line)]
        for albedo, line in zip(ALBEDOS, errors, strict=True)
    ]


def _range_in_words(errors: np.ndarray) -> str:
    """For which thicknesses the error stays below 1, albedo by albedo."""
    inside = errors < 1.0
    text = f"Below 1 ΔE00 in {int(inside.sum())} of {errors.size} cells"
    if inside.all():
        return f"{text}."
    mostly = inside.mean() > 0.5
    listed = []
    for albedo, line in zip(ALBEDOS, inside, strict=True):
        here = [f"{b:g}" for b, good in zip(THICKNESSES, line, strict=True) if good != mostly]
        if here:
            span = here[0] if len(here) == 1 else f"{here[0]} to {here[-1]}"
            listed.append(f"albedo {albedo:g}, optical thickness {span}")
    return f"{text}, {'all but' if mostly else 'namely'} {'; '.join(listed)}."
