"""Lattices over RGB: between nodes against scipy, pictures against numpy, alpha against Pillow."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from PIL import Image
from scipy.interpolate import RegularGridInterpolator

from inksim.common.errors import InputError
from inksim.separation.rgb_lattice import (
    by_strips,
    even_axes,
    laid_on,
    line_weights,
    node_codes,
    node_colours,
    picture_table,
    refined,
    resampled,
    row_strips,
    times,
)

RNG = np.random.default_rng(7)


def bent(code: np.ndarray) -> np.ndarray:
    return (np.asarray(code, dtype=float) / 255.0) ** 0.75


def test_nodes_run_from_black_to_white_closer_in_the_dark() -> None:
    codes = node_codes(9)
    assert (codes[0], codes[-1]) == (0.0, 255.0)
    assert np.all(np.diff(codes, n=2) > 0)
    assert np.diff(bent(codes)) == pytest.approx(np.full(8, 1 / 8))
    colours = node_colours(even_axes(3))
    assert colours.shape == (27, 3)
    assert colours[1] == pytest.approx([0.0, 0.0, node_codes(3)[1]])


@pytest.mark.parametrize("code", [0.0, 3.0, 34.0, 128.0, 236.0, 254.0, 255.0])
def test_a_code_can_be_made_a_node(code: float) -> None:
    codes = node_codes(9, through=code)
    assert code in codes
    assert np.all(np.diff(codes) > 0)
    assert (codes[0], codes[-1]) == (0.0, 255.0)


def test_between_nodes_as_scipy() -> None:
    values = RNG.random((5, 7, 7, 2))
    axes = (node_codes(5), node_codes(5, through=90.0), node_codes(5, through=30.0))
    codes = np.array([0.0, 1.0, 37.5, 128.0, 200.0, 255.0])
    onto = (codes, codes[1:], codes)
    theirs = RegularGridInterpolator(tuple(bent(axis) for axis in axes), values)
    grid = np.stack(np.meshgrid(*onto, indexing="ij"), axis=-1)
    assert resampled(values, axes, onto) == pytest.approx(theirs(bent(grid)), abs=1e-12)
    assert line_weights(codes, nodes=axes[1]).sum(axis=1) == pytest.approx(np.ones(6))


def test_a_finer_lattice_keeps_the_nodes_of_the_coarser() -> None:
    values = RNG.random((125, 3))
    fine = refined(values, even_axes(5), even_axes(9)).reshape(9, 9, 9, 3)
    assert fine[::2, ::2, ::2].reshape(-1, 3) == pytest.approx(values, abs=1e-12)


@settings(max_examples=20)
@given(st.integers(1, 900), st.integers(1, 40), st.integers(1, 40))
def test_a_product_in_pieces_is_the_product(rows: int, inner: int, columns: int) -> None:
    rng = np.random.default_rng(rows)
    a, b = rng.random((rows, inner)), rng.random((inner, columns))
    assert times(a, b) == pytest.approx(a @ b, abs=1e-9)


def test_a_picture_through_a_table() -> None:
    """Identity and a product of channels, which is not straight: within the cell's own bend."""
    codes = node_codes(33) / 255.0
    r, g, b = np.meshgrid(codes, codes, codes, indexing="ij")
    table = picture_table(np.stack([r, g, b, r * g, np.full_like(r, 0.5)], axis=-1), even_axes(33))
    picture = RNG.integers(0, 256, (40, 30, 4), dtype=np.uint8)
    picture[..., 3] = 255
    found = table(picture)[..., : table.channels].astype(int)
    # 7 bits: half a code off at most, and half a code of rounding
    assert np.abs(found[..., :3] - picture[..., :3]).max() <= 1
    product = picture[..., 0] / 255.0 * picture[..., 1]
    assert np.abs(found[..., 3] - product).max() <= 1.6
    assert np.all(found[..., 4] == 128)
    picture[5, 5, 3] = 0
    assert not table(picture)[5, 5].any()
    picture[5, 5, 3] = 1
    assert table(picture)[5, 5].any()


@pytest.mark.parametrize("ground", [(0, 0, 0), (255, 255, 255), (40, 90, 200)])
def test_alpha_as_pillow_composes_it(ground: tuple[int, int, int]) -> None:
    picture = RNG.integers(0, 256, (64, 64, 4), dtype=np.uint8)
    picture[0, :, 3], picture[1, :, 3] = 0, 255
    below = Image.new("RGBA", (64, 64), (*ground, 255))
    theirs = np.asarray(Image.alpha_composite(below, Image.fromarray(picture)))
    laid = laid_on(picture, ground)
    assert np.abs(laid[..., :3].astype(int) - theirs[..., :3]).max() <= 1
    assert np.array_equal(laid[..., 3], picture[..., 3])
    assert np.array_equal(laid[0, :, :3], np.broadcast_to(np.uint8(ground), (64, 3)))
    assert np.array_equal(laid[1], picture[1])


def test_an_opaque_strip_is_not_copied() -> None:
    picture = np.full((4, 4, 4), 255, dtype=np.uint8)
    assert laid_on(picture, (0, 0, 0)) is picture


@pytest.mark.parametrize("shape", [(1, 1), (50, 20_000), (20_000, 50), (700, 1500)])
def test_strips_cover_every_row_once(shape: tuple[int, int]) -> None:
    seen = np.zeros(shape[0], dtype=int)

    def work(top: int, low: int) -> None:
        seen[top:low] += 1

    by_strips(*shape, work)
    assert np.all(seen == 1)
    assert list(row_strips(*shape))[-1][1] == shape[0]


def test_a_fault_in_a_strip_is_raised() -> None:
    def work(_top: int, _low: int) -> None:
        raise InputError("no.")

    with pytest.raises(InputError, match="no"):
        by_strips(10, 10, work)


@pytest.mark.parametrize("nodes", [2, 66])
def test_a_lattice_has_a_sane_size(nodes: int) -> None:
    with pytest.raises(InputError, match="3 to 65"):
        node_codes(nodes)
