"""Invert the halftone model: coverages whose print is nearest a color, for many colors at once.

The equations are those of `optics.halftone`, differentiated. The base is carried as
one number s, 0..2, instead of its coverage: β = min(s, 1) is the share of the colors that lies on
the base, e = max(s − 1, 0) the share of the uncovered area that shows the base bare, so that
b = β·u + e·(1 − u) and the constraints are simple bounds: a base never shows bare beside color
on the cloth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from inksim.colour import cielab_from_xyz
from inksim.common import Float32Array, FloatArray, IndexArray
from inksim.separation.rgb_lattice import times

SAMPLES, GUESSES = 700, 3
"""Random coverages (fixed seeds) per first guess, and number of guesses."""
INK_WEIGHT = 0.6
"""Mean penalty of a solid of an ink, ΔE²: small enough not to move a color that is in
reach by a quarter of a ΔE, large enough that of many ways to print it the one with least ink wins
and that neighboring colors take neighboring ways."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Mosaic:
    """Primaries prepared for mixing at K places, bands × quantiles.

    root: (P, K) reflectances to the power 1/n, cloth first, then the same on the base if there is
    one. xyz: (K, 3) XYZ per unit of light at each place. white: (3,) XYZ of the white.
    """

    inks: int
    has_base: bool
    n: float
    root: Float32Array
    xyz: Float32Array
    white: FloatArray

    @property
    def unknowns(self) -> int:
        """Number of unknowns: coverages of the inks, and s of the base if there is one."""
        return self.inks + self.has_base


def mosaic(
    primaries: FloatArray,
    *,
    quantile_weight: FloatArray,
    light: FloatArray,
    n: float,
    has_base: bool,
    paired: bool = False,
) -> Mosaic:
    """Prepare a `Mosaic` of primaries (Q, P, 31), given the weights (Q,) of the quantiles.

    light: (31, 3) tristimulus weights of the viewing, ASTM E308. paired: bands of 20 nm, half as
    many; moves colors by less than 0.5 ΔE00, mostly by 0.15.
    """
    if paired:
        primaries, light = _pairs(primaries, axis=-1) / [*[2.0] * 15, 1.0], _pairs(light, axis=0)
    count = primaries.shape[1]
    inks = int(np.log2(count)) - has_base
    spectra = np.moveaxis(primaries, 1, 0).reshape(count, -1)
    return Mosaic(
        inks=inks,
        has_base=has_base,
        n=n,
        root=(spectra ** (1.0 / n)).astype(np.float32),
        xyz=(quantile_weight[:, None, None] * light).reshape(-1, 3).astype(np.float32),
        white=light.sum(axis=0),
    )


def _pairs(bands: FloatArray, *, axis: int) -> FloatArray:
    """Sums of pairs of bands, the last one alone."""
    return np.add.reduceat(bands, np.arange(0, bands.shape[axis], 2), axis=axis)


def mosaic_xyz(m: Mosaic, shares: FloatArray) -> FloatArray:
    """XYZ (M, 3) of prints whose primaries take shares (M, P)."""
    mixed = times(shares.astype(np.float32), m.root)
    light = np.exp(np.float32(m.n) * np.log(mixed))
    return times(light, m.xyz).astype(np.float64)


def coverages_of(unknowns: FloatArray, *, has_base: bool) -> FloatArray:
    """Coverages (..., C), base first, of the unknowns (..., N or N + 1), s last."""
    if not has_base:
        return unknowns
    a, s = unknowns[..., :-1], unknowns[..., -1]
    union = 1.0 - np.prod(1.0 - a, axis=-1)
    base = np.minimum(s, 1.0) * union + np.maximum(s - 1.0, 0.0) * (1.0 - union)
    return np.concatenate([base[..., None], a], axis=-1)


class _Print(NamedTuple):
    """Prints and their derivatives in the unknowns.

    lab (M, 3), slopes (M, 3, U + 1); base coverage (M,), base_slopes (M, U + 1). With a base the
    last two derivatives are in β and in e.
    """

    lab: FloatArray
    slopes: FloatArray
    base: FloatArray
    base_slopes: FloatArray


def _print(m: Mosaic, x: FloatArray) -> _Print:
    w, dw = _weights(x[:, : m.inks].astype(np.float32))
    if m.has_base:
        s = x[:, -1:].astype(np.float32)
        beta, bare = np.minimum(s, 1.0), np.maximum(s - 1.0, 0.0)
        share = np.repeat(beta, w.shape[1], axis=1)
        share[:, :1] = bare
        shares = np.concatenate([w * (1.0 - share), w * share], axis=1)
    else:
        shares = w
    mixed = times(shares, m.root)
    powered = np.exp(np.float32(m.n - 1.0) * np.log(mixed))
    xyz = times(powered * mixed, m.xyz)
    powered *= np.float32(m.n)
    # Derivatives of X, Y, Z in the share of each primary: (3, M, P).
    turned = np.ascontiguousarray(m.root.T)
    gain = np.stack([times(powered * m.xyz[:, k], turned) for k in range(3)])
    if m.has_base:
        cloth, on_base = np.split(gain, 2, axis=-1)
        gain = cloth * (1.0 - share) + on_base * share
    by_ink = np.einsum("kmp,imp->mki", gain, dw)
    union, du = 1.0 - w[:, 0], -dw[:, :, 0].T
    base, base_slopes = np.zeros(len(x)), np.zeros((len(x), m.inks + 2))
    by_base = np.zeros((len(x), 3, 2))
    if m.has_base:
        moved = w * (on_base - cloth)
        by_base[:, :, 0] = moved[:, :, 1:].sum(axis=-1).T
        by_base[:, :, 1] = moved[:, :, 0].T
        base = beta[:, 0] * union + bare[:, 0] * w[:, 0]
        base_slopes[:, : m.inks] = (beta - bare) * du
        base_slopes[:, -2], base_slopes[:, -1] = union, w[:, 0]
    lab, to_lab = _lab(xyz.astype(np.float64), m.white)
    slopes = to_lab @ np.concatenate([by_ink, by_base], axis=-1)
    return _Print(lab, slopes, base, base_slopes)


def _weights(a: Float32Array) -> tuple[Float32Array, Float32Array]:
    """Demichel weights (M, 2^N) and their derivatives (N, M, 2^N) in the coverages."""
    absent, there = 1.0 - a, a
    one = np.ones(len(a), dtype=np.float32)

    def product(moving: int) -> Float32Array:
        weights = one[:, None]
        for ink in range(a.shape[1]):
            low, high = (-one, one) if ink == moving else (absent[:, ink], there[:, ink])
            weights = np.concatenate([weights * low[:, None], weights * high[:, None]], axis=1)
        return weights

    return product(-1), np.stack([product(ink) for ink in range(a.shape[1])])


def _lab(xyz: FloatArray, white: FloatArray) -> tuple[FloatArray, FloatArray]:
    """CIELAB (M, 3) and its Jacobian (M, 3, 3) in XYZ."""
    t = xyz / white
    edge = 6.0 / 29.0
    slope = np.where(t > edge**3, np.maximum(t, 1e-9) ** (-2.0 / 3.0) / 3.0, 1 / (3 * edge**2))
    slope = slope / white
    rows = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
    return cielab_from_xyz(xyz, white=white), rows * slope[:, None, :]


def difference_weights(target: FloatArray) -> FloatArray:
    """Weights (M, 3, 3) that scale small differences in CIELAB to about CIEDE2000.

    Lightness, chroma and hue at the target over CIEDE2000's S_L, S_C and S_H (T = 1, no rotation).
    """
    L, a, b = target.T
    chroma = np.hypot(a, b)
    angle = np.arctan2(b, a)
    square = (L - 50.0) ** 2
    s_l = 1.0 + 0.015 * square / np.sqrt(20.0 + square)
    s_c, s_h = 1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma
    weights = np.zeros((len(target), 3, 3))
    weights[:, 0, 0] = 1.0 / s_l
    weights[:, 1, 1], weights[:, 1, 2] = np.cos(angle) / s_c, np.sin(angle) / s_c
    weights[:, 2, 1], weights[:, 2, 2] = -np.sin(angle) / s_h, np.cos(angle) / s_h
    return weights


class _Goal(NamedTuple):
    """Objective of M prints, all weights in ΔE².

    target (M, 3) CIELAB; weights (M, 3, 3), see `difference_weights`; ink (1 + N,) penalty of a
    solid of the base and of each ink; anchor (M, U) unknowns to stay near, with weight `hold`.
    """

    target: FloatArray
    weights: FloatArray
    ink: FloatArray
    anchor: FloatArray
    hold: float

    def part(self, some: IndexArray) -> _Goal:
        """Some of the prints."""
        return self._replace(
            target=self.target[some], weights=self.weights[some], anchor=self.anchor[some]
        )


class _State(NamedTuple):
    """Unknowns (M, U) with objective (M,), gradient (M, U) and Gauss-Newton Hessian (M, U, U)."""

    x: FloatArray
    value: FloatArray
    gradient: FloatArray
    curvature: FloatArray


def _state(m: Mosaic, x: FloatArray, goal: _Goal) -> _State:
    """Objective 2(√(1 + d²) − 1) + Σ ink·coverage² + hold·|x − anchor|², d = |W·ΔLab|.

    The first term is d² where the color is in reach and 2d far outside, so that no solids are
    printed for a tenth of a ΔE. Gradient and curvature are those of a Gauss-Newton step. At s = 1
    the base may move either way: the side on which the objective falls is taken.
    """
    seen = _print(m, x)
    miss = np.einsum("mij,mj->mi", goal.weights, seen.lab - goal.target)
    square = 1.0 + np.einsum("mi,mi->m", miss, miss)
    shrink = square**-0.25
    root_ink = np.sqrt(goal.ink)
    amounts = np.concatenate([seen.base[:, None], x[:, : m.inks]], axis=1) * root_ink
    residual = np.concatenate([miss * shrink[:, None], amounts], axis=1)
    J = np.zeros((len(x), m.inks + 4, m.inks + 2))
    J[:, :3] = (goal.weights @ seen.slopes) * shrink[:, None, None]
    J[:, 3] = seen.base_slopes * root_ink[0]
    J[:, 4:, : m.inks] = np.diag(root_ink[1:])
    if m.has_base:
        up = np.einsum("mi,mi->m", J[:, :, -1], residual)
        bare = (x[:, -1] > 1.0) | ((x[:, -1] == 1.0) & (up < 0.0))
        J[:, :, -2] = np.where(bare[:, None], J[:, :, -1], J[:, :, -2])
    J = J[:, :, : m.unknowns]
    away = x - goal.anchor
    return _State(
        x,
        2.0 * (np.sqrt(square) - 1.0)
        + np.einsum("mi,mi->m", amounts, amounts)
        + goal.hold * np.einsum("mu,mu->m", away, away),
        np.einsum("miu,mi->mu", J, residual) + goal.hold * away,
        np.swapaxes(J, 1, 2) @ J + goal.hold * np.eye(m.unknowns),
    )


def _step(m: Mosaic, state: _State, damping: FloatArray) -> FloatArray:
    """One damped Gauss-Newton step within the bounds, by an active set."""
    x, gradient = state.x, state.gradient
    low, high = np.zeros_like(x), np.ones_like(x)
    if m.has_base:
        above = (x[:, -1] > 1.0) | ((x[:, -1] == 1.0) & (gradient[:, -1] < 0.0))
        low[:, -1], high[:, -1] = np.where(above, 1.0, 0.0), np.where(above, 2.0, 1.0)
    held = ((x <= low) & (gradient >= 0.0)) | ((x >= high) & (gradient <= 0.0))
    A = np.where(held[:, :, None] | held[:, None, :], 0.0, state.curvature)
    diagonal = np.arange(m.unknowns)
    A[:, diagonal, diagonal] = np.where(
        held, 1.0, A[:, diagonal, diagonal] * (1.0 + damping[:, None]) + 1e-6
    )
    step = np.linalg.solve(A, np.where(held, 0.0, gradient)[:, :, None])[:, :, 0]
    return np.clip(x - step, low, high)


def first_guess(m: Mosaic, target: FloatArray, *, ink: FloatArray, sequence: int = 0) -> FloatArray:
    """Best for each target of `SAMPLES` random coverages and every corner."""
    rng = np.random.default_rng(sequence)
    x = rng.random((SAMPLES, m.unknowns))
    # Solutions are often on the bounds: many values are put there.
    x = np.clip(x * 1.8 - 0.4, 0.0, 1.0)
    corners = np.array(np.meshgrid(*[[0.0, 1.0]] * m.unknowns)).reshape(m.unknowns, -1).T
    x = np.concatenate([corners, x])
    if m.has_base:
        x[:, -1] *= 2.0
    seen = _print(m, x)
    amounts = np.concatenate([seen.base[:, None], x[:, : m.inks]], axis=1) ** 2 @ ink
    best = np.empty(len(target), dtype=np.intp)
    of_target, of_print = _square_parts(target, seen.lab)
    for top in range(0, len(target), 256):
        part = slice(top, top + 256)
        square = 1.0 + np.maximum(of_target[part] @ of_print, 0.0)
        best[part] = np.argmin(2.0 * np.sqrt(square) + amounts, axis=1)
    return x[best]


def _square_parts(target: FloatArray, lab: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Factors (M, 10) and (10, S) whose product is |W·(lab − target)|² of each with each.

    W as in `difference_weights`: the square, multiplied out, is one product of two tables.
    """
    weights = difference_weights(target)
    A = np.swapaxes(weights, 1, 2) @ weights
    turned = np.einsum("mij,mj->mi", A, target)
    rows, columns = np.triu_indices(3)
    twice = np.where(rows == columns, 1.0, 2.0)
    squares = np.einsum("mi,mi->m", turned, target)
    of_target = np.concatenate(
        [A[:, rows, columns] * twice, -2.0 * turned, squares[:, None]], axis=1
    )
    of_print = np.concatenate([lab[:, rows] * lab[:, columns], lab, np.ones((len(lab), 1))], axis=1)
    return of_target, of_print.T


class Found(NamedTuple):
    """Solutions: unknowns (M, U) and objective (M,)."""

    x: FloatArray
    value: FloatArray


def closest(
    m: Mosaic,
    target: FloatArray,
    *,
    ink: FloatArray,
    start: FloatArray | None = None,
    anchor: FloatArray | None = None,
    hold: float = 0.0,
    rounds: int = 14,
) -> Found:
    """Solve for the prints closest to targets (M, 3) CIELAB, with least ink among several.

    Minimizes the objective of `_state` by damped Gauss-Newton steps, all targets at once, from
    `start` or the best of several `first_guess`es; `hold` keeps the result near `anchor` (the start
    if not given), for smoothness over the targets.

    Parameters
    ----------
    ink : (1 + N,) penalty of a solid in ΔE², of the base (0 without one) and of each ink.
    start, anchor : (M, U) unknowns.
    """
    if start is None:
        several = [
            closest(m, target, ink=ink, start=first_guess(m, target, ink=ink, sequence=at),
                    anchor=anchor, hold=hold, rounds=rounds)
            for at in range(GUESSES)
        ]  # fmt: skip
        best = np.argmin([each.value for each in several], axis=0)
        rows = np.arange(len(target))
        return Found(*(np.stack(part)[best, rows] for part in zip(*several, strict=True)))
    x = np.array(start, dtype=np.float64)
    goal = _Goal(target, difference_weights(target), ink, x if anchor is None else anchor, hold)
    state = _state(m, x.copy(), goal)
    damping = np.full(len(target), 1e-2)
    busy = np.arange(len(target))
    for _ in range(rounds):
        here = _State(*(part[busy] for part in state))
        tried = _state(m, _step(m, here, damping[busy]), goal.part(busy))
        better = tried.value < here.value
        for whole, part in zip(state, tried, strict=True):
            whole[busy[better]] = part[better]
        damping[busy] = np.clip(damping[busy] * np.where(better, 0.2, 8.0), 1e-4, 1e6)
        settled = better & (here.value - tried.value < 1e-3)
        busy = busy[~settled & (damping[busy] < 1e4)]
        if not busy.size:
            break
    return Found(state.x, state.value)


def agreed(m: Mosaic, target: FloatArray, found: Found, *, ink: FloatArray) -> Found:
    """Retry solutions on a lattice of n³ targets from their neighbors' solutions.

    There are often several local minima; a neighbor that found a better one passes it on, so that
    the plates do not jump between them.
    """
    n = round(len(target) ** (1 / 3))
    x, value = found.x.copy(), found.value.copy()
    for _ in range(2):
        for axis in range(3):
            for way in (1, -1):
                cube = x.reshape(n, n, n, -1)
                start = np.roll(cube, way, axis=axis)
                edge = 0 if way == 1 else -1
                np.moveaxis(start, axis, 0)[edge] = np.moveaxis(cube, axis, 0)[edge]
                tried = closest(m, target, ink=ink, start=start.reshape(x.shape), rounds=3)
                better = tried.value < value - 1e-6
                x[better], value[better] = tried.x[better], tried.value[better]
    return Found(x, value)


def neighbours_mean(x: FloatArray) -> FloatArray:
    """Smooth a lattice (n³, U): weighted mean of each node and its neighbors; edges repeat."""
    n = round(len(x) ** (1 / 3))
    cube = x.reshape(n, n, n, -1)
    for axis in range(3):
        wide = np.concatenate([cube.take([0], axis), cube, cube.take([-1], axis)], axis=axis)
        parts = [wide.take(range(at, at + n), axis) for at in range(3)]
        cube = 0.25 * parts[0] + 0.5 * parts[1] + 0.25 * parts[2]
    return cube.reshape(len(x), -1)
