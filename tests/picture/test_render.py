"""The picture: its mean is the swatch, full size, reduced or cropped; files say what they are."""

from __future__ import annotations

import io
from pathlib import Path
from typing import BinaryIO

import numpy as np
import pytest
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000

from inksim.artwork.picture import decode8, encode8, save_png, shrink_to
from inksim.colour.srgb import (
    decode_srgb,
    encode_srgb,
    linear_srgb,
    srgb8,
    within_srgb,
    xyz_from_srgb8,
)
from inksim.colour.viewing import Viewing, lab, lab_from_xyz, xyz
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import external_from_internal, film_over, internal_from_external
from inksim.optics.unevenness import level_quantiles, quantile_nodes, thickness_factor
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.reduce import reduce_labels, reduce_tile
from inksim.picture.render import (
    Look,
    colour_table,
    recolour,
    render_crop,
    render_flat,
)
from tests.pictures import render_scaled

BANDS = 31
WAVES = np.linspace(0, 1, BANDS)
D50 = Viewing()


def edge(centre: float, *, low: float, high: float) -> np.ndarray:
    """A smooth step up in the spectrum."""
    return low + (high - low) / (1 + np.exp(-(WAVES - centre) / 0.04))


CLOTHS = {
    "black": np.full(BANDS, 0.045),
    "navy": edge(0.3, low=0.11, high=0.05),
    "red": edge(0.66, low=0.055, high=0.5),
    "white": np.full(BANDS, 0.82),
}
# Absorption and scattering per um of dry film: invented, of usual size.
INKS = {
    "yellow": (0.5 * edge(0.38, low=1, high=0.01), np.full(BANDS, 0.02)),
    "blue": (edge(0.45, low=0.03, high=0.6), np.full(BANDS, 0.01)),
    "white": (edge(0.03, low=0.05, high=0.002), np.full(BANDS, 0.25)),
}
BUILDS = [
    (cloth, ink, micron, cv)
    for cloth in CLOTHS
    for ink in INKS
    for micron, cv in ((3.0, 0.45), (12.0, 0.3), (8.0, 0.0))
]


def print_at(q: np.ndarray, *, cloth: str, ink: str, micron: float, cv: float) -> np.ndarray:
    """External reflectance (Q, 31) of one film on cloth at thickness quantiles q."""
    K, S = INKS[ink]
    thickness = micron * thickness_factor(q, cv=cv)[:, None]
    backing = internal_from_external(CLOTHS[cloth])
    return external_from_internal(film_over(K, S, thickness_um=thickness, backing=backing))


def bare(cloth: str) -> np.ndarray:
    return np.broadcast_to(CLOTHS[cloth], (256, BANDS))


def shown_lab(reflectance: np.ndarray) -> np.ndarray:
    """Lab of a swatch as an sRGB screen shows it."""
    light = within_srgb(linear_srgb(xyz(reflectance, D50), D50), D50)
    return lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(light), D50), D50)


def mean_lab(picture: np.ndarray) -> np.ndarray:
    """Lab of the mean light of a picture, decoded here and not by the code under test."""
    light = decode_srgb(np.arange(256) / 255.0)
    codes = picture[..., :3].reshape(-1, 3)
    mean = np.array([np.bincount(codes[:, c], minlength=256) @ light for c in range(3)])
    mean /= len(codes)
    return lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(mean), D50), D50)


@pytest.fixture(scope="module")
def tile() -> np.ndarray:
    return knit_tile(px_per_mm=300 / 25.4)


@pytest.fixture(scope="module")
def small_tile() -> np.ndarray:
    return knit_tile(px_per_mm=4.0, size_px=(90, 110))


@pytest.fixture(scope="module")
def look() -> Look:
    films = [print_at(level_quantiles(), cloth="navy", ink=ink, micron=6.0, cv=0.4) for ink in INKS]
    return colour_table(np.stack([bare("navy"), *films]), D50)


def patchwork(rows: int, columns: int, *, labels: int = 4, cell: int = 13) -> np.ndarray:
    """Labels in cells of odd size, so that reduced pixels are mixed in every way."""
    y, x = np.mgrid[0:rows, 0:columns]
    return ((y // cell + 2 * (x // (cell + 2))) % labels).astype(np.uint8)


# The mean of the picture is the swatch


@pytest.mark.parametrize(("cloth", "ink", "micron", "cv"), BUILDS)
def test_mean_of_a_flat_area_is_the_swatch(
    cloth: str, ink: str, micron: float, cv: float, tile: np.ndarray
) -> None:
    # CIEDE2000 by scikit-image. 0.3 is a third of a just visible difference; of it 0.06 belong to
    # the eight nodes, the rest to 256 levels and 8-bit codes.
    build = {"cloth": cloth, "ink": ink, "micron": micron, "cv": cv}
    table = colour_table(print_at(level_quantiles(), **build)[None], D50)  # type: ignore[arg-type]
    q, weight = quantile_nodes(8)
    swatch = shown_lab(weight @ print_at(q, **build))  # type: ignore[arg-type]
    labels = np.zeros(tile.shape, dtype=np.uint8)
    whole = render_flat(labels, table, tile)
    reduced = render_scaled(labels, table, tile, max_px=tile.shape[0] // 4)
    crop = render_crop(labels, table, tile, x=3, y=5, width=460, height=460)
    for picture in (whole, reduced, crop):
        assert deltaE_ciede2000(swatch, mean_lab(picture)) < 0.3


def test_unevenness_is_seen_and_not_only_averaged(tile: np.ndarray) -> None:
    film = print_at(level_quantiles(), cloth="black", ink="yellow", micron=5.0, cv=0.45)
    table = colour_table(film[None], D50, shading=0)
    light = decode8(render_flat(np.zeros(tile.shape, np.uint8), table, tile)[..., :3])
    even = colour_table(np.broadcast_to(film[128], film.shape)[None], D50, shading=0)
    flat = decode8(render_flat(np.zeros(tile.shape, np.uint8), even, tile)[..., :3])
    assert light[..., 0].std() > 0.15 * light[..., 0].mean()
    assert flat[..., 0].std() < 0.01 * flat[..., 0].mean()


def test_thin_film_lies_on_proud_fibers(tile: np.ndarray) -> None:
    # A light ink on black cloth: the lower the quantile, the darker the print.
    film = print_at(level_quantiles(), cloth="black", ink="white", micron=4.0, cv=0.45)
    picture = render_flat(
        np.zeros(tile.shape, np.uint8), colour_table(film[None], D50, shading=0), tile
    )
    proud, hollow = picture[tile < 26, 1].mean(), picture[tile >= 230, 1].mean()
    assert proud < 0.8 * hollow


@pytest.mark.parametrize("cloth", CLOTHS)
def test_label_zero_is_the_bare_cloth(cloth: str, tile: np.ndarray) -> None:
    table = colour_table(bare(cloth)[None], D50)
    picture = render_flat(np.zeros((472, 472), np.uint8), table, tile)
    assert deltaE_ciede2000(lab(CLOTHS[cloth], D50), mean_lab(picture)) < 0.05
    assert np.ptp(picture[..., 1]) > 0, "cloth is shaded by its fibers"


def test_shading_makes_proud_fibers_lighter_and_keeps_the_mean() -> None:
    stack = bare("red")[None]
    plain, shaded = (colour_table(stack, D50, shading=s).linear[0] for s in (0.0, 0.3))
    np.testing.assert_allclose(shaded.mean(axis=0), plain.mean(axis=0), rtol=1e-12)
    assert np.all(np.diff(shaded[:, 0]) < 0)
    assert shaded[0, 0] / shaded[-1, 0] == pytest.approx(1.15 / 0.85, rel=0.01)


def test_shading_that_reaches_the_screens_white_keeps_the_mean() -> None:
    almost = np.full((1, 256, BANDS), 0.985)
    table = colour_table(almost, D50, shading=0.5)
    assert table.linear.max() <= 1
    np.testing.assert_allclose(table.linear.mean(axis=1), 0.985, atol=2e-4)
    assert table.in_gamut[0]


def test_a_color_no_screen_can_show_is_said_and_loses_chroma() -> None:
    # A nearly monochromatic green; sRGB's primaries enclose no spectral color (CIE 15).
    spike = np.zeros(BANDS)
    spike[12] = 1.0
    table = colour_table(np.stack([np.broadcast_to(spike, (256, BANDS)), bare("red")]), D50)
    assert table.in_gamut.tolist() == [False, True]
    red = linear_srgb(xyz(spike, D50), D50)[0]
    assert red < 0
    np.testing.assert_allclose(table.linear[0, :, 0], 0.0, atol=3e-4)
    mean = encode_srgb(table.linear[0].mean(axis=0))
    shown = lab_from_xyz(xyz_from_srgb8(255.0 * mean, D50), D50)
    wanted = lab_from_xyz(xyz(spike, D50), D50)
    assert shown[0] == pytest.approx(wanted[0], abs=1.0)
    angles = [np.degrees(np.arctan2(b, a)) for _, a, b in (shown, wanted)]
    assert angles[0] == pytest.approx(angles[1], abs=1.0)


def test_a_color_that_does_not_vary_is_its_nearest_code_everywhere(tile: np.ndarray) -> None:
    table = colour_table(bare("red")[None], D50, shading=0)
    picture = render_flat(np.zeros((50, 60), np.uint8), table, tile)
    code, _ = srgb8(xyz(CLOTHS["red"], D50), D50)
    assert np.array_equal(np.unique(picture[..., :3].reshape(-1, 3), axis=0), code[None])


# Full size and crop


def test_every_pixel_is_its_label_and_quantile_looked_up(
    look: Look, small_tile: np.ndarray
) -> None:
    labels = patchwork(211, 307)
    picture = render_flat(labels, look, small_tile)
    table = look.table.astype("<u4").view(np.uint8).reshape(-1, 256, 4)
    for y, x in np.random.default_rng(3).integers(0, (211, 307), (400, 2)):
        q = small_tile[y % small_tile.shape[0], x % small_tile.shape[1]]
        assert picture[y, x].tolist() == table[labels[y, x], q].tolist()
    assert np.all(picture[..., 3] == 255)


@pytest.mark.parametrize("shape", [(1, 1), (1, 700), (700, 1), (33, 31), (20000, 50), (472, 473)])
def test_odd_sizes(shape: tuple[int, int], look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(*shape)
    assert render_flat(labels, look, small_tile).shape == (*shape, 4)
    for limit in (1, 100, 1200):
        reduced = render_scaled(labels, look, small_tile, max_px=limit)
        assert max(reduced.shape[:2]) <= limit
        assert reduced.dtype == np.uint8


def test_strips_equal_the_whole(look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(200, 150)
    whole = render_flat(labels, look, small_tile)
    for y, height in ((0, 1), (31, 2), (32, 64), (77, 123)):
        part = render_crop(labels, look, small_tile, x=0, y=y, width=150, height=height)
        assert np.array_equal(part, whole[y : y + height])


def test_a_crop_is_those_pixels_and_is_cut_to_the_picture(
    look: Look, small_tile: np.ndarray
) -> None:
    labels = patchwork(250, 260)
    whole = render_flat(labels, look, small_tile)
    crop = render_crop(labels, look, small_tile, x=117, y=95, width=80, height=60)
    assert np.array_equal(crop, whole[95:155, 117:197])
    corner = render_crop(labels, look, small_tile, x=-10, y=240, width=30, height=30)
    assert np.array_equal(corner, whole[240:, :20])
    with pytest.raises(InputError, match="outside the picture"):
        render_crop(labels, look, small_tile, x=260, y=0, width=5, height=5)


def test_the_same_input_gives_the_same_picture(look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(120, 130)
    assert np.array_equal(
        render_flat(labels, look, small_tile), render_flat(labels.copy(), look, small_tile)
    )
    first, again = (render_scaled(labels, look, small_tile, max_px=50) for _ in range(2))
    assert np.array_equal(first, again)


def test_labels_may_be_a_view(look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(120, 130)
    turned = np.asfortranarray(labels)
    assert np.array_equal(
        render_flat(turned, look, small_tile), render_flat(labels, look, small_tile)
    )
    assert np.array_equal(
        render_scaled(labels[::2, ::-1], look, small_tile, max_px=20),
        render_scaled(labels[::2, ::-1].copy(), look, small_tile, max_px=20),
    )


# Reduced


def black_and_white() -> Look:
    return colour_table(np.stack([np.zeros((256, BANDS)), np.ones((256, BANDS))]), D50, shading=0.0)


@pytest.mark.parametrize("factor", [2, 4, 10])
def test_a_check_of_black_and_white_is_half_the_light(factor: int, small_tile: np.ndarray) -> None:
    # sRGB (IEC 61966-2-1) code of half the light: 1.055 * 0.5^(1/2.4) - 0.055 = 0.7354, code 188.
    y, x = np.mgrid[0:200, 0:200]
    labels = ((x + y) % 2).astype(np.uint8)
    grey = render_scaled(labels, black_and_white(), small_tile, max_px=200 // factor)
    assert grey.shape == (200 // factor, 200 // factor, 3)
    assert np.unique(grey).tolist() == [188]


def test_coverage_is_the_area_of_each_label() -> None:
    labels = patchwork(101, 77, labels=5, cell=3)
    factor = 7
    coverage = reduce_labels(labels, factor)
    assert coverage.shape == (15, 11)
    start = [*coverage.start.tolist(), coverage.entry_label.size]
    mixed = {int(pixel): n for n, pixel in enumerate(coverage.mixed)}
    for y in range(15):
        for x in range(11):
            block = labels[y * 7 : y * 7 + 7, x * 7 : x * 7 + 7]
            share = np.bincount(block.ravel(), minlength=5) / block.size
            got = np.zeros(5)
            n = mixed.get(y * 11 + x)
            if n is None:
                got[coverage.label[y, x]] = 1
            else:
                entries = slice(start[n], start[n + 1])
                got[coverage.entry_label[entries]] = coverage.entry_weight[entries]
            np.testing.assert_allclose(got, share, atol=1e-6)


@pytest.mark.parametrize("factor", [2, 3, 5])
def test_reduced_cloth_is_the_block_mean_of_the_full_picture(
    factor: int, look: Look, tile: np.ndarray
) -> None:
    # One label at a time: brute force over the full picture, in light, unrounded. The 24 knots of
    # the reduced cloth may turn the rounding of a code, no more.
    rows, columns = factor * 120, factor * 130
    wide = np.tile(tile, (3, 3))[:rows, :columns]
    for label in range(look.labels):
        labels = np.full((rows, columns), label, dtype=np.uint8)
        light = look.linear[label][wide]
        blocks = light.reshape(120, factor, 130, factor, 3).mean(axis=(1, 3))
        expected = np.rint(255 * encode_srgb(blocks))
        got = recolour(reduce_labels(labels, factor), reduce_tile(tile, factor, (120, 130)), look)
        assert np.abs(got - expected).max() <= 1
        assert abs((got - expected).mean()) < 0.05


@pytest.mark.parametrize("max_px", [150, 90, 60, 31])
def test_light_is_kept_when_reduced(max_px: int, look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(300, 300)
    light = decode8(render_flat(labels, look, small_tile)[..., :3]).mean(axis=(0, 1))
    reduced = decode8(render_scaled(labels, look, small_tile, max_px=max_px)).mean(axis=(0, 1))
    np.testing.assert_allclose(reduced, light, rtol=0.01)


def test_recoloring_in_bands_equals_recoloring_at_once(
    look: Look, small_tile: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    coverage = reduce_labels(patchwork(400, 300), 3)
    weave = reduce_tile(small_tile, 3, coverage.shape)
    at_once = recolour(coverage, weave, look)
    monkeypatch.setattr("inksim.picture.render._BAND_BYTES", 40_000)
    assert np.array_equal(recolour(coverage, weave, look), at_once)


def test_dark_areas_keep_their_mean_when_reduced(small_tile: np.ndarray) -> None:
    # Without dither every pixel of such a flat black would be the same code, up to 0.3 dE00 off.
    for level in (0.0031, 0.0042, 0.0055):
        dark = colour_table(np.full((1, 256, BANDS), level), D50, shading=0)
        page = render_scaled(np.zeros((320, 320), np.uint8), dark, small_tile, max_px=160)
        np.testing.assert_allclose(
            decode_srgb(page / 255.0).mean(axis=(0, 1)), dark.linear[0, 0], rtol=2e-3
        )
        assert np.ptp(page) <= 1


def test_another_garment_needs_only_another_look(look: Look, small_tile: np.ndarray) -> None:
    labels = patchwork(200, 200)
    coverage = reduce_labels(labels, 4)
    weave = reduce_tile(small_tile, 4, coverage.shape)
    other = colour_table(np.stack([bare(c) for c in CLOTHS]), D50)
    for each in (look, other):
        assert np.array_equal(
            recolour(coverage, weave, each), render_scaled(labels, each, small_tile, max_px=50)
        )


# Refusals


def test_what_cannot_be_drawn_is_refused_with_a_sentence(
    look: Look, small_tile: np.ndarray
) -> None:
    labels = np.full((10, 10), 4, dtype=np.uint8)
    for draw in (render_flat, render_scaled):
        with pytest.raises(InputError, match="label 4, but colors are given for labels 0 to 3"):
            draw(labels, look, small_tile)
    with pytest.raises(InputError, match="8-bit integers"):
        render_flat(labels.astype(np.int64), look, small_tile)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="cloth tile"):
        render_flat(labels, look, small_tile[:0])
    with pytest.raises(InputError, match="labels x 256 quantiles x 31"):
        colour_table(np.ones((4, 8, BANDS)), D50)
    with pytest.raises(InputError, match="257 labels"):
        colour_table(np.ones((257, 256, BANDS)), D50)
    with pytest.raises(InputError, match="label 1 is not a number"):
        colour_table(np.stack([bare("red"), bare("red") * np.nan]), D50)
    with pytest.raises(InputError, match="shading"):
        colour_table(bare("red")[None], D50, shading=1.5)
    with pytest.raises(InputError, match="preview of at most 0 px"):
        render_scaled(labels % 4, look, small_tile, max_px=0)
    with pytest.raises(InputError, match="by the same factor"):
        recolour(reduce_labels(labels % 4, 2), reduce_tile(small_tile, 3, (4, 4)), look)


# Pictures in linear light


def test_codes_survive_decoding_and_encoding() -> None:
    codes = np.arange(256, dtype=np.uint8)
    assert np.array_equal(encode8(decode8(codes)), codes)


@pytest.mark.parametrize("channels", [3, 4])
def test_fit_reduces_in_linear_light(channels: int) -> None:
    y, x = np.mgrid[0:120, 0:200]
    check = np.where((x + y) % 2, 255, 0).astype(np.uint8)
    reduced = shrink_to(np.dstack([check] * channels), width=50, height=50)
    assert reduced.shape == (30, 50, 3)
    assert np.unique(reduced).tolist() == [188]


def test_fit_never_enlarges_and_keeps_a_pixel_thin_picture() -> None:
    picture = np.random.default_rng(0).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    assert np.array_equal(shrink_to(picture, width=300, height=300), picture)
    assert shrink_to(picture[:1].repeat(40, axis=1), width=10, height=10).shape == (1, 10, 3)


# Files


@pytest.mark.parametrize("shape", [(1, 1, 3), (37, 53, 4), (64, 64, 3)])
def test_png_round_trip_is_exact_and_says_dpi_and_srgb(
    shape: tuple[int, int, int], tmp_path: Path
) -> None:
    picture = np.random.default_rng(1).integers(0, 256, shape, dtype=np.uint8)
    path = save_png(tmp_path / "new folder" / "print.png", picture, about="a test", dpi=300)
    with Image.open(path) as image:
        assert image.format == "PNG"
        assert image.mode == "RGB"
        assert np.array_equal(np.asarray(image), picture[..., :3])
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.02)  # PNG counts px per meter
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    assert [p.name for p in path.parent.iterdir()] == ["print.png"]


def test_the_embedded_profile_is_srgb_by_its_numbers(tmp_path: Path) -> None:
    # IEC 61966-2-1 by way of Little CMS: gray 188 is L* 76.2 (CIE 15, from Y = 0.503), and pure
    # red's Lab (D50) is 54.3, 80.8, 69.9, as published for sRGB (from memory).
    path = save_png(tmp_path / "a.png", np.zeros((1, 1, 3), np.uint8), about="a test", dpi=72)
    with Image.open(path) as image:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    to_lab = ImageCms.buildTransform(profile, ImageCms.createProfile("LAB"), "RGB", "LAB")
    two = Image.fromarray(np.array([[[188, 188, 188], [255, 0, 0]]], np.uint8))
    bytes_ = np.frombuffer(ImageCms.applyTransform(two, to_lab).tobytes(), np.uint8).reshape(2, 3)
    labs = np.column_stack([bytes_[:, 0] / 2.55, bytes_[:, 1:].view(np.int8).astype(float)])
    np.testing.assert_allclose(labs, [[76.2, 0, 0], [54.3, 80.8, 69.9]], atol=1.0)


def test_the_same_picture_gives_the_same_bytes(tmp_path: Path) -> None:
    picture = np.random.default_rng(2).integers(0, 256, (30, 40, 4), dtype=np.uint8)
    a, b = (
        save_png(tmp_path / f"{n}.png", picture, about="a test", dpi=150).read_bytes() for n in "ab"
    )
    assert a == b


def test_without_srgb_no_color_space_is_claimed(tmp_path: Path) -> None:
    path = save_png(
        tmp_path / "a.png", np.zeros((2, 2, 3), np.uint8), about="a test", dpi=72, srgb=False
    )
    with Image.open(path) as image:
        assert not {"icc_profile", "srgb"} & set(image.info)


def test_a_failed_save_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save_png(tmp_path / "a.png", np.zeros((2, 2, 3), np.uint8), about="a test", dpi=72)
    before = path.read_bytes()

    def full_disk(self: Image.Image, target: BinaryIO, **_: object) -> None:
        target.write(b"half a file")
        raise OSError("no space left on device")

    monkeypatch.setattr(Image.Image, "save", full_disk)
    with pytest.raises(OSError, match="no space left"):
        save_png(path, np.ones((2, 2, 3), np.uint8), about="a test", dpi=72)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("dpi", [0, -72, 1e6, float("nan")])
def test_a_resolution_outside_its_range_is_refused(dpi: float, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="dpi"):
        save_png(tmp_path / "a.png", np.zeros((2, 2, 3), np.uint8), about="a test", dpi=dpi)
