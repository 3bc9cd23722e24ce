"""Flat separation against coverage counted on an eight times finer drawing of the same art."""

from __future__ import annotations

import io
import tracemalloc
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from inksim import plates, strips
from inksim.artwork import read_artwork
from inksim.errors import InputError
from inksim.flats import Flats, find_flats, flats_for_colours
from tests.pictures import artwork

FINE = 8
RED, BLUE, YELLOW, WHITE, BLACK = (
    (200, 30, 40), (20, 60, 160), (250, 220, 40), (255, 255, 255), (20, 20, 20),
)  # fmt: skip
TWELVE = [
    RED, BLUE, YELLOW, WHITE, BLACK, (128, 128, 128), (255, 128, 128), (0, 128, 0), (130, 60, 20),
    (240, 140, 0), (100, 200, 240), (120, 0, 120),
]  # fmt: skip
Colour = tuple[int, int, int]


# -- Art and its truth


def drawing(colours: int, *, seed: int = 2, size: tuple[int, int] = (400, 300)) -> np.ndarray:
    """Label per fine pixel: overlapping discs, polygons and boxes; 0 is the cloth."""
    width, height = size[0] * FINE, size[1] * FINE
    image = Image.new("L", (width, height))
    draw = ImageDraw.Draw(image)
    rng = np.random.default_rng(seed)
    for number in range(max(40, 3 * colours)):
        x, y, r = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(12, 50) * FINE
        label = 1 + number % colours
        if number % 3 == 0:
            draw.ellipse((x - r, y - r, x + r, y + r), fill=label)
        elif number % 3 == 1:
            turn = rng.uniform(0, 2 * np.pi, 5)
            corners = zip(x + r * np.cos(turn), y + r * np.sin(turn), strict=True)
            draw.polygon(list(corners), fill=label)
        else:
            draw.rectangle((x - r, y - r / 2, x + r, y + r / 2), fill=label)
    return np.array(image)


def coverage(fine: np.ndarray, colours: int) -> np.ndarray:
    """(H, W, colours + 1) share of each label in each pixel."""
    height, width = fine.shape[0] // FINE, fine.shape[1] // FINE
    cells = fine.reshape(height, FINE, width, FINE)
    return np.stack([(cells == n).mean(axis=(1, 3)) for n in range(colours + 1)], axis=-1)


def antialiased(share: np.ndarray, colours: Sequence[Colour]) -> np.ndarray:
    """RGBA as a drawing program blends: in sRGB code values, straight alpha."""
    paint = share[..., 1:] @ np.array(colours, dtype=float)
    alpha = 1 - share[..., 0]
    rgb = np.divide(paint, alpha[..., None], out=np.zeros_like(paint), where=alpha[..., None] > 0)
    return np.dstack([rgb, 255 * alpha]).round().astype(np.uint8)


def art(
    colours: Sequence[Colour], *, ground: bool = False, seed: int = 2
) -> tuple[np.ndarray, np.ndarray]:
    """Pixels and the coverage they show; with `ground` the cloth is painted in the first colour."""
    fine = drawing(len(colours), seed=seed)
    if ground:
        fine[fine == 0] = 1
    share = coverage(fine, len(colours))
    return antialiased(share, colours), share


def numbered(flats: Flats, colours: Sequence[Colour], *, within: int = 0) -> np.ndarray:
    """Labels renumbered as in `colours`; every flat must be one of them."""
    table = np.zeros(256, dtype=int)
    for number, flat in enumerate(flats.colours, start=1):
        gap = [max(abs(a - b) for a, b in zip(flat.rgb, c, strict=True)) for c in colours]
        assert min(gap) <= within, f"{flat.hex} is none of the colors drawn"
        table[number] = 1 + int(np.argmin(gap))
    return table[flats.labels]


def wrong(labels: np.ndarray, share: np.ndarray, *, lead: float = 0.1) -> float:
    """Share of pixels on another plate than the one that covers them most, by a clear `lead`.

    Bare cloth is where alpha is below one half, whatever the rest.
    """
    alpha = np.rint(255 * (1 - share[..., 0]))
    truth = np.where(alpha < 128, 0, 1 + share[..., 1:].argmax(axis=-1))
    ranked = np.sort(share[..., 1:], axis=-1)
    clear = (alpha < 128) | (share.shape[-1] == 2)
    if share.shape[-1] > 2:
        clear |= ranked[..., -1] - ranked[..., -2] >= lead
    return float((clear & (labels != truth)).mean())


def jpeg(pixels: np.ndarray, *, quality: int) -> np.ndarray:
    out = io.BytesIO()
    Image.fromarray(pixels).convert("RGB").save(out, "JPEG", quality=quality)
    return np.array(Image.open(out).convert("RGBA"))


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


# -- A mix that looks like a third flat


LOOKALIKES = {
    "black, white, gray": ((0, 0, 0), (255, 255, 255), (128, 128, 128)),
    "red, white, pink": ((255, 0, 0), (255, 255, 255), (255, 128, 128)),
    "red, green, brown": ((200, 30, 40), (0, 128, 0), (100, 79, 20)),
    "blue, yellow, gray-green": ((20, 60, 160), (250, 220, 40), (135, 140, 100)),
}


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
    assert flats_for_colours(artwork(np.zeros((30, 30, 4), np.uint8)), [RED]).colours[0].pixels == 0


def test_near_flats_of_a_clean_picture_stay_apart() -> None:
    pixels = np.full((60, 120, 4), 255, np.uint8)
    for number in range(6):
        pixels[:, 20 * number : 20 * (number + 1), :3] = 40 + 6 * number
    flats = find_flats(artwork(pixels))
    assert {c.rgb[0] for c in flats.colours} == {40, 46, 52, 58, 64, 70}
    assert all(c.pixels == 1200 for c in flats.colours)


# -- Noise, softness, gradients


@pytest.mark.parametrize(("quality", "most"), [(95, 1e-3), (85, 3e-3), (75, 4e-3), (50, 8e-3)])
def test_jpeg_noise_is_not_counted_as_colors(quality: int, most: float) -> None:
    """4:2:0 from quality 90 down: color bleeds 16 pixels, so single pixels must go wrong."""
    colours = [WHITE, RED, BLUE, YELLOW, BLACK]
    pixels, share = art(colours, ground=True)
    flats = find_flats(artwork(jpeg(pixels, quality=quality)))
    assert len(flats.colours) == 5
    assert wrong(numbered(flats, colours, within=6), share) <= most
    assert not flats.tonal


def test_scanner_noise_is_not_counted_as_colors() -> None:
    """Gaussian, two code values: not one exact block of 2 × 2 is left."""
    colours = [WHITE, RED, BLUE, YELLOW, (128, 128, 128)]
    pixels, share = art(colours, ground=True)
    noise = np.random.default_rng(5).normal(0, 2, pixels.shape)
    noisy = np.clip(np.rint(pixels + noise), 0, 255).astype(np.uint8)
    noisy[..., 3] = 255
    flats = find_flats(artwork(noisy))
    assert wrong(numbered(flats, colours, within=3), share) <= 5e-4
    assert not flats.tonal


@pytest.mark.parametrize("factor", [2, 3])
@pytest.mark.parametrize("method", [Image.Resampling.BICUBIC, Image.Resampling.LANCZOS])
def test_enlarged_art_keeps_its_colors(factor: int, method: Image.Resampling) -> None:
    """Soft edges with overshoot; the truth is the same enlargement of each plate alone."""
    colours = [(255, 255, 255), (0, 0, 0), (128, 128, 128), (255, 0, 0)]
    pixels, share = art(colours, ground=True)
    size = (400 * factor, 300 * factor)
    large = np.array(Image.fromarray(pixels).convert("RGB").resize(size, method))
    plates_ = [
        np.array(Image.fromarray(share[..., n].astype(np.float32)).resize(size, method))
        for n in range(1, 5)
    ]
    ranked = np.sort(np.stack(plates_), axis=0)
    clear = ranked[-1] - ranked[-2] > 0.3
    truth = 1 + np.argmax(np.stack(plates_), axis=0)
    labels = numbered(find_flats(artwork(Image.fromarray(large))), colours)
    assert (clear & (labels != truth)).mean() <= 1.5e-3


def test_a_blurred_picture_keeps_its_colors() -> None:
    colours = [WHITE, RED, BLUE, YELLOW, BLACK]
    pixels, share = art(colours, ground=True)
    blurred = Image.fromarray(pixels).convert("RGB").filter(ImageFilter.GaussianBlur(1))
    flats = find_flats(artwork(blurred))
    assert wrong(numbered(flats, colours), share) <= 4e-3
    assert not flats.tonal


def gradient_art(length: int) -> np.ndarray:
    """Red above, blue below, and `length` rows from one to the other between them."""
    pixels = np.full((600 + length, 300, 4), 255, np.uint8)
    pixels[:300, :, :3] = RED
    pixels[300 + length :, :, :3] = BLUE
    ramp = np.linspace(0, 1, length)[:, None]
    rows = np.rint((1 - ramp) * np.array(RED) + ramp * np.array(BLUE)).astype(np.uint8)
    pixels[300 : 300 + length, :, :3] = rows[:, None]
    return pixels


@pytest.mark.parametrize("length", [60, 400, 2000])
def test_the_steps_of_a_gradient_are_not_counted_as_colors(length: int) -> None:
    flats = find_flats(artwork(gradient_art(length)))
    assert {c.rgb for c in flats.colours} == {RED, BLUE}
    assert flats.tonal == (length > 60)
    assert flats.explained == pytest.approx(600 / (600 + length), abs=0.12)
    assert any("%" in note for note in flats.notes)


def test_soft_transparency_is_said() -> None:
    pixels = np.full((100, 256, 4), 255, np.uint8)
    pixels[..., 3] = np.arange(256)
    flats = find_flats(artwork(pixels))
    assert [c.pixels for c in flats.colours] == [12_800]
    assert any("partly transparent" in n and "half and more prints" in n for n in flats.notes)


# -- Tonal pictures

PICTURES = Path(skimage.__file__).parent / "data"


@pytest.mark.parametrize(
    "name",
    [
        "astronaut.png", "brick.png", "camera.png", "cell.png", "chelsea.png", "coffee.png",
        "coins.png", "grass.png", "gravel.png", "moon.png", "motorcycle_left.png", "rocket.jpg",
    ],
)  # fmt: skip
def test_photographs_are_recognised_as_tonal(name: str) -> None:
    """Pictures that come with scikit-image."""
    path = PICTURES / name
    if not path.exists():
        pytest.skip(f"this scikit-image does not bundle {name}")
    flats = find_flats(read_artwork(path))
    assert flats.tonal
    assert flats.explained < 0.6
    assert any("not flat artwork" in n and f"{flats.explained:.0%}" in n for n in flats.notes)
    assert 1 <= len(flats.colours) <= 12
    assert (flats.labels > 0).all()


@pytest.mark.parametrize("name", ["horse.png", "phantom.png", "chessboard_RGB.png"])
def test_flat_pictures_are_not(name: str) -> None:
    path = PICTURES / name
    if not path.exists():
        pytest.skip(f"this scikit-image does not bundle {name}")
    assert not find_flats(read_artwork(path)).tonal


def test_white_noise_is_tonal() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (300, 300, 4)).astype(np.uint8)
    flats = find_flats(artwork(noise), max_colours=5)
    assert flats.tonal
    assert 1 <= len(flats.colours) <= 5


# -- Too many, and settings


def test_more_colors_than_allowed_are_refused_with_advice() -> None:
    pixels, _ = art(TWELVE)
    with pytest.raises(InputError) as caught:
        find_flats(artwork(pixels), max_colours=11)
    text = str(caught.value)
    assert "'test art' has 12 flat colors" in text
    assert "at most 11" in text
    # nearest in code values: dark blue and black against purple and dark blue, and so on
    pairs = [(a, b) for i, a in enumerate(TWELVE) for b in TWELVE[:i]]
    near = min(pairs, key=lambda p: float(np.linalg.norm(np.subtract(*p))))
    assert all("#{:02x}{:02x}{:02x}".format(*c) in text for c in near)
    assert "allow more colors" in text


def test_very_many_flats_are_refused_and_not_called_tonal() -> None:
    pixels = np.full((80, 50 * 20, 4), 255, np.uint8)
    for number in range(50):
        rgb = (number % 4 * 80, number // 4 % 4 * 80, number // 16 * 70)
        pixels[:, 20 * number : 20 * (number + 1), :3] = rgb
    with pytest.raises(InputError, match="has 50 flat colors, and at most 12"):
        find_flats(artwork(pixels))


def test_small_colors_are_joined_by_share() -> None:
    pixels = np.full((100, 100, 4), 255, np.uint8)
    pixels[10:13, 10:13, :3] = RED
    assert len(find_flats(artwork(pixels), min_area_share=0.0001).colours) == 2
    assert len(find_flats(artwork(pixels), min_area_share=0.01).colours) == 1


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"max_colours": 0}, "max_colours is 0; allowed is 1 to 30"),
        ({"max_colours": 31}, "allowed is 1 to 30"),
        ({"min_area_share": 1.0}, "min_area_share is 1.0"),
        ({"min_area_share": -0.1}, "min_area_share is -0.1"),
    ],
)
def test_settings_out_of_range(options: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        find_flats(artwork(np.zeros((4, 4, 4), np.uint8)), **options)  # type: ignore[arg-type]


# -- A given palette


def test_given_colors_keep_their_order_and_take_whole_flats() -> None:
    colours = [WHITE, RED, BLUE, YELLOW]
    pixels, _ = art(colours, ground=True)
    given = [(0, 200, 0), (30, 50, 150), (210, 40, 50), (250, 250, 245)]
    flats = flats_for_colours(artwork(pixels), given)
    assert [c.rgb for c in flats.colours] == given
    own = numbered(find_flats(artwork(pixels)), colours)
    expected = np.array([0, 4, 3, 2, 4])[own]  # yellow is nearest to white
    assert np.array_equal(flats.labels, expected)
    assert flats.colours[0].pixels == 0
    assert any("#fadc28" in n and "#fafaf5" in n and "ΔE00" in n for n in flats.notes)


def test_a_photograph_can_be_forced_onto_given_colors() -> None:
    flats = flats_for_colours(read_artwork(PICTURES / "coffee.png"), [WHITE, BLACK, RED])
    assert flats.tonal
    assert sum(c.pixels for c in flats.colours) == flats.labels.size


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([], "1 to 30 colors"),
        ([(1, 2)], "three numbers each"),
        ([(1, 2, 3), (1, 2)], "three numbers each"),
        ([(1, 2, 256)], "whole and 0 to 255"),
        ([(0.5, 0.5, 0.5)], "whole and 0 to 255"),
        ([(1, 2, 3), (1, 2, 3)], "given twice"),
    ],
)
def test_given_colors_out_of_range(given: list[Colour], words: str) -> None:
    with pytest.raises(InputError, match=words):
        flats_for_colours(artwork(np.zeros((4, 4, 4), np.uint8)), given)


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
    from tests.benchmarks.bench_artwork import main

    ratio = {name: value for name, value, _, _ in main()}["find_flats / Little CMS"]
    assert ratio <= 4.5
