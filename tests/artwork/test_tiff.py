"""TIFF beyond 8-bit color: deep, planar and spot channels, alpha of either kind."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from PIL import Image

from inksim.artwork.read import read_artwork
from tests.artwork_checks import DEEP, refused, said, tiff_by
from tests.pictures import encoded, lzw, tiff

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


def test_a_damaged_mark_is_noted_and_warns_nobody() -> None:
    """Two units of resolution where TIFF 6.0 has one; Pillow warns of it."""
    tags = {
        256: (4, [2]), 257: (4, [2]), 258: (3, [8, 8, 8]), 259: (3, [1]), 262: (3, [2]),
        277: (3, [3]), 278: (4, [2]), 296: (3, [2, 2]),
    }  # fmt: skip
    art = read_artwork(tiff(bytes(range(12)), tags))  # type: ignore[arg-type]
    assert art.rgba[1, 1, :3].tolist() == [9, 10, 11]
    assert said(art, "Marks in the file beside its pixels are damaged")
