"""Screened plates: local means are the gray plate's, lines and angles are those asked for."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.common.errors import InputError
from inksim.optics.halftone import dot_coverage
from inksim.separation.dots import (
    ANGLES,
    CELL,
    SHAPES,
    Screening,
    cell_thresholds,
    screened,
    screened_size,
)


def screen(
    plate: np.ndarray, *, angle: float = 22.5, plate_dpi: float = 300.0, **more
) -> np.ndarray:
    settings = {"lines_per_inch": 45.0, "dpi": 1200.0, **more}
    strips = screened(plate, plate_dpi=plate_dpi, screening=Screening(**settings), angle_deg=angle)
    return np.concatenate(list(strips))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("angle", [0.0, 7.5, 22.5, 45.0, 82.5])
@pytest.mark.parametrize("tint", [0, 1, 13, 64, 128, 200, 254, 255])
def test_an_even_tint_prints_its_share(shape: str, angle: float, tint: int) -> None:
    """Over 24 cells each way within a code, 0.4 %; nothing and solids exactly."""
    dots = screen(np.full((160, 160), tint, dtype=np.uint8), shape=shape, angle=angle)
    if tint in (0, 255):
        assert dots.all() == dots.any() == (tint == 255)
    assert dots.mean() == pytest.approx(tint / 255, abs=0.004)


@pytest.mark.parametrize(("angle", "cells", "most"), [(0.0, 1, 0.035), (22.5, 4, 0.02)])
@pytest.mark.parametrize("shape", SHAPES)
def test_local_means_follow_a_gray_plate(shape: str, angle: float, cells: int, most: float) -> None:
    """A wave on a ramp, cell by cell; turned cells do not fill a block evenly, 4 × 4 of them do.

    An upright round dot of 20 × 20 pixels grows by 8 pixels at a time, 2 % of its cell.
    """
    y, x = np.mgrid[0:320, 0:400]
    plate = np.uint8(127 + 60 * np.sin(x / 120) * np.cos(y / 140) + x / 9)
    dots = screen(plate, shape=shape, lines_per_inch=60.0, angle=angle)  # 20 × 20 pixels a cell
    block, grey = 20 * cells, 5 * cells
    down, across = 1280 // block, 1600 // block
    means = dots.reshape(down, block, across, block).mean(axis=(1, 3))
    wanted = plate.reshape(down, grey, across, grey).mean(axis=(1, 3)) / 255
    assert np.abs(means - wanted).max() < most
    assert np.abs(means - wanted).mean() < 0.01


@pytest.mark.parametrize("angle", [0.0, 15.0, 22.5, 75.0])
@pytest.mark.parametrize("lines", [35.0, 55.0])
def test_lines_and_angle_by_fourier(angle: float, lines: float) -> None:
    """The strongest wave of a half tint is the line count, at the angle asked for."""
    dots = screen(np.full((400, 400), 90, dtype=np.uint8), angle=angle, lines_per_inch=lines)
    window = np.hanning(1600)[:, None] * np.hanning(1600)
    spectrum = np.abs(np.fft.rfft2((dots - dots.mean()) * window))
    at = np.unravel_index(spectrum.argmax(), spectrum.shape)
    fy, fx = np.fft.fftfreq(1600)[at[0]], np.fft.rfftfreq(1600)[at[1]]
    assert np.hypot(fx, fy) * 1200 == pytest.approx(lines, abs=0.8)
    assert np.degrees(np.arctan2(fy, fx)) % 90 == pytest.approx(angle % 90, abs=1.0)


def test_round_dots_are_round_by_geometry() -> None:
    """Where the plate's threshold is t, the dot of coverage t has its edge: the model's own dot."""
    table = cell_thresholds("round")
    place = (np.arange(CELL) + 0.5) / CELL - 0.5
    distance = np.hypot(place[:, None], place[None, :])
    assert np.abs(dot_coverage(distance) * 255 - table).max() < 1.6


def test_elliptical_dots_are_longer_and_still_ranks() -> None:
    table = cell_thresholds("elliptical")
    small = np.argwhere(table < 20)
    assert np.ptp(small[:, 1]) > 1.2 * np.ptp(small[:, 0])
    for each in SHAPES:
        counts = np.bincount(cell_thresholds(each).ravel(), minlength=256)
        assert counts[255] == 0
        assert np.ptp(counts[:255]) <= 1


def test_sizes_follow_the_resolution() -> None:
    plate = np.zeros((30, 40), dtype=np.uint8)
    assert screened_size(plate, plate_dpi=200.0, dpi=1000.0) == (150, 200)
    assert screen(plate, plate_dpi=144.0, dpi=1000.0).shape == (208, 278)
    assert screen(np.full((1, 1), 255, dtype=np.uint8)).shape == (4, 4)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"lines_per_inch": 0.0}, "too few pixels"),
        ({"lines_per_inch": 400.0}, "too few pixels"),
        ({"dpi": float("nan")}, "too few pixels"),
        ({"dpi": float("inf")}, "too few pixels"),
        ({"shape": "square"}, "round or elliptical"),
        ({"angles": ()}, "angle in degrees"),
        ({"angles": (float("inf"),)}, "angle in degrees"),
    ],
)
def test_nonsense_is_refused(more: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        Screening(**{"lines_per_inch": 45.0, "dpi": 1200.0, **more})


def test_what_no_memory_holds_is_refused_before_work() -> None:
    plate = np.zeros((8000, 8000), dtype=np.uint8)
    with pytest.raises(InputError, match="megapixels are screened"):
        screened_size(plate, plate_dpi=300.0, dpi=2400.0)


def test_every_plate_has_an_angle_of_its_own_or_is_named() -> None:
    two = Screening(lines_per_inch=45.0, dpi=1200.0, angles=(10.0, 40.0))
    assert two.angles_of(["White"]) == (10.0,)
    assert two.angles_of(["White", "Red"]) == (10.0, 40.0)
    with pytest.raises(InputError, match="no angle for Teal and Black: 4 plates need"):
        two.angles_of(["White", "Red", "Teal", "Black"])
    usual = Screening(lines_per_inch=45.0, dpi=1200.0)
    assert len(set(usual.angles_of(list("abcdef")))) == 6
    with pytest.raises(InputError, match="no angle for g"):
        usual.angles_of(list("abcdefg"))


def test_the_usual_angles_are_as_far_apart_as_the_trade_asks() -> None:
    # Of a square grid 90° apart is the same. Three inks 30° apart, more of them 15°; on cloth none
    # along the mesh's threads or their diagonal, where dots and threads beat (common practice, no
    # source).
    def apart(one: float, two: float) -> float:
        return abs((one - two + 45.0) % 90.0 - 45.0)

    pairs = [(a, b) for at, a in enumerate(ANGLES) for b in ANGLES[:at]]
    assert min(apart(a, b) for a, b in pairs) == pytest.approx(15.0)
    three = ANGLES[:3]
    assert all(apart(a, b) == pytest.approx(30.0) for a in three for b in three if a != b)
    for angle in ANGLES:
        assert min(apart(angle, 0.0), apart(angle, 45.0)) >= 7.5
