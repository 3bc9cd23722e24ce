"""Noise, softness and gradients are no colors; a tonal picture is told from a flat one."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageFilter

from inksim.artwork.flats import find_flats
from inksim.artwork.read import read_artwork
from tests.flat_art import BLACK, BLUE, PICTURES, RED, WHITE, YELLOW, art, numbered, wrong
from tests.pictures import artwork


def jpeg(pixels: np.ndarray, *, quality: int) -> np.ndarray:
    out = io.BytesIO()
    Image.fromarray(pixels).convert("RGB").save(out, "JPEG", quality=quality)
    return np.array(Image.open(out).convert("RGBA"))


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


@pytest.mark.parametrize(
    "name",
    [
        "astronaut.png", "brick.png", "camera.png", "cell.png", "chelsea.png", "coffee.png",
        "coins.png", "grass.png", "gravel.png", "moon.png", "motorcycle_left.png", "rocket.jpg",
    ],
)  # fmt: skip
def test_photographs_are_recognized_as_tonal(name: str) -> None:
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
