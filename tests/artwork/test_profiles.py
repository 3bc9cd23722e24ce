"""Color profiles of artwork: honored where they fit, said where they are not."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from PIL import Image

from inksim.artwork.read import read_artwork
from tests.artwork_checks import OPAQUE, picture, said
from tests.pictures import cmyk_profile, encoded, grey_profile, png, rgb_profile


def test_an_rgb_profile_is_honored() -> None:
    """Adobe RGB (1998) primaries and gamma 563/256 from colour-science, which also converts."""
    colour = pytest.importorskip("colour")
    space = colour.RGB_COLOURSPACES["Adobe RGB (1998)"]
    d50 = np.array([0.9642, 1.0, 0.8249])
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(space.whitepoint), d50, transform="Bradford"
    )
    icc = rgb_profile("wide", xyz_d50=adapt @ space.matrix_RGB_to_XYZ, gamma=563 / 256)
    rgb = np.array([[[128, 128, 128], [90, 160, 70], [200, 120, 100], [60, 80, 150]]], np.uint8)
    art = read_artwork(encoded(Image.fromarray(rgb), "PNG", icc_profile=icc))
    linear = (rgb / 255) ** (563 / 256)
    in_srgb = np.clip(colour.RGB_to_RGB(linear, space, "sRGB", "Bradford"), 0, 1)
    expected = colour.cctf_encoding(in_srgb, function="sRGB")
    assert np.abs(art.rgba[..., :3] - 255 * expected).max() <= 1.0  # rounding, 16.16 fixed point
    assert np.abs(art.rgba[..., :3].astype(int) - rgb).max() > 10
    assert said(art, "profile 'wide'", "sRGB", "relative colorimetric")


def test_an_srgb_profile_changes_nothing_and_says_nothing() -> None:
    from PIL import ImageCms

    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image = picture("RGB")
    art = read_artwork(encoded(image, "PNG", icc_profile=icc, dpi=(300, 300)))
    assert np.array_equal(art.rgba[..., :3], np.asarray(image))
    assert art.notes == (OPAQUE,)


@pytest.mark.parametrize("mode", ["L", "LA"])
def test_a_gray_profile_is_honored_and_alpha_kept(mode: str) -> None:
    """sRGB transfer function of IEC 61966-2-1 written out here."""
    icc = grey_profile("grey 1.8", gamma=1.8)
    levels = np.array([[0, 64, 128, 192, 255]], np.uint8)
    image = Image.fromarray(levels)
    if mode == "LA":
        image = Image.merge("LA", [image, Image.fromarray(255 - levels)])
    art = read_artwork(encoded(image, "PNG", icc_profile=icc))
    linear = (levels[0] / 255) ** 1.8
    encoded_ = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    assert np.abs(art.rgba[0, :, :3] - 255 * encoded_[:, None]).max() <= 1.0
    assert (art.rgba[0, :, 3] == (255 - levels[0] if mode == "LA" else 255)).all()


CORNERS = np.array(  # invented: Lab under D50 of the sixteen solid overprints, C M Y K
    [
        [[[[100, 0, 0], [16, 0, 0]], [[88, -5, 88], [15, 0, 5]]],
         [[[52, 70, -5], [12, 5, 0]], [[50, 64, 44], [11, 4, 4]]]],
        [[[[58, -36, -46], [13, -3, -5]], [[52, -62, 28], [12, -5, 3]]],
         [[[26, 18, -42], [8, 2, -4]], [[24, 0, 0], [7, 0, 0]]]],
    ]
)  # fmt: skip


def test_a_cmyk_profile_is_honored() -> None:
    """Little CMS's path against colour-science's Lab (D50) to sRGB, at the table's own corners.

    Relative colorimetric, so Lab is taken as the table gives it. The table has no way back to
    ink, from which Little CMS would learn its black, so black point compensation changes nothing.
    """
    colour = pytest.importorskip("colour")
    icc = cmyk_profile("press", CORNERS)
    d50 = np.array([0.34567, 0.35850])
    for cmyk in ((0, 0, 0, 0), (0, 255, 0, 0), (0, 255, 255, 0), (255, 255, 0, 0)):
        image = Image.new("CMYK", (8, 8), cmyk)
        lab = CORNERS[tuple(v // 255 for v in cmyk)]
        srgb = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab, d50), illuminant=d50)
        expected = 255 * np.clip(srgb, 0, 1)
        for kind, options in (("JPEG", {"quality": 100}), ("TIFF", {})):
            art = read_artwork(encoded(image, kind, icc_profile=icc, **options))
            # 1 for the rounding of Lab to 8 bits in the table, 1 for sRGB's
            assert np.abs(art.rgba[4, 4, :3] - expected).max() <= 2, (cmyk, kind)
            assert said(art, "profile 'press'")


def test_cmyk_without_a_profile_uses_the_named_formula() -> None:
    image = Image.new("CMYK", (4, 4), (255, 102, 0, 51))
    art = read_artwork(encoded(image, "TIFF"))
    expected = [0, round(255 * 0.6 * 0.8), round(255 * 0.8)]
    assert np.abs(art.rgba[0, 0, :3] - np.array(expected, dtype=int)).max() <= 1
    assert said(art, "CMYK without", "(1 − C)(1 − K)", "embed the profile")


def test_unfit_and_damaged_profiles_are_ignored_with_a_note() -> None:
    image = picture("RGB")
    for icc, words in (
        (cmyk_profile("press", CORNERS), ("'press'", "CMYK", "ignored")),
        (b"not a profile at all", ("damaged", "ignored")),
        (rgb_profile("x", xyz_d50=np.eye(3), gamma=2.0)[:200], ("ignored",)),
    ):
        art = read_artwork(encoded(image, "PNG", icc_profile=icc))
        assert np.array_equal(art.rgba[..., :3], np.asarray(image))
        assert said(art, *words)


def test_a_gamma_mark_is_not_applied_and_that_is_said() -> None:
    row = b"\0\x10\x20\x30"
    mark = [(b"gAMA", struct.pack(">I", 100_000))]
    art = read_artwork(png(1, 1, bits=8, colour_type=2, rows=row, chunks=mark))
    assert art.rgba[0, 0].tolist() == [16, 32, 48, 255]
    assert said(art, "gamma mark (1)", "not applied")
