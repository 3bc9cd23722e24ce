"""Flat separation against coverage counted on an eight times finer drawing of the same art."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from inksim.artwork import labels as plates, pixels as strips
from inksim.artwork.flats import find_flats
from inksim.common.errors import InputError
from tests.flat_art import (
    BLACK,
    BLUE,
    FINE,
    RED,
    TWELVE,
    WHITE,
    Colour,
    antialiased,
    art,
    coverage,
    numbered,
    wrong,
)
from tests.pictures import artwork

# -- Finding the flats


@pytest.mark.parametrize("count", range(2, 13))
@pytest.mark.parametrize("ground", [False, True], ids=["on cloth", "on a ground"])
def test_two_to_twelve_colors_are_found_and_edges_fall_by_coverage(
    count: int, ground: bool
) -> None:
    colours = TWELVE[:count]
    pixels, share = art(colours, ground=ground)
    flats = find_flats(artwork(pixels))
    assert {flat.rgb for flat in flats.colours} == set(colours)
    # A sliver of one flat thinner than a pixel shows no pure pixel: two in ten thousand.
    assert wrong(numbered(flats, colours), share) <= 2e-4
    assert not flats.tonal
    assert flats.explained > 0.999
    assert flats.notes == ()


@pytest.mark.parametrize("seed", range(5))
def test_where_two_flats_meet_every_pixel_is_right(seed: int) -> None:
    """Whatever the shapes: one color on the cloth, and two that fill the picture."""
    pixels, share = art([RED], seed=seed)
    assert wrong(numbered(find_flats(artwork(pixels)), [RED]), share) == 0
    pixels, share = art([RED, BLUE], ground=True, seed=seed)
    assert wrong(numbered(find_flats(artwork(pixels)), [RED, BLUE]), share, lead=0.02) == 0


def test_flats_are_described_largest_first() -> None:
    pixels = np.zeros((200, 300, 4), np.uint8)
    pixels[:100, :100] = (*BLUE, 255)
    pixels[100:, :] = (*RED, 255)
    flats = find_flats(artwork(pixels, dpi=254.0))
    red, blue = flats.colours
    assert (red.rgb, red.hex, red.pixels) == (RED, "#c81e28", 30_000)
    assert (blue.rgb, blue.hex, blue.pixels) == (BLUE, "#143ca0", 10_000)
    assert (red.area_share, blue.area_share) == (0.75, 0.25)
    assert red.area_mm2 == pytest.approx(300.0)  # 30 mm × 10 mm at 10 pixels a millimeter
    assert find_flats(artwork(pixels, dpi=None)).colours[0].area_mm2 is None
    assert np.array_equal(flats.plate(1), (pixels[..., 3] > 0) & (pixels[..., 0] == 200))
    with pytest.raises(InputError, match="no plate 3; this artwork has plates 1 to 2"):
        flats.plate(3)


def test_plates_are_crisp_and_in_register() -> None:
    pixels, _ = art(TWELVE[:6])
    flats = find_flats(artwork(pixels))
    assert flats.labels.dtype == np.uint8
    assert flats.labels.shape == pixels.shape[:2]
    with pytest.raises(ValueError, match="read-only"):
        flats.labels[0, 0] = 1
    total = sum(flats.plate(n).astype(int) for n in range(1, 7))
    assert np.array_equal(total, pixels[..., 3] >= 128)  # no gap, no overlap, nothing on cloth
    assert sum(c.pixels for c in flats.colours) == total.sum()


def test_half_covered_is_printed_and_less_is_cloth() -> None:
    pixels = np.zeros((20, 20, 4), np.uint8)
    pixels[4:16, 4:16] = (*RED, 255)
    pixels[3, 4:16] = (*RED, 128)
    pixels[16, 4:16] = (*RED, 127)
    labels = find_flats(artwork(pixels)).labels
    assert (labels[3, 4:16] == 1).all()
    assert (labels[16, 4:16] == 0).all()


def test_color_hidden_in_transparent_pixels_does_not_count() -> None:
    pixels = np.zeros((40, 40, 4), np.uint8)
    pixels[...] = (*BLUE, 60)
    pixels[10:30, 10:30] = (*RED, 255)
    assert [c.rgb for c in find_flats(artwork(pixels)).colours] == [RED]


LOOKALIKES = {
    "black, white, gray": ((0, 0, 0), (255, 255, 255), (128, 128, 128)),
    "red, white, pink": ((255, 0, 0), (255, 255, 255), (255, 128, 128)),
    "red, green, brown": ((200, 30, 40), (0, 128, 0), (100, 79, 20)),
    "blue, yellow, gray-green": ((20, 60, 160), (250, 220, 40), (135, 140, 100)),
}


# -- A mix that looks like a third flat


@pytest.mark.parametrize("colours", LOOKALIKES.values(), ids=LOOKALIKES.keys())
@pytest.mark.parametrize("shape", ["disc", "box off the grid", "wave"])
def test_an_edge_never_lands_on_the_plate_it_looks_like(
    colours: tuple[Colour, Colour, Colour], shape: str
) -> None:
    """Two flats meet in the left half; the third, their mix, is a far-off square."""
    one, other, mix = colours
    fine = np.full((200 * FINE, 300 * FINE), 1, np.uint8)
    y, x = np.mgrid[0 : fine.shape[0], 0 : fine.shape[1]] / FINE
    if shape == "disc":
        fine[np.hypot(x - 90, y - 100) < 70.3] = 2
    elif shape == "wave":
        fine[(y > 100 + 40 * np.sin(x / 13)) & (x < 180)] = 2
    else:
        fine[(abs(x - 90) < 60.5) & (abs(y - 100) < 70.5)] = 2
    fine[(x > 220) & (x < 280) & (y > 60) & (y < 140)] = 3
    share = coverage(fine, 3)
    flats = find_flats(artwork(antialiased(share, colours)))
    labels = numbered(flats, [one, other, mix])
    assert set(np.unique(labels)) == {1, 2, 3}
    assert not (labels[:, :200] == 3).any()
    assert np.array_equal(labels == 3, share[..., 3] > 0.5)
    assert wrong(labels, share, lead=0.02) == 0


def test_a_thin_line_of_the_mix_stays_a_line() -> None:
    """One pixel of gray in white is a line, not the edge of black that it resembles elsewhere."""
    pixels = np.full((100, 200, 4), 255, np.uint8)
    pixels[:, :40, :3] = 0
    pixels[30:70, 150:190, :3] = 128
    pixels[20, 100:140, :3] = 128
    pixels[30:60, 120, :3] = 128
    labels = numbered(find_flats(artwork(pixels)), [(255, 255, 255), (0, 0, 0), (128, 128, 128)])
    assert (labels[20, 100:140] == 3).all()
    assert (labels[30:60, 120] == 3).all()
    assert (labels[:, 39] == 2).all()
    assert (labels[:, 40] == 1).all()


# -- Lines, dots, small pictures


def test_a_color_that_only_occurs_in_thin_lines_is_found() -> None:
    pixels = np.full((200, 200, 4), 255, np.uint8)
    pixels[60:140, 60:140, :3] = BLUE
    for at in range(10, 190, 20):
        pixels[at, 5:195, :3] = (0, 150, 60)
    flats = find_flats(artwork(pixels))
    labels = numbered(flats, [WHITE, BLUE, (0, 150, 60)])
    assert (labels[10, 5:195] == 3).all()
    assert (labels[90, 5:195] == 3).all()


def test_soft_thin_strokes_fall_to_the_color_of_the_thick_ones() -> None:
    """Antialiased strokes 1.4 pixels wide, on white, beside gray and black areas."""
    colours = [(255, 255, 255), (0, 0, 0), (128, 128, 128)]
    image = Image.new("L", (200 * FINE, 160 * FINE), 1)
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, 60 * FINE, 40 * FINE), fill=2)
    draw.rectangle((140 * FINE, 0, 200 * FINE, 40 * FINE), fill=3)
    for at in range(8):
        left = (10 + 22 * at) * FINE
        draw.line((left, 60 * FINE, left + 9 * FINE, 150 * FINE), fill=2, width=int(1.4 * FINE))
    share = coverage(np.array(image), 3)
    labels = numbered(find_flats(artwork(antialiased(share, colours))), colours)
    below = slice(50, None)
    assert (labels[below] == 3).sum() <= 0.02 * (labels[below] == 2).sum()
    covered = share[below, :, 2]
    assert (labels[below][covered > 0.75] == 2).mean() > 0.97
    assert (labels[below][covered < 0.25] == 1).mean() > 0.99


def test_hard_edged_art_is_taken_pixel_by_pixel() -> None:
    """Swatches, then pixels at random: none is a mix, though many lie between two others."""
    colours = TWELVE[:8]
    order = np.random.default_rng(4).integers(0, 8, (64, 64))
    order[:8] = np.repeat(np.arange(8), 8)
    pixels = np.dstack([np.array(colours)[order], np.full((64, 64), 255)]).astype(np.uint8)
    assert np.array_equal(numbered(find_flats(artwork(pixels)), colours), order + 1)


@pytest.mark.parametrize("size", [14, 24])
def test_small_type_adds_no_colors(size: int) -> None:
    """Repeated glyphs repeat the same soft pixels, hundreds of times."""
    image = Image.new("RGB", (600, 200), "white")
    draw = ImageDraw.Draw(image)
    for line in range(8):
        words = "The quick brown fox jumps over the lazy dog " * 2
        colour = RED if line % 2 else BLACK
        draw.text((10, 10 + line * 22), words, fill=colour, font=ImageFont.load_default(size))
    flats = find_flats(artwork(image))
    assert {c.rgb for c in flats.colours} == {WHITE, RED, BLACK}
    assert not flats.tonal


@pytest.mark.parametrize("size", [(1, 1), (1, 40), (40, 1), (2, 2), (3, 1)])
def test_pictures_of_a_few_pixels(size: tuple[int, int]) -> None:
    pixels = np.full((*size, 4), 255, np.uint8)
    flats = find_flats(artwork(pixels))
    assert [c.rgb for c in flats.colours] == [(255, 255, 255)]
    assert flats.colours[0].pixels == pixels.shape[0] * pixels.shape[1]
    assert (flats.labels == 1).all()
    assert not flats.tonal


def test_a_long_strip_of_a_picture() -> None:
    pixels = np.zeros((50, 20_000, 4), np.uint8)
    pixels[10:40, ::] = (*RED, 255)
    pixels[20:30, 5_000:15_000] = (*BLUE, 255)
    flats = find_flats(artwork(pixels))
    assert [c.pixels for c in flats.colours] == [500_000, 100_000]


def test_nothing_to_print() -> None:
    flats = find_flats(artwork(np.zeros((30, 30, 4), np.uint8)))
    assert flats.colours == ()
    assert not flats.labels.any()
    assert (flats.tonal, flats.explained) == (False, 1.0)


def test_near_flats_of_a_clean_picture_stay_apart() -> None:
    pixels = np.full((60, 120, 4), 255, np.uint8)
    for number in range(6):
        pixels[:, 20 * number : 20 * (number + 1), :3] = 40 + 6 * number
    flats = find_flats(artwork(pixels))
    assert {c.rgb[0] for c in flats.colours} == {40, 46, 52, 58, 64, 70}
    assert all(c.pixels == 1200 for c in flats.colours)


# -- Sameness and cost


def test_strips_leave_no_seams(monkeypatch: pytest.MonkeyPatch) -> None:
    pixels, _ = art(TWELVE[:7])
    whole = find_flats(artwork(pixels))
    monkeypatch.setattr(strips, "STRIP_PIXELS", 400 * 7)
    monkeypatch.setattr(plates, "CASES", 5)
    parts = find_flats(artwork(pixels))
    assert np.array_equal(whole.labels, parts.labels)
    assert whole.colours == parts.colours


def test_turning_the_art_turns_the_plates() -> None:
    """No direction is preferred; where two plates tie, the order of directions may tell."""
    pixels, _ = art(TWELVE[:5], ground=True)
    upright = numbered(find_flats(artwork(pixels)), TWELVE)
    turned = numbered(find_flats(artwork(np.rot90(pixels).copy())), TWELVE)
    assert (np.rot90(upright) != turned).mean() <= 1e-4


def test_memory_stays_below_twelve_bytes_a_pixel() -> None:
    """Beyond the input, for flat art and for the worst picture; 16 MB of tables set aside."""
    pixels, _ = art(TWELVE[:5])
    flat = np.tile(pixels, (5, 5, 1))
    noise = np.random.default_rng(2).integers(0, 256, flat.shape).astype(np.uint8)
    soft = Image.fromarray(noise).convert("RGB").filter(ImageFilter.GaussianBlur(9))
    for picture in (flat, noise, np.array(soft.convert("RGBA"))):
        ready = artwork(picture)
        tracemalloc.start()
        try:
            find_flats(ready)
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        assert peak - 2 * 2**24 <= 12 * picture.shape[0] * picture.shape[1]


@pytest.mark.benchmark
def test_time_beside_little_cms() -> None:
    """Target 3 × one ImageCms sRGB to Lab of the same picture; slack for a busy machine."""
    from tests.benchmarks.bench_artwork import flats_beside_little_cms

    assert flats_beside_little_cms() <= 4.5
