"""Halftones inverted: slopes by differences, optima by scipy, bounds, and least ink."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz_from_lab
from inksim.optics.halftone import nested
from inksim.separation.halftone_print import quick_mosaic, quick_xyz, tonal_model, tonal_set
from inksim.separation.inversion import (
    Mosaic,
    _Goal,
    _print,
    _square_parts,
    _state,
    closest,
    coverages_of,
    difference_weights,
)
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")
RNG = np.random.default_rng(11)


def model_of(garment: str, route: str):
    return tonal_model(
        tonal_set(
            SHOP,
            garment=SHOP.garment(garment),
            inks=[SHOP.ink(name) for name in INKS],
            route=route,
        )
    )


MODELS = {
    "white shirt": model_of("Flour White", "straight"),
    "black shirt, white base": model_of("Coal Black", "white-base"),
    "yellow shirt, white base": model_of("Kingcup Yellow", "white-base"),
}


def quick(name: str) -> Mosaic:
    return quick_mosaic(MODELS[name], D50, nodes=3, paired=True)


def some_unknowns(m: Mosaic, count: int) -> np.ndarray:
    x = RNG.random((count, m.unknowns))
    if m.has_base:
        x[:, -1] *= 2.0
    return x


def test_the_base_as_one_number() -> None:
    """s = 1: exactly what the colors need; below, part of it; above, bare base beside them."""
    a = np.array([0.5, 0.2])
    union = 1 - 0.5 * 0.8
    for s, base in ((0.0, 0.0), (0.5, 0.5 * union), (1.0, union), (1.5, (1 + union) / 2), (2, 1)):
        found = coverages_of(np.array([*a, s]), has_base=True)
        assert found == pytest.approx([base, *a])
        weights = nested(found[1:], base=found[0])
        on_cloth, bare = weights[1:4].sum(), weights[4]
        assert on_cloth == pytest.approx(max(0.0, 1 - s) * union)
        assert bare == pytest.approx(max(0.0, s - 1) * (1 - union))


@pytest.mark.parametrize("name", MODELS)
def test_slopes_are_differences(name: str) -> None:
    m = quick(name)
    x = 0.1 + 0.8 * RNG.random((6, m.unknowns))
    if m.has_base:
        x[:, -1] = [0.3, 0.6, 0.9, 1.2, 1.5, 1.8]
    seen = _print(m, x)
    for at in range(m.unknowns):
        up, down = x.copy(), x.copy()
        up[:, at] += 2e-3
        down[:, at] -= 2e-3
        by_difference = (_print(m, up).lab - _print(m, down).lab) / 4e-3
        if m.has_base and at == m.unknowns - 1:
            slope = np.where(x[:, -1:] > 1, seen.slopes[:, :, -1], seen.slopes[:, :, -2])
        else:
            slope = seen.slopes[:, :, at]
        # float32 inside: 1e-5 of light over 4e-3 of coverage
        assert slope == pytest.approx(by_difference, abs=0.2, rel=0.01)


def test_the_square_multiplied_out_is_the_square() -> None:
    lab = RNG.uniform((0, -90, -90), (100, 90, 90), (2, 7, 3))
    of_target, of_print = _square_parts(lab[0], lab[1])
    for at, weights in enumerate(difference_weights(lab[0])):
        misses = [weights @ (seen - lab[0, at]) for seen in lab[1]]
        expected = [miss @ miss for miss in misses]
        assert of_target[at] @ of_print == pytest.approx(expected, rel=1e-9, abs=1e-7)


def objective(m: Mosaic, x: np.ndarray, target: np.ndarray, ink: np.ndarray) -> np.ndarray:
    goal = _Goal(target, difference_weights(target), ink, x, 0.0)
    return _state(m, x, goal).value


@pytest.mark.parametrize("name", MODELS)
def test_no_optimizer_finds_much_better(name: str) -> None:
    """scipy's L-BFGS-B from six starts each; half a ΔE² is a quarter of a just visible step."""
    m = quick(name)
    ink = np.full(1 + m.inks, 0.6)
    target = lab_from_xyz(quick_xyz(MODELS[name], RNG.random((6, MODELS[name].plates)), D50), D50)
    target[3:] = [[60.0, 70.0, 60.0], [30.0, 20.0, -90.0], [5.0, 0.0, 0.0]]  # out of reach
    x = closest(m, target, ink=ink).x
    ours = objective(m, x, target, ink)
    bounds = [(0.0, 1.0)] * m.inks + [(0.0, 2.0)] * m.has_base
    highest = np.array(bounds)[:, 1]
    for at in range(len(target)):

        def value_and_slope(v: np.ndarray, at: int = at) -> tuple[float, np.ndarray]:
            """The slope by differences of 1e-3, inside the bounds, all in one call."""
            steps = np.where(v + 1e-3 > highest, -1e-3, 1e-3)
            points = v + np.vstack([np.zeros_like(v), np.diag(steps)])
            found = objective(m, points, np.repeat(target[at : at + 1], len(points), axis=0), ink)
            return float(found[0]), (found[1:] - found[0]) / steps

        theirs = min(
            minimize(
                value_and_slope, start, jac=True, bounds=bounds, method="L-BFGS-B",
                options={"maxiter": 60},
            ).fun
            for start in some_unknowns(m, 6)
        )  # fmt: skip
        assert ours[at] <= theirs + 0.5


@pytest.mark.parametrize("name", MODELS)
def test_printable_colors_are_found_again(name: str) -> None:
    model, m = MODELS[name], quick(name)
    wanted = coverages_of(some_unknowns(m, 400), has_base=m.has_base)
    target = lab_from_xyz(quick_xyz(model, wanted, D50), D50)
    x = closest(m, target, ink=np.full(1 + m.inks, 0.6), rounds=30).x
    assert x.min() >= 0.0
    assert x[:, : m.inks].max() <= 1.0
    found = coverages_of(x, has_base=m.has_base)
    off = delta_e_2000(target, lab_from_xyz(quick_xyz(model, found, D50), D50))
    # 20 nm bands while solving cost 0.15 on average; a few end in another valley
    assert np.median(off) < 0.4
    assert np.percentile(off, 95) < 1.0
    # and with no more ink than was meant: the tie-break
    assert found.sum() <= wanted.sum() * 1.02


def test_of_two_ways_the_one_with_less_ink_wins() -> None:
    """A dark gray on white can be yellow, pink and blue, or black alone."""
    m = quick("white shirt")
    grey = np.array([[40.0, 0.0, 2.0]])
    x = closest(m, grey, ink=np.full(5, 0.6)).x[0]
    assert x[3] > 0.5
    assert x[:3].max() < 0.25


def test_the_weights_are_those_of_ciede2000_nearby() -> None:
    """Small differences at moderate chroma, where T and the rotation matter little."""
    target = np.array([[50.0, 20.0, 0.0], [70.0, 0.0, 25.0], [30.0, 5.0, 5.0]])
    for step in np.eye(3) * 0.5:
        small = np.linalg.norm(np.einsum("mij,j->mi", difference_weights(target), step), axis=1)
        exact = delta_e_2000(target, target + step)
        assert small == pytest.approx(exact, rel=0.35)


def test_a_hold_keeps_near_the_start() -> None:
    m = quick("white shirt")
    target = lab_from_xyz(xyz_from_lab(np.array([[45.0, 10.0, 10.0]]), D50), D50)
    start = np.full((1, m.unknowns), 0.5)
    free = closest(m, target, ink=np.full(5, 0.6), start=start).x
    held = closest(m, target, ink=np.full(5, 0.6), start=start, hold=100.0).x
    assert np.linalg.norm(held - start) < np.linalg.norm(free - start)
