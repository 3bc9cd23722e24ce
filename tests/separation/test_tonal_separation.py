"""Tonal separation: what is printable comes back, plates are smooth, nothing prints on nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import encode_srgb, linear_srgb, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz_from_lab
from inksim.common.errors import InputError
from inksim.separation.halftone_print import tonal_lab, tonal_model, tonal_set
from inksim.separation.tonal_separation import (
    MISS_STEP,
    SeparationTable,
    ink_costs,
    separate_picture,
    separation_table,
)
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
FOUR = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")
SIX = (*FOUR[:3], "Orchard Green", "Lantern Orange", "Hearth Black")
PRINTS = [
    ("Flour White", "straight", FOUR),
    ("Flour White", "straight", FOUR[2:3]),
    ("Pebble Heather", "straight", FOUR[:2]),
    ("Coal Black", "white-base", FOUR),
    ("Coal Black", "white-base", SIX),
    ("Coal Black", "discharge-base", FOUR),
    ("Kingcup Yellow", "white-base", FOUR),
]


@cache
def table(garment: str, route: str, names: tuple[str, ...]) -> SeparationTable:
    inks = [SHOP.ink(name) for name in names]
    return separation_table(tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route))


def opaque(rgb: np.ndarray) -> np.ndarray:
    """(n, 3) colors as a picture of one row."""
    picture = np.full((1, len(rgb), 4), 255, dtype=np.uint8)
    picture[0, :, :3] = rgb
    return picture


def printed_lab(made: SeparationTable, coverages: np.ndarray) -> np.ndarray:
    return tonal_lab(made.model, coverages.reshape(len(coverages), -1).T / 255.0, made.viewing)


def asked_lab(rgb: np.ndarray) -> np.ndarray:
    return lab_from_xyz(xyz_from_srgb8(rgb, D50), D50)


@pytest.mark.parametrize(("garment", "route", "names"), PRINTS)
def test_artwork_of_printable_colors_comes_back(garment, route, names) -> None:
    """Median ΔE00 at most 1 and 95th percentile at most 3, as asked of the separation.

    Coverages are drawn at random, a third of them solids or nothing; their exact prints, rounded to
    8-bit sRGB, are the artwork. Prints that sRGB cannot hold are left out.
    """
    made = table(garment, route, names)
    rng = np.random.default_rng(5)
    coverages = np.clip(1.5 * rng.random((4000, made.model.plates)) - 0.25, 0.0, 1.0)
    wanted = tonal_lab(made.model, coverages, D50)
    linear = linear_srgb(xyz_from_lab(wanted, D50), D50)
    inside = np.all((linear >= 0) & (linear <= 1), axis=1)
    assert inside.sum() > 300
    rgb = np.rint(255 * encode_srgb(linear[inside])).astype(np.uint8)
    found = separate_picture(opaque(rgb), made)
    off = delta_e_2000(wanted[inside], printed_lab(made, found.coverages))
    assert np.median(off) <= 1.0
    assert np.percentile(off, 95) <= 3.0
    # the map is a straight line between nodes, which a single ink's prints pass by
    assert found.out_of_reach < (0.02 if len(names) > 1 else 0.06)


@pytest.mark.parametrize(("garment", "route", "names"), PRINTS)
def test_what_is_reported_is_what_the_full_model_says(garment, route, names) -> None:
    made = table(garment, route, names)
    rng = np.random.default_rng(8)
    picture = np.full((80, 100, 4), 255, dtype=np.uint8)
    picture[..., :3] = rng.integers(0, 256, (80, 100, 3))
    found = separate_picture(picture, made, tolerance=4.0)
    off = delta_e_2000(
        asked_lab(picture[..., :3].reshape(-1, 3)), printed_lab(made, found.coverages)
    )
    assert found.mean == pytest.approx(off.mean(), rel=0.02, abs=0.02)
    assert found.p95 == pytest.approx(np.percentile(off, 95), rel=0.03, abs=0.05)
    assert found.out_of_reach == pytest.approx((off > 4.0).mean(), abs=0.05)
    assert found.beyond().mean() == pytest.approx(found.out_of_reach)
    # the map, pixel by pixel: codes stop at 25.5, and between nodes it is a straight line
    mapped = found.miss.ravel() * MISS_STEP
    assert np.median(np.abs(mapped - np.minimum(off, 25.5))) < 0.5


@pytest.mark.parametrize(("garment", "route", "names"), PRINTS)
def test_a_smooth_picture_gives_smooth_plates(garment, route, names) -> None:
    """Ramps of two codes a step: no plate jumps by more than a ninth, but in shadows.

    There the plates may be steep: black ink on a black shirt goes from nothing to a solid within
    3 L*. What counts is the print: over 8 codes it moves as far as the artwork and at most 2 ΔE00
    more, 3.5 with an ink or two, whose prints lie on a line or a sheet far from most colors.
    """
    made = table(garment, route, names)
    codes = np.arange(0, 256, 2)
    ramps = [np.stack([codes] * 3, axis=1)]
    for colour in ((220, 60, 40), (60, 160, 70), (50, 80, 190), (230, 200, 60), (120, 90, 60)):
        share = codes[:, None] / 255.0
        ramps.append(share * np.array(colour))  # to black
        ramps.append(255.0 * (1 - share) + share * np.array(colour))  # to white
    for ramp in ramps:
        rgb = np.rint(ramp).astype(np.uint8)
        found = separate_picture(opaque(rgb), made).coverages
        jumps = np.abs(np.diff(found[:, 0].astype(int), axis=1))
        light = ramp[1:].max(axis=1) > 90
        assert jumps[:, light].max() <= 28
        prints, asked = printed_lab(made, found), asked_lab(rgb)
        moved = delta_e_2000(prints[4:], prints[:-4]) - delta_e_2000(asked[4:], asked[:-4])
        assert moved.max() <= (2.0 if len(names) > 2 else 3.5)


def test_base_goes_where_the_colors_need_it() -> None:
    """Not by alpha: none below a black, all of it below a bright color, bare below a white."""
    made = table("Coal Black", "white-base", FOUR)
    rgb = np.array([[0, 0, 0], [250, 200, 60], [200, 200, 200]], dtype=np.uint8)
    base, *colours = separate_picture(opaque(rgb), made).coverages[:, 0] / 255.0
    assert base[0] < 0.03
    assert base[1] > 0.9
    assert base[2] > 0.9
    assert max(colour[2] for colour in colours) < 0.3


def test_a_light_shirt_takes_hardly_any_base() -> None:
    """A base under a color on a white shirt is ink for nothing: least ink is the tie-break."""
    with_base = table("Flour White", "white-base", FOUR)
    rgb = np.array([[225, 215, 190], [120, 90, 100], [150, 150, 150], [30, 30, 30]], dtype=np.uint8)
    assert separate_picture(opaque(rgb), with_base).coverages[0].max() < 0.35 * 255


def test_transparent_pixels_print_nothing_and_half_ones_lie_on_the_garment() -> None:
    made = table("Coal Black", "white-base", FOUR)
    picture = np.full((3, 4, 4), 255, dtype=np.uint8)
    picture[..., :3] = (230, 120, 40)
    picture[0, :, 3] = 0
    picture[1, :, 3] = 128
    found = separate_picture(picture, made)
    assert not found.coverages[:, 0].any()
    assert not found.miss[0].any()
    assert found.printed == pytest.approx(2 / 3)
    over = np.rint(128 / 255 * np.array([230, 120, 40]) + 127 / 255 * np.array(made.cloth))
    flat = separate_picture(opaque(over[None].astype(np.uint8)), made)
    assert np.array_equal(found.coverages[:, 1, 0], flat.coverages[:, 0, 0])


def test_the_garments_own_color_takes_no_ink() -> None:
    for garment, route, names in PRINTS:
        made = table(garment, route, names)
        found = separate_picture(opaque(np.uint8([made.cloth])), made)
        assert not found.coverages.any(), garment
        assert found.mean < 0.6, garment  # the cloth in 8-bit sRGB


@pytest.mark.parametrize(("garment", "route", "names"), PRINTS)
def test_beside_the_garments_own_color_there_is_no_notch(garment, route, names) -> None:
    # The print is hardly farther from bare cloth than what is asked for; and where inks can make
    # nearly the cloth's color, two codes away from it no plate holds much: 0.63 once.
    made = table(garment, route, names)
    bare = printed_lab(made, np.zeros((made.model.plates, 1)))
    own = np.array(made.cloth)
    for way in np.array([[1, 1, 1], [-1, -1, -1], [1, 0, 0], [0, 1, 0], [0, 0, -1]]):
        near = np.clip(own + np.outer([1, 2, 4], way), 0, 255)
        plates = separate_picture(opaque(near), made).coverages
        if garment == "Kingcup Yellow":
            assert plates[:, 0, :2].max() < 0.45 * 255
        away = delta_e_2000(bare, printed_lab(made, plates))
        asked = delta_e_2000(asked_lab(own), asked_lab(near))
        assert np.all(away < asked + 1.5)


def test_no_place_takes_more_ink_than_the_shop_allows() -> None:
    garment, inks = SHOP.garment("Flour White"), [SHOP.ink(name) for name in SIX]
    free = tonal_set(SHOP, garment=garment, inks=inks, route="straight")
    assert free.most_total_coverage == SHOP.rules.most_total_coverage == 3.0
    most = []
    for limit in (6.0, 1.5):
        made = separation_table(replace(free, most_total_coverage=limit), nodes=9)
        most.append(float(made.coverage.sum(axis=-1).max()))
        codes = np.arange(0, 256, 15)
        art = np.stack(np.meshgrid(codes, codes, codes), axis=-1).reshape(-1, 3)
        plates = separate_picture(opaque(art), made).coverages.astype(float)
        assert plates.sum(axis=0).max() <= 255.0 * limit + len(SIX)  # each is rounded
    assert most[0] > 1.6
    assert most[1] <= 1.5 + 1e-6


def test_ink_costs_follow_the_wet_deposit() -> None:
    inks = [SHOP.ink(name) for name in FOUR]
    tonal = tonal_set(SHOP, garment=SHOP.garment("Coal Black"), inks=inks, route="white-base")
    costs = ink_costs(tonal)
    assert costs[0] > costs[1]  # the base goes through a coarser mesh
    assert costs.mean() == pytest.approx(0.6)
    bare = tonal_set(SHOP, garment=SHOP.garment("Flour White"), inks=inks, route="straight")
    assert ink_costs(bare)[0] == 0.0


@pytest.mark.parametrize("shape", [(1, 1), (50, 2000), (2000, 50), (7, 3)])
def test_any_shape(shape: tuple[int, int]) -> None:
    picture = np.full((*shape, 4), 200, dtype=np.uint8)
    found = separate_picture(picture, table("Coal Black", "white-base", FOUR))
    assert found.coverages.shape == (5, *shape)
    assert found.printed == 1.0
    assert found.mean > 0.0


def test_nothing_at_all_is_not_a_fault() -> None:
    found = separate_picture(
        np.zeros((9, 9, 4), dtype=np.uint8), table("Coal Black", "white-base", FOUR)
    )
    assert (found.printed, found.mean, found.p95, found.out_of_reach) == (0.0, 0.0, 0.0, 0.0)
    assert not found.coverages.any()


@pytest.mark.parametrize(
    ("picture", "more", "words"),
    [
        (np.zeros((4, 4, 3), dtype=np.uint8), {}, "8-bit RGBA"),
        (np.zeros((4, 4, 4)), {}, "float64"),
        (np.zeros((0, 4, 4), dtype=np.uint8), {}, "shape"),
        (np.zeros((4, 4, 4), dtype=np.uint8), {"tolerance": 0.0}, "above 0"),
        (np.zeros((4, 4, 4), dtype=np.uint8), {"tolerance": float("nan")}, "above 0"),
    ],
)
def test_nonsense_is_refused(picture, more, words: str) -> None:
    with pytest.raises(InputError, match=words):
        separate_picture(picture, table("Coal Black", "white-base", FOUR), **more)


def test_a_model_of_the_set_is_the_tables_own() -> None:
    made = table("Coal Black", "white-base", FOUR)
    assert tonal_model(made.tonal).plates == made.model.plates == made.coverage.shape[-1]
