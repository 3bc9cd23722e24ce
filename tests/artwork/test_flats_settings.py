"""Flat separation as it is asked for: too many colors, and settings."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.artwork.flats import find_flats
from inksim.common.errors import InputError
from tests.flat_art import RED, TWELVE, art
from tests.pictures import artwork

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
