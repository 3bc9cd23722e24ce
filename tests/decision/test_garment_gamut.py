"""The reachable gamut: its hull against other geometry, its mixtures by hand, the trade's order."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import Delaunay

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.decision.garment_gamut import MIX_SHARES, TINT_SHARES, Gamut, gamut, mixtures
from inksim.printing.prediction import predict_nominal
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
COLOURS = [ink for ink in SHOP.inks.values() if ink.kind == "color"]
FEW = COLOURS[:5]


@pytest.fixture(scope="module")
def black() -> Gamut:
    return gamut(SHOP, garment=SHOP.garment("Coal Black"), inks=FEW)


def test_a_cube_has_the_volume_and_the_inside_of_a_cube(black: Gamut) -> None:
    corners = np.array([[x, y, z] for x in (40, 60) for y in (-10, 10) for z in (-10, 10)], float)
    faces = np.array(
        [[1, 0, 0, -60], [-1, 0, 0, 40], [0, 1, 0, -10], [0, -1, 0, -10], [0, 0, 1, -10],
         [0, 0, -1, -10]], float,
    )  # fmt: skip
    cube = replace(black, lab=corners, faces=faces, volume=8000.0)
    assert cube.contains(corners).all()
    assert cube.contains(np.array([50.0, 0.0, 0.0]))
    assert not cube.contains(np.array([61.0, 0.0, 0.0]))
    np.testing.assert_allclose(cube.outside(np.array([[63.0, 0, 0], [50.0, -14, 0]])), [3.0, 4.0])


def test_a_slice_is_the_edge_of_what_is_inside(black: Gamut) -> None:
    # against scipy's Delaunay triangulation of the prints: what of the plane it finds a simplex for
    across, up = np.array([0.0, 0.6, 0.8]), np.array([1.0, 0.0, 0.0])
    edge = black.edge(np.zeros(3), across=across, up=up)
    flat = np.random.default_rng(2).uniform((-90, 0), (90, 100), size=(2000, 2))
    there = Delaunay(black.lab).find_simplex(flat @ np.stack([across, up])) >= 0
    assert 0.02 < there.mean() < 0.9
    assert (
        np.mean((Delaunay(edge).find_simplex(flat) >= 0) == there)
    ) > 0.999  # on the edge itself
    away = black.edge(np.array([140.0, 0, 0]), across=across, up=np.array([0.0, 0.8, -0.6]))
    assert away.shape == (0, 2)  # no color is that light


def test_inside_agrees_with_a_triangulation(black: Gamut) -> None:
    # scipy's Delaunay triangulation finds the simplex a point is in, or none: another algorithm.
    rng = np.random.default_rng(5)
    low, high = black.lab.min(axis=0), black.lab.max(axis=0)
    points = rng.uniform(low - 5, high + 5, size=(2000, 3))
    found = Delaunay(black.lab).find_simplex(points) >= 0
    clear = np.abs((points @ black.faces[:, :3].T + black.faces[:, 3]).max(axis=1)) > 1e-6
    np.testing.assert_array_equal(black.contains(points)[clear], found[clear])
    share = found.mean() * np.prod(high - low + 10)
    assert share == pytest.approx(black.volume, rel=0.1)  # Monte Carlo volume, 2000 points


def test_every_print_is_inside_and_is_its_own_nearest(black: Gamut) -> None:
    assert black.contains(black.lab).all()
    distance, build = black.nearest(black.lab[17])
    assert distance == pytest.approx(0.0, abs=1e-9)
    (printed,) = predict_nominal([build], press=SHOP.press.values, viewing=D50)
    np.testing.assert_allclose(printed.lab, black.lab[17], atol=1e-9)


def test_the_nearest_print_is_nearest(black: Gamut) -> None:
    target = np.array([80.0, 90.0, -60.0])
    distance, _ = black.nearest(target)
    assert distance == pytest.approx(float(delta_e_2000(target, black.lab).min()))
    assert not black.contains(target)


def test_a_white_base_opens_black_and_discharge_opens_it_less() -> None:
    # common practice, no source: brightest over white, less over discharge, dullest straight
    cloth = SHOP.garment("Coal Black")
    straight, discharge, white = (
        gamut(SHOP, garment=cloth, inks=FEW, routes=[r]).volume
        for r in ("straight", "discharge-base", "white-base")
    )
    assert white > 2 * discharge > 4 * straight


def test_straight_on_white_reaches_more_than_straight_on_gray_and_black() -> None:
    # common practice, no source
    volumes = [
        gamut(SHOP, garment=SHOP.garment(g), inks=FEW, routes=["straight"]).volume
        for g in ("Flour White", "Mist Gray", "Slate Gray", "Coal Black")
    ]
    assert volumes == sorted(volumes, reverse=True)


def test_mixtures_only_add() -> None:
    cloth = SHOP.garment("Flour White")
    two = replace(SHOP, inks={i.name: i for i in (*COLOURS[:3], *_bases())})
    plain = gamut(two, garment=cloth, inks=COLOURS[:3], routes=["straight"])
    mixed = gamut(two, garment=cloth, routes=["straight"])
    assert mixed.volume > plain.volume
    assert mixed.contains(plain.lab).all()


def _bases() -> list:
    return [ink for ink in SHOP.inks.values() if ink.kind != "color"]


def test_the_mixtures_are_counted_and_named() -> None:
    inks = mixtures(SHOP)
    n = len(COLOURS)
    white_and_clear = 2  # the white for polyester only is in no tint
    assert len(inks) == n + len(MIX_SHARES) * n * (n - 1) // 2 + white_and_clear * n * len(
        TINT_SHARES
    )
    assert len({ink.name for ink in inks}) == len(inks)
    assert all(ink.kind == "color" for ink in inks)


def test_a_tint_in_white_is_lighter_and_duller_over_white() -> None:
    inks = {ink.name: ink for ink in mixtures(SHOP)}
    full, tint = inks["Kiln Red"], inks["Kiln Red 12.5% in Chalk White Base"]
    found = [
        gamut(SHOP, garment=SHOP.garment("Flour White"), inks=[ink], routes=["straight"]).lab
        for ink in (full, tint)
    ]
    assert found[1][:, 0].min() > found[0][:, 0].max()


def test_a_shop_that_spans_nothing_is_told() -> None:
    with pytest.raises(InputError, match="span no space"):
        gamut(SHOP, garment=SHOP.garment("Flour White"), inks=[])


def test_the_light_is_the_one_asked() -> None:
    cloth, store = SHOP.garment("Flour White"), Viewing("A", 2)
    found = gamut(SHOP, garment=cloth, inks=FEW, viewing=store)
    (printed,) = predict_nominal([found.space.build(0)], press=SHOP.press.values, viewing=store)
    np.testing.assert_allclose(found.lab[0], lab(printed.reflectance, store), atol=1e-9)
