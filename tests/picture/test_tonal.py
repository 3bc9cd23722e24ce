"""Pictures of tonal prints: their mean is the swatch, however drawn; register errors show."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image
from skimage.color import deltaE_ciede2000

from inksim.artwork.picture import shrink_to
from inksim.colour.srgb import decode_srgb, encode_srgb, linear_srgb, within_srgb, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.common.errors import InputError
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.tonal import BARE, TonalLook, draw_plates, render_tonal, shifted, tonal_look
from inksim.separation.halftone_print import tonal_reflectance, tonal_set
from inksim.separation.rgb_lattice import line_weights
from inksim.separation.tonal_separation import (
    SeparationTable,
    colours_seen,
    separate_picture,
    separation_table,
)
from inksim.shop.load import load_shop

SHOP = load_shop()
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")
PRINTS = [
    ("Flour White", "straight", Viewing()),
    ("Coal Black", "white-base", Viewing()),
    ("Coal Black", "discharge-base", Viewing()),
    ("Kingcup Yellow", "white-base", Viewing("A", 10)),
    ("Slate Gray", "straight", Viewing("D65", 10)),
]
LIGHT = decode_srgb(np.arange(256) / 255.0)


@cache
def made(garment: str, route: str, viewing: Viewing) -> tuple[SeparationTable, TonalLook]:
    inks = [SHOP.ink(name) for name in INKS]
    tonal = tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route)
    table = separation_table(tonal, viewing=viewing)
    look = tonal_look(
        table.model, viewing, axes=table.axes, coverage=table.coverage, cloth=table.cloth
    )
    return table, look


@pytest.fixture(scope="module")
def tile() -> np.ndarray:
    return knit_tile(px_per_mm=6.0, size_px=(128, 96))


def flat(rgb: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    picture = np.full((*shape, 4), 255, dtype=np.uint8)
    picture[..., :3] = rgb
    return picture


def shown(reflectance: np.ndarray, viewing: Viewing) -> np.ndarray:
    """Lab of a swatch as a screen shows it."""
    light = within_srgb(linear_srgb(xyz(reflectance, viewing), viewing), viewing)
    return lab_from_xyz(xyz_from_srgb8(255 * encode_srgb(light), viewing), viewing)


def mean_lab(picture: np.ndarray, viewing: Viewing) -> np.ndarray:
    """Lab of the mean light of a picture, decoded here."""
    mean = LIGHT[picture[..., :3]].reshape(-1, 3).mean(axis=0)
    return lab_from_xyz(xyz_from_srgb8(255 * encode_srgb(mean), viewing), viewing)


@pytest.mark.parametrize(("garment", "route", "viewing"), PRINTS)
def test_a_flat_area_has_its_swatch_as_mean(garment, route, viewing, tile) -> None:
    """At most 0.3 ΔE00, at full size and reduced; colors that are entries of the table.

    The swatch is the full model's, 8 nodes over the quantiles, of the lattice's coverages.
    """
    table, look = made(garment, route, viewing)
    codes = np.array([0, 4, 16, 40, 60, 85, 126, 170, 211, 255])
    codes = np.array([c for c in codes if (c - c // 64) % 4 == 0])
    rng = np.random.default_rng(2)
    for _ in range(40):
        rgb = rng.choice(codes, 3)
        weights = [
            line_weights([c], nodes=axis)[0] for c, axis in zip(rgb, table.axes, strict=True)
        ]
        coverage = np.einsum("i,j,k,ijkc->c", *weights, table.coverage.astype(float))
        wanted = shown(tonal_reflectance(table.model, np.clip(coverage, 0, 1)), viewing)
        full = render_tonal(flat(rgb, tile.shape), look, tile)
        assert deltaE_ciede2000(wanted, mean_lab(full, viewing)) < 0.3
        small = shrink_to(full, width=24, height=32)
        assert deltaE_ciede2000(wanted, mean_lab(small, viewing)) < 0.4  # rounded once more


@pytest.mark.parametrize(("garment", "route", "viewing"), PRINTS)
def test_any_other_color_lies_between_the_entries(garment, route, viewing, tile) -> None:
    """The dither mixes neighboring entries in the right shares: as the predicted print."""
    table, look = made(garment, route, viewing)
    rng = np.random.default_rng(3)
    off = []
    for _ in range(40):
        rgb = rng.integers(0, 256, 3)
        weights = [
            line_weights([c], nodes=axis)[0] for c, axis in zip(rgb, table.axes, strict=True)
        ]
        coverage = np.einsum("i,j,k,ijkc->c", *weights, table.coverage.astype(float))
        wanted = shown(tonal_reflectance(table.model, np.clip(coverage, 0, 1)), viewing)
        full = render_tonal(flat(rgb, tile.shape), look, tile)
        off.append(float(deltaE_ciede2000(wanted, mean_lab(full, viewing))))
    assert np.median(off) < 0.15
    assert np.percentile(off, 90) < 0.4


@pytest.mark.parametrize(("garment", "route", "viewing"), PRINTS)
def test_plates_are_drawn_as_their_swatch(garment, route, viewing, tile) -> None:
    table, _ = made(garment, route, viewing)
    rng = np.random.default_rng(4)
    for _ in range(6):
        levels = rng.integers(0, 256, table.model.plates).astype(np.uint8)
        plates = np.broadcast_to(levels[:, None, None], (levels.size, *tile.shape))
        wanted = shown(tonal_reflectance(table.model, levels / 255.0), viewing)
        drawn = draw_plates(table.model, plates, tile, viewing)
        assert deltaE_ciede2000(wanted, mean_lab(drawn, viewing)) < 0.3


@pytest.mark.parametrize(("garment", "route", "viewing"), PRINTS[:3])
def test_plates_rejoined_give_the_picture(garment, route, viewing, tile) -> None:
    """Artwork drawn in one go, and drawn from its plates: the same print, pixel for pixel near."""
    table, look = made(garment, route, viewing)
    y, x = np.mgrid[0:160, 0:200]
    art = flat(np.zeros(3), (160, 200))
    art[..., 0], art[..., 1] = x * 255 // 199, y * 255 // 159
    art[..., 2] = (128 + 100 * np.sin(x / 21) * np.cos(y / 17)).astype(np.uint8)
    one_go = render_tonal(art, look, tile)
    plates = separate_picture(art, table).coverages
    rejoined = draw_plates(table.model, plates, tile, viewing)
    # areas of 8 × 8 pixels: single ones are dithered
    blocks = [
        LIGHT[p[..., :3]].reshape(20, 8, 25, 8, 3).mean(axis=(1, 3)) for p in (one_go, rejoined)
    ]
    labs = [lab_from_xyz(xyz_from_srgb8(255 * encode_srgb(b), viewing), viewing) for b in blocks]
    off = deltaE_ciede2000(*labs)
    assert np.median(off) < 0.35
    assert np.percentile(off, 95) < 1.2


def test_tables_made_for_a_picture_print_it_as_whole_ones_do(tile) -> None:
    """What no pixel needs is left out, and nothing else: plates and pixels within 1 of 255."""
    garment, route, viewing = PRINTS[1]
    table, look = made(garment, route, viewing)
    y, x = np.mgrid[0:90, 0:120]
    art = np.stack([2 * x, 2 * y, 255 - x - y, np.minimum(255, 4 * x)], axis=-1).astype(np.uint8)
    seen = colours_seen(art, SHOP.garment(garment), viewing)
    assert 0.001 < seen.cells.mean() < 0.05
    own = separation_table(table.tonal, viewing=viewing, seen=seen)
    drawn = tonal_look(
        own.model, viewing, axes=own.axes, coverage=own.coverage, cloth=own.cloth, seen=seen
    )
    for whole, part in (
        (separate_picture(art, table), separate_picture(art, own)),
        (separate_picture(art[::3], table), separate_picture(art[::3], own)),
    ):
        assert np.abs(whole.coverages.astype(int) - part.coverages).max() <= 1
        assert np.abs(whole.miss.astype(int) - part.miss).max() <= 1
    pictures = [render_tonal(art, each, tile).astype(int) for each in (look, drawn)]
    assert np.abs(pictures[0] - pictures[1]).max() <= 1


def test_a_window_is_that_part_of_the_picture(tile) -> None:
    _, look = made(*PRINTS[1])
    rng = np.random.default_rng(5)
    art = rng.integers(0, 256, (90, 120, 4), dtype=np.uint8)
    whole = render_tonal(art, look, tile)
    window = render_tonal(art[31:77, 50:111], look, tile, x=50, y=31)
    assert np.array_equal(window, whole[31:77, 50:111])


def test_transparent_is_bare_cloth_with_its_fibers(tile) -> None:
    table, look = made(*PRINTS[1])
    art = np.zeros((*tile.shape, 4), dtype=np.uint8)
    art[..., :3] = 255
    drawn = render_tonal(art, look, tile)
    wanted = shown(table.tonal.garment.reflectance, Viewing())
    assert deltaE_ciede2000(wanted, mean_lab(drawn, Viewing())) < 0.3
    assert np.ptp(drawn[..., 1].astype(int)) > 0
    proud, sunken = (LIGHT[drawn[..., 1]][mask].mean() for mask in (tile < 64, tile > 191))
    assert proud > sunken


def test_fibers_show_more_straight_on_cloth_than_over_a_base(tile) -> None:
    """cv_cloth 0.45 against cv_base 0.16: the worn look of a print straight on a dark shirt.

    The base is printed twice through its screen: of one stroke the shirt shows in places, too.
    """
    twice = replace(SHOP, habits=SHOP.habits.model_copy(update={"white_base_passes": 2}))

    def unevenness(route: str) -> float:
        inks = [SHOP.ink("Foxglove Pink")]
        tonal = tonal_set(twice, garment=SHOP.garment("Slate Gray"), inks=inks, route=route)
        table = separation_table(tonal)
        plates = np.zeros((table.model.plates, *tile.shape), dtype=np.uint8)
        plates[:] = 255
        light = LIGHT[draw_plates(table.model, plates, tile, Viewing())].mean(axis=-1)
        return float(light.std() / light.mean())

    assert unevenness("straight") > 1.5 * unevenness("white-base")


def test_register_error_shows_at_its_true_size(tile) -> None:
    """A bar 40 px wide on its own base: shifted 3 px, 3 px of base show and 3 px lie on cloth."""
    table, _ = made(*PRINTS[1])
    plates = np.zeros((5, 60, 80), dtype=np.uint8)
    plates[[0, 2], :, 20:60] = 255  # base and pink
    even = np.full_like(tile, 128)
    right = draw_plates(table.model, plates, even, Viewing())
    off = plates.copy()
    off[2] = shifted(plates[2], dx_px=3.0, dy_px=0.0)
    wrong = draw_plates(table.model, off, even, Viewing())
    changed = np.any(right != wrong, axis=-1)
    assert np.array_equal(np.flatnonzero(changed.any(axis=0)), [20, 21, 22, 60, 61, 62])
    white, pink = wrong[30, 21].astype(int), right[30, 40].astype(int)
    assert white.min() > pink.min() + 40
    assert wrong[30, 61].max() < 90  # pink on black


def test_a_plate_moves_by_parts_of_a_pixel() -> None:
    plate = np.zeros((9, 9), dtype=np.uint8)
    plate[4, 4] = 200
    assert shifted(plate, dx_px=0.0, dy_px=0.0) is plate
    moved = shifted(plate, dx_px=0.5, dy_px=-1.0)
    assert (moved[3, 4], moved[3, 5], moved.sum(dtype=int)) == (100, 100, 200)


@pytest.mark.parametrize("shape", [(1, 1), (3, 5000), (5000, 3)])
def test_any_shape(shape: tuple[int, int], tile) -> None:
    _, look = made(*PRINTS[0])
    assert render_tonal(flat(np.array([90, 80, 70]), shape), look, tile).shape == (*shape, 4)


def test_light_that_no_screen_shows_is_counted() -> None:
    _, look = made(*PRINTS[0])
    assert 0.0 <= look.outside[:BARE].mean() < 0.5


def test_nonsense_is_refused(tile) -> None:
    table, look = made(*PRINTS[0])
    with pytest.raises(InputError, match="8-bit RGBA"):
        render_tonal(np.zeros((4, 4, 3), dtype=np.uint8), look, tile)
    with pytest.raises(InputError, match="2 plates are given for a print of 4"):
        draw_plates(table.model, np.zeros((2, 4, 4), dtype=np.uint8), tile, Viewing())


def test_the_picture_is_what_pillow_reads_back(tmp_path, tile) -> None:
    from inksim.artwork.picture import save_png

    _, look = made(*PRINTS[0])
    drawn = render_tonal(flat(np.array([90, 80, 70]), (20, 30)), look, tile)
    path = save_png(tmp_path / "print.png", drawn, about="a test", dpi=300)
    with Image.open(path) as image:
        assert np.array_equal(np.asarray(image), drawn[..., :3])
