"""Small files that ask for much cost the app's own process little, and end in one sentence."""

from __future__ import annotations

import os
import resource
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from inksim.artwork import raster, sandbox, vector
from inksim.artwork.raster import Source, rgba_from_image
from inksim.artwork.read import MOST_SCANS, read_artwork
from inksim.artwork.tiff import MOST_SAMPLES, _photoshop_names
from inksim.artwork.webp import check_webp
from inksim.common.errors import InputError
from tests import attack_files as made
from tests.artwork_checks import refused
from tests.growth import worse_than_linear
from tests.pictures import encoded

MB = 2**20
ROOM = 400 * MB
"""What the app's process may take for one of these files, over what it has: 3.7 GB before."""


def in_a_fork(data: bytes, *, room: int = ROOM) -> str:
    """What reading says, in a forked process that may take only so much more memory."""
    end, start = os.pipe()
    child = os.fork()
    if child == 0:
        said = "ended"
        try:
            held = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
            resource.setrlimit(resource.RLIMIT_AS, (held + room, -1))
            art = read_artwork(data, name="logo")
            said = f"read {art.width_px} × {art.height_px}: {' '.join(art.notes)}"
        except InputError as fault:
            said = str(fault)
        except BaseException as fault:
            said = f"{type(fault).__name__}: {fault}"
        finally:
            os.write(start, said.encode()[:4000])
            os._exit(0)
    os.close(start)
    with os.fdopen(end, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said


needs_svg = pytest.mark.skipif(
    sandbox.find_spec("resvg_py") is None, reason="SVG needs the packages of inksim[artwork]"
)
needs_pdf = pytest.mark.skipif(
    sandbox.find_spec("pypdfium2") is None, reason="PDF needs the packages of inksim[artwork]"
)
needs_psd = pytest.mark.skipif(
    sandbox.find_spec("psd_tools") is None, reason="PSD needs the packages of inksim[artwork]"
)

BOMBS = [
    pytest.param(
        partial(made.svg_of, "<a/>", size=10 * MB), f"{vector.MOST_SVG_PARTS:,} elements",
        marks=needs_svg, id="svgz of elements",
    ),
    pytest.param(
        partial(made.svg_of, " ", size=70 * MB), "64 MB of SVG", marks=needs_svg,
        id="svgz of blanks",
    ),
    pytest.param(
        partial(made.svg_deep, 100_000), f"{vector.DEEPEST_SVG} groups", marks=needs_svg,
        id="deep svg",
    ),
    pytest.param(made.svg_entities, "cannot be decoded", marks=needs_svg, id="svg entities"),
    pytest.param(made.svg_uses, "cannot be drawn", marks=needs_svg, id="svg uses"),
    pytest.param(partial(made.svg_scripts, 100_000), "100000 script(s)", marks=needs_svg,
                 id="svg scripts"),
    pytest.param(partial(made.png_plain, 13_000, bits=1), "169 megapixels", id="png"),
    pytest.param(partial(made.webp_plain, 9_000), "at most 75 megapixels", id="webp"),
    pytest.param(
        partial(made.png_chunk, b"iCCP", b"a\0\0", 50 * MB), "cannot be decoded", id="png iCCP"
    ),
    pytest.param(partial(made.jpeg_of_scans, 512, 5_000), f"{MOST_SCANS} scans", id="jpeg scans"),
    pytest.param(partial(made.gif_of_frames, 20_000), "20000 frames", id="gif frames"),
    pytest.param(
        partial(made.tiff_tile, 30_000, extra=False, filled=10 * MB), "900 megapixels",
        id="tiff tile",
    ),
    pytest.param(
        partial(made.tiff_tile, 30_000, extra=True, filled=10 * MB), "900 megapixels",
        id="tiff tile with spots",
    ),
    pytest.param(partial(made.tiff_tags, 4_000_000, 30), "read 16 × 16", id="tiff tags"),
    pytest.param(partial(made.psd_rle, 13_000, channels=1), "169 megapixels", marks=needs_psd,
                 id="psd"),
    pytest.param(
        partial(made.pdf_stream, 110 * MB, picture=6_000), "read", marks=needs_pdf,
        id="pdf picture",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("make", "words"), BOMBS)
def test_a_bomb_costs_the_app_little(make: partial[bytes], words: str) -> None:
    said = in_a_fork(make())
    assert words in said
    assert len(said) <= 300
    assert "\n" not in said


@needs_svg
def test_at_most_so_many_files_are_drawn_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each may take its memory, so that visitors together may take no more than `AT_ONCE` do."""
    held = []

    class Turn:
        def __enter__(self) -> None:
            held.append(sandbox.AT_ONCE)

        def __exit__(self, *_: object) -> None:
            held.append(0)

    monkeypatch.setattr(sandbox, "_TURN", Turn())
    read_artwork(made.svg(), name="logo")
    assert held == [sandbox.AT_ONCE, 0]


@pytest.mark.parametrize("options", [{}, {"lossless": True}, {"exact": True, "quality": 50}])
@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_the_size_of_a_webp_is_known_before_it_is_decoded(
    mode: str, options: dict[str, Any]
) -> None:
    """Pillow, an encoder that is not ours, writes all three kinds of first chunk."""
    source = Source(data=encoded(Image.new(mode, (30, 17)), "WebP", **options), name="x",
                    max_megapixels=1e-6)  # fmt: skip
    with pytest.raises(InputError, match="30 × 17 pixels"):
        check_webp(source)


def test_large_pictures_are_decoded_one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """While one is, a small one is read and another large one waits."""
    small, large = (encoded(Image.new("RGB", (side, side)), "PNG") for side in (9, 20))
    monkeypatch.setattr(raster, "LARGE_PIXELS", 100)
    with ThreadPoolExecutor() as pool:
        with raster.in_turn(20, 20):
            waiting = pool.submit(read_artwork, large, name="large")
            assert pool.submit(read_artwork, small, name="small").result(timeout=20).width_px == 9
            with pytest.raises(TimeoutError):
                waiting.result(timeout=0.2)
        assert waiting.result(timeout=20).width_px == 20


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA", "P", "CMYK", "LA", "I;16", "1", "LAB"])
def test_a_large_picture_is_converted_in_strips_alike(
    mode: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    noise = np.random.default_rng(3).integers(0, 255, (40, 30, 4)).astype(np.uint8)
    base = Image.fromarray(noise)
    image = (
        Image.fromarray(noise[..., 0].astype(np.uint16) * 257)
        if mode == "I;16"
        else base.convert("RGB").convert("LAB" if mode == "LAB" else mode)
        if mode in ("LAB", "P", "CMYK", "1")
        else base.convert(mode)
    )
    source = Source(data=b"", name="x", max_megapixels=1)
    whole_notes: list[str] = []
    whole = rgba_from_image(image, icc=None, source=source, notes=whole_notes)
    monkeypatch.setattr(raster, "LARGE_PIXELS", 100)
    monkeypatch.setattr(raster, "STRIP_PIXELS", 7 * 30)
    notes: list[str] = []
    strips = rgba_from_image(image, icc=None, source=source, notes=notes)
    assert np.array_equal(whole, strips)
    assert notes == whole_notes


def test_names_of_channels_take_time_with_their_block_only() -> None:
    def block(count: int) -> bytes:
        return b"8BIM\x04\x15\0\0" + (4 * count).to_bytes(4) + bytes(4 * count)

    assert not worse_than_linear(_photoshop_names, block, (320, 1280, 5120, 20_480))
    assert len(_photoshop_names(block(1000))) == MOST_SAMPLES


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_picture_cut_short_is_one_sentence(kind: str) -> None:
    noise = np.random.default_rng(1).integers(0, 255, (64, 64, 3)).astype(np.uint8)
    whole = encoded(Image.fromarray(noise), kind)
    for size in range(20, len(whole) - 20, len(whole) // 15):
        assert len(refused(whole[:size])) <= 300


@needs_svg
def test_what_leads_out_of_an_svg_is_left_out_and_said() -> None:
    """No file is opened by a link, a style, an entity or an include; what runs is taken out."""
    secret = "/etc/hostname"
    lead = (
        f'<image href="file://{secret}" width="9" height="9"/><use href="{secret}#a"/>'
        '<image xlink:href="http://localhost/a.png" width="9" height="9"/>'
        '<script href="a.js"/><a href="http://localhost/"/><foreignObject/>'
        f"<style>@import url(file://{secret});</style>"
        f'<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{secret}" parse="text"/>'
    )
    art = read_artwork(made.svg(lead + made.DISC), name="logo")
    (said,) = (note for note in art.notes if note.startswith("Left out of the SVG"))
    assert "1 script(s)" in said
    assert "4 link(s)" in said
    assert said.count(".") == 1
    entity = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file://{secret}">]>'
    assert "cannot be decoded" in refused(made.svg("<text>&x;</text>", before=entity))
