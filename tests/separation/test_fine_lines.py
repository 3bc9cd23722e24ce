"""Lines and gaps too narrow to hold: against scipy's openings, and on shapes of known width."""

from __future__ import annotations

import time

import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy import ndimage

from inksim.common.errors import InputError
from inksim.separation.fine_lines import _held, fine_parts, least_gap_mm, least_line_mm
from inksim.stock.screen import Screen

FINE = 8


def screen(threads_per_inch: float, thread_um: float) -> Screen:
    return Screen(
        name=f"{threads_per_inch:g}", threads_per_cm=threads_per_inch / 2.54, thread_um=thread_um
    )


def bars(*widths: int, gap: int = 30) -> np.ndarray:
    """Upright bars of flat 1 on bare cloth, so many pixels wide, `gap` apart."""
    labels = np.zeros((80, sum(widths) + gap * (len(widths) + 1)), np.uint8)
    at = gap
    for width in widths:
        labels[10:70, at : at + width] = 1
        at += width + gap
    return labels


def test_mesh_or_cloth_sets_the_least_line() -> None:
    """Two pitches, 2 × 25.4 mm / 110, or the 0.3 mm of jersey; common practice, no source."""
    assert least_line_mm(screen(110, 80), cloth_mm=0.3) == pytest.approx(50.8 / 110)
    assert least_line_mm(screen(230, 44), cloth_mm=0.3) == 0.3
    assert least_line_mm(screen(230, 44), cloth_mm=0.0) == pytest.approx(50.8 / 230)
    # A gap loses what both of its edges spread.
    gap = least_gap_mm(screen(110, 80), cloth_mm=0.3, spread_um=40.0)
    assert gap == pytest.approx(50.8 / 110 + 0.08)


@pytest.mark.parametrize("width", range(2, 9))
def test_what_holds_is_scipys_opening_of_each_label(width: int) -> None:
    rng = np.random.default_rng(width)
    rough = rng.integers(0, 4, (20, 25)).astype(np.uint8)
    labels = np.kron(rough, np.ones((5, 4), np.uint8))
    labels[rng.random(labels.shape) < 0.01] = 2
    page = np.pad(labels, width + 1)
    middle = (width - 1) / 2
    y, x = np.mgrid[:width, :width] - middle
    disc = np.hypot(x, y) <= width / 2
    truth = np.zeros(page.shape, bool)
    for label in range(4):
        truth |= ndimage.binary_opening(page == label, disc)
    inner = (slice(width + 1, -width - 1),) * 2
    assert np.array_equal(_held(page, width)[inner], truth[inner])


def test_strips_leave_no_seams(monkeypatch: pytest.MonkeyPatch) -> None:
    labels = np.random.default_rng(0).integers(0, 2, (200, 30)).astype(np.uint8)
    labels = ndimage.median_filter(labels, 5)
    whole = _held(labels, 4)
    monkeypatch.setattr("inksim.separation.fine_lines._STRIP_PIXELS", 30 * 16)
    assert np.array_equal(_held(labels, 4), whole)


def test_a_hairline_is_found_and_a_line_as_wide_as_needed_is_not() -> None:
    """At 300 dpi 0.3 mm are 3.5 pixels: 1 px (0.085 mm), 2 and 3 are too thin, 4 and 5 hold."""
    labels = bars(1, 2, 3, 4, 5)
    found = fine_parts(labels, flats=1, dpi=300.0, line_mm=0.3, gap_mm=0.0)
    pieces, count = ndimage.label(labels)
    lost = [bool(found.lines[pieces == n].all()) for n in range(1, count + 1)]
    kept = [not found.lines[pieces == n].any() for n in range(1, count + 1)]
    assert lost == [True, True, True, False, False]
    assert kept == [False, False, False, True, True]
    assert found.thinnest_mm == (pytest.approx(25.4 / 300),)
    assert found.line_shares == (pytest.approx(6 / 15),)
    assert not found.gaps.any()
    assert np.array_equal(found.places, found.lines > 0)


def test_a_narrow_gap_is_found_between_any_two_prints() -> None:
    labels = np.zeros((60, 100), np.uint8)
    labels[10:50, 10:40] = 1
    labels[10:50, 42:70] = 2  # 2 pixels from the first
    labels[10:50, 76:90] = 2  # 6 pixels from the second
    found = fine_parts(labels, flats=2, dpi=254.0, line_mm=0.3, gap_mm=0.4)
    assert found.gaps[12:48, 40:42].all()
    assert np.count_nonzero(found.gaps[:, 45:]) == 0
    assert found.narrowest_mm == pytest.approx(0.2)
    assert found.gap_share == pytest.approx(80 / (40 * (30 + 28 + 14)), rel=0.1)
    assert not found.lines.any()
    assert found.thinnest_mm == (None, None)


def test_a_hairline_of_one_flat_in_another_is_that_flats_line() -> None:
    labels = np.ones((60, 100), np.uint8)
    labels[30, 10:90] = 2
    found = fine_parts(labels, flats=2, dpi=300.0, line_mm=0.3, gap_mm=0.4)
    assert np.array_equal(found.lines == 2, labels == 2)
    assert not (found.lines == 1).any()
    assert found.line_shares == (0.0, 1.0)


def test_each_flat_may_have_its_own_least_line() -> None:
    labels = np.zeros((60, 100), np.uint8)
    labels[10:50, 20:23], labels[10:50, 60:63] = 1, 2
    found = fine_parts(labels, flats=2, dpi=254.0, line_mm=[0.2, 0.5], gap_mm=0.0)
    assert found.line_shares == (0.0, 1.0)


@pytest.mark.parametrize("degrees", [0, 7, 18, 26.6, 33, 45, 60, 81])
@pytest.mark.parametrize("width", [2.0, 6.0])
def test_a_line_holds_or_not_whatever_its_direction(degrees: float, width: float) -> None:
    """Least 4 pixels: a line of 2 is lost, one of 6 is not, but for its ends."""
    image = Image.new("L", (200 * FINE, 200 * FINE))
    turn = np.radians(degrees)
    x, y = 70 * FINE * np.cos(turn), 70 * FINE * np.sin(turn)
    middle = 100 * FINE
    ends = (middle - x, middle - y, middle + x, middle + y)
    ImageDraw.Draw(image).line(ends, fill=255, width=int(width * FINE))
    labels = (np.array(image.resize((200, 200), Image.Resampling.BOX)) >= 128).astype(np.uint8)
    found = fine_parts(labels, flats=1, dpi=254.0, line_mm=0.4, gap_mm=0.4)
    share = found.line_shares[0]
    assert share > 0.99 if width == 2.0 else share == 0.0
    assert not found.gaps.any()


def test_corners_tips_and_curves_of_wide_shapes_are_let_be() -> None:
    image = Image.new("L", (400, 300))
    draw = ImageDraw.Draw(image)
    for number, r in enumerate((3, 5, 9, 30)):
        draw.ellipse((20 + 80 * number, 20, 20 + 80 * number + 2 * r, 20 + 2 * r), fill=1)
    draw.polygon([(30, 250), (110, 130), (150, 260)], fill=1)
    draw.polygon([(200, 250), (230, 140), (320, 190), (330, 270)], fill=1)
    found = fine_parts(np.array(image), flats=1, dpi=254.0, line_mm=0.4, gap_mm=0.4)
    assert not found.places.any()


def test_dots_too_small_are_lost_though_they_are_short() -> None:
    labels = np.zeros((60, 60), np.uint8)
    labels[20:22, 20:22] = 1
    labels[40:50, 40:50] = 1
    found = fine_parts(labels, flats=1, dpi=254.0, line_mm=0.4, gap_mm=0.0)
    assert np.count_nonzero(found.lines) == 4
    assert found.thinnest_mm == (pytest.approx(0.17, abs=0.03),)  # 2 pixels, √2 across corners


def test_nothing_is_found_where_a_pixel_is_wider_than_the_least_line() -> None:
    found = fine_parts(bars(1), flats=1, dpi=50.0, line_mm=0.3, gap_mm=0.3)
    assert not found.places.any()
    assert found.narrowest_mm is None


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"flats": 0}, "none above 0"),
        ({"line_mm": [0.1, 0.2]}, "give 1 lines"),
        ({"line_mm": -0.1}, "of 0 mm or more"),
        ({"gap_mm": -0.1}, "of 0 mm or more"),
        ({"dpi": 0.0}, "dpi above 0"),
    ],
)
def test_numbers_out_of_range(options: dict[str, object], words: str) -> None:
    given = {"flats": 1, "dpi": 300.0, "line_mm": 0.3, "gap_mm": 0.3, **options}
    with pytest.raises(InputError, match=words):
        fine_parts(bars(5), **given)  # type: ignore[arg-type]


@pytest.mark.benchmark
def test_sixteen_megapixels_take_seconds() -> None:
    labels = np.tile(bars(1, 3, 5, 9, 40), (40, 20))[:4000, :4000]
    start = time.process_time()
    fine_parts(labels, flats=1, dpi=300.0, line_mm=0.3, gap_mm=0.36)
    assert time.process_time() - start < 6.0


@pytest.mark.parametrize("width", [12, 20, 30])
def test_a_short_tip_at_a_corner_is_let_be_as_one_on_a_side(width: int) -> None:
    """A disc of radius r leaves (√2 − 1) r of a right angle's bisector (Euclid): that is no tip."""
    reach = round(0.72 * width)
    for top in (50, 90):  # going on from the corner, and from the middle of the side
        labels = np.zeros((200, 240), np.uint8)
        labels[50:130, 50:130] = 1
        labels[top : top + 2, 130 : 130 + reach] = 1
        found = fine_parts(labels, flats=1, dpi=254.0, line_mm=width / 10, gap_mm=0.0)
        assert not found.lines.any()
        labels[top : top + 2, 130 : 130 + 2 * width] = 1  # as long as a line
        found = fine_parts(labels, flats=1, dpi=254.0, line_mm=width / 10, gap_mm=0.0)
        assert found.lines[top, 130 + width : 130 + 2 * width].all()
        assert not found.lines[60:120, 60:120].any()
