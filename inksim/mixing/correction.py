"""Correct a bucket: what a reading tells of the inks in it, and what to add.

Readings are weighed against what may be off beforehand (`bucket_model`) by a Gauss–Newton
maximum of the posterior; its inverse Hessian is how far each is still open. Then the addition x ≥ 0
of the inks that are in the bucket, at most as much again as it holds, is looked for whose print has
the least expected ΔE00 (`scipy.optimize`, SLSQP).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing, delta_e_2000
from inksim.common import FloatArray, InputError
from inksim.decision import aimed_at
from inksim.mixing.bucket import Bucket
from inksim.mixing.bucket_model import (
    STEP,
    WEIGHING_SD,
    BucketModel,
    about,
    slopes,
)
from inksim.printing import normal_points
from inksim.shop import Shop
from inksim.stock import Ink, Recipe, recipe_of

MOST_ADDED = 1.0
"""Of what is in the bucket: who would have to add more mixes anew [assumption]."""
FARTHER_DE00 = 1.0
"""A bucket that stays this much farther than a new one is not worth more ink [assumption]."""
WORTH_DE00 = 0.1
"""An addition that brings the print nearer by less is not made: no eye sees it [assumption]."""
INK_DE00 = 0.3
"""ΔE00 that as much again as is in the bucket has to bring at least: it takes the smaller of two
additions that do as well [assumption]."""
STEPS, ENOUGH = 15, 1e-4
POINTS = 64
UNLIKELY = 27.0
"""Squared distance of a reading's color from what is expected of it, in standard deviations: one in
150 000 readings lies farther (χ² of 3)."""


@dataclass(frozen=True, kw_only=True)
class InkStrength:
    """Strength of an ink in the bucket: factors on its K and S, and the sd of their logarithms."""

    ink: str
    K: float
    K_sd: float
    S: float
    S_sd: float


@dataclass(frozen=True, kw_only=True)
class Added:
    """What to add of an ink: grams for the bucket, and per kilogram in it."""

    ink: str
    grams: float
    per_kg: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Correction:
    """What to do with a bucket.

    Parameters
    ----------
    read_de00 : of the last reading from the target; of a drawdown None.
    now_de00, expected_de00 : expected ΔE00 of the next print, as the bucket is and corrected.
    added : what to add, the most first; none where nothing is worth adding, or where adding does
        not get there. strengths : what the readings tell of each ink in the bucket.
    anew : the mix to start again with, where adding does not get there; else None.
    anew_de00 : expected ΔE00 of a new mix of these inks. after : the bucket with the addition.
    """

    bucket: Bucket
    after: Bucket
    read_de00: float | None
    now_de00: float
    expected_de00: float
    anew_de00: float
    added: tuple[Added, ...]
    strengths: tuple[InkStrength, ...]
    anew: Recipe | None


@dataclass(frozen=True, kw_only=True, eq=False)
class _Known:
    """What is known after the readings: z (N,) and its covariance (N, N)."""

    z: FloatArray
    covariance: FloatArray


def correct(bucket: Bucket, shop: Shop, *, viewing: Viewing = Viewing()) -> Correction:
    """Say what to add to a bucket, of the inks in it, so that its next print comes nearest.

    Parameters
    ----------
    bucket : with its readings, one or more.
    shop : whose press prints it, and whose scale weighs it.
    viewing : the light and the observer that differences hold for.

    Raises
    ------
    InputError : no reading; one that contradicts what was weighed, or the readings before it.
    """
    if not bucket.readings:
        raise InputError("the bucket was not read; give a reading of its print or drawdown.")
    standard = aimed_at(shop, bucket.target).lab(viewing)
    step = shop.rules.scale_step_g
    model = BucketModel(bucket=bucket, press=shop.press, viewing=viewing, step_g=step)
    known = _known(model)
    grams = bucket.batches.sum(axis=0)
    expect = _Expected(model, known, standard)
    now = float(expect(np.zeros((1, grams.size)), base=grams)[0])
    shares, anew = _nearest_mix(expect, grams)
    x = _best_addition(expect, grams, shares)
    least_g = 0.0 if "a part can be weighed" in shop.rules.not_kept else shop.rules.least_part_g
    x = np.round(np.minimum(x, _left_g(bucket.inks)) / step) * step
    x[x < least_g] = 0.0
    expected = float(expect(x[None], base=grams)[0])
    refused = min(expected, now) > anew + FARTHER_DE00
    if refused or expected > now - WORTH_DE00:
        x, expected = np.zeros_like(x), now
    last = bucket.readings[-1]
    return Correction(
        bucket=bucket,
        after=bucket.with_batch(x) if x.any() else bucket,
        read_de00=float(delta_e_2000(standard, last.seen))
        if last.card is None and last.viewing == viewing
        else None,
        now_de00=now,
        expected_de00=expected,
        anew_de00=anew,
        added=tuple(
            Added(
                ink=bucket.inks[i].name, grams=float(x[i]), per_kg=float(x[i] / grams.sum() * 1e3)
            )
            for i in np.argsort(-x, kind="stable")
            if x[i] > 0
        ),
        strengths=_strengths(model, known),
        anew=_recipe(bucket, shares, step_g=step) if refused else None,
    )


def _recipe(bucket: Bucket, shares: FloatArray, *, step_g: float) -> Recipe:
    """A new mix by weight shares (n,), as much as was weighed in at first."""
    kept = np.flatnonzero(shares > 1e-3)
    inks = [bucket.inks[i] for i in kept]
    wet = shares[kept] / [ink.density_g_cm3 for ink in inks]
    return recipe_of(inks, wet, grams=float(bucket.batches[0].sum()), step_g=step_g)


def _known(model: BucketModel) -> _Known:
    """Weigh the readings in one after another, each checked against those before it."""
    known = _Known(z=np.zeros(model.size), covariance=np.eye(model.size))
    readings = model.bucket.readings
    for at in range(len(readings)):
        _check_reading(model, known, at)
        known = _posterior(model, readings=at + 1, start=known.z)
    return known


def _check_reading(model: BucketModel, known: _Known, at: int) -> None:
    """Refuse a reading that nothing that may be off explains."""
    values = model.residuals(about(known.z), at)[:, :3]
    J = slopes(values)
    open_ = J.T @ known.covariance @ J + np.eye(3)
    distance = float(values[0] @ np.linalg.solve(open_, values[0]))
    if distance <= UNLIKELY:
        return
    away, usual = model.far(at, values[0], open_)
    if at:
        raise InputError(
            f"reading {at + 1} lies ΔE00 {away:.1f} from what the readings before it let expect, "
            f"some {usual:.1f}: they contradict each other, or the addition was not "
            "weighed as said; read again."
        )
    raise InputError(
        f"this reading lies ΔE00 {away:.1f} from what the mix prints by that build, where inks and "
        f"press explain some {usual:.1f}: it is of another build, garment or mix, or an ink was "
        "weighed wrong; check, and read again."
    )


def _posterior(model: BucketModel, *, readings: int, start: FloatArray) -> _Known:
    """The most probable z after the first readings, and its covariance, by Gauss–Newton."""

    def left(z: FloatArray) -> FloatArray:
        return np.concatenate([model.residuals(z, at) for at in range(readings)], axis=1)

    z = start
    cost = float(np.sum(left(z[None]) ** 2) + z @ z)
    for _ in range(STEPS):
        values = left(about(z))
        J, r = slopes(values).T, values[0]
        move = np.linalg.solve(J.T @ J + np.eye(z.size), -(J.T @ r + z))
        for _ in range(8):
            tried = float(np.sum(left((z + move)[None]) ** 2) + (z + move) @ (z + move))
            if tried < cost:
                break
            move = move / 2.0
        else:
            break
        z, gain, cost = z + move, cost - tried, tried
        if gain < ENOUGH:
            break
    J = slopes(left(about(z))).T
    covariance = np.linalg.inv(J.T @ J + np.eye(z.size))
    return _Known(z=z, covariance=np.asarray(covariance, dtype=np.float64))


class _Expected:
    """Expected ΔE00 of prints after additions, over what the readings leave open."""

    def __init__(self, model: BucketModel, known: _Known, standard: FloatArray) -> None:
        self.model, self.known, self.standard = model, known, standard
        self.root = np.zeros((3, 3))
        self.open_at(np.zeros(len(model.bucket.inks)), base=model.bucket.batches.sum(axis=0))

    def _grams(self, z: FloatArray, x: FloatArray, base: FloatArray) -> FloatArray:
        """True grams (P, n): what is in the bucket, if it is used, and x (P, n)."""
        if not base.any():
            return x
        return self.model.weighed(z, len(self.model.bucket.batches)) + x

    def open_at(self, x: FloatArray, *, base: FloatArray) -> None:
        """Work out the covariance of the print's Lab at an addition x (n,), and its weighing."""
        z = about(self.known.z)
        rows = np.broadcast_to(x, (len(z), x.size))
        J = slopes(self.model.lab(z, self._grams(z, rows, base)))
        more = np.concatenate([x[None], x + STEP * WEIGHING_SD * np.diag(x)])
        still = np.broadcast_to(self.known.z, (len(more), z.shape[1]))
        own = slopes(self.model.lab(still, self._grams(still, more, base)))
        covariance = J.T @ self.known.covariance @ J + own.T @ own
        root = np.linalg.cholesky(covariance + 1e-9 * np.eye(3))
        self.root = np.asarray(root, dtype=np.float64)

    def __call__(self, x: FloatArray, *, base: FloatArray) -> FloatArray:
        """Expected ΔE00 (P,) after each of the additions x (P, n)."""
        z = np.broadcast_to(self.known.z, (len(x), self.known.z.size))
        lab = self.model.lab(z, self._grams(z, x, base))
        drawn = lab[:, None] + normal_points(POINTS, 3) @ self.root.T
        return np.asarray(delta_e_2000(self.standard, drawn).mean(axis=1))


def _best_addition(expect: _Expected, grams: FloatArray, shares: FloatArray) -> FloatArray:
    """Grams (n,) to add, ≥ 0 and together at most `MOST_ADDED` of the bucket.

    Of a stored mix no more than is left of it.
    """
    total = float(grams.sum())
    each = np.minimum(_left_g(expect.model.bucket.inks) / total, MOST_ADDED)

    def worth(x: FloatArray) -> FloatArray:
        return np.asarray(expect(x * total, base=grams) + INK_DE00 * x.sum(axis=1))

    # what takes the bucket to the best shares, as far as it may
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.where(grams > 0, grams / total / np.maximum(shares, 1e-9), 0.0).max()
    towards = np.maximum(min(needed, 1.0 + MOST_ADDED) * shares - grams / total, 0.0)
    towards *= min(1.0, MOST_ADDED / max(float(towards.sum()), 1e-9))
    starts = [np.full(grams.size, 0.01), towards, 0.3 * towards]
    starts = [np.minimum(start, each) for start in starts]
    found = least(worth, starts, most=MOST_ADDED, exactly=False, each=each)
    expect.open_at(found * total, base=grams)
    return least(worth, [found], most=MOST_ADDED, exactly=False, each=each) * total


def _left_g(inks: Sequence[Ink]) -> FloatArray:
    """Grams (n,) that there are of each ink: of a stored mix what is left of it, of others ∞."""
    return np.array([np.inf if ink.left_g is None else ink.left_g for ink in inks])


def _nearest_mix(expect: _Expected, grams: FloatArray) -> tuple[FloatArray, float]:
    """Weight shares (n,) of the new mix that comes nearest, and its expected ΔE00."""
    nothing = np.zeros_like(grams)

    def worth(x: FloatArray) -> FloatArray:
        return expect(np.maximum(x, 1e-9), base=nothing)

    own = grams / grams.sum()
    even = np.full(grams.size, 1.0 / grams.size)
    found = least(worth, [own, 0.7 * own + 0.3 * even], most=1.0, exactly=True)
    return found, float(worth(found[None])[0])


def least(
    worth: Callable[[FloatArray], FloatArray],
    starts: list[FloatArray],
    *,
    most: float,
    exactly: bool,
    each: FloatArray | None = None,
) -> FloatArray:
    """x (n,) ≥ 0, summing to at most or exactly `most`, where a function of rows is least.

    each (n,): the most of each; `most` of all if not given.
    """
    from scipy.optimize import minimize

    n = starts[0].size
    tops = np.full(n, most) if each is None else each

    def both(x: FloatArray) -> tuple[float, FloatArray]:
        rows = np.concatenate([x[None], x + STEP * np.eye(n)])
        values = worth(np.maximum(rows, 0.0))
        return float(values[0]), (values[1:] - values[0]) / STEP

    room = {
        "type": "eq" if exactly else "ineq",
        "fun": lambda x: most - float(np.sum(x)),
        "jac": lambda _: -np.ones(n),
    }
    best, lowest = starts[0], np.inf
    for start in starts:
        done = minimize(
            both, start, jac=True, method="SLSQP", constraints=[room],
            bounds=[(0.0, float(top)) for top in tops], options={"maxiter": 60, "ftol": 1e-5},
        )  # fmt: skip
        x = np.clip(np.asarray(done.x), 0.0, tops)
        value = float(worth(x[None])[0])
        if value < lowest:
            best, lowest = x, value
    return best


def _strengths(model: BucketModel, known: _Known) -> tuple[InkStrength, ...]:
    """Mean factor on K and on S over the bands of each ink, and the sd of its logarithm."""
    ln = model.ln_factors(about(known.z)).mean(axis=-1)
    found = []
    for i, ink in enumerate(model.bucket.inks):
        J = slopes(ln[:, i])
        sd = np.sqrt(np.diag(J.T @ known.covariance @ J))
        K, S = np.exp(ln[0, i])
        found.append(
            InkStrength(ink=ink.name, K=float(K), K_sd=float(sd[0]), S=float(S), S_sd=float(sd[1]))
        )
    return tuple(found)
