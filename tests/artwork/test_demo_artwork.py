"""The demo shop's artwork: what a print shop would check on arrival, and that it can be redrawn.

The wanted numbers come from the order for the artwork (12 x 14 in; four colors, each over 2 % of
the printed area; PNG), not from the script that draws it.
"""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "shared" / "artwork"
FLAT, TONAL = "harvest-regatta.png", "river-morning.png"
ORDERED = {"orange": "e8622c", "teal": "0f5c63", "yellow": "f2c230", "cream": "ead9b5"}


def pixels(name: str) -> np.ndarray:
    with Image.open(FOLDER / name) as image:
        assert image.mode == "RGBA"
        return np.asarray(image)


def premultiplied(image: Image.Image, *, shrink: int = 1) -> np.ndarray:
    """Color times opacity, and opacity, 0 to 255: what may be averaged over area."""
    return np.asarray(image.convert("RGBa").reduce(shrink), float)


@pytest.fixture(scope="module")
def regatta() -> np.ndarray:
    return pixels(FLAT)


@pytest.fixture(scope="module")
def painters() -> dict[str, ModuleType]:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(ROOT / "tools"))
        import make_demo_artwork

        return dict(make_demo_artwork.PICTURES)


@pytest.mark.parametrize(
    ("name", "size", "dpi"), [(FLAT, (3600, 4200), 300), (TONAL, (2400, 2800), 200)]
)
def test_both_print_at_12_by_14_inches_in_srgb(name, size, dpi):
    with Image.open(FOLDER / name) as image:
        assert image.size == size
        # PNG keeps whole pixels per meter (pHYs): a rounding of at most 0.5 px/m, 0.013 dpi.
        assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.013)
        assert image.info["srgb"] == 0  # the sRGB chunk, perceptual intent (PNG, third edition)
        assert (image.width / dpi, image.height / dpi) == (12, 14)
    assert (FOLDER / name).stat().st_size < 5e6


@pytest.mark.parametrize("code", ORDERED.values(), ids=ORDERED)
def test_each_ordered_color_is_exact_and_covers_over_2_percent(regatta, code):
    printed = regatta[..., 3] > 0
    exact = (regatta == (*bytes.fromhex(code), 255)).all(axis=-1)
    assert exact.sum() / printed.sum() > 0.02


def test_nothing_but_the_four_colors_and_their_antialiased_edges(regatta):
    codes = np.array([(*bytes.fromhex(code), 255) for code in ORDERED.values()])
    flat = np.any([(regatta == c).all(axis=-1) for c in codes] + [regatta[..., 3] == 0], axis=0)
    assert 0.001 < 1 - flat.mean() < 0.05  # edges are there, and only edges
    # Any mixed pixel touches a flat one within 3 px: no gradient, no fifth color area.
    near = flat.copy()
    for _ in range(3):
        grown = near.copy()
        grown[1:] |= near[:-1]
        grown[:-1] |= near[1:]
        grown[:, 1:] |= near[:, :-1]
        grown[:, :-1] |= near[:, 1:]
        near = grown
    assert near.all()


def test_the_rim_against_the_garment_is_cream_so_it_reads_on_black(regatta):
    rim = (regatta[..., 3] > 0) & (regatta[..., 3] < 255)
    assert rim.sum() > 1000
    assert (regatta[rim][:, :3] == tuple(bytes.fromhex(ORDERED["cream"]))).all()


def test_bare_ground_surrounds_the_flat_design(regatta):
    alpha = regatta[..., 3]
    assert not alpha[[0, -1]].any()
    assert not alpha[:, [0, -1]].any()
    assert 0.4 < (alpha > 0).mean() < 0.9


def test_the_painting_is_tonal_and_fades_to_nothing():
    rgba = pixels(TONAL)
    alpha = rgba[..., 3]
    assert not alpha[[0, -1]].any()
    assert not alpha[:, [0, -1]].any()
    assert (alpha[1000:1800, 800:1600] == 255).all()
    assert len(np.unique(alpha)) > 50
    painted = rgba[alpha == 255][:, :3].astype(int)
    assert len(np.unique(painted @ (65536, 256, 1))) > 3000
    grey = painted.mean(axis=1)
    assert np.quantile(grey, 0.99) - np.quantile(grey, 0.01) > 120


@pytest.mark.parametrize("name", [FLAT, TONAL])
def test_the_script_draws_the_committed_picture_at_a_tenth_of_the_size_every_time(name, painters):
    drawn = painters[name].picture(scale=0.1)
    np.testing.assert_array_equal(drawn, painters[name].picture(scale=0.1))
    small = premultiplied(Image.fromarray(drawn))
    with Image.open(FOLDER / name) as image:
        full = premultiplied(image, shrink=10)
    assert small.shape == full.shape
    difference = np.abs(full - small)
    assert difference.mean() < 3
    for channel in range(4):
        r = np.corrcoef(full[..., channel].ravel(), small[..., channel].ravel())[0, 1]
        assert r > 0.98
    # A picture shifted by 2 % of its width is told apart, so the bounds above mean something.
    shifted = np.roll(full, small.shape[1] // 50, axis=1)
    assert np.abs(shifted - small).mean() > 2 * difference.mean()
