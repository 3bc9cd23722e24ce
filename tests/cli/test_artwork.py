"""Odd and hostile artwork through `inksim preview` and `separate`: notes, or one sentence."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from inksim.cli.commands import main
from tests.artwork.test_vector import PHYSICAL, pdf, svg

ORANGE = (232, 98, 44, 255)
COMMANDS = ("preview", "separate")


def chunk(kind: bytes, body: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(kind + body))
    return struct.pack(">I", len(body)) + kind + body + check


def claiming(width: int, height: int) -> bytes:
    """A PNG (ISO/IEC 15948) of a claimed size with hardly any pixels in it."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pixels = zlib.compress(bytes(1000))
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def bomb() -> bytes:
    """Some 400 KB that unpack to 400 MB."""
    header = struct.pack(">IIBBBBB", 20_000, 20_000, 8, 0, 0, 0, 0)
    # Deflated (RFC 1950, 1951) in blocks that stand alone, so that one block is packed, not 200.
    packer, rows = zlib.compressobj(9), bytes(20_001 * 100)
    first, again = (packer.compress(rows) + packer.flush(zlib.Z_FULL_FLUSH) for _ in range(2))
    checksum = struct.pack(">HH", 200 * len(rows) % 65521, 1)  # Adler-32 of nothing but zeros
    packed = first + 199 * again + b"\x03\x00" + checksum
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def many_colours(path: Path) -> None:
    image = Image.new("RGBA", (900, 150), (0, 0, 0, 0))
    for at in range(18):
        colour = (at * 53 % 256, at * 97 % 256, at * 151 % 256, 255)
        image.paste(colour, (at * 50, 10, at * 50 + 45, 140))
    image.save(path, dpi=(300, 300))


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("absurd.png", claiming(2**31 - 1, 2**31 - 1), "at most 150 megapixels"),
        ("bomb.png", bomb(), "at most 150 megapixels"),
        ("header.png", claiming(600, 600)[:33], "it ends too early"),
        ("short.png", claiming(600, 600), "cut short or damaged"),
        ("locked.pdf", pdf(password="secret"), "locked with a password"),
        ("cut.pdf", pdf()[:300], "cut.pdf"),
        ("huge.svg", svg('width="99999mm" height="99999mm"'), "at most 150 megapixels"),
        (
            "entity.svg",
            b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
            + svg(body="<text>&x;</text>"),
            "entity.svg",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) and "." in value else "",
)
def test_what_cannot_be_read_is_one_sentence(
    tmp_path: Path, command: str, name: str, data: bytes, said: str
) -> None:
    (tmp_path / name).write_bytes(data)
    words = [command, str(tmp_path / name), "--garment", "Coal Black", "--out", str(tmp_path / "o")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2, done.output
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("inksim: ")
    assert said in last
    assert "Traceback" not in done.output
    assert not (tmp_path / "o").exists()


def test_more_colors_than_can_be_separated_are_told(tmp_path: Path) -> None:
    many_colours(tmp_path / "many.png")
    words = ["preview", str(tmp_path / "many.png"), "--garment", "Coal Black"]
    done = CliRunner().invoke(main, [*words, "--out", str(tmp_path / "o")])
    assert done.exit_code == 2
    assert "18 flat colors, and at most 12" in done.stderr
    assert not (tmp_path / "o").exists()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("cmyk.jpg", "CMYK without a usable profile"),
        ("deep.png", "16-bit"),
        ("wrong.png", "The name says PNG, but the file is JPEG"),
        ("bare.png", "300 dpi is assumed"),
        ("one.png", "There is no transparency"),
        ("script.svg", "1 script(s), 2 link(s)"),
        ("wide.png", ""),
    ],
)
def test_odd_files_are_drawn_and_what_was_done_is_said(
    tmp_path: Path, name: str, said: str
) -> None:
    path = tmp_path / name
    plain = Image.new("RGB", (60, 40), ORANGE[:3])
    if name == "cmyk.jpg":
        plain.convert("CMYK").save(path, dpi=(300, 300))
    elif name == "deep.png":
        deep = np.zeros((40, 60), dtype=np.uint16)
        deep[10:30, 10:50] = 40_000
        Image.fromarray(deep).save(path, dpi=(300, 300))
    elif name == "wrong.png":
        plain.save(path, format="JPEG", dpi=(300, 300))
    elif name == "bare.png":
        plain.save(path)
    elif name == "one.png":
        Image.new("RGBA", (1, 1), ORANGE).save(path, dpi=(300, 300))
    elif name == "script.svg":
        plain.save(tmp_path / "secret.png")
        body = (
            '<script>1</script><image href="file:///etc/hostname" width="9" height="9"/>'
            f'<image href="{tmp_path}/secret.png" width="50" height="30"/>'
            '<circle cx="25" cy="15" r="10" fill="#0f5c63"/>'
        )
        path.write_bytes(svg(PHYSICAL, body))
    else:
        wide = Image.new("RGBA", (20_000, 50), (0, 0, 0, 0))
        wide.paste(ORANGE, (100, 10, 19_000, 40))
        wide.save(path, dpi=(300, 300))
    words = ["preview", str(path), "--garment", "Flour White", "--out", str(tmp_path / "o")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert said in done.stdout
    if name == "script.svg":  # the linked picture is orange, and must not be in the print
        with Image.open(tmp_path / "o" / "script--flour-white--straight.png") as print_:
            pixels = np.asarray(print_.convert("RGB")).astype(int)
        assert not (pixels[..., 0] - pixels[..., 2] > 60).any()
