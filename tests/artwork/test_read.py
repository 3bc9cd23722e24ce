"""Reading artwork: every kind of file works and says what was done to it."""

from __future__ import annotations

import hashlib
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from inksim.artwork.read import printed_at, read_artwork, too_small_note
from inksim.common.errors import InputError
from tests.artwork_checks import EVERY_KIND, OPAQUE, picture, refused, said
from tests.pictures import artwork, encoded, png

NO_DPI = "The file gives no resolution, so its print size is unknown."


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


def test_too_small_for_its_place_is_said_from_150_pixels_an_inch() -> None:
    """Common practice, no source."""
    art = artwork(np.full((100, 600, 4), 255, np.uint8), dpi=None)
    assert too_small_note(art, width_mm=600 / 150 * 25.4) is None
    said = too_small_note(art, width_mm=250.0)
    assert said is not None
    assert "600 pixels over 250 mm are 61 per inch" in said
    assert "at least 1477 pixels wide" in said  # 250 mm / 25.4 mm × 150
    assert too_small_note(replace(art, format="SVG"), width_mm=250.0) is None
    with pytest.raises(InputError, match="width is 0 mm; it must be above 0"):
        too_small_note(art, width_mm=0.0)
