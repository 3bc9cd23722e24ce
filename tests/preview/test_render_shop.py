"""Swatch and picture are one model: every usual build of the demo shop, number beside picture."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from inksim.colour.srgb import (
    decode_srgb,
    encode_srgb,
    linear_srgb,
    srgb8,
    within_srgb,
    xyz_from_srgb8,
)
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.optics.unevenness import level_quantiles
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.render import colour_table, render_flat
from inksim.printing.build import lower, tabulate
from inksim.printing.swatches import mean_reflectance, point_reflectance
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usable_routes, usual_build
from tests.pictures import render_scaled

SHOP = load_shop()


def seen_lab(light: np.ndarray, viewing: Viewing) -> np.ndarray:
    return lab_from_xyz(xyz_from_srgb8(255 * encode_srgb(light), viewing), viewing)


@pytest.mark.parametrize("viewing", [Viewing("D50", 2), Viewing("D65", 10)], ids=str)
@pytest.mark.parametrize("garment", SHOP.garments.values(), ids=lambda g: g.name)
def test_the_drawn_area_of_every_usual_build_has_its_swatch_as_mean(garment, viewing) -> None:
    # 0.3 dE00: see test_render.py. Dark cloths, thin films and every route are in here.
    tile = knit_tile(px_per_mm=6.0, size_px=(128, 96))
    inks = [ink for ink in SHOP.inks.values() if ink.kind == "color"]
    slabs = lower(
        tabulate(
            [
                usual_build(SHOP, garment=garment, ink=ink, route=route)
                for ink in inks
                for route in usable_routes(garment)
            ]
        ),
        SHOP.press.values,
    )
    predicted = mean_reflectance(slabs)
    look = colour_table(point_reflectance(slabs, level_quantiles()), viewing)
    assert np.array_equal(look.in_gamut, srgb8(xyz(predicted, viewing), viewing)[1])
    wanted = seen_lab(within_srgb(linear_srgb(xyz(predicted, viewing), viewing), viewing), viewing)
    light = decode_srgb(np.arange(256) / 255)
    for label in range(look.labels):
        labels = np.full(tile.shape, label, dtype=np.uint8)
        for picture in (
            render_flat(labels, look, tile),
            render_scaled(labels, look, tile, max_px=tile.shape[0] // 4),
        ):
            mean = light[picture[..., :3]].mean(axis=(0, 1))
            assert deltaE_ciede2000(wanted[label], seen_lab(mean, viewing)) < 0.3
