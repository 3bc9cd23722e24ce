"""Choke, spread and trap against scipy's morphology; what is too fine, on bars of known width."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from inksim.common.errors import InputError
from inksim.separation.fine_lines import too_fine
from inksim.separation.trap import choked, eroded, spread, trapped, union

RNG = np.random.default_rng(9)


def disc(radius: int) -> np.ndarray:
    y, x = np.mgrid[-radius : radius + 1, -radius : radius + 1]
    return x * x + y * y <= radius * radius


@pytest.mark.parametrize("shape", [(40, 60), (1, 1), (3, 200), (200, 3), (1500, 900)])
@pytest.mark.parametrize("radius", [1, 2, 3, 5])
def test_as_scipy_over_a_disc(shape: tuple[int, int], radius: int) -> None:
    plate = RNG.integers(0, 256, shape, dtype=np.uint8)
    options = {"footprint": disc(radius), "mode": "constant", "cval": 0}
    assert np.array_equal(eroded(plate, radius_px=radius), ndimage.grey_erosion(plate, **options))
    assert np.array_equal(spread(plate, radius_px=radius), ndimage.grey_dilation(plate, **options))


def bar(left: int, right: int, *, height: int = 21, width: int = 60) -> np.ndarray:
    plate = np.zeros((height, width), dtype=np.uint8)
    plate[:, left:right] = 255
    return plate


@pytest.mark.parametrize("radius", [0.0, 0.25, 1.0, 1.7, 2.5, 6.0])
def test_an_edge_moves_by_the_radius(radius: float) -> None:
    """Parts of a pixel too: the bar's width, counted as light, changes by twice the radius."""
    plate = bar(20, 40, height=61)
    for moved, way in ((eroded(plate, radius_px=radius), -1), (spread(plate, radius_px=radius), 1)):
        assert moved[30].sum(dtype=int) / 255 == pytest.approx(20 + 2 * way * radius, abs=0.02)


def test_no_radius_changes_nothing() -> None:
    plate = RNG.integers(0, 256, (9, 9), dtype=np.uint8)
    assert np.array_equal(eroded(plate, radius_px=0.0), plate)
    assert choked(plate, [plate], radius_px=0.0) is plate
    assert trapped(plate, [plate], radius_px=0.0) is plate


def test_plates_together_cover_as_independent_dots() -> None:
    plates = [RNG.integers(0, 256, (30, 30), dtype=np.uint8) for _ in range(4)]
    exact = 255 * (1 - np.prod([1 - p / 255 for p in plates], axis=0))
    assert np.abs(union(plates) - exact).max() <= 2
    assert union([plates[0]]) == pytest.approx(plates[0])


def test_a_choked_base_keeps_what_is_meant_to_be_seen() -> None:
    base, colour = bar(10, 50, height=41), bar(30, 50, height=41)
    fitted = choked(base, [colour], radius_px=3.0)[20]
    assert fitted[10:30].min() == 255  # a bare white: part of the picture
    assert fitted[30:47].min() == 255
    assert fitted[47:].max() == 0  # under the color's edge it is drawn in


def test_a_trapped_color_grows_under_its_neighbor_and_not_onto_the_cloth() -> None:
    one, other = bar(10, 30), bar(30, 50)
    fitted = trapped(one, [other], radius_px=2.0)[10]
    assert np.flatnonzero(fitted).tolist() == list(range(10, 32))
    assert np.array_equal(trapped(one, [], radius_px=2.0), one)


@pytest.mark.parametrize("width", [1, 2, 3, 4, 5, 6, 8, 12])
def test_bars_narrower_than_the_detail_are_marked(width: int) -> None:
    """Detail 5 px: bars of 1 to 3 px are surely too fine, of 6 and more surely not."""
    lost = too_fine(bar(20, 20 + width, height=41), detail_px=5.0)
    if width <= 3:
        assert np.array_equal(lost[20], bar(20, 20 + width)[10] > 0)
    if width >= 6:
        assert not lost[4:-4].any()


def test_corners_of_wide_shapes_are_not_too_fine() -> None:
    plate = np.zeros((60, 60), dtype=np.uint8)
    plate[10:50, 10:50] = 255
    plate[30, 50:58] = 255  # a hair
    lost = too_fine(plate, detail_px=7.0)
    assert not lost[:, :50].any()
    assert lost[30, 54:58].all()
    assert not too_fine(plate, detail_px=1.4).any()


@pytest.mark.parametrize(
    ("plate", "radius", "words"),
    [
        (np.zeros((4, 4)), 1.0, "8-bit"),
        (np.zeros((4, 4, 3), dtype=np.uint8), 1.0, "rows x columns"),
        (np.zeros((4, 4), dtype=np.uint8), -1.0, "0 to 64"),
        (np.zeros((4, 4), dtype=np.uint8), float("nan"), "0 to 64"),
        (np.zeros((4, 4), dtype=np.uint8), 100.0, "smaller choke or trap"),
    ],
)
def test_nonsense_is_refused(plate: np.ndarray, radius: float, words: str) -> None:
    for move in (eroded, spread):
        with pytest.raises(InputError, match=words):
            move(plate, radius_px=radius)
