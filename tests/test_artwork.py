"""Reading artwork: every kind of file works or is refused in one clear sentence."""

from __future__ import annotations

import contextlib
import hashlib
import io
import struct
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from inksim.artwork import Artwork, printed_at, read_artwork
from inksim.errors import InputError
from tests.pictures import (
    cmyk_profile,
    encoded,
    grey_profile,
    lzw,
    png,
    rgb_profile,
    tiff,
)

NO_DPI = "The file gives no resolution, so its print size is unknown."
OPAQUE = "There is no transparency: the whole rectangle prints, its background included."
EVERY_KIND = ("PNG", "TIFF", "WebP", "JPEG", "GIF", "BMP")


def picture(mode: str = "RGBA", size: tuple[int, int] = (40, 30)) -> Image.Image:
    """A picture with every level somewhere and, in RGBA, every alpha."""
    y, x = np.mgrid[0 : size[1], 0 : size[0]]
    rgba = np.stack([x * 6, y * 8, (x + y) * 3, 255 - y * 8], axis=-1).astype(np.uint8)
    return Image.fromarray(rgba).convert(mode)


def said(art: Artwork, *parts: str) -> bool:
    """Whether one note holds all these words."""
    return any(all(part in note for part in parts) for note in art.notes)


def refused(data: bytes, **options: object) -> str:
    """The one sentence with which these bytes are refused."""
    with pytest.raises(InputError) as caught:
        read_artwork(data, name="logo.png", **options)  # type: ignore[arg-type]
    text = str(caught.value)
    assert text.startswith("artwork 'logo.png' "), text
    assert "\n" not in text
    assert text.endswith(".")
    return text


# -- What comes in comes out


def test_rgba_png_is_taken_as_it_is() -> None:
    image = picture()
    data = encoded(image, "PNG", dpi=(300, 300))
    art = read_artwork(data, name="logo.png")
    assert np.array_equal(art.rgba, np.asarray(image))
    assert (art.name, art.format, art.mode) == ("logo.png", "PNG", "RGBA")
    assert art.sha256 == hashlib.sha256(data).hexdigest()
    assert art.notes == ()
    assert art.dpi == 300.0  # stored as 11 811 per meter
    assert art.width_mm == pytest.approx(40 / 300 * 25.4)
    assert art.height_mm == pytest.approx(30 / 300 * 25.4)


def test_pixels_are_read_only_contiguous_bytes() -> None:
    art = read_artwork(encoded(picture(), "PNG"))
    assert art.rgba.dtype == np.uint8
    assert art.rgba.flags.c_contiguous
    with pytest.raises(ValueError, match="read-only"):
        art.rgba[0, 0, 0] = 1


def test_a_path_gives_its_own_name(tmp_path: Path) -> None:
    path = tmp_path / "badge.png"
    path.write_bytes(encoded(picture(), "PNG"))
    assert read_artwork(path).name == "badge.png"
    assert read_artwork(path, name="front").name == "front"


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "WebP"])
def test_lossless_kinds_keep_pixels_and_alpha(kind: str) -> None:
    image = picture()
    options = {"lossless": True, "exact": True} if kind == "WebP" else {}
    art = read_artwork(encoded(image, kind, **options))
    assert np.array_equal(art.rgba, np.asarray(image))
    assert art.format == kind


def test_jpeg_is_read_and_opaque() -> None:
    image = Image.new("RGB", (32, 32), (200, 30, 40))
    art = read_artwork(encoded(image, "JPEG", quality=95))
    assert np.abs(art.rgba[..., :3].astype(int) - (200, 30, 40)).max() <= 2
    assert (art.rgba[..., 3] == 255).all()
    assert OPAQUE in art.notes


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_every_png_mode_equals_pillows_own_conversion(mode: str) -> None:
    image = picture(mode)
    art = read_artwork(encoded(image, "PNG"))
    assert np.array_equal(art.rgba, np.asarray(image.convert("RGBA")))


def test_palette_with_several_alphas() -> None:
    image = Image.new("P", (3, 1))
    image.putpalette([10, 20, 30, 40, 50, 60, 70, 80, 90])
    image.putdata([0, 1, 2])
    art = read_artwork(encoded(image, "PNG", transparency=bytes([0, 128, 255])))
    expected = [[10, 20, 30, 0], [40, 50, 60, 128], [70, 80, 90, 255]]
    assert art.rgba[0].tolist() == expected


@pytest.mark.parametrize(
    ("bits", "colour_type", "row", "transparent", "expected"),
    [
        pytest.param(1, 0, b"\x40", b"\0\1", [[0] * 3 + [255], [255] * 3 + [0]], id="1-bit grey"),
        pytest.param(4, 0, b"\x3f", b"\0\3", [[51] * 3 + [0], [255] * 4], id="4-bit grey"),
        pytest.param(8, 0, b"\x33\xff", b"\0\x33", [[51] * 3 + [0], [255] * 4], id="8-bit grey"),
        pytest.param(
            16, 0, b"\x33\x33\xff\xff", b"\x33\x33", [[51] * 3 + [0], [255] * 4], id="16-bit grey"
        ),
        pytest.param(
            8, 2, b"\1\2\3\4\5\6", b"\0\1\0\2\0\3", [[1, 2, 3, 0], [4, 5, 6, 255]], id="8-bit RGB"
        ),
        pytest.param(
            16, 2, b"\1\1\2\2\3\3\4\4\5\5\6\6", b"\1\1\2\2\3\3", [[1, 2, 3, 0], [4, 5, 6, 255]],
            id="16-bit RGB",
        ),
    ],
)  # fmt: skip
def test_one_transparent_level_or_color_of_a_png(
    bits: int, colour_type: int, row: bytes, transparent: bytes, expected: list[list[int]]
) -> None:
    """PNG specification (W3C, third edition) 11.3.1.1 tRNS: given at the picture's own depth."""
    data = png(
        2, 1, bits=bits, colour_type=colour_type, rows=b"\0" + row, chunks=[(b"tRNS", transparent)]
    )
    assert read_artwork(data).rgba[0].tolist() == expected


# -- Resolution


def test_resolution_per_centimeter_and_from_exif() -> None:
    image = picture("RGB")
    exif = Image.Exif()
    exif[0x0128], exif[0x011A], exif[0x011B] = 3, 100.0, 100.0
    data = encoded(image, "JPEG", exif=exif)
    assert read_artwork(data).dpi == pytest.approx(254.0)


def test_unknown_resolution_has_no_size() -> None:
    art = read_artwork(encoded(picture(), "PNG"))
    assert (art.dpi, art.width_mm, art.height_mm) == (None, None, None)
    assert NO_DPI in art.notes


@pytest.mark.parametrize(
    ("data", "note"),
    [
        (encoded(picture(), "PNG"), "The file gives no resolution, so 300 dpi is assumed."),
        (
            encoded(picture("RGB"), "JPEG", dpi=(5, 5)),
            "The file's resolution (5 × 5 per inch) makes no sense, so 300 dpi is assumed.",
        ),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"/>',
            "The SVG gives no physical size: drawn 3600 pixels on its longer side, so 300 dpi is "
            "assumed.",
        ),
    ],
    ids=["none", "absurd", "SVG"],
)
def test_who_prints_without_a_size_is_told_of_it_in_one_note(data: bytes, note: str) -> None:
    art = read_artwork(data)
    dpi, notes = printed_at(art)
    assert (art.dpi, dpi) == (None, 300.0)
    assert note in notes
    assert len(notes) == len(art.notes)
    assert not any("unknown" in each for each in notes)


def test_who_prints_takes_a_stated_resolution() -> None:
    art = read_artwork(encoded(picture(), "PNG", dpi=(150, 150)))
    assert printed_at(art) == (150.0, art.notes)
    silent = replace(art, dpi=None, notes=())
    assert printed_at(silent) == (300.0, ("300 dpi is assumed.",))


def test_odd_resolutions_are_said() -> None:
    assert said(read_artwork(encoded(picture(), "PNG", dpi=(72, 72))), "72 dpi", "placeholder")
    uneven = read_artwork(encoded(picture(), "PNG", dpi=(300, 150)))
    assert uneven.dpi == 300.0
    assert said(uneven, "across (300", "down (150", "square pixels")
    absurd = read_artwork(encoded(picture(), "PNG", dpi=(1, 1)))
    assert absurd.dpi is None
    assert said(absurd, "makes no sense")


# -- Profiles


def test_an_rgb_profile_is_honoured() -> None:
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
def test_a_grey_profile_is_honoured_and_alpha_kept(mode: str) -> None:
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


def test_a_cmyk_profile_is_honoured() -> None:
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


# -- Orientation, frames, names


@pytest.mark.parametrize("mark", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WebP", "TIFF", "TIFF 16-bit"])
def test_orientation_is_applied(mark: int, kind: str) -> None:
    """EXIF 2.3 table for tag 274: where the stored top-left corner goes when upright."""
    corner = {
        1: (0, 0),
        2: (0, 1),
        3: (1, 1),
        4: (1, 0),
        5: (0, 0),
        6: (0, 1),
        7: (1, 1),
        8: (1, 0),
    }
    pixels = np.full((24, 48, 3), 20, np.uint8)
    pixels[:12, :24] = 230
    exif = Image.Exif()
    exif[0x0112] = mark
    if kind == "TIFF 16-bit":
        out = io.BytesIO()
        tifffile.imwrite(
            out, pixels.astype(np.uint16) * 257, photometric="rgb",
            extratags=[(274, 3, 1, mark, True)],
        )  # fmt: skip
        data = out.getvalue()
    else:
        data = encoded(Image.fromarray(pixels), kind, exif=exif)
    art = read_artwork(data)
    upright = (24, 48) if mark <= 4 else (48, 24)
    assert art.rgba.shape[:2] == upright
    bright = art.rgba[..., 0] > 128
    rows, columns = np.nonzero(bright)
    assert (rows.mean() > upright[0] / 2, columns.mean() > upright[1] / 2) == corner[mark]
    assert said(art, "Turned upright") == (mark > 1)


@pytest.mark.parametrize("kind", ["GIF", "PNG", "WebP", "TIFF"])
def test_one_frame_of_several_is_read_and_said(kind: str) -> None:
    frames = [Image.new("RGB", (8, 8), c) for c in ((255, 0, 0), (0, 255, 0), (0, 0, 255))]
    options = {"lossless": True} if kind == "WebP" else {}
    data = encoded(frames[0], kind, save_all=True, append_images=frames[1:], **options)
    first = read_artwork(data)
    assert first.rgba[0, 0].tolist() == [255, 0, 0, 255]
    assert said(first, "3 ", "1 was read")
    third = read_artwork(data, frame=2)
    assert third.rgba[0, 0].tolist() == [0, 0, 255, 255]
    assert "3" in refused(data, frame=3)
    assert "count from 0" in refused(data, frame=-1)


def test_a_wrong_name_is_said_and_does_not_matter() -> None:
    art = read_artwork(encoded(picture("RGB"), "JPEG"), name="logo.png")
    assert art.format == "JPEG"
    assert said(art, "name says PNG", "is JPEG")


def test_a_transparent_picture_is_read_and_said() -> None:
    art = read_artwork(encoded(Image.new("RGBA", (5, 4), (9, 9, 9, 0)), "PNG"))
    assert said(art, "fully transparent", "nothing would print")


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_single_pixel_is_a_picture(kind: str) -> None:
    assert read_artwork(encoded(Image.new("RGB", (1, 1)), kind)).rgba.shape == (1, 1, 4)


def test_a_very_long_picture() -> None:
    art = read_artwork(encoded(Image.new("RGBA", (20_000, 50), (1, 2, 3, 255)), "PNG"))
    assert (art.width_px, art.height_px) == (20_000, 50)


# -- TIFF beyond 8-bit color


def tiff_by(pixels: np.ndarray, **options: object) -> bytes:
    """By tifffile, the writer independent of the reader under test."""
    out = io.BytesIO()
    tifffile.imwrite(out, pixels, **options)  # type: ignore[arg-type]
    return out.getvalue()


DEEP = np.random.default_rng(3).integers(0, 65_536, (37, 53, 5)).astype(np.uint16)
DEEP_CASES = {
    "plain": {},
    "big-endian": {"byteorder": ">"},
    "ZIP": {"compression": "zlib"},
    "ZIP with differences": {"compression": "zlib", "predictor": 2},
    "tiles": {"compression": "zlib", "predictor": 2, "tile": (16, 32)},
    "strips": {"rowsperstrip": 5},
    "BigTIFF": {"bigtiff": True},
}


@pytest.mark.parametrize("options", DEEP_CASES.values(), ids=DEEP_CASES.keys())
@pytest.mark.parametrize("bits", [8, 16])
def test_tiff_with_alpha_and_spot(options: dict[str, object], bits: int) -> None:
    deep = DEEP if bits == 16 else (DEEP >> 8).astype(np.uint8)
    art = read_artwork(tiff_by(deep, photometric="rgb", extrasamples=(2, 0), **options))
    full = 257 if bits == 16 else 1
    assert np.abs(art.rgba - deep[..., :4] / full).max() <= 0.5
    assert list(art.spots) == ["channel 5"]
    assert np.abs(art.spots["channel 5"] - deep[..., 4] / full).max() <= 0.5
    assert not art.spots["channel 5"].flags.writeable
    assert said(art, "1 extra channel", "channel 5", "kept aside")
    assert said(art, "16-bit", "8 bits") == (bits == 16)


def test_tiff_in_separate_planes() -> None:
    planes = np.moveaxis(DEEP[..., :3] >> 8, -1, 0).astype(np.uint8)
    art = read_artwork(tiff_by(planes, photometric="rgb", planarconfig="separate"))
    assert np.array_equal(art.rgba[..., :3], np.moveaxis(planes, 0, -1))


@pytest.mark.parametrize("differences", [False, True])
@pytest.mark.parametrize("byteorder", ["<", ">"])
def test_lzw_tiff_with_named_spots(differences: bool, byteorder: str) -> None:
    """CMYK and two named spots, LZW: TIFF 6.0 sections 13, 14, 16, 18."""
    pixels = (DEEP[..., [0, 1, 2, 3, 4, 0]] >> 8).astype(np.uint8)
    height, width, samples = pixels.shape
    stored = pixels.copy()
    if differences:
        stored[:, 1:] -= pixels[:, :-1]
    tags: dict[int, tuple[int, object]] = {
        256: (4, [width]), 257: (4, [height]), 258: (3, [8] * samples), 259: (3, [5]),
        262: (3, [5]), 277: (3, [samples]), 278: (4, [height]), 317: (3, [1 + differences]),
        333: (2, b"Cyan\0Magenta\0Yellow\0Black\0Base White\0Highlight\0"), 338: (3, [0, 0]),
    }  # fmt: skip
    data = tiff(
        lzw(stored.tobytes(), row_bytes=width * samples),
        tags,  # type: ignore[arg-type]
        byteorder=byteorder,
    )
    art = read_artwork(data)
    assert list(art.spots) == ["Base White", "Highlight"]
    assert np.array_equal(art.spots["Base White"], pixels[..., 4])
    assert np.array_equal(art.spots["Highlight"], pixels[..., 5])
    plain = read_artwork(
        encoded(Image.frombytes("CMYK", (width, height), pixels[..., :4].tobytes()), "TIFF")
    )
    assert np.array_equal(art.rgba, plain.rgba)


def resource(number: int, data: bytes) -> bytes:
    block = b"8BIM" + struct.pack(">H", number) + b"\0\0" + struct.pack(">I", len(data)) + data
    return block + b"\0" * (len(data) % 2)


@pytest.mark.parametrize(
    "block",
    [
        resource(1006, b"\x0cTransparency\x05Ember"),
        resource(1000, b"abc")
        + resource(
            1045,
            b"".join(
                struct.pack(">I", len(n) + 1) + (n + "\0").encode("utf-16-be")
                for n in ("Transparency", "Ember")
            ),
        ),
        resource(1045, struct.pack(">I", 5) + "Ember".encode("utf-16-be")),
    ],
    ids=["Pascal names", "Unicode names after another block", "names of spots only"],
)
def test_spot_names_from_an_image_resource_block(block: bytes) -> None:
    """Names of the extra channels, transparency first where there is any (layout from memory)."""
    pixels = (DEEP >> 8).astype(np.uint8)
    art = read_artwork(
        tiff_by(
            pixels,
            photometric="rgb",
            extrasamples=(2, 0),
            extratags=[(34377, 7, len(block), block, True)],
        )
    )
    assert list(art.spots) == ["Ember"]


def test_premultiplied_alpha_is_divided_out() -> None:
    straight = np.array([[[200, 100, 50, 255], [200, 100, 50, 128], [200, 100, 50, 0]]], np.uint8)
    pre = straight.copy()
    pre[..., :3] = (straight[..., :3].astype(int) * straight[..., 3:] + 127) // 255
    for extra in ((1,), (1, 0)):
        data = np.concatenate([pre, pre[..., :1]], axis=-1)[..., : 3 + len(extra)]
        art = read_artwork(
            tiff_by(data, photometric="rgb", extrasamples=extra, planarconfig="contig")
        )
        assert np.abs(art.rgba[0, :2].astype(int) - straight[0, :2]).max() <= 2
        assert art.rgba[0, 2, 3] == 0


def test_white_is_zero_and_a_missing_note_on_the_fourth_channel() -> None:
    grey = np.array([[0, 65_535, 257 * 100]], np.uint16)
    art = read_artwork(tiff_by(grey, photometric="miniswhite"))
    assert art.rgba[0, :, 0].tolist() == [255, 0, 155]
    pixels = (DEEP[..., :4] >> 8).astype(np.uint8)
    height, width, _ = pixels.shape
    tags: dict[int, tuple[int, object]] = {
        256: (4, [width]), 257: (4, [height]), 258: (3, [8] * 4), 259: (3, [1]), 262: (3, [2]),
        277: (3, [4]), 278: (4, [height]),
    }  # fmt: skip
    art = read_artwork(tiff(pixels.tobytes(), tags))  # type: ignore[arg-type]
    assert np.array_equal(art.rgba, pixels)
    assert said(art, "does not say", "taken as transparency")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (tiff_by(DEEP[..., 0].astype(np.float32), photometric="minisblack"), ("32-bit", "8 or 16")),
        (
            tiff_by(
                DEEP[..., :4] >> 8, photometric="separated",
                extratags=[(332, 3, 1, 2, True), (333, 2, 11, "Ember\0Moss\0", True)],
            ),
            ("4 ink channels", "Ember, Moss", "RGB or CMYK"),
        ),
        (tiff_by(DEEP[..., :3], photometric="cielab"), ("TIFF kind 8", "save it as RGB")),
        (
            tiff_by(
                np.zeros((4, 4, 20), np.uint8), photometric="rgb", planarconfig="contig",
                extrasamples=(0,) * 17,
            ),
            ("20 channels", "at most 16"),
        ),
    ],
    ids=["floating point", "inks without a picture", "16-bit Lab", "twenty channels"],
)  # fmt: skip
def test_tiff_kinds_that_are_refused(data: bytes, words: tuple[str, ...]) -> None:
    text = refused(data)
    assert all(word in text for word in words), text


def test_eight_bit_lab_tiff() -> None:
    """L* 50, neutral: sRGB 119 by the definitions of CIELAB and IEC 61966-2-1."""
    lab = np.zeros((4, 4, 3), np.uint8)
    lab[..., 0] = round(255 * 0.5)
    art = read_artwork(tiff_by(lab, photometric="cielab"))
    assert np.abs(art.rgba[0, 0, :3].astype(int) - 119).max() <= 1
    assert said(art, "Lab", "sRGB")


# -- Refusals


def test_empty_unknown_and_unreadable_kinds(tmp_path: Path) -> None:
    assert "empty (0 bytes)" in refused(b"")
    assert "PNG, TIFF, WebP, JPEG" in refused(b"just some words, no picture")
    assert "layered picture" in refused(b"gimp xcf v011\0" + bytes(40))
    assert "no pixels" in refused(b"8BPS\0\1" + bytes(40))
    assert "export it as PNG" in refused(b"PK\3\4" + bytes(40))
    assert "HEIF or AVIF" in refused(b"\0\0\0\x20ftypavif" + bytes(40))
    with pytest.raises(InputError, match=r"cannot be opened .*nowhere\.png; check the path"):
        read_artwork(tmp_path / "nowhere.png")
    with pytest.raises(InputError, match="cannot be opened"):
        read_artwork(tmp_path)


def huge(kind: str) -> bytes:
    """A small file whose header promises 30 000 × 30 000 pixels, or the most the kind allows."""
    data = bytearray(encoded(Image.new("RGB", (16, 16)), kind))
    if kind == "PNG":
        return png(30_000, 30_000, bits=8, colour_type=2, rows=bytes(100))
    if kind == "JPEG":
        at = data.index(b"\xff\xc0")
        data[at + 5 : at + 9] = struct.pack(">HH", 30_000, 30_000)
    elif kind == "GIF":
        data[6:10] = struct.pack("<HH", 30_000, 30_000)
    elif kind == "BMP":
        data[18:26] = struct.pack("<ii", 30_000, 30_000)
    elif kind == "WebP":
        body = b"VP8X" + struct.pack("<I", 10) + bytes(4) + b"\xfe\x3f\0\xfe\x3f\0" + data[12:]
        return b"RIFF" + struct.pack("<I", 4 + len(body)) + b"WEBP" + bytes(body)
    else:
        tags = {
            256: (4, [30_000]), 257: (4, [30_000]), 258: (3, [8] * 3), 259: (3, [1]),
            262: (3, [2]), 277: (3, [3]), 278: (4, [30_000]),
        }  # fmt: skip
        return tiff(bytes(100), tags)
    return bytes(data)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_huge_header_is_refused_before_decoding(kind: str) -> None:
    data = huge(kind)
    tracemalloc.start()
    try:
        text = refused(data)
    finally:
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert "megapixels" in text or kind == "WebP", text
    if kind != "WebP":
        assert "30000 × 30000 pixels (900 megapixels)" in text
        assert "at most 150" in text
    assert peak < 20e6


def test_the_limit_is_the_callers() -> None:
    data = encoded(Image.new("RGB", (2000, 1000)), "PNG")
    assert read_artwork(data, max_megapixels=2).width_px == 2000
    assert "2 megapixels" in refused(data, max_megapixels=1)


def test_between_pillows_warning_and_the_limit_nothing_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Pillow warns above its MAX_IMAGE_PIXELS and fails above twice that; warnings are errors."""
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
    for kind in ("PNG", "TIFF", "JPEG", "GIF", "BMP"):
        art = read_artwork(encoded(Image.new("RGB", (40, 40)), kind))
        assert art.rgba.shape == (40, 40, 4), kind


@pytest.mark.parametrize("kind", [*EVERY_KIND, "TIFF 16-bit"])
def test_a_file_cut_short_is_refused(kind: str) -> None:
    noise = np.random.default_rng(1).integers(0, 255, (64, 64, 3)).astype(np.uint8)
    whole = (
        tiff_by(noise.astype(np.uint16) * 257, photometric="rgb", compression="zlib")
        if kind == "TIFF 16-bit"
        else encoded(Image.fromarray(noise), kind)
    )
    read_artwork(whole)
    for part in (0.95, 0.5):
        text = refused(whole[: int(len(whole) * part)])
        assert "cut short or damaged" in text or "no pixels" in text, text


def test_a_picture_without_pixels_is_refused() -> None:
    text = refused(png(0, 10, bits=8, colour_type=2, rows=b""))
    assert "cut short or damaged" in text or "0 × 10" in text


@pytest.mark.parametrize("kind", [*EVERY_KIND, "TIFF spots", "profile"])
def test_damaged_bytes_never_escape_as_another_error(kind: str) -> None:
    """Two hundred damaged copies of each kind: a picture or an InputError, nothing else."""
    draw = np.random.default_rng(11)
    small = picture("RGB", (24, 16))
    whole = {
        "TIFF spots": lambda: tiff_by(
            DEEP[:16, :24], photometric="rgb", extrasamples=(2, 0), compression="zlib"
        ),
        "profile": lambda: encoded(small, "PNG", icc_profile=grey_profile("g", gamma=2)),
    }.get(kind, lambda: encoded(small, kind))()
    for _ in range(200):
        data = bytearray(whole)
        for at in draw.integers(0, len(data), draw.integers(1, 6)):
            data[at] = draw.integers(0, 256)
        with contextlib.suppress(InputError):
            read_artwork(bytes(data), name="x", max_megapixels=1)
