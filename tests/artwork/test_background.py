"""The background of flat art: found, left out without a fringe, or kept."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw
from scipy import ndimage

from inksim.artwork.background import parsed_wish
from inksim.artwork.cutout import without_background
from inksim.artwork.flats import find_flats
from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError
from tests.flat_art import BLUE, RED, WHITE, YELLOW, antialiased, coverage, drawing
from tests.jpeg_art import through_jpeg
from tests.pictures import artwork

FINE = 8


def logo(ground: tuple[int, int, int] = WHITE) -> Image.Image:
    """A red ring and a blue disc with an eye of the ground's color, soft edges, 320 × 240."""
    image = Image.new("RGB", (320 * FINE, 240 * FINE), ground)
    draw = ImageDraw.Draw(image)
    for box, fill in (
        ((20, 60, 140, 180), RED),
        ((50, 90, 110, 150), ground),
        ((170.3, 50.4, 300.2, 190.7), BLUE),
        ((220, 100, 240, 120), ground),
    ):
        draw.ellipse([FINE * v for v in box], fill=fill)
    return image.resize((320, 240), Image.Resampling.BOX)


@pytest.mark.parametrize("ground", [WHITE, (0, 0, 0), (210, 205, 180)])
@pytest.mark.parametrize("quality", [None, 95, 75, 60])
def test_the_flat_around_a_logo_is_its_background(
    ground: tuple[int, int, int], quality: int | None
) -> None:
    image = logo(ground)
    art = (
        artwork(image)
        if quality is None
        else read_artwork(through_jpeg(image, quality=quality, subsampling="4:2:0"))
    )
    found = find_flats(art).background
    assert found is not None
    assert max(abs(a - b) for a, b in zip(found.rgb, ground, strict=True)) <= 3
    assert found.border_share == 1.0
    assert found.hex in found.offer
    assert len(find_flats(art).colours) == 3  # kept, unless asked
    assert len(find_flats(art, background="auto").colours) == 2


def test_pictures_without_a_background() -> None:
    one = np.full((60, 80, 4), 255, np.uint8)
    assert find_flats(artwork(one)).background is None
    halves = one.copy()
    halves[:, 40:, :3] = RED
    assert find_flats(artwork(halves)).background is None  # neither surrounds the other
    around = np.zeros((60, 80, 4), np.uint8)
    around[10:50, 10:70] = (*RED, 255)
    around[20:40, 20:60] = (*WHITE, 255)
    assert find_flats(artwork(around)).background is None
    framed = np.full((120, 160, 4), 255, np.uint8)
    framed[:1], framed[-1:], framed[:, :1], framed[:, -1:] = ((*RED, 255),) * 4
    framed[20:40, 20:60] = (*BLUE, 255)
    assert find_flats(artwork(framed)).background is None  # a frame, 3 % of it


@pytest.mark.parametrize("background", ["auto", "#ffffff", "#fafafa"])
def test_islands_are_left_out_unless_only_the_outside_is_wanted(background: str) -> None:
    art = artwork(logo())
    whole = find_flats(art, background=background)
    assert {c.rgb for c in whole.colours} == {RED, BLUE}
    assert whole.labels[120, 80] == whole.labels[110, 230] == whole.labels[0, 0] == 0
    assert "islands inside the design too" in whole.notes[-1]
    outside = find_flats(art, background=f"{background} outside")
    assert {c.rgb for c in outside.colours} == {RED, BLUE, WHITE}
    assert outside.labels[0, 0] == 0
    assert outside.labels[120, 80] == outside.labels[110, 230] != 0
    kept = find_flats(art)
    assert np.array_equal(kept.labels == 1, whole.labels == 0)


@pytest.mark.parametrize("seed", range(3))
def test_left_out_art_is_as_if_sent_on_transparent(seed: int) -> None:
    """The same drawing on transparent and on white; the first has the truth in its alpha."""
    colours = [RED, BLUE, YELLOW]
    fine = drawing(3, seed=seed)
    margin = 8 * FINE
    fine[:margin], fine[-margin:], fine[:, :margin], fine[:, -margin:] = 0, 0, 0, 0
    share = coverage(fine, 3)
    clear = antialiased(share, colours)
    white = np.array(Image.new("RGBA", clear.shape[1::-1], "white"))
    light = share[..., 1:] @ np.array(colours, float) + share[..., :1] * 255.0
    white[..., :3] = np.rint(light)
    cut = without_background(artwork(white), background="auto")
    sent, made = find_flats(artwork(clear)), find_flats(cut)
    assert [c.rgb for c in made.colours] == [c.rgb for c in sent.colours]
    # A pixel half covered goes either way; where three meet, white may lead with less than half.
    clear_cut = ((share > 0).sum(axis=-1) <= 2) & (abs(share[..., 0] - 0.5) > 0.02)
    other = sent.labels != made.labels
    assert other.mean() < 3e-3
    assert other[clear_cut].mean() < 3e-4
    assert np.array_equal(made.labels, find_flats(artwork(white), background="auto").labels)
    two = (share[..., 1:] > 0).sum(axis=-1) == 1
    off = np.abs(cut.rgba[..., 3].astype(float) - clear[..., 3])[two]
    assert np.percentile(off, 99) <= 0.09 * 255


@pytest.mark.parametrize("subsampling", ["4:4:4", "4:2:0"])
@pytest.mark.parametrize("quality", [60, 80, 95])
def test_no_fringe_of_background_is_left(quality: int, subsampling: str) -> None:
    """Laid on black, nothing within two pixels of the cut is lighter than the inks."""
    data = through_jpeg(logo(), quality=quality, subsampling=subsampling)
    cut = read_artwork(data, background="auto")
    alpha = cut.rgba[..., 3:] / 255.0
    luma = (cut.rgba[..., :3] * alpha) @ np.array([0.299, 0.587, 0.114])
    along = luma[ndimage.minimum_filter(alpha[..., 0], size=3) == 0]
    assert along.max() <= (np.array([RED, BLUE]) @ np.array([0.299, 0.587, 0.114])).max() + 3
    assert ((alpha > 0) & (alpha < 1)).any()
    assert not any("no transparency" in note for note in cut.notes)
    assert "left out" in cut.notes[-1]
    # What is left covers what was drawn: a ring and a disc with a hole, in pixels.
    drawn = np.pi * (60**2 - 30**2 + 64.95 * 70.15 - 10**2)
    assert alpha.sum() == pytest.approx(drawn, rel=0.01)


def test_a_photograph_keeps_what_does_not_touch_the_border() -> None:
    rng = np.random.default_rng(3)
    small = rng.integers(60, 250, (12, 16, 3)).astype(np.uint8)
    photo = Image.fromarray(small).resize((320, 240), Image.Resampling.BICUBIC)
    page = Image.new("RGB", (400, 320), "white")
    page.paste(photo, (40, 40))
    page.paste((255, 255, 255), (150, 100, 170, 120))
    flats = find_flats(artwork(page), background="auto")
    assert flats.tonal
    assert flats.background is not None
    assert flats.labels[5, 5] == 0
    assert flats.labels[110, 160] != 0
    cut = without_background(artwork(page), background="auto")
    assert cut.rgba[5, 5, 3] == 0
    assert np.array_equal(cut.rgba[110, 160], (255, 255, 255, 255))


def test_the_background_does_not_count_among_the_colors_allowed() -> None:
    art = artwork(logo())
    assert len(find_flats(art, max_colours=2, background="auto").colours) == 2
    kept = find_flats(art, max_colours=2)  # else there would be nothing to leave it out of
    assert len(kept.colours) == 3
    assert kept.background is not None
    with pytest.raises(InputError, match="has 3 flat colors, and at most 1"):
        find_flats(art, max_colours=1)
    with pytest.raises(InputError, match="has 3 flat colors, and at most 2"):
        find_flats(art, max_colours=2, background="auto outside")


def test_what_cannot_be_left_out_is_said() -> None:
    art = artwork(logo())
    with pytest.raises(InputError, match=r"no flat of the color #00ff00.*#ffffff, #143ca0"):
        find_flats(art, background="#00ff00")
    one = artwork(np.full((60, 80, 4), 255, np.uint8))
    with pytest.raises(InputError, match="one color, #ffffff: without it nothing would print"):
        find_flats(one, background="#ffffff")
    assert find_flats(one, background="auto").notes == (
        "No background was found: nothing is left out.",
    )
    assert without_background(one, background="auto").notes[-1].startswith("No background")
    assert without_background(art) is art


@pytest.mark.parametrize("text", ["", "white", "#12345", "keep outside", "auto inside", "#fff x"])
def test_other_wishes_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="allowed is keep, auto or a color code"):
        parsed_wish(text)
    with pytest.raises(InputError, match="allowed is keep, auto or a color code"):
        read_artwork(b"no picture at all", background=text)


def test_a_hex_code_may_be_short() -> None:
    assert parsed_wish("#FFF outside") == (True, (255, 255, 255), True)
    out = io.BytesIO()
    logo().save(out, "PNG")
    assert read_artwork(out.getvalue(), background="#fff").rgba[0, 0, 3] == 0
