"""Films, surface and mixing against their limits, the differential equations and computed tables.

Sources: Kubelka & Munk 1931 and Kubelka 1948 for the two flux equations; Saunderson 1942 for the
surface; Fresnel's formulas, integrated here, for k1 and k2. The tables in check_values.json were
computed by two to four independent methods (see their ``provenance``); they are not published.
"""

# ruff: noqa: SIM300  (K, S, R and T are the physics' own letters, not constants)
from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy.integrate import quad, solve_bvp

from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import (
    LEAST_NET,
    SURFACE,
    Surface,
    external_from_internal,
    film,
    film_over,
    films_over,
    internal_from_external,
    ks_from_reflectance,
    mix,
    net_flux,
    over,
    reflectance_from_ks,
)
from tests.conftest import read_check_values
from tests.two_backings import invert_over_two_backings

CHECK = read_check_values()
PAPER = Surface(k1=0.04, k2=0.60)  # the surface that the tables were computed for

absorptions = st.floats(0.0, 3.0)
scatterings = st.floats(0.0, 1.0)
thicknesses = st.floats(0.0, 100.0)
backings = st.floats(0.0, 1.0)


# -- Limits


@given(K=absorptions, S=scatterings, backing=backings)
def test_no_film_leaves_the_backing(K: float, S: float, backing: float) -> None:
    assert film_over(K, S, thickness_um=0.0, backing=backing) == backing


@given(S=scatterings, X=thicknesses)
def test_without_absorption_nothing_is_lost(S: float, X: float) -> None:
    # Closed form of the two equations for K = 0: R0 = SX/(1+SX), and R0 + T = 1.
    R0, T = film(0.0, S, thickness_um=X)
    assert R0 == pytest.approx(S * X / (1 + S * X), rel=1e-13, abs=1e-300)
    assert R0 + T == pytest.approx(1.0, abs=1e-14)


@given(K=absorptions, X=thicknesses, backing=backings)
def test_without_scattering_the_film_is_a_filter(K: float, X: float, backing: float) -> None:
    # Beer-Lambert, down and up again: Rg·exp(−2KX).
    R = film_over(K, 0.0, thickness_um=X, backing=backing)
    assert R == pytest.approx(backing * math.exp(-2 * K * X), rel=1e-12, abs=1e-300)


@given(K=absorptions, S=scatterings, X=thicknesses, backing=backings)
def test_two_halves_make_a_whole(K: float, S: float, X: float, backing: float) -> None:
    half = film_over(K, S, thickness_um=X / 2, backing=backing)
    twice = film_over(K, S, thickness_um=X / 2, backing=half)
    assert twice == pytest.approx(film_over(K, S, thickness_um=X, backing=backing), abs=1e-12)


@given(K=absorptions, S=st.floats(1e-3, 1.0), backing=backings)
def test_a_thick_film_hides_its_backing(K: float, S: float, backing: float) -> None:
    # K + 0.02·S keeps αX above 20 at this thickness, where exp(−2αX) is below rounding.
    K += 0.02 * S
    ratio = K / S
    expected = 1 + ratio - math.sqrt(ratio * ratio + 2 * ratio)
    R = film_over(K, S, thickness_um=1e2 / S, backing=backing)
    # The expected form subtracts nearly equal numbers for large K/S: 1e-16 of 1 + K/S is lost.
    assert R == pytest.approx(expected, rel=1e-10, abs=4e-16 * (1 + ratio))
    assert reflectance_from_ks(ratio) == pytest.approx(float(R), rel=1e-10)


@given(K=absorptions, S=scatterings, X=thicknesses)
def test_reflected_transmitted_and_absorbed_light_make_one(K: float, S: float, X: float) -> None:
    # Absorbed = K·∫(I + J) dx, with both fluxes inside the film found from its two parts.
    R0, T = film(K, S, thickness_um=X)
    nodes, weights = np.polynomial.legendre.leggauss(64)
    depth = X * (nodes + 1) / 2
    above = film(K, S, thickness_um=depth)
    below, _ = film(K, S, thickness_um=X - depth)
    down = above[1] / (1 - above[0] * below)
    up = down * below
    absorbed = K * X / 2 * float(weights @ (down + up))
    assert R0 + T <= 1 + 1e-12
    if K * X <= 50:  # beyond, the light is gone before 64 nodes have seen it
        assert R0 + T + absorbed == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("K", [0.0, 1e-300, 1e-12, 1.0, 1e6])
@pytest.mark.parametrize("S", [0.0, 1e-300, 1e-12, 1.0, 1e6])
@pytest.mark.parametrize("X", [0.0, 1e-300, 1e-12, 1.0, 1e9])
def test_extremes_are_finite_and_between_0_and_1(K: float, S: float, X: float) -> None:
    for value in (*film(K, S, thickness_um=X), film_over(K, S, thickness_um=X, backing=1.0)):
        assert np.isfinite(value)
        assert 0.0 <= value <= 1.0 + 1e-15


def test_the_series_joins_the_quotient_without_a_step() -> None:
    # αX is 1e-4 at X = 1e-4/α; both sides against the closed form with math.sinh, cosh.
    K, S = 0.03, 0.05
    alpha = math.sqrt(K * (K + 2 * S))
    for X in np.array([0.5, 0.999999, 1.000001, 2.0]) * 1e-4 / alpha:
        bottom = (K + S) * math.sinh(alpha * X) + alpha * math.cosh(alpha * X)
        R0, T = film(K, S, thickness_um=X)
        assert R0 == pytest.approx(S * math.sinh(alpha * X) / bottom, rel=1e-11)
        assert T == pytest.approx(alpha / bottom, rel=1e-11)


absorptions = st.just(0.0) | st.floats(1e-12, 3.0)
scatterings = st.just(0.0) | st.floats(1e-9, 1.0)
thicknesses = st.just(0.0) | st.floats(1e-9, 300.0)


@given(
    films=st.lists(st.tuples(absorptions, scatterings), min_size=1, max_size=3),
    X=st.lists(thicknesses, min_size=1, max_size=4),
    cloth=st.floats(1e-6, 500.0),
)
def test_the_engines_films_are_the_same_films(
    films: list[tuple[float, float]], X: list[float], cloth: float
) -> None:
    # films_over is written for speed; points of one print come after the films, of any thickness
    K, S = np.moveaxis(np.array(films), -1, 0)[..., None, None]
    points = np.array(X)[:, None, None]
    net = np.full(points.shape, net_flux(np.array([cloth]), np.ones(1))[0])
    laid = films_over(
        K, S, thickness_um=np.stack([points] * len(films)), net=net, out=np.empty(net.shape)
    )
    R = reflectance_from_ks(cloth)
    for k, s in films:
        R = film_over(k, s, thickness_um=points, backing=R)
    np.testing.assert_allclose(laid, external_from_internal(R), rtol=0, atol=1e-11)


@pytest.mark.parametrize("most", [0.9, 1.1])
def test_where_the_engine_takes_its_exact_form_nothing_shows(most: float) -> None:
    # K/(K+2S) on both sides of LEAST_NET squared
    S = np.array([0.4, 0.2])[:, None, None]
    K = most * LEAST_NET**2 * 2.0 * S
    net = np.linspace(0.01, 0.99, 9)[:, None, None]
    X = np.full((2, 9, 1, 1), 7.0)
    R = (1.0 - net) / (1.0 + net)
    for k, s in zip(K, S, strict=True):
        R = film_over(k, s, thickness_um=7.0, backing=R)
    laid = films_over(K, S, thickness_um=X, net=net.copy(), out=np.empty(net.shape))
    np.testing.assert_allclose(laid, external_from_internal(R), rtol=0, atol=1e-11)


@given(K=st.floats(0.0, 500.0), S=st.floats(1e-3, 10.0))
def test_the_net_flux_is_that_of_the_endless_layer(K: float, S: float) -> None:
    R = reflectance_from_ks(K / S)
    net = net_flux(np.array([K]), np.array([S]))
    np.testing.assert_allclose(net, (1.0 - R) / (1.0 + R), rtol=0, atol=1e-15)


# -- Closed forms and the differential equations


@given(
    K=st.floats(1e-4, 3.0),
    S=st.floats(1e-4, 1.0),
    X=st.floats(0.1, 60.0),
    backing=backings,
)
def test_it_is_kubelkas_form_with_a_b_and_coth(
    K: float, S: float, X: float, backing: float
) -> None:
    # Kubelka 1948: R = (1 − Rg(a − b·coth bSX)) / (a − Rg + b·coth bSX), a = 1 + K/S, b = √(a²−1).
    a = 1 + K / S
    b = math.sqrt((K / S) * (K / S + 2))
    c = b / math.tanh(b * S * X)
    expected = (1 - backing * (a - c)) / (a - backing + c)
    # a − c loses digits where c is nearly a, which is where K/S is large.
    tolerance = 1e-15 * (1 + a)
    R = film_over(K, S, thickness_um=X, backing=backing)
    assert R == pytest.approx(expected, rel=1e-11, abs=tolerance)


@pytest.mark.parametrize(
    ("K", "S", "X", "backing"),
    [
        (0.002, 0.05, 20.0, 0.8),
        (0.2, 0.02, 15.0, 0.8),
        (0.001, 0.74, 8.0, 0.05),
        (0.6, 0.035, 6.0, 0.65),
        (0.0, 0.05, 20.0, 0.3),
        (0.3, 0.0, 4.0, 0.8),
    ],
)
def test_it_solves_the_two_flux_equations(K: float, S: float, X: float, backing: float) -> None:
    # Independent: scipy's boundary value solver on dI/dx = −(K+S)I + SJ, dJ/dx = (K+S)J − SI,
    # I(0) = 1 at the top, J(X) = Rg·I(X) at the bottom; R = J(0). Its tolerance is 1e-10.
    def slopes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        down, up = y
        return X * np.array([-(K + S) * down + S * up, (K + S) * up - S * down])

    def ends(top: np.ndarray, bottom: np.ndarray) -> np.ndarray:
        return np.array([top[0] - 1.0, bottom[1] - backing * bottom[0]])

    x = np.linspace(0.0, 1.0, 41)
    solution = solve_bvp(slopes, ends, x, np.full((2, x.size), 0.5), tol=1e-10, max_nodes=50_000)
    assert solution.success
    R = film_over(K, S, thickness_um=X, backing=backing)
    assert R == pytest.approx(solution.y[1, 0], abs=1e-8)
    # What reaches the backing: T of the film, with the light that bounces between the two.
    R0, T = film(K, S, thickness_um=X)
    assert T / (1 - R0 * backing) == pytest.approx(solution.y[0, -1], abs=1e-8)


# -- Tables computed by independent methods (8 digits given)


@pytest.mark.parametrize(
    "case", CHECK["km_film"], ids=lambda c: "K{K}-S{S}-X{X}-Rg{Rg}".format(**c)
)
def test_a_film_over_a_backing(case: dict[str, float]) -> None:
    R = film_over(case["K"], case["S"], thickness_um=case["X"], backing=case["Rg"])
    assert R == pytest.approx(case["R"], abs=6e-9)


def test_two_passes_are_one_film_of_twice_the_thickness() -> None:
    case = CHECK["km_two_passes"]
    once = film_over(case["K"], case["S"], thickness_um=case["X_each"], backing=case["Rg"])
    twice = film_over(case["K"], case["S"], thickness_um=case["X_each"], backing=once)
    assert twice == pytest.approx(case["R_after_two"], abs=6e-9)


@pytest.mark.parametrize("case", CHECK["km_R0_T"], ids=lambda c: f"K{c['K']}")
def test_reflectance_and_transmittance_of_a_film(case: dict[str, float]) -> None:
    R0, T = film(case["K"], case["S"], thickness_um=case["X"])
    assert R0 == pytest.approx(case["R0"], abs=6e-9)
    assert T == pytest.approx(case["T"], abs=6e-9)


@pytest.mark.parametrize(
    ("case", "relative"),
    # The readings carry 8 digits. In the second film they differ by 0.0012 over black and white,
    # so 1e-8 of them is 1e-5 of the difference that S comes from.
    [(CHECK["km_inversion"][0], 1e-6), (CHECK["km_inversion"][1], 2e-5)],
    ids=["covers half", "nearly hides"],
)
def test_two_backings_give_back_K_and_S(case: dict[str, float], relative: float) -> None:
    K, S = invert_over_two_backings(
        case["R_black"],
        case["R_white"],
        backing_1=case["Rg_black"],
        backing_2=case["Rg_white"],
        thickness_um=case["X"],
    )
    assert K == pytest.approx(case["K"], rel=relative)
    assert S == pytest.approx(case["S"], rel=relative)
    assert 1 + K / S == pytest.approx(case["a"], rel=relative)


CONTRAST = [
    (float(ratio), float(SX), value)
    for ratio, row in CHECK["contrast_ratio_internal"].items()
    for SX, value in row.items()
]


@pytest.mark.parametrize(("ratio", "SX", "expected"), CONTRAST)
def test_internal_contrast_ratio(ratio: float, SX: float, expected: float) -> None:
    # Over black (0) and over white (0.80), internal; 4 digits given.
    black, white = (film_over(ratio, 1.0, thickness_um=SX, backing=g) for g in (0.0, 0.80))
    assert black / white == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.parametrize("ratio", list(CHECK["SX_for_CR098"]))
def test_scattering_power_that_hides(ratio: str) -> None:
    # SX is given to 1e-4; near 0.98 the contrast ratio changes by 0.002 to 0.01 per unit of SX.
    SX = CHECK["SX_for_CR098"][ratio]
    black, white = (film_over(float(ratio), 1.0, thickness_um=SX, backing=g) for g in (0.0, 0.80))
    assert black / white == pytest.approx(0.98, abs=1e-6)


# -- Surface


@pytest.mark.parametrize(
    ("internal", "expected"), list(CHECK["saunderson_fwd_k1_04_k2_60"].items())
)
def test_saunderson_outwards(internal: str, expected: float) -> None:
    R = external_from_internal(float(internal), surface=PAPER, specular_included=True)
    assert R == pytest.approx(expected, abs=5.1e-7)


@pytest.mark.parametrize(
    ("external", "expected"), list(CHECK["saunderson_inv_k1_04_k2_60"].items())
)
def test_saunderson_inwards(external: str, expected: float) -> None:
    R = internal_from_external(float(external), surface=PAPER, specular_included=True)
    assert R == pytest.approx(expected, abs=5.1e-7)


def fresnel_unpolarised(n1: float, n2: float, angle: float) -> float:
    """Fresnel: mean of both polarisations, 1 beyond the critical angle."""
    sine = n1 / n2 * math.sin(angle)
    if sine >= 1:
        return 1.0
    c1, c2 = math.cos(angle), math.sqrt(1 - sine * sine)
    s = ((n1 * c1 - n2 * c2) / (n1 * c1 + n2 * c2)) ** 2
    p = ((n1 * c2 - n2 * c1) / (n1 * c2 + n2 * c1)) ** 2
    return (s + p) / 2


def diffuse_reflection(n1: float, n2: float) -> float:
    """∫ R(θ) sin 2θ dθ over the hemisphere: light of even radiance on the surface."""
    critical = math.asin(min(1.0, n2 / n1))
    return sum(
        quad(lambda t: fresnel_unpolarised(n1, n2, t) * math.sin(2 * t), a, b, epsabs=1e-11)[0]
        for a, b in ((0.0, critical), (critical, math.pi / 2))
    )


@pytest.mark.parametrize("index", list(CHECK["fresnel"]))
def test_the_integral_below_is_the_right_one(index: str) -> None:
    # The reference is itself checked: four indices, computed elsewhere to 5 digits.
    n, expected = float(index), CHECK["fresnel"][index]
    assert fresnel_unpolarised(1.0, n, 0.0) == pytest.approx(expected["normal"], abs=6e-6)
    assert diffuse_reflection(1.0, n) == pytest.approx(expected["diff_ext"], abs=6e-6)
    assert diffuse_reflection(n, 1.0) == pytest.approx(expected["diff_int"], abs=6e-6)


def test_the_surface_is_that_of_index_1_5() -> None:
    # k1 and k2 are written with three digits.
    assert SURFACE.k1 == pytest.approx(fresnel_unpolarised(1.0, 1.5, 0.0), abs=5e-4)
    assert SURFACE.k2 == pytest.approx(diffuse_reflection(1.5, 1.0), abs=5e-4)


def test_opacity_looks_lower_from_outside() -> None:
    # S·X = 2, K = 0 over 0 and 0.80: 0.78 between internal values, 0.57 between readings with
    # specular included over cards that read 0.04 and 0.80. Computed elsewhere to two digits.
    black, white = (film_over(0.0, 1.0, thickness_um=2.0, backing=g) for g in (0.0, 0.80))
    assert black / white == pytest.approx(0.78, abs=5e-3)
    card = internal_from_external(0.80, specular_included=True)
    over_card = film_over(0.0, 1.0, thickness_um=2.0, backing=card)
    outside = [external_from_internal(r, specular_included=True) for r in (black, over_card)]
    assert outside[0] / outside[1] == pytest.approx(0.57, abs=5e-3)


def test_specular_excluded_only_drops_the_reflection_of_the_surface() -> None:
    R = np.linspace(0.0, 1.0, 11)
    difference = external_from_internal(R, specular_included=True) - external_from_internal(R)
    np.testing.assert_allclose(difference, SURFACE.k1, rtol=1e-12)


@pytest.mark.parametrize("specular", [True, False])
def test_a_reading_below_the_surface_reflection_is_refused(specular: bool) -> None:
    reading = [0.2, SURFACE.k1 if specular else 0.0]
    with pytest.raises(InputError, match="specular setting"):
        internal_from_external(reading, specular_included=specular)


def test_a_reading_brighter_than_any_sample_is_refused() -> None:
    assert internal_from_external(1 - SURFACE.k1) == pytest.approx(1.0)
    with pytest.raises(InputError, match=r"0\.9700 is above 0\.960"):
        internal_from_external([0.5, 0.97])


# -- Round trips


@given(R=st.floats(1e-6, 1.0))
def test_ks_and_back(R: float) -> None:
    assert reflectance_from_ks(ks_from_reflectance(R)) == pytest.approx(R, rel=1e-7)


@given(ks=st.floats(1e-3, 1e6))
def test_reflectance_and_back(ks: float) -> None:
    # (1−R)² near R = 1 holds K/S only to the square root of rounding.
    assert ks_from_reflectance(reflectance_from_ks(ks)) == pytest.approx(ks, rel=1e-10)


@given(
    R=st.floats(1e-6, 1.0),
    k1=st.floats(0.0, 0.1),
    k2=st.floats(0.0, 0.7),
    specular=st.booleans(),
)
def test_outwards_and_back(R: float, k1: float, k2: float, specular: bool) -> None:
    kwargs: dict[str, Any] = {"surface": Surface(k1, k2), "specular_included": specular}
    outside = external_from_internal(R, **kwargs)
    assert internal_from_external(outside, **kwargs) == pytest.approx(R, rel=1e-9)


# -- Mixing


def test_a_mixture_is_the_weighted_sum() -> None:
    # Duncan 1949; by hand: 0.25·(1, 2) + 0.75·(3, 4).
    K, S = mix([0.25, 0.75], [[1.0, 2.0], [3.0, 4.0]], [[0.1, 0.2], [0.3, 0.4]])
    np.testing.assert_allclose(K, [2.5, 3.5], rtol=1e-15)
    np.testing.assert_allclose(S, [0.25, 0.35], rtol=1e-15)


@pytest.mark.parametrize("fractions", [[0.5, 0.6], [-0.1, 1.1], [np.nan, 1.0]])
def test_fractions_that_are_no_mixture_are_refused(fractions: list[float]) -> None:
    with pytest.raises(InputError, match="fraction"):
        mix(fractions, np.ones((2, 3)), np.ones((2, 3)))


# -- Refusals


@pytest.mark.parametrize(
    ("K", "S", "X", "named"),
    [
        (-0.1, 0.1, 1.0, "K "),
        (0.1, -0.1, 1.0, "S "),
        (0.1, 0.1, -1.0, "thickness"),
        (np.nan, 0.1, 1.0, "K "),
        (0.1, np.inf, 1.0, "S "),
    ],
)
def test_an_impossible_film_is_refused(K: float, S: float, X: float, named: str) -> None:
    with pytest.raises(InputError, match=named):
        film(K, S, thickness_um=X)


@pytest.mark.parametrize("R", [0.0, -0.1, 1.01, np.nan])
def test_an_opaque_layer_has_a_reflectance_above_0_and_at_most_1(R: float) -> None:
    with pytest.raises(InputError, match="opaque layer"):
        ks_from_reflectance([0.5, R])


def test_arguments_broadcast() -> None:
    K, S, X = np.ones((4, 1, 3)) * 0.1, np.full((1, 5, 3), 0.2), np.full((4, 1, 1), 7.0)
    R0, T = film(K, S, thickness_um=X)
    assert R0.shape == T.shape == (4, 5, 3)
    single = film_over(0.1, 0.2, thickness_um=7.0, backing=0.3)
    np.testing.assert_allclose(over(R0, T, backing=0.3), single, rtol=1e-15)
