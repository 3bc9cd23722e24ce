"""Indexed pictures: the same print as full color, another garment by palette alone."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from skimage.color import deltaE_ciede2000

from inksim.colour.srgb import decode_srgb, encode_srgb, linear_srgb, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.common.errors import InputError
from inksim.optics.unevenness import level_quantiles
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.render import colour_table
from inksim.preview.indexed import index_picture, indexed_png, levels_for, palette_of, recoloured
from inksim.printing.build import lower, tabulate
from inksim.printing.swatches import point_reflectance, swatch
from inksim.shop.habits import usual_build
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
INKS = [ink for ink in SHOP.inks.values() if ink.kind == "colour"][:6]


def looks(garment: str):
    builds = [
        usual_build(SHOP, garment=SHOP.garment(garment), ink=ink, route="straight") for ink in INKS
    ]
    slabs = lower(tabulate(builds), SHOP.press.values)
    points = point_reflectance(slabs, level_quantiles())
    bare = np.broadcast_to(SHOP.garment(garment).reflectance, (1, 256, 31))
    swatches = np.concatenate([bare[:, 0], swatch(slabs)])
    return colour_table(np.concatenate([bare, points]), D50), swatches


@pytest.mark.parametrize(
    ("labels", "levels"), [(1, 256), (2, 128), (7, 32), (13, 16), (32, 8), (64, 4)]
)
def test_labels_and_levels_fill_a_byte(labels: int, levels: int) -> None:
    assert levels_for(labels) == levels
    assert labels * levels <= 256


@pytest.mark.parametrize("garment", ["Flour White", "Slate Gray", "Coal Black"])
def test_an_even_area_keeps_its_swatch(garment: str) -> None:
    """At most 0.3 ΔE00, as for the picture in full color; decoded by Pillow."""
    tile = knit_tile(px_per_mm=6.0, size_px=(96, 96))
    look, swatches = looks(garment)
    labels = np.repeat(np.arange(7, dtype=np.uint8), 96)[:, None].repeat(96, axis=1)
    png = indexed_png(index_picture(labels, tile, count=7), palette_of(look), dpi=300.0)
    with Image.open(io.BytesIO(png)) as image:
        assert image.mode == "P"
        assert image.info["dpi"][0] == pytest.approx(300, abs=0.1)
        light = decode_srgb(np.asarray(image.convert("RGB")) / 255.0)
    for label in range(7):
        mean = light[96 * label : 96 * (label + 1)].mean(axis=(0, 1))
        shown = np.clip(linear_srgb(xyz(swatches[label], D50), D50), 0, 1)
        labs = [lab_from_xyz(xyz_from_srgb8(255 * encode_srgb(v), D50), D50) for v in (mean, shown)]
        assert deltaE_ciede2000(*labs) < 0.3


def test_another_garment_is_another_palette() -> None:
    tile = knit_tile(px_per_mm=6.0, size_px=(48, 48))
    labels = np.random.default_rng(1).integers(0, 7, (60, 70)).astype(np.uint8)
    places = index_picture(labels, tile, count=7)
    white, black = (palette_of(looks(g)[0]) for g in ("Flour White", "Coal Black"))
    first = indexed_png(places, white, dpi=150.0)
    second = recoloured(first, black)
    assert second == indexed_png(places, black, dpi=150.0)
    changed = [at for at, pair in enumerate(zip(first, second, strict=True)) if len(set(pair)) > 1]
    assert changed[-1] - changed[0] < 3 * 256 + 4  # the palette and its checksum
    with Image.open(io.BytesIO(second)) as image:
        image.load()
        assert np.array_equal(np.asarray(image), places)
        assert np.array_equal(np.asarray(image.convert("RGB")), black[places])


def test_every_pixel_is_its_label_and_its_fiber() -> None:
    tile = knit_tile(px_per_mm=6.0, size_px=(48, 48))
    labels = np.random.default_rng(2).integers(0, 7, (100, 20)).astype(np.uint8)
    places = index_picture(labels, tile, count=7)
    assert np.array_equal(places // 32, labels)
    assert np.array_equal(places[48:96] % 32, tile[:, :20] // 8)
    assert np.array_equal(index_picture(np.zeros_like(labels), tile, count=1)[:48], tile[:, :20])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: levels_for(65), "1 to 64 labels"),
        (lambda: levels_for(0), "1 to 64 labels"),
        (lambda: index_picture(np.full((2, 2), 9, np.uint8), np.zeros((2, 2), np.uint8), count=7),
         "label 9"),
        (lambda: index_picture(np.zeros((2, 2)), np.zeros((2, 2), np.uint8), count=7), "8-bit"),
        (lambda: recoloured(b"GIF89a", np.zeros((256, 3), np.uint8)), "no PNG"),
        (lambda: recoloured(b"\x89PNG\r\n\x1a\n\0\0", np.zeros((256, 3), np.uint8)), "cut short"),
    ],
)  # fmt: skip
def test_nonsense_is_refused(call, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


def test_a_png_without_a_palette_is_refused() -> None:
    out = io.BytesIO()
    Image.new("RGB", (4, 4)).save(out, "PNG")
    with pytest.raises(InputError, match="has no palette"):
        recoloured(out.getvalue(), np.zeros((256, 3), np.uint8))
