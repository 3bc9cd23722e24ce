"""The print model inverted: the shares at which each of many sets of inks comes closest.

All sets on all films at once, by Levenberg–Marquardt in θ of wet shares

    w = least + (1 − Σ least) · softmax(θ),

so that no share leaves its range and a share's logarithm, on which a color depends most evenly, is
what moves. Derivatives of the reflectance by k and s of the mixture are two more looks at the
films, whatever the number of inks (a third on bare cloth, for the solids), for k and s are linear
in the shares.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.mixing.aim import Aim
from inksim.mixing.films import Films
from inksim.stock import mixed_ks

_DIFFERENCE = 1e-4
_LONGEST = 1.5  # step of a θ: a share moves at most 4.5-fold
_DONE = 1e-5  # relative gain of the square below which a set is done


@dataclass(frozen=True, kw_only=True, eq=False)
class StockArrays:
    """n inks as arrays: k, s (n, 31) per unit of wet ink; solids, directness (n,).

    load (n,): what an ink adds to the load of pigment, and below 0 takes from it, per wet volume:
    with densities ρ and the most m of a concentrate, ρ·(1/m − 1) of a concentrate and −ρ of others,
    so that Σ w·load ≤ 0 says Σ massᵢ/mᵢ ≤ mass. None where there is no concentrate.
    """

    k: FloatArray
    s: FloatArray
    solids: FloatArray
    directness: FloatArray
    load: FloatArray | None = None

    def on(self, every: int) -> StockArrays:
        """The inks on every so many-th band."""
        return replace(self, k=self.k[:, ::every], s=self.s[:, ::every])


@dataclass(frozen=True, kw_only=True, eq=False)
class Sets:
    """P sets of at most m inks, each on one of the films.

    ink (P, m): indices into the stock, −1 pads. film (P,): index. theta (P, m): of the shares.
    least: wet share that every ink of a set has at least. square (P,): inf where not worked out.
    """

    ink: IndexArray
    film: IndexArray
    theta: FloatArray
    least: float
    square: FloatArray

    def __len__(self) -> int:
        """Number of sets."""
        return len(self.film)

    def take(self, which: IndexArray | BoolArray) -> Sets:
        """Some of the sets."""
        return replace(
            self, ink=self.ink[which], film=self.film[which], theta=self.theta[which],
            square=self.square[which],
        )  # fmt: skip

    @property
    def count(self) -> IndexArray:
        """Number of inks (P,)."""
        return np.asarray((self.ink >= 0).sum(axis=1))

    @property
    def free(self) -> FloatArray:
        """softmax(θ) (P, m), 0 where it pads: what is shared out above the least."""
        there = self.ink >= 0
        theta = np.where(there, self.theta, -np.inf)
        raised = np.exp(theta - theta.max(axis=1, keepdims=True))
        return np.asarray(raised / raised.sum(axis=1, keepdims=True))

    @property
    def wet(self) -> FloatArray:
        """Wet volume shares (P, m), 0 where it pads."""
        there = self.ink >= 0
        return np.where(
            there, self.least + (1.0 - self.least * self.count[:, None]) * self.free, 0.0
        )


def joined(parts: list[Sets]) -> Sets:
    """Sets one after the other."""
    return replace(
        parts[0],
        ink=np.concatenate([each.ink for each in parts]),
        film=np.concatenate([each.film for each in parts]),
        theta=np.concatenate([each.theta for each in parts]),
        square=np.concatenate([each.square for each in parts]),
    )


def mixture(sets: Sets, stock: StockArrays) -> tuple[FloatArray, FloatArray, FloatArray]:
    """k, s (P, bands) per unit of wet ink and solids (P,) of the sets' mixtures."""
    k, s, _ = mixed_ks(
        sets.wet, stock.k[sets.ink], stock.s[sets.ink], directness=stock.directness[sets.ink]
    )
    return k, s, np.sum(sets.wet * stock.solids[sets.ink], axis=1)


def looks(sets: Sets, stock: StockArrays, films: Films) -> FloatArray:
    """External reflectance (P, bands) of the sets as they are."""
    k, s, solids = mixture(sets, stock)
    return films.reflectance(sets.film, k, s, solids=solids)


def slopes(sets: Sets, stock: StockArrays, films: Films) -> tuple[FloatArray, FloatArray]:
    """Reflectance (P, bands), and its derivatives (P, m, bands) by the wet shares.

    The directness of the mixture is held: it hardly moves with the shares.
    """
    wet, P = sets.wet, len(sets)
    own_k, own_s = stock.k[sets.ink], stock.s[sets.ink]
    bare = [np.einsum("pm,pmb->pb", wet, each) for each in (own_k, own_s)]
    solids = np.sum(wet * stock.solids[sets.ink], axis=1)
    moves = [(1.0, 1.0, 1.0), (1.0 + _DIFFERENCE, 1.0, 1.0), (1.0, 1.0 + _DIFFERENCE, 1.0)]
    if films.by_solids(sets.film):
        moves.append((1.0, 1.0, 1.0 + _DIFFERENCE))
    directness = stock.directness[sets.ink]
    pairs = [_effective(bare[0] * k, bare[1] * s, wet, own_k, directness) for k, s, _ in moves]
    R = films.reflectance(
        np.tile(sets.film, len(moves)),
        np.concatenate([k for k, _ in pairs]),
        np.concatenate([s for _, s in pairs]),
        solids=np.concatenate([solids * more for *_, more in moves]),
    ).reshape(len(moves), P, -1)
    by_k, by_s = ((each - R[0]) / _DIFFERENCE for each in R[1:3])
    dR = own_k * (by_k / np.maximum(bare[0], 1e-12))[:, None]
    dR += own_s * (by_s / np.maximum(bare[1], 1e-12))[:, None]
    if len(moves) > 3:
        by_solids = (R[3] - R[0]) / _DIFFERENCE
        dR += (stock.solids[sets.ink] / solids[:, None])[..., None] * by_solids[:, None]
    return R[0], dR * (sets.ink >= 0)[..., None]


def _effective(
    k: FloatArray, s: FloatArray, wet: FloatArray, own_k: FloatArray, directness: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """k and s with the directness of the light put in, as `mixed_ks` does."""
    if not np.any(directness):
        return k, s
    one = np.ones((len(k), 1))
    absorbed = wet * own_k.sum(axis=-1)
    eta = np.sum(absorbed * directness, axis=1) / np.maximum(absorbed.sum(axis=1), 1e-30)
    K, S, _ = mixed_ks(one, k[:, None], s[:, None], directness=eta[:, None])
    return K, S


def descend(
    sets: Sets, stock: StockArrays, films: Films, *, aim: Aim, steps: int, enough: float = 0.0
) -> Sets:
    """Move all sets towards their least square; each is let go once it gains nothing more.

    enough: a square below which a set is near enough.
    """
    sets = held_to_load(sets, stock)
    theta, square = sets.theta.copy(), np.full(len(sets), np.inf)
    damping = np.full(len(sets), 1e-3)
    trial, active = theta.copy(), np.arange(len(sets))
    kept: dict[str, FloatArray] = {}
    m = sets.ink.shape[1]
    for step in range(steps + 1):
        own = replace(sets.take(active), theta=trial[active])
        R, dR = slopes(own, stock, films)
        free = own.free
        scale = 1.0 - own.least * own.count[:, None, None]
        along = scale * free[..., None] * (dR - np.einsum("pm,pmb->pb", free, dR)[:, None])
        f, g, H = aim.normal(R, along)
        if step == 0:
            kept = {"g": np.zeros((len(sets), m)), "H": np.zeros((len(sets), m, m))}
        better = f < square[active]
        gain = (square[active] - f) / np.maximum(f, 1e-12)
        took = active[better]
        theta[took], square[took] = trial[took], f[better]
        kept["g"][took], kept["H"][took] = g[better], H[better]
        damping[took] *= 0.2
        damping[active[~better]] *= 8.0
        done = (better & (gain < _DONE)) | (square[active] < enough) | (damping[active] > 1e4)
        active = active[~done]
        if not active.size or step == steps:
            break
        moved = theta[active] + _step(kept["g"][active], kept["H"][active], damping[active])
        trial[active] = held_to_load(replace(sets.take(active), theta=moved), stock).theta
    return replace(sets, theta=theta, square=square)


def held_to_load(sets: Sets, stock: StockArrays) -> Sets:
    """The sets with their concentrates let down to what the rest of the mix can bind."""
    if stock.load is None:
        return sets
    for _ in range(8):  # the least of each share is not let down: so it takes more than once
        load = sets.wet * stock.load[sets.ink]
        over = np.where(load > 0, load, 0.0).sum(axis=1)
        bound = np.maximum(-np.where(load < 0, load, 0.0).sum(axis=1), 1e-12)
        down = np.log(np.maximum(over / bound, 1.0))[:, None]
        sets = replace(sets, theta=sets.theta - np.where(load > 0, down, 0.0))
    return sets


def _step(g: FloatArray, H: FloatArray, damping: FloatArray) -> FloatArray:
    """Step (P, m): (H + μ·diag) δ = −g, shortened evenly where a θ would move too far."""
    m = g.shape[1]
    size = np.einsum("pii->pi", H)
    ridge = damping[:, None] * (size + size.mean(axis=1, keepdims=True)) + 1e-9
    step = np.linalg.solve(H + ridge[:, None] * np.eye(m), -g[..., None])[..., 0]
    longest = np.abs(step).max(axis=1, keepdims=True)
    return np.asarray(step * np.minimum(1.0, _LONGEST / np.maximum(longest, 1e-12)))
