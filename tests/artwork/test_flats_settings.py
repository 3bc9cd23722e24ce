"""Flat separation as it is asked for: too many colors, settings, a palette that is given."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.artwork.flats import find_flats, flats_for_colours
from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError
from tests.flat_art import BLACK, BLUE, PICTURES, RED, TWELVE, WHITE, YELLOW, Colour, art, numbered
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
