"""The sheet and the shirt: nothing is lost, hidden or recolored on the way to the page."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import ImageFont
from skimage.color import rgb2lab

from inksim.artwork.picture import SURROUND
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.common.fonts import REGULAR, spelled
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.contact_sheet import INK, SOFT, SheetPanel, Swatch, _wrap, compose_sheet
from inksim.picture.render import Look, colour_table
from inksim.picture.shirt import on_shirt
from tests.pictures import render_scaled

RED, BLUE = (200, 30, 40), (30, 60, 180)


def plain(colour: tuple[int, int, int], *, rows: int = 60, columns: int = 80) -> np.ndarray:
    return np.full((rows, columns, 3), colour, dtype=np.uint8)


def area(page: np.ndarray, colour: tuple[int, int, int]) -> int:
    """Pixels of exactly that color."""
    return int(np.all(page == np.array(colour, dtype=np.uint8), axis=-1).sum())


def panel(**changes: object) -> SheetPanel:
    given: dict[str, object] = {"picture": plain(RED), "heading": "Straight on the shirt"}
    return SheetPanel(**(given | changes))  # type: ignore[arg-type]


def luminance(rgb: tuple[int, int, int]) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    return float(linear(np.array(rgb)) @ [0.2126, 0.7152, 0.0722])


def linear(rgb: np.ndarray) -> np.ndarray:
    """Light of 8-bit sRGB codes (IEC 61966-2-1), written out here, not the code under test."""
    c = rgb / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


# Sheet


def test_the_surround_is_neutral_and_of_middle_lightness() -> None:
    # Lab by scikit-image. ISO 3664 asks for a neutral, matt surround; L* 70 is this project's.
    lightness, a, b = rgb2lab(np.array([[SURROUND]], dtype=np.uint8))[0, 0]
    assert lightness == pytest.approx(70, abs=0.3)
    assert np.hypot(a, b) < 0.02


@pytest.mark.parametrize("ink", [INK, SOFT])
def test_words_can_be_read(ink: tuple[int, int, int]) -> None:
    # WCAG 2.2, success criterion 1.4.3: contrast of text at least 4.5 to 1.
    assert (luminance(SURROUND) + 0.05) / (luminance(ink) + 0.05) >= 4.5


@pytest.mark.parametrize("count", range(1, 10))
def test_every_panel_and_swatch_is_on_the_sheet_unchanged(count: int) -> None:
    shades = [(10 * n + 20, 5, 90) for n in range(count)]
    panels = [
        panel(
            picture=plain(shade),
            swatches=(Swatch(asked=RED, print=BLUE, text="ember"), Swatch(print=BLUE, text="b")),
        )
        for shade in shades
    ]
    page = compose_sheet(panels)
    assert page.shape[1] == 1600
    assert page.dtype == np.uint8
    assert [area(page, shade) for shade in shades] == [60 * 80] * count
    assert area(page, BLUE) == 2 * area(page, RED) > 0


def test_the_two_patches_of_a_swatch_touch() -> None:
    page = compose_sheet([panel(swatches=(Swatch(asked=(1, 2, 3), print=BLUE, text="x"),))])
    ys, xs = np.nonzero(np.all(page == (1, 2, 3), axis=-1))
    right_of_it = page[ys.min() : ys.max() + 1, xs.max() + 1]
    assert np.array_equal(right_of_it, np.broadcast_to(np.uint8(BLUE), right_of_it.shape))


def test_a_wide_picture_is_reduced_in_linear_light_to_its_column() -> None:
    y, x = np.mgrid[0:1000, 0:2976]
    check = np.where((x + y) % 2, 255, 0).astype(np.uint8)
    page = compose_sheet([panel(picture=np.dstack([check] * 3))])
    # Half the light is code 188 (IEC 61966-2-1), and every picture pixel has it.
    assert area(page, (188, 188, 188)) == 1488 * 500


def test_pictures_of_a_row_stand_on_one_line() -> None:
    tall, low = plain((1, 2, 3), rows=200), plain((3, 2, 1), rows=50)
    page = compose_sheet([panel(picture=tall), panel(picture=low)])
    feet = [np.nonzero(np.all(page == c, axis=-1))[0].max() for c in ((1, 2, 3), (3, 2, 1))]
    assert feet[0] == feet[1]


def test_a_longer_caption_makes_the_sheet_taller_and_stays_in_its_column() -> None:
    words = "two passes through 160 threads per inch straight on the dark cloth, no base. " * 8
    short, long = (compose_sheet([panel(lines=(t,)), panel()]) for t in ("two passes", words))
    assert long.shape[0] > short.shape[0] + 100
    column = 56 + (1600 - 2 * 56 - 36) // 2
    between = long[150:, column + 2 : column + 34]
    assert np.array_equal(np.unique(between), [SURROUND[0]])


def test_a_verdict_met_is_filled_and_one_not_met_is_outlined() -> None:
    met, missed, bare = (
        compose_sheet([panel(verdict="Meets the tolerance", met=m)]) for m in (True, False, None)
    )
    assert area(met, INK) > 3 * area(missed, INK)
    assert area(missed, INK) > area(bare, INK)


def test_nothing_but_pictures_has_a_color() -> None:
    page = compose_sheet(
        [panel(picture=plain((90, 90, 90)), verdict="No", met=False, lines=("a line",))],
        title="Title",
        subtitle="Subtitle",
        footnote="Footnote",
    )
    assert np.array_equal(page[..., 0], page[..., 1])
    assert np.array_equal(page[..., 0], page[..., 2])


def test_the_sheet_scales_with_its_width_and_is_the_same_every_time() -> None:
    panels = [panel(lines=("160 threads/in",), verdict="Close", met=False)] * 2
    small, large = (compose_sheet(panels, title="T", width_px=w) for w in (1600, 3200))
    assert large.shape[1] == 3200
    assert 1.6 < (large.shape[0] - 60) / (small.shape[0] - 60) < 2.1
    assert np.array_equal(small, compose_sheet(panels, title="T"))


def test_characters_the_font_lacks_are_spelled_and_none_is_lost() -> None:
    words = "ΔE00 2.1 ≤ 4 – 3×160 µm, ±2 °, é"
    assert spelled(words) == words
    assert spelled("ǆep ộ 縞") == "dzep o ?"


def test_wrapped_words_fit_and_are_all_there() -> None:
    font = ImageFont.truetype(REGULAR, 20)
    text = "a bright color straight on " + "x" * 90 + " a dark shirt looks worn"
    rows = _wrap(text, font=font, width=240)
    assert max(font.getlength(row) for row in rows) <= 240
    assert "".join(rows).replace(" ", "") == text.replace(" ", "")
    assert _wrap("one\ntwo", font=font, width=240) == ["one", "two"]


def test_sheets_that_cannot_be_made_are_refused() -> None:
    with pytest.raises(InputError, match="no picture"):
        compose_sheet([])
    for columns in (0, 9):
        with pytest.raises(InputError, match="columns"):
            compose_sheet([panel()], columns=columns)
    with pytest.raises(InputError, match="8-bit RGB"):
        compose_sheet([panel(picture=np.zeros((4, 4), dtype=np.uint8))])


# Shirt


@pytest.fixture(scope="module")
def tile() -> np.ndarray:
    return knit_tile(px_per_mm=6.0)


@pytest.fixture(scope="module")
def look() -> Look:
    cloth = np.linspace(0.5, 0.2, 31)
    ink = np.linspace(0.05, 0.7, 31)
    return colour_table(np.stack([np.broadcast_to(s, (256, 31)) for s in (cloth, ink)]), Viewing())


def shirt(print_rgb: np.ndarray, look: Look, tile: np.ndarray, **changes: float) -> np.ndarray:
    given = {"print_width_mm": 240.0, "height_px": 600} | changes
    return on_shirt(print_rgb, look=look, tile=tile, tile_px_per_mm=6.0, **given)  # type: ignore[arg-type]


def test_the_print_keeps_its_light_and_its_size(look: Look, tile: np.ndarray) -> None:
    green = plain((20, 160, 60), rows=300, columns=240)
    page = shirt(green, look, tile, print_width_mm=240.0)
    printed = page[..., 1].astype(int) - page[..., 0] > 60
    ys, xs = np.nonzero(printed)
    px_per_mm = 600 / (744 + 2 * 36)
    assert np.ptp(xs) + 1 == pytest.approx(240 * px_per_mm, abs=1.5)
    assert np.ptp(ys) + 1 == pytest.approx(300 * px_per_mm, abs=1.5)
    mean = linear(page[printed]).mean(axis=0)
    np.testing.assert_allclose(mean, linear(np.array([20, 160, 60])), rtol=0.01)


def test_a_print_of_bare_cloth_cannot_be_told_from_the_shirt(look: Look, tile: np.ndarray) -> None:
    labels = np.zeros((800, 800), dtype=np.uint8)
    bare = render_scaled(labels, look, tile, max_px=400)
    page = shirt(bare, look, tile).astype(int)
    # Across the left edge of the print, below the creases of the arms.
    x = round((400 + 36 - 120) * 600 / (744 + 2 * 36))
    y = slice(330, 380)
    step = page[y, x + 1 : x + 9].mean(axis=(0, 1)) - page[y, x - 9 : x - 1].mean(axis=(0, 1))
    assert np.abs(step).max() < 2


def test_the_shirt_is_symmetric_in_outline_and_stands_on_the_surround(
    look: Look, tile: np.ndarray
) -> None:
    page = shirt(plain(RED), look, tile)
    assert page.shape[0] == 600
    assert page[0, 0].tolist() == list(SURROUND)
    inside = page[..., 0].astype(int) - page[..., 2] < -4  # cloth is bluish, the surround is not
    assert 0.35 < inside.mean() < 0.65
    printed = page[..., 0].astype(int) - page[..., 2] > 60
    shape = inside | printed
    assert (shape ^ shape[:, ::-1]).mean() < 0.005


def test_where_the_shirt_meets_the_ground_nothing_is_lighter_than_both(
    look: Look, tile: np.ndarray
) -> None:
    # A dark shirt: light fringes at the neck or the hem would be seen at once.
    dark = colour_table(np.full((1, 256, 31), 0.02), Viewing())
    page = shirt(plain((30, 30, 30)), dark, tile)
    assert page.max() <= SURROUND[0]
    middle = page[:, page.shape[1] // 2, 0].astype(int)
    top = int(np.argmax(middle < 60))
    assert np.all(middle[top : top + 480] < 75)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"print_width_mm": 500.0}, "does not fit"),
        ({"print_width_mm": 5.0}, "does not fit"),
        ({"print_top_mm": 500.0}, "does not fit"),
        ({"print_top_mm": -10.0}, "does not fit"),
        ({"label": 2}, "label is 2"),
        ({"height_px": 100}, "100 px high"),
    ],
)
def test_shirts_that_cannot_be_drawn_are_refused(
    changes: dict[str, float], words: str, look: Look, tile: np.ndarray
) -> None:
    with pytest.raises(InputError, match=words):
        shirt(plain(RED), look, tile, **changes)
