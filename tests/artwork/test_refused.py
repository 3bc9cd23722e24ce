"""Artwork that cannot be read is refused in one clear sentence."""

from __future__ import annotations

import contextlib
import struct
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError
from tests.artwork_checks import DEEP, EVERY_KIND, picture, refused, tiff_by
from tests.pictures import encoded, grey_profile, png, tiff


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
    with pytest.raises(InputError, match="is no name that a file can have; check the path"):
        read_artwork("logo\0.png")


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
    if kind == "WebP":
        assert "16383 × 16383 pixels (268 megapixels)" in text
        assert "at most 75" in text
    else:
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
        assert any(w in text for w in ("cut short or damaged", "ends too early", "no pixels")), text


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
