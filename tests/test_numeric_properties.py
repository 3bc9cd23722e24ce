"""What holds of every number, for any input: monotony, energy of whole prints, sureness, sameness.

What other files hold of single rooms is not held again: energy of one film and the twin of the
engine in `optics` and `printing`, round trips of colors in `colour`. Reasons are arithmetic and
Kubelka–Munk itself [Kubelka & Munk 1931: dR/dX = S(R∞ − R)(1/R∞ − R)]; nothing here is fitted.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour import Viewing, delta_e_2000, lab_from_xyz
from inksim.optics.kubelka_munk import film, film_over, reflectance_from_ks
from inksim.printing import Build, predict
from inksim.printing.prediction import predict_nominal
from inksim.separation.halftone_print import quick_mosaic, quick_xyz, tonal_model, tonal_set
from inksim.separation.inversion import closest, coverages_of
from inksim.shop import Shop, load_shop
from inksim.stock import PressValues
from inksim.stock.target import target_from_lab
from tests.strategies import builds, presses, spectra

D50 = Viewing()
ROUNDING = 1e-12


@cache
def shop() -> Shop:
    return load_shop()


# -- monotony


@given(
    K=st.just(0.0) | st.floats(1e-6, 3.0),
    S=st.floats(1e-6, 1.0),
    X=st.lists(st.floats(0.0, 300.0), min_size=2, max_size=6),
    backing=st.floats(0.0, 1.0),
)
def test_a_thicker_film_goes_straight_from_its_backing_to_its_own_color(
    K: float, S: float, X: list[float], backing: float
) -> None:
    # The differential equation has one sign between the backing and R∞, and none beyond.
    thick = np.sort(X)
    R = film_over(K, S, thickness_um=thick, backing=backing)
    own = reflectance_from_ks(K / S)
    steps = np.diff(np.concatenate([[backing], R, [own]])) * np.sign(own - backing)
    assert (steps >= -ROUNDING).all()


@given(
    K=st.just(0.0) | st.floats(1e-6, 3.0),
    S=st.just(0.0) | st.floats(1e-6, 1.0),
    X=st.lists(st.floats(0.0, 300.0), min_size=2, max_size=6),
)
def test_a_thicker_film_lets_less_through_and_hides_more(
    K: float, S: float, X: list[float]
) -> None:
    thick = np.sort(X)
    R0, T = film(K, S, thickness_um=thick)
    assert (np.diff(T) <= ROUNDING).all()
    assert (np.diff(R0) >= -ROUNDING).all()
    white, black = (film_over(K, S, thickness_um=thick, backing=b) for b in (0.9, 0.02))
    assert (np.diff(white - black) <= ROUNDING).all()


@settings(max_examples=40)
@given(one=builds(most_layers=1), K=spectra(0.0, 3.0), press=presses())
def test_another_stroke_of_a_dye_is_darker_at_every_wavelength(
    one: Build, K: np.ndarray, press: PressValues
) -> None:
    # Without scattering more ink can only take light away; rough faces and contact left out.
    smooth = press._replace(surface_haze=0.0, contact=0.0)
    (layer,) = one.layers
    dye = replace(layer.ink, kind="color", K=K, S=np.zeros_like(K))
    steps = [
        replace(one, layers=(replace(layer, ink=dye, passes=passes),)) for passes in (1, 2, 3, 4)
    ]
    found = predict_nominal(steps, press=smooth, viewing=D50)
    assert (np.diff([each.reflectance for each in found], axis=0) <= ROUNDING).all()


# -- energy of whole prints, and how sure they are


@settings(max_examples=40)
@given(one=builds(), press=presses())
def test_shares_of_a_print_are_shares(one: Build, press: PressValues) -> None:
    (found,) = predict_nominal([one], press=press, viewing=D50)
    for share in (found.contrast_ratio, found.show_through):
        assert -ROUNDING <= share <= 1.0 + ROUNDING
    assert found.film_um >= 0.0
    assert found.base_film_um >= 0.0
    # Y of a print under its own light is at most that of the perfect diffuser
    assert 0.0 <= found.lab[0] <= 100.0


@settings(max_examples=15)
@given(
    several=st.lists(builds(most_layers=2), min_size=1, max_size=3),
    lab=st.tuples(st.floats(5, 95), st.floats(-60, 60), st.floats(-60, 60)),
    tolerance=st.floats(0.1, 10.0),
)
def test_an_interval_holds_its_prediction_and_is_in_order(
    several: list[Build], lab: tuple[float, float, float], tolerance: float
) -> None:
    target = target_from_lab(lab, name="any")
    for found in predict(several, press=shop().press, target=target, tolerance=tolerance):
        sure = found.interval
        assert sure is not None
        assert (sure.lab_low <= found.lab + ROUNDING).all()
        assert (found.lab <= sure.lab_high + ROUNDING).all()
        assert sure.de_low is not None
        assert sure.de_median is not None
        assert sure.de_high is not None
        assert sure.within is not None
        assert 0.0 <= sure.de_low <= sure.de_median <= sure.de_high
        assert 0.0 <= sure.within <= 1.0
        # what half of all prints are inside of, a chance of a half says as well
        assert (sure.de_median <= tolerance) == (sure.within >= 0.5) or sure.within == (
            pytest.approx(0.5, abs=0.01)
        )


# -- the same answer, whoever asks


def _numbers(several: list[Build]) -> list[bytes]:
    target = target_from_lab((50.0, 20.0, -10.0), name="any")
    said = []
    for found in predict(several, press=shop().press, target=target):
        sure = found.interval
        assert sure is not None
        held = [found.reflectance, found.lab, sure.lab_low, sure.lab_high]
        held.append(np.array([found.delta_e_2000, sure.de_low, sure.de_high, sure.within]))
        said.append(b"".join(np.ascontiguousarray(each).tobytes() for each in held))
    return said


@settings(max_examples=6)
@given(several=st.lists(builds(most_layers=2), min_size=2, max_size=4))
def test_threads_do_not_change_a_bit(several: list[Build]) -> None:
    alone = _numbers(several)
    with ThreadPoolExecutor(4) as threads:
        assert list(threads.map(_numbers, [several] * 4)) == [alone] * 4


@settings(max_examples=10)
@given(
    several=st.lists(builds(most_layers=2), min_size=2, max_size=4),
    order=st.randoms(use_true_random=False),
)
def test_the_order_of_builds_does_not_change_an_answer(several: list[Build], order: object) -> None:
    places = list(range(len(several)))
    order.shuffle(places)  # type: ignore[attr-defined]
    target = target_from_lab((50.0, 20.0, -10.0), name="any")

    def said(asked: list[Build]) -> np.ndarray:
        found = predict(asked, press=shop().press, target=target)
        return np.array(
            [
                [*each.lab, each.delta_e_2000, *each.interval.lab_low, each.interval.within]
                for each in found
                if each.interval is not None
            ],
            dtype=float,
        )

    moved = said([several[at] for at in places])
    # a sum over another number of rows may round in its last digits; shares are of 512 draws
    np.testing.assert_allclose(moved, said(several)[places], rtol=1e-9, atol=1e-9)


# -- inversion in range


@cache
def _tonal(garment: str, route: str) -> tuple[object, object]:
    names = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")
    inks = [shop().ink(name) for name in names]
    model = tonal_model(
        tonal_set(shop(), garment=shop().garment(garment), inks=inks, route=route)  # type: ignore[arg-type]
    )
    return model, quick_mosaic(model, D50, nodes=3, paired=True)


@settings(max_examples=40)
@given(
    where=st.sampled_from([("Flour White", "straight"), ("Coal Black", "white-base")]),
    lab=st.lists(
        st.tuples(st.floats(-5, 105), st.floats(-130, 130), st.floats(-130, 130)),
        min_size=1,
        max_size=8,
    ),
)
def test_any_color_asked_for_is_inverted_in_range_and_no_worse_than_bare_cloth(
    where: tuple[str, str], lab: list[tuple[float, float, float]]
) -> None:
    model, m = _tonal(*where)
    target = np.array(lab)
    found = closest(m, target, ink=np.full(1 + m.inks, 0.6))  # type: ignore[arg-type, attr-defined]
    assert np.isfinite(found.x).all()
    shares = coverages_of(found.x, has_base=m.has_base)  # type: ignore[attr-defined]
    assert shares.min() >= 0.0
    assert shares.max() <= 1.0
    seen = lab_from_xyz(quick_xyz(model, shares, D50), D50)  # type: ignore[arg-type]
    bare = lab_from_xyz(quick_xyz(model, np.zeros_like(shares), D50), D50)  # type: ignore[arg-type]
    off, nothing = delta_e_2000(target, seen), delta_e_2000(target, bare)
    # The optimum weighs ink against color by less than a just visible step. It measures color by
    # CIEDE2000's weights at the target, which hold for small differences: of 6000 colors asked for
    # at random, 29 that all prints miss by 30 or more end up to 2.3 farther than bare cloth.
    near = np.minimum(off, nothing) <= 25.0
    assert (off <= nothing + 1.0)[near].all()
