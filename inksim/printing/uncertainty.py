"""Uncertainty of a prediction: 90 % interval of Lab and ΔE00, and the chance of landing.

Every uncertain input (press parameters, each ink's K and S and the cloth's dye with their shapes
over wavelength, what a discharge leaves, the model itself) has a standard deviation, by its entry,
provenance or calibration. Each is moved by one standard deviation either way, all builds at once;
that gives the print's Lab as a second-order response in every direction,

    Lab(z) = Lab0 + Σᵢ Jᵢ zᵢ + Σᵢ Cᵢ zᵢ²,    J = (L⁺ − L⁻)/2,   C = (L⁺ + L⁻ − 2·Lab0)/2,

where a parameter's range leaves room for both moves, and the parabola through the two moves that
there is room for where it does not (`sensitivity.Axis`).
The ends of the Lab interval follow from its cumulants; ΔE and the chance of landing are sampled at
512 fixed quasi-random normal z (scrambled Sobol points from a file). All of it is deterministic,
and tests hold it against a large Monte Carlo of the full model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from inksim.colour import Viewing, delta_e_2000, hex_code, lab as lab_of, xyz_from_lab
from inksim.common import DATA, BoolArray, FloatArray, IndexArray, scratch
from inksim.printing.build import Build, BuildTable, Slabs, flattened, lower, tabulate
from inksim.printing.sensitivity import (
    InkKinds,
    StockErrors,
    axis_steps,
    cloth_factors,
    factors_of,
    ink_kinds,
    ink_steps,
    is_seen,
    press_axes,
    stock_errors,
    strength_rows,
    with_discharge_left,
    with_inks,
)
from inksim.printing.swatches import mean_reflectance
from inksim.stock import Press, PressValues, Target

LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95
NORMAL_HIGH = 1.6448536269514722
"""95th percentile of the standard normal: value ± this many sds is a 90 % interval."""
Move = tuple[BuildTable, PressValues]
_BLOCK = 256  # builds of which all moves are held at once: 60 moves of 2 kB a build
_BATCH = 2000  # builds times moves worked out at once: 2 kB of slabs each
MOVED_NODES = 5
"""Quadrature nodes of a moved print: the width of an interval is then within 1.5 % of that
at 24, in six tenths of the time of the 8 nodes of the print itself."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Interval:
    """How sure a prediction is, 90 %.

    lab_low, lab_high (3,); de_low, de_median, de_high: of ΔE00, None without a target; within:
    probability that ΔE00 is inside `tolerance`, None without a target. hexes: what the print may
    look like at the near, the middle and the far end (the dark, middle and light end without a
    target).
    """

    lab_low: FloatArray
    lab_high: FloatArray
    de_low: float | None
    de_median: float | None
    de_high: float | None
    within: float | None
    tolerance: float
    hexes: tuple[str, str, str]


@dataclass(frozen=True, kw_only=True, eq=False)
class Spread:
    """Uncertainty of B predictions.

    lab_low, lab_high (B, 3), de_low, de_high (B,): 5th and 95th percentile; de_median (B,): the
    50th. within (B,): probability that ΔE00 is inside the tolerance. de_* and within are NaN
    without a target.
    corners (B, 3, 3): Lab at the 5th, 50th and 95th percentile of ΔE00 (of L* without a target),
    for showing the spread as swatches.
    """

    lab_low: FloatArray
    lab_high: FloatArray
    de_low: FloatArray
    de_median: FloatArray
    de_high: FloatArray
    within: FloatArray
    corners: FloatArray


SAMPLES, MOST_DIMENSIONS = 512, 64
OWN_POINTS = 12
"""Directions sampled each for itself; the others move a print by a tenth of what these do."""


@lru_cache(maxsize=32)
def normal_points(count: int, dimensions: int) -> FloatArray:
    """Fixed quasi-random standard normal points (count, dimensions).

    The first `count` (at best a power of two) of 512 scrambled Sobol points in up to 64 dimensions,
    through the inverse normal distribution function, brought to means of 0 and a covariance of 1:
    a few of their dimensions are correlated by as much as 0.13 otherwise.
    """
    if not (0 < count <= SAMPLES and 0 < dimensions <= MOST_DIMENSIONS):
        raise ValueError(f"there are {SAMPLES} points in {MOST_DIMENSIONS} dimensions")
    points = _table("normal")[:count, :dimensions].copy()
    points -= points.mean(axis=0)
    root = np.linalg.cholesky(points.T @ points / count)
    points = np.linalg.solve(root, points.T).T.copy()
    points.flags.writeable = False
    return points


def errors_of_builds(builds: Sequence[Build], *, layers: int) -> StockErrors:
    """How far the stock of some builds may be off."""
    inks = list({id(layer.ink): layer.ink for b in builds for layer in b.layers}.values())
    garments = list({id(b.garment): b.garment for b in builds}.values())
    of_ink = {id(ink): at for at, ink in enumerate(inks)}
    of_cloth = {id(garment): at for at, garment in enumerate(garments)}
    ink = np.full((len(builds), layers), -1, dtype=np.intp)
    for at, build in enumerate(builds):
        ink[at, : len(build.layers)] = [of_ink[id(layer.ink)] for layer in build.layers]
    cloth = np.array([of_cloth[id(build.garment)] for build in builds], dtype=np.intp)
    return stock_errors(inks, garments, ink=ink, cloth=cloth)


@dataclass(frozen=True, kw_only=True, eq=False)
class Response:
    """Second-order response of the Lab of B builds to every uncertain input.

    center (B, 3); slope, curve (n, B, 3): J and C above. about (n,): what each direction is about,
    'press', 'film 0' (of a build's layers, garment side first), 'film 1', …, 'cloth' or
    'discharge'. model_sd (B, 3): what the model itself leaves of L*, a*, b*.
    """

    centre: FloatArray
    slope: FloatArray
    curve: FloatArray
    about: tuple[str, ...]
    model_sd: FloatArray

    @property
    def shared(self) -> BoolArray:
        """Mask (n,) of the directions that all prints of a run on one garment share."""
        return np.array([not what.startswith("film") for what in self.about], dtype=np.bool_)

    def take(self, which: IndexArray | BoolArray) -> Response:
        """Return some of the builds, by index or mask."""
        return replace(
            self,
            centre=self.centre[which],
            slope=self.slope[:, which],
            curve=self.curve[:, which],
            model_sd=self.model_sd[which],
        )


def respond(table: BuildTable, errors: StockErrors, *, press: Press, viewing: Viewing) -> Response:
    """Compute the response: move every uncertain input either way, all builds at once."""
    kinds, axes = ink_kinds(errors), [axis for axis in press_axes(press) if is_seen(axis)]
    rows = strength_rows(press, errors)
    of_axes = [axis_steps(axis, rows, kinds) for axis in axes]
    of_inks = ink_steps(errors, rows, kinds, press=press)
    moving = np.flatnonzero(of_inks.any(axis=(1, 2, 3)))
    if moving.size:
        factors = factors_of(errors, kinds, of_inks[moving])
    cloths = cloth_factors(errors)
    per_film = errors.sds.shape[1]
    about = [
        *(["press"] * len(axes)),
        *(f"film {at // per_film}" for at in moving),
        *(["cloth"] * len(cloths)),
        *(["discharge"] if table.discharges.any() else []),
    ]

    def moved(part: BuildTable, of: StockErrors, builds: slice) -> list[Move]:
        """Every move of some builds, two to a direction."""
        own = InkKinds(kinds.kinds, kinds.kind[builds])
        moves: list[Move] = [(part, press.values)]
        for axis, steps in zip(axes, of_axes, strict=True):
            for values, place in ((axis.up, axis.at[0]), (axis.down, axis.at[1])):
                inks = part
                if steps.any():
                    inks = with_inks(part, own, factors_of(errors, kinds, place * steps[None])[0])
                moves.append((inks, values))
        for at in range(moving.size):
            moves.append((with_inks(part, own, factors[at]), press.values))
            moves.append((with_inks(part, own, 1.0 / factors[at]), press.values))
        for each in cloths:
            more = each[of.cloth]
            moves.append((replace(part, cloth_ks=part.cloth_ks * more), press.values))
            moves.append((replace(part, cloth_ks=part.cloth_ks / more), press.values))
        if table.discharges.any():
            for way in (1.0, -1.0):
                moves.append((with_discharge_left(part, of, steps=way), press.values))
        return moves

    at = np.tile([1.0, -1.0], (len(about), 1))
    at[: len(axes)] = [axis.at for axis in axes] or at[:0]
    slopes, curves = [], []
    for first in range(0, len(table.cloth_ks), _BLOCK):
        builds = slice(first, first + _BLOCK)
        labs = _labs(moved(table.take(builds), errors.take(builds), builds), viewing)
        slope, curve = _parabolas(labs[0], labs[1:].reshape(-1, 2, *labs.shape[1:]), at)
        slopes.append(slope)
        curves.append(curve)
    centre = lab_of(mean_reflectance(lower(table, press.values)), viewing)
    return Response(
        centre=centre,
        slope=np.concatenate(slopes, axis=1),
        curve=np.concatenate(curves, axis=1),
        about=tuple(about),
        model_sd=press.left_of(centre),
    )


def _parabolas(
    still: FloatArray, moved: FloatArray, at: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """J and C (n, B, 3) of the parabolas through `still` (B, 3) at z = 0 and two moves each.

    moved (n, 2, B, 3): at the z of `at` (n, 2), neither 0.
    """
    z = at[..., None, None]
    slopes = (moved - still) / z
    curve = (slopes[:, 0] - slopes[:, 1]) / (z[:, 0] - z[:, 1])
    return slopes[:, 0] - curve * z[:, 0], curve


def _labs(moves: Sequence[Move], viewing: Viewing) -> FloatArray:
    """Lab (moves, B, 3) of the same builds under many moves, several at a time."""
    builds = len(moves[0][0].cloth_ks)
    at_once = max(1, _BATCH // builds)
    parts = []
    for first in range(0, len(moves), at_once):
        some = moves[first : first + at_once]
        labs = lab_of(mean_reflectance(_lowered(some), nodes=MOVED_NODES), viewing)
        parts.append(labs.reshape(len(some), builds, 3))
    return np.concatenate(parts)


def _lowered(moves: Sequence[Move]) -> Slabs:
    """Slabs of the same builds under many moves, move after move along the builds.

    They are in scratch memory, valid until the next call.
    """
    tables, values = zip(*moves, strict=True)
    spectra = {}
    for field in ("K", "S", "cloth_ks", "discharged_ks"):
        each = [getattr(table, field) for table in tables]
        into = scratch(f"moved {field}", (len(each), *each[0].shape))
        spectra[field] = np.stack(each, out=into)
    several = PressValues(*(np.array(v) for v in zip(*values, strict=True)))
    return flattened(lower(replace(tables[0], **spectra), several, overwrite=True))


def draw(response: Response) -> FloatArray:
    """Sample the second-order response and the model's own error: Lab (512, B, 3).

    The `OWN_POINTS` directions that move a build most are sampled each for itself, the first where
    the points are most even. What the many small ones do together is nearly normal: they are
    sampled as one error of their summed mean and covariance, the model's own with them. So a build
    is sampled alike whatever builds are beside it.
    """
    centre = response.centre
    slope, curve = response.slope, response.curve
    order = np.argsort(-np.sum(slope**2 + 2.0 * curve**2, axis=-1), axis=0, kind="stable")
    slope, curve = (np.take_along_axis(each, order[..., None], axis=0) for each in (slope, curve))
    (slope, small), (curve, bent) = (np.split(each, [OWN_POINTS]) for each in (slope, curve))
    rest = np.einsum("nbi,nbj->bij", small, small) + 2.0 * np.einsum("nbi,nbj->bij", bent, bent)
    own = (response.model_sd**2 + 1e-12)[..., None] * np.eye(3)
    root = np.linalg.cholesky(rest + own)
    slope = np.concatenate([slope, np.moveaxis(root, -1, 0)])
    z = normal_points(SAMPLES, len(slope))
    both = np.concatenate([slope, curve]).reshape(len(slope) + len(curve), centre.size)
    # einsum: a threaded matrix product of this size waits longer than it works on a busy machine
    drawn = np.einsum("sn,nc->sc", np.concatenate([z, z[:, : len(curve)] ** 2], axis=1), both)
    drawn += (centre + bent.sum(axis=0)).reshape(-1)
    return np.asarray(drawn.reshape(SAMPLES, *centre.shape))


def lab_ends(response: Response) -> tuple[FloatArray, FloatArray]:
    """5th and 95th percentile (B, 3) of each of L*, a*, b* under the second-order response.

    Cornish & Fisher (1938), to the fourth cumulant, from the exact cumulants of Σ Jz + Cz² and the
    model's own error. 512 samples would know an end to 0.04 of the half-width only; this is within
    0.03 of it for invented inks, 0.02 for measured ones, and costs less.
    """
    J2, C = response.slope**2, response.curve
    C2 = C**2
    mean = response.centre + C.sum(axis=0)
    variance = (J2 + 2.0 * C2).sum(axis=0) + response.model_sd**2
    variance = np.maximum(variance, 1e-30)
    skew = ((6.0 * J2 + 8.0 * C2) * C).sum(axis=0) / variance**1.5
    excess = 48.0 * ((J2 + C2) * C2).sum(axis=0) / variance**2
    z = NORMAL_HIGH
    even = (z * z - 1.0) / 6.0 * skew
    odd = z + (z**3 - 3.0 * z) / 24.0 * excess - (2.0 * z**3 - 5.0 * z) / 36.0 * skew**2
    middle, half = mean + np.sqrt(variance) * even, np.sqrt(variance) * odd
    low, high = middle - half, middle + half
    low, high = np.minimum(low, response.centre), np.maximum(high, response.centre)
    for end in (low, high):
        np.clip(end[..., 0], 0.0, 100.0, out=end[..., 0])
    return low, high


def spread(
    builds: Sequence[Build],
    *,
    press: Press,
    viewing: Viewing,
    target: Target | None = None,
    tolerance: float = 3.0,
) -> Spread:
    """Return 90 % intervals of Lab and ΔE00, and P(ΔE00 ≤ tolerance), for every build at once."""
    table = tabulate(builds)
    errors = errors_of_builds(builds, layers=table.K.shape[-2])
    response = respond(table, errors, press=press, viewing=viewing)
    standard = None if target is None else target.lab(viewing)
    return summarize(response, standard=standard, tolerance=tolerance)


def summarize(
    response: Response, *, standard: FloatArray | None, tolerance: float | FloatArray
) -> Spread:
    """Percentiles and chance of landing of the B builds of a response.

    standard (3,) or (B, 3), tolerance a number or (B,): one for all builds, or each its own.
    """
    drawn = draw(response)
    np.clip(drawn[..., 0], 0.0, 100.0, out=drawn[..., 0])
    low, high = lab_ends(response)
    order = drawn[..., 0] if standard is None else delta_e_2000(standard, drawn)
    ordered = np.sort(np.ascontiguousarray(order.T), axis=1)
    if standard is None:
        nothing = np.full(len(ordered), np.nan)
        de_low, de_median, de_high, within = nothing, nothing, nothing, nothing
    else:
        # Harrell & Davis (1982), Biometrika 69: 635. All samples near a quantile bear on it, not
        # the two beside it alone: a tenth to a third closer to that of a large Monte Carlo.
        de_low, de_median, de_high = (
            np.einsum("bs,s->b", ordered, weights) for weights in _table("quantile_weights")
        )
        within = np.mean(order <= tolerance, axis=0)
    builds, places = (
        np.arange(len(ordered)),
        [round(q * (SAMPLES - 1)) for q in (LOW, MIDDLE, HIGH)],
    )
    picked = [np.argmax(order == ordered[:, place], axis=0) for place in places]
    corners = np.stack([drawn[which, builds] for which in picked], axis=1)
    return Spread(
        lab_low=low,
        lab_high=high,
        de_low=de_low,
        de_median=de_median,
        de_high=de_high,
        within=within,
        corners=corners,
    )


@lru_cache(maxsize=2)
def _table(name: str) -> FloatArray:
    """A table of tools/make_spread_tables.py."""
    with np.load(DATA / "spread.npz") as stored:
        return np.asarray(stored[name])


def interval_of(
    found: Spread, at: int, *, viewing: Viewing, aimed: bool, tolerance: float
) -> Interval:
    """Return one prediction's interval; aimed: whether the spread was held against a target."""
    near, middle, far = (
        hex_code(xyz_from_lab(corner, viewing), viewing)[0] for corner in found.corners[at]
    )
    return Interval(
        lab_low=found.lab_low[at],
        lab_high=found.lab_high[at],
        de_low=float(found.de_low[at]) if aimed else None,
        de_median=float(found.de_median[at]) if aimed else None,
        de_high=float(found.de_high[at]) if aimed else None,
        within=float(found.within[at]) if aimed else None,
        tolerance=tolerance,
        hexes=(near, middle, far),
    )
