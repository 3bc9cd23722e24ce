"""Layered pictures: read flattened, in a process of its own, with what was lost named.

Files are made byte by byte after the published layout of the format: 26 bytes of header, then the
sections color mode, resources, layers, and the picture, plane by plane, 0 of a CMYK plane the full
ink. Those with layers are made by psd-tools, and Pillow's own reader is the second opinion.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from inksim.artwork import sandbox
from inksim.artwork.artwork import Artwork
from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError

KINDS = {"L": 1, "RGB": 3, "CMYK": 4, "DUOTONE": 8, "LAB": 9}
RED = (200, 30, 40, 255)


def psd(
    planes: Sequence[np.ndarray],
    *,
    kind: str = "RGB",
    resources: Sequence[tuple[int, bytes]] = (),
    size: tuple[int, int] | None = None,
    version: int = 1,
) -> bytes:
    """An uncompressed file without layers."""
    rows, columns = size or planes[0].shape
    depth = 8 * planes[0].dtype.itemsize
    head = struct.pack(
        ">4sH6sHIIHH", b"8BPS", version, bytes(6), len(planes), rows, columns, depth, KINDS[kind]
    )
    blocks = b"".join(
        struct.pack(">4sHHI", b"8BIM", number, 0, len(data)) + data + bytes(len(data) % 2)
        for number, data in resources
    )
    body = b"".join(plane.astype(plane.dtype.newbyteorder(">")).tobytes() for plane in planes)
    return (
        head
        + struct.pack(">I", 0)
        + struct.pack(">I", len(blocks))
        + blocks
        + struct.pack(">I", 0)
        + struct.pack(">H", 0)
        + body
    )


def flat(*values: int, dtype: str = "u1", shape: tuple[int, int] = (20, 30)) -> list[np.ndarray]:
    return [np.full(shape, value, dtype=dtype) for value in values]


def refused(data: bytes, **options: Any) -> str:
    with pytest.raises(InputError) as caught:
        read_artwork(data, name="layers", **options)
    text = str(caught.value)
    assert text.startswith("artwork 'layers' ")
    assert "\n" not in text
    return text


def said(art: Artwork, *parts: str) -> bool:
    return any(all(part in note for part in parts) for note in art.notes)


@pytest.fixture
def package() -> Any:
    return pytest.importorskip("psd_tools", reason="needs the packages of inksim[artwork]")


# -- The picture that the file keeps


@pytest.mark.usefixtures("package")
@pytest.mark.parametrize(
    ("planes", "kind", "rgb"),
    [
        (flat(200, 30, 40), "RGB", (200, 30, 40)),
        (flat(119), "L", (119, 119, 119)),
        # R = (1 − C)(1 − K): C 0.8, M 0.2, Y 0, K 0.4, as stored 255 less the ink
        (flat(51, 204, 255, 153), "CMYK", (31, 122, 153)),
        # CIE L* 50, a* 0, b* 0 is code 119 of sRGB (IEC 61966-2-1)
        (flat(128, 128, 128), "LAB", (119, 119, 119)),
        (flat(200 * 257, 30 * 257, 40 * 257, dtype="u2"), "RGB", (200, 30, 40)),
    ],
    ids=["RGB", "gray", "CMYK", "Lab", "16 bit"],
)
def test_every_kind_of_color_becomes_srgb(
    planes: list[np.ndarray], kind: str, rgb: tuple[int, int, int]
) -> None:
    art = read_artwork(psd(planes, kind=kind))
    assert art.format == "PSD"
    assert np.abs(art.rgba[10, 15, :3].astype(int) - rgb).max() <= 1
    assert (art.rgba[..., 3] == 255).all()


@pytest.mark.usefixtures("package")
def test_what_was_converted_is_said() -> None:
    assert said(read_artwork(psd(flat(1, 2, 3, dtype="u2"))), "16-bit values were brought to 8")
    assert said(read_artwork(psd(flat(9, 9, 9, 9), kind="CMYK")), "CMYK without a usable profile")
    assert said(read_artwork(psd(flat(9, 9, 9, 9, 9), kind="RGB")), "1 extra channel(s)")
    four = read_artwork(psd(flat(9, 9, 9, 128)))
    assert said(four, "An extra channel was taken as opacity")
    assert (four.rgba[..., 3] == 128).all()
    assert said(read_artwork(psd(flat(9), kind="DUOTONE")), "kind of color", "duotone")


@pytest.mark.usefixtures("package")
def test_the_profile_and_the_resolution_are_used() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
    size = struct.pack(">IHHIHH", 300 << 16, 1, 1, 300 << 16, 1, 1)
    art = read_artwork(psd(flat(200, 30, 40), resources=[(1005, size), (1039, profile)]))
    assert art.dpi == 300.0
    assert art.width_mm == pytest.approx(30 / 300 * 25.4)
    assert said(art, "profile")
    assert said(read_artwork(psd(flat(200, 30, 40))), "no resolution")


@pytest.mark.usefixtures("package")
def test_opacity_of_cmyk_is_kept() -> None:
    art = read_artwork(psd(on_white(flat(51, 204, 255, 153), 128), kind="CMYK"))
    assert np.abs(art.rgba[10, 15].astype(int) - (31, 122, 153, 128)).max() <= 2
    assert said(art, "extra channel was taken as opacity")


@pytest.mark.usefixtures("package")
def test_opacity_stays_straight() -> None:
    planes = on_white(flat(200, 30, 40), 128)
    planes[3][:5] = 0
    art = read_artwork(psd(planes))
    assert np.abs(art.rgba[10, 15].astype(int) - (200, 30, 40, 128)).max() <= 2
    assert (art.rgba[:5, :, 3] == 0).all()


def on_white(planes: list[np.ndarray], alpha: int) -> list[np.ndarray]:
    """The planes as the format keeps them, laid on white, and their opacity."""
    laid = [
        np.rint((p.astype(float) * alpha + 255.0 * (255 - alpha)) / 255).astype(np.uint8)
        for p in planes
    ]
    return [*laid, np.full_like(planes[0], alpha)]


# -- Layers


def layered(package: Any, *, keeps: bool) -> bytes:
    """Red, half-transparent blue over it, and a hidden green; flattened picture kept or not."""
    picture = package.PSDImage.new("RGB", (60, 40), color=(0, 0, 0))
    picture.create_pixel_layer(Image.new("RGBA", (20, 10), RED), name="red", top=5, left=5)
    blue = Image.new("RGBA", (20, 10), (0, 0, 255, 128))
    picture.create_pixel_layer(blue, name="blue", top=10, left=10)
    green = Image.new("RGBA", (60, 40), (0, 255, 0, 255))
    picture.create_pixel_layer(green, name="green").visible = False
    if not keeps:
        from psd_tools.constants import Resource
        from psd_tools.psd.image_resources import ImageResource, VersionInfo

        info = VersionInfo(version=1, has_composite=False, writer="", reader="", file_version=1)
        block = ImageResource(key=Resource.VERSION_INFO.value, data=info.tobytes())
        picture.image_resources[Resource.VERSION_INFO] = block
    out = io.BytesIO()
    picture.save(out)
    return out.getvalue()


def test_the_flattened_picture_is_the_one_pillow_reads(package: Any) -> None:
    data = layered(package, keeps=True)
    art = read_artwork(data)
    with Image.open(io.BytesIO(data)) as image:
        np.testing.assert_array_equal(art.rgba[..., :3], np.asarray(image.convert("RGB")))
    assert art.rgba[7, 7].tolist() == list(RED)
    assert said(art, "2 layer(s) and 1 hidden", "flattened picture it keeps was read")
    assert said(art, "1 hidden layer(s) do not print")


def test_layers_are_laid_over_each_other_where_no_flattened_picture_is_kept(package: Any) -> None:
    art = read_artwork(layered(package, keeps=False))
    assert said(art, "keeps no flattened picture", "2 layer(s) were laid over here")
    assert art.rgba[7, 7].tolist() == list(RED)
    # Porter and Duff (1984), over: half of blue, half of red
    expected = np.array([(200 * 127 + 0) / 255, 30 * 127 / 255, (40 * 127 + 255 * 128) / 255, 255])
    assert np.abs(art.rgba[12, 12] - expected).max() <= 1.5
    assert art.rgba[30, 50, 3] == 0  # nothing there but the hidden layer


# -- Bad input


@pytest.mark.usefixtures("package")
def test_absurd_sizes_are_refused_from_the_header_alone() -> None:
    assert "30000 × 30000 pixels" in refused(psd(flat(1, 2, 3), size=(30_000, 30_000)))
    assert "no pixels" in refused(psd(flat(1, 2, 3), size=(0, 30)))


@pytest.mark.usefixtures("package")
def test_files_cut_short_and_damaged_are_one_sentence() -> None:
    whole = psd(flat(200, 30, 40))
    for length in (4, 25, 30, 40, len(whole) - 700):
        refused(whole[:length])
    assert "version 7" in refused(psd(flat(1, 2, 3), version=7))
    rng = np.random.default_rng(5)
    for _ in range(4):
        broken = bytearray(whole)
        for at in rng.integers(26, 60, size=6):
            broken[at] = int(rng.integers(256))
        found = read_or_words(bytes(broken))
        assert "\n" not in found if isinstance(found, str) else found.rgba.shape == (20, 30, 4)


def read_or_words(data: bytes) -> Artwork | str:
    try:
        return read_artwork(data, name="layers")
    except InputError as error:
        return str(error)


@pytest.mark.usefixtures("package")
def test_a_picture_that_takes_all_memory_ends_in_one_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sandbox.render_in_child, "__kwdefaults__", {"memory_gb": 1})
    shape = (11_000, 11_000)
    # Four planes of run lengths: 2 bytes unfold to 128, a gigabyte of 16-bit values from 16 MB.
    row = b"\x81\x00" * (2 * shape[1] // 128 + 1)
    counts = struct.pack(">H", len(row)) * (shape[0] * 4)
    head = struct.pack(">4sH6sHIIHH", b"8BPS", 1, bytes(6), 4, *shape, 16, 4)
    data = head + bytes(12) + struct.pack(">H", 1) + counts + row * (shape[0] * 4)
    assert len(data) < 20e6
    assert "cannot be drawn" in refused(data)


def test_without_the_package_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sandbox, "find_spec", lambda _: None)
    text = refused(psd(flat(1, 2, 3)))
    assert "is a layered picture" in text
    assert "pip install 'inksim[artwork]'" in text
