"""The look taken away: Little CMS and colour-science give the colors that inksim draws."""

from __future__ import annotations

import hashlib
import io
import struct
from functools import cache
from pathlib import Path

import colour
import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFilter
from skimage.color import deltaE_ciede2000

from inksim import __version__
from inksim.colour.srgb import decode_srgb, encode_srgb, srgb8, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz
from inksim.common.errors import InputError
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.tonal import render_tonal, tonal_look
from inksim.printing.build import Build
from inksim.printing.swatches import swatch
from inksim.separation import icc
from inksim.separation.halftone_print import tonal_reflectance, tonal_set
from inksim.separation.soft_proof import look_profile, look_words, write_cube, write_look
from inksim.separation.tonal_separation import SeparationTable, separation_table
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
PRINTS = [
    ("Flour White", "straight", ("Kiln Red", "Weir Teal"), Viewing()),
    (
        "Coal Black",
        "white-base",
        ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black"),
        Viewing("D65", 10),
    ),
    ("Brick Red", "discharge-base", ("Barley Yellow",), Viewing("A", 2)),
]


@cache
def made(at: int) -> SeparationTable:
    garment, route, names, viewing = PRINTS[at]
    inks = [SHOP.ink(name) for name in names]
    tonal = tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route)
    return separation_table(tonal, viewing=viewing)


@cache
def drawn(at: int) -> tuple[np.ndarray, np.ndarray]:
    """120 colors (120, 3), and the mean light of an area of each as the renderer draws it."""
    table = made(at)
    look = tonal_look(
        table.model,
        table.viewing,
        axes=table.axes,
        coverage=table.coverage,
        cloth=table.cloth,
    )
    tile = knit_tile(px_per_mm=6.0, size_px=(64, 64))
    colours = np.random.default_rng(6).integers(0, 256, (120, 3)).astype(np.uint8)
    means = []
    for rgb in colours:
        area = np.full((64, 64, 4), 255, dtype=np.uint8)
        area[..., :3] = rgb
        light = decode_srgb(render_tonal(area, look, tile)[..., :3] / 255.0)
        means.append(light.mean(axis=(0, 1)))
    return colours, np.array(means)


def off(codes: np.ndarray, light: np.ndarray) -> np.ndarray:
    """ΔE00 of sRGB codes 0..255 from mean light."""
    labs = [lab_from_xyz(xyz_from_srgb8(c, D50), D50) for c in (codes, 255 * encode_srgb(light))]
    return deltaE_ciede2000(*labs)


def profile(at: int) -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(io.BytesIO(look_profile(made(at))))


def through(transform: ImageCms.ImageCmsTransform, colours: np.ndarray) -> np.ndarray:
    image = ImageCms.applyTransform(Image.fromarray(colours[None]), transform)
    assert image is not None
    return np.asarray(image)[0]


def transforms(at: int, intent: ImageCms.Intent, flags: int) -> list:
    """By the profile as it is, and as an editor makes a soft proof."""
    srgb = ImageCms.createProfile("sRGB")
    return [
        ImageCms.buildTransform(profile(at), srgb, "RGB", "RGB", intent, flags),
        ImageCms.buildProofTransform(
            srgb, srgb, profile(at), "RGB", "RGB", proofRenderingIntent=intent,
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            flags=ImageCms.Flags.SOFTPROOFING | flags,
        ),
    ]  # fmt: skip


@pytest.mark.parametrize("at", range(len(PRINTS)))
@pytest.mark.parametrize("intent", list(ImageCms.Intent))
@pytest.mark.parametrize("flags", [ImageCms.Flags.NONE, ImageCms.Flags.BLACKPOINTCOMPENSATION])
def test_halftones_by_little_cms(at: int, intent: ImageCms.Intent, flags: int) -> None:
    """Within 0.6 ΔE00 in the mean and 1.5 at 95 %, whatever an editor asks for.

    The rest is rounding of codes and tables; where Little CMS bends near-white it is in there.
    """
    colours, light = drawn(at)
    for transform in transforms(at, intent, flags):
        found = off(through(transform, colours), light)
        assert found.mean() < 0.6
        assert np.percentile(found, 95) < 1.5


@pytest.mark.parametrize("at", range(len(PRINTS)))
@pytest.mark.parametrize("intent", list(ImageCms.Intent))
def test_white_is_the_cloth_or_the_base(at: int, intent: ImageCms.Intent) -> None:
    """The predicted swatch of what lies there where nothing of color is printed.

    Little CMS sends white to white unless the intent is absolute or it is told not to.
    """
    absolute = intent == ImageCms.Intent.ABSOLUTE_COLORIMETRIC
    table = made(at)
    tonal = table.tonal
    R = tonal.garment.reflectance
    if tonal.base is not None:
        build = Build(garment=tonal.garment, layers=(tonal.base,), route=PRINTS[at][1])
        R = swatch([build], press=SHOP.press)[0]
    expected, _ = srgb8(xyz(R, table.viewing), table.viewing)
    told = [ImageCms.Flags.NOWHITEONWHITEFIXUP, ImageCms.Flags.NOOPTIMIZE]
    for flags in [ImageCms.Flags.NONE] if absolute else told:
        for transform in transforms(at, intent, flags):
            found = through(transform, np.full((1, 3), 255, np.uint8))[0]
            assert np.abs(found.astype(int) - expected).max() <= 1
    assert ImageCms.getDefaultIntent(profile(at)) == ImageCms.Intent.ABSOLUTE_COLORIMETRIC


@pytest.mark.parametrize("at", range(len(PRINTS)))
def test_tints_of_each_ink_come_out_as_themselves(at: int) -> None:
    """A scale of 0, 10 … 100 % of one ink, its own colors asked for: within ΔE00 2.5 each, by
    Little CMS and Sharma's ΔE00 as scikit-image has it. Their ends are swatches of the print model.

    What is left (2.25 at most) is the separation's: it prints a little less ink where that is near.
    """
    table, tonal = made(at), made(at).tonal
    under = () if tonal.base is None else (tonal.base,)
    transform = transforms(at, ImageCms.Intent.ABSOLUTE_COLORIMETRIC, ImageCms.Flags.NONE)[0]
    for ink, layer in enumerate(tonal.colours):
        coverage = np.zeros((11, table.model.plates))
        coverage[:, : len(under)] = 1.0
        coverage[:, len(under) + ink] = np.linspace(0.0, 1.0, 11)
        seen = xyz(tonal_reflectance(table.model, coverage), table.viewing)
        build = Build(garment=tonal.garment, layers=(*under, layer), route=PRINTS[at][1])
        solid = xyz(swatch([build], press=SHOP.press)[0], table.viewing)
        assert deltaE_ciede2000(*(lab_from_xyz(c, table.viewing) for c in (seen[-1], solid))) < 0.05
        codes, shown = srgb8(seen, table.viewing)
        assert shown.all()
        labs = [
            lab_from_xyz(xyz_from_srgb8(c, D50), D50) for c in (codes, through(transform, codes))
        ]
        assert deltaE_ciede2000(*labs).max() < 2.5, layer.ink.name


def test_into_the_profile_sRGB_stays_as_it_is() -> None:
    """A proof starts from the artwork's own numbers: at most one code off."""
    colours = np.random.default_rng(2).integers(0, 256, (5000, 3)).astype(np.uint8)
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), profile(1), "RGB", "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )  # fmt: skip
    assert np.abs(through(transform, colours).astype(int) - colours).max() <= 1


@pytest.mark.parametrize("at", range(len(PRINTS)))
def test_colour_science_by_the_cube(at: int, tmp_path: Path) -> None:
    path = write_cube(made(at), tmp_path / "look.cube")
    table = colour.read_LUT(str(path))
    assert table.comments == [f"inksim {__version__}"]
    assert table.table.shape == (33, 33, 33, 3)
    colours, light = drawn(at)
    found = off(255 * np.clip(table.apply(colours / 255.0), 0, 1), light)
    assert found.mean() < 1.0
    assert np.percentile(found, 95) < 1.5
    assert [p.name for p in tmp_path.iterdir()] == ["look.cube"]


def test_pillow_by_the_cube(tmp_path: Path) -> None:
    """Pillow's own table of three dimensions, filled from the text of the file by hand."""
    path = write_cube(made(1), tmp_path / "look.cube")
    lines = [line.split() for line in path.read_text().splitlines()]
    rows = [
        [float(v) for v in words] for words in lines if len(words) == 3 and words[0][0].isdigit()
    ]
    table = ImageFilter.Color3DLUT(33, rows)  # red fastest in both
    colours, light = drawn(1)
    found = np.asarray(Image.fromarray(colours[None]).filter(table))[0]
    assert off(found, light).mean() < 1.0


# -- the profile as a file


def test_the_profile_is_laid_out_as_the_standard_says() -> None:
    """Header fields and tag directory of ICC.1:2022, clauses 7.2 and 7.3, read byte by byte."""
    data = look_profile(made(1))
    assert struct.unpack(">I", data[:4])[0] == len(data)
    assert data[8:12] == bytes([4, 0x40, 0, 0])
    assert data[12:24] == b"mntrRGB Lab "
    assert data[36:40] == b"acsp"
    assert np.frombuffer(data[68:80], ">i4") / 65536 == pytest.approx(icc.D50, abs=1e-4)
    (count,) = struct.unpack(">I", data[128:132])
    tags = [struct.unpack(">4sII", data[132 + 12 * n : 144 + 12 * n]) for n in range(count)]
    needed = {b"desc", b"cprt", b"wtpt", b"gamt", b"A2B0", b"B2A0"}  # 8.4: of LUT-based displays
    assert {name for name, _, _ in tags} == needed
    for name, offset, length in tags:
        assert offset % 4 == 0, name
        assert offset + length <= len(data), name
    blank = bytearray(data)
    blank[44:48] = blank[64:68] = bytes(4)
    blank[84:100] = bytes(16)
    assert data[84:100] == hashlib.md5(bytes(blank), usedforsecurity=False).digest()


def test_the_profile_says_what_it_shows() -> None:
    words = look_words(made(1).tonal)
    assert words.endswith("over Chalk White Base on Coal Black")
    assert ImageCms.getProfileDescription(profile(1)).strip() == f"{words}, D65/10°"
    assert f"inksim {__version__}." in ImageCms.getProfileCopyright(profile(1))
    assert look_profile(made(1)) == look_profile(made(1))


@pytest.mark.parametrize(
    ("lab", "reached"),
    [
        ((50.0, 8.0, 16.0), True),  # a brown
        ((62.5, 0.0, 8.0), True),  # a warm gray
        ((87.5, -96.0, 88.0), False),  # a green that no screen shows
        ((100.0, 0.0, 0.0), False),  # lighter than the base
        ((0.0, 0.0, 0.0), False),  # darker than black ink on a black shirt
    ],
)
def test_the_gamut_tag_marks_what_is_out_of_reach(lab: tuple, reached: bool) -> None:
    """Read byte by byte: lutBToAType, its CLUT of 16 bits, L slowest (ICC.1:2022, 10.13)."""
    data = look_profile(made(1))
    (count,) = struct.unpack(">I", data[128:132])
    tags = [struct.unpack(">4sII", data[132 + 12 * n : 144 + 12 * n]) for n in range(count)]
    (start,) = [offset for name, offset, _ in tags if name == b"gamt"]
    assert data[start : start + 10] == b"mBA " + bytes(4) + bytes([3, 1])
    clut = start + struct.unpack(">I", data[start + 24 : start + 28])[0]
    assert data[clut : clut + 3] == bytes([33] * 3)
    codes = np.frombuffer(data[clut + 20 : clut + 20 + 2 * 33**3], ">u2").reshape(33, 33, 33)
    assert set(np.unique(codes)) == {0, 65535}
    L, a, b = lab
    place = np.rint(np.array([L / 100, (a + 128) / 255, (b + 128) / 255]) * 32).astype(int)
    assert (codes[tuple(place)] == 0) == reached


# -- files


@pytest.mark.parametrize("name", ["a.cube", "deep/er/a.icc", "a.ICM"])
def test_the_name_says_the_kind(tmp_path: Path, name: str) -> None:
    path = write_look(made(2), tmp_path / name)
    data = path.read_bytes()
    assert data.startswith(b"TITLE") or data[36:40] == b"acsp"


@pytest.mark.parametrize("name", ["look", "look.png", "look.cube.txt"])
def test_another_ending_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="end its name in"):
        write_look(made(2), tmp_path / name)
    assert not list(tmp_path.iterdir())
