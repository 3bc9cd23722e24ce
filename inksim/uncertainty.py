"""How sure a prediction is: a 90 % interval of Lab and ΔE, and the chance of landing.

Every unsure input (press parameters, each ink's K and S, the cloth's dye, what a discharge leaves,
the model itself) has a standard deviation that depends on where it came from. Each is moved by one
standard deviation either way, all builds at once; that gives the print's Lab as a second-order
response in every direction,

    Lab(z) = Lab0 + Σᵢ Jᵢ zᵢ + Σᵢ Cᵢ zᵢ²,    J = (L⁺ − L⁻)/2,   C = (L⁺ + L⁻ − 2·Lab0)/2,

which is then sampled at fixed quasi-random normal z (an additive recurrence, no random generator).
It is deterministic, and tests hold it against a large Monte Carlo of the full model.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from inksim.appearance import Viewing, hex_code, xyz_from_lab
from inksim.appearance import lab as lab_of
from inksim.build import Build, BuildTable, lower, tabulate
from inksim.build_space import NO_BASE, BuildSpace
from inksim.cielab import delta_e_2000
from inksim.garment import Garment
from inksim.kubelka_munk import Array
from inksim.predict import Interval, Prediction
from inksim.press import MEANINGS, Press, PressValues
from inksim.prints import swatch
from inksim.stock import Provenance
from inksim.target import Target

INK_K_SD: dict[Provenance, float] = {"measured": 0.04, "recovered": 0.25, "invented": 0.30}
"""Standard deviation of ln K of an ink, all bands together, by provenance [assumption]."""
INK_S_SD: dict[Provenance, float] = {"measured": 0.06, "recovered": 0.50, "invented": 0.30}
"""Standard deviation of ln S of an ink, all bands together, by provenance [assumption]."""
CLOTH_KS_SD: dict[Provenance, float] = {"measured": 0.03, "recovered": 0.08, "invented": 0.10}
"""Standard deviation of ln K/S of a cloth, from lot to lot and by provenance [assumption]."""
DISCHARGE_LEFT_SD = {True: 0.15, False: 0.60}
"""Standard deviation of ln (dye left): True for a discharged reading, False for a grade
[assumption]."""
MODEL_LAB_SD = 0.8
"""Standard deviation of each of L*, a*, b* that the model itself leaves [assumption]: calibrated
on its own mesh, ink and garment it is within 1–2 ΔE00."""
LOW, HIGH = 0.05, 0.95


@dataclass(frozen=True, kw_only=True, eq=False)
class Spread:
    """How sure B predictions are.

    lab_low, lab_high (B, 3), de_low, de_high (B,): 5th and 95th percentile. within (B,):
    probability that ΔE00 is inside the tolerance. de_* and within are NaN without a target.
    corners (B, 3, 3): Lab at the 5th, 50th and 95th percentile of ΔE00 (of L* without a target),
    for showing the spread as swatches.
    """

    lab_low: Array
    lab_high: Array
    de_low: Array
    de_high: Array
    within: Array
    corners: Array


@lru_cache(maxsize=32)
def normal_points(count: int, dimensions: int) -> Array:
    """Fixed quasi-random standard normal points (count, dimensions).

    Additive recurrence with the generalised golden ratio (Roberts 2018), through the inverse
    normal distribution function; shifted so that each dimension has mean 0.
    """
    from scipy.special import ndtri

    phi = 2.0
    for _ in range(40):
        phi = (1.0 + phi) ** (1.0 / (dimensions + 1.0))
    step = (1.0 / phi) ** np.arange(1, dimensions + 1)
    uniform = (0.5 + np.arange(1, count + 1)[:, None] * step) % 1.0
    points = np.asarray(ndtri(np.clip(uniform, 1e-9, 1 - 1e-9)))
    points -= points.mean(axis=0)
    points.flags.writeable = False
    return points


def press_directions(press: Press) -> list[tuple[PressValues, PressValues]]:
    """One standard deviation up and down each principal axis of the press's covariance."""
    values = np.array(press.values, dtype=np.float64)
    variance, axes = np.linalg.eigh(press.covariance)
    least = np.array([MEANINGS[name].least for name in PressValues._fields])
    most = np.array([MEANINGS[name].most for name in PressValues._fields])
    pairs = []
    for size, axis in zip(variance, axes.T, strict=True):
        if size > 1e-12:
            step = np.sqrt(size) * axis
            up, down = (np.clip(values + sign * step, least, most) for sign in (1.0, -1.0))
            pairs.append((PressValues(*up.tolist()), PressValues(*down.tolist())))
    return pairs


@dataclass(frozen=True, kw_only=True, eq=False)
class StockSds:
    """How unsure the stock of B builds is, as standard deviations of logarithms.

    K, S (B, L): of each layer's ink, 0 pads; cloth (B,): of the cloth's K/S; left (B,): of the dye
    that a discharge leaves.
    """

    K: Array
    S: Array
    cloth: Array
    left: Array


def stock_sds(builds: Sequence[Build], *, layers: int) -> StockSds:
    """Read how unsure the stock of some builds is."""
    k, s = np.zeros((2, len(builds), layers))
    for at, build in enumerate(builds):
        data = [layer.ink.data for layer in build.layers]
        k[at, : len(data)] = [INK_K_SD[d] for d in data]
        s[at, : len(data)] = [INK_S_SD[d] for d in data]
    cloths = [build.garment for build in builds]
    return StockSds(K=k, S=s, cloth=_cloth_sds(cloths), left=_left_sds(cloths))


def space_sds(space: BuildSpace) -> StockSds:
    """Read how unsure the stock of a space is: what `stock_sds` makes of its builds."""
    based = space.base != NO_BASE
    inks = (*space.inks, *space.bases)
    base = np.where(based, space.base + len(space.inks), 0)
    columns = []
    for by in (INK_K_SD, INK_S_SD):
        sd = np.array([by[ink.data] for ink in inks])
        over, under = sd[space.ink], sd[base]
        if based.any():
            pair = [np.where(based, under, over), np.where(based, over, 0.0)]
            columns.append(np.stack(pair, axis=1))
        else:
            columns.append(over[:, None])
    return StockSds(
        K=columns[0],
        S=columns[1],
        cloth=_cloth_sds(space.garments)[space.garment],
        left=_left_sds(space.garments)[space.garment],
    )


def _cloth_sds(garments: Sequence[Garment]) -> Array:
    return np.array([CLOTH_KS_SD[g.data] for g in garments])


def _left_sds(garments: Sequence[Garment]) -> Array:
    return np.array([DISCHARGE_LEFT_SD[g.discharged is not None] for g in garments])


def ink_directions(table: BuildTable, sds: StockSds) -> Iterator[tuple[BuildTable, BuildTable]]:
    """One standard deviation up and down for K and S of every layer's ink.

    Each moves in all builds at once; where a build has nothing to move it stays as it is.
    """
    for at in range(table.K.shape[-2]):
        for field in ("K", "S"):
            moved = np.zeros_like(sds.K)
            moved[:, at] = getattr(sds, field)[:, at]
            spectrum = getattr(table, field)
            up, down = (spectrum * np.exp(sign * moved)[..., None] for sign in (1.0, -1.0))
            yield replace(table, **{field: up}), replace(table, **{field: down})


def cloth_directions(table: BuildTable, sds: StockSds) -> Iterator[tuple[BuildTable, BuildTable]]:
    """One standard deviation up and down of the cloth, and of what a discharge leaves in it."""
    cloth = sds.cloth[:, None]
    yield tuple(  # type: ignore[misc]
        replace(table, cloth_ks=table.cloth_ks * np.exp(sign * cloth)) for sign in (1.0, -1.0)
    )
    if table.discharges.any():
        left = sds.left[:, None] * table.discharges[:, None]
        most = np.maximum(table.cloth_ks, table.discharged_ks)
        yield tuple(  # type: ignore[misc]
            replace(
                table,
                discharged_ks=np.minimum(table.discharged_ks * np.exp(sign * left), most),
            )
            for sign in (1.0, -1.0)
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Response:
    """How the Lab of B builds answers to every unsure input, in standard deviations.

    center (B, 3); slope, curve (n, B, 3): J and C above. shared (n,): whether all prints of a run
    on one garment share the direction (the press, the cloth, its discharge) or it is an ink's.
    """

    center: Array
    slope: Array
    curve: Array
    shared: npt.NDArray[np.bool_]

    def take(self, which: npt.NDArray[np.intp] | npt.NDArray[np.bool_]) -> Response:
        """Return some of the builds, by index or mask."""
        return replace(
            self,
            center=self.center[which],
            slope=self.slope[:, which],
            curve=self.curve[:, which],
        )


def respond(table: BuildTable, sds: StockSds, *, press: Press, viewing: Viewing) -> Response:
    """Move every unsure input by one standard deviation either way, for all builds at once."""
    values = press.values

    def lab(moved: BuildTable, at: PressValues = values) -> Array:
        return lab_of(swatch(lower(moved, at)), viewing)

    center = lab(table)
    pairs = [(lab(table, up), lab(table, down)) for up, down in press_directions(press)]
    inks_from = len(pairs)
    pairs += [(lab(up), lab(down)) for up, down in ink_directions(table, sds)]
    inks_to = len(pairs)
    pairs += [(lab(up), lab(down)) for up, down in cloth_directions(table, sds)]
    shared = np.ones(len(pairs), dtype=np.bool_)
    shared[inks_from:inks_to] = False
    return Response(
        center=center,
        slope=np.stack([(up - down) / 2.0 for up, down in pairs]),
        curve=np.stack([(up + down) / 2.0 - center for up, down in pairs]),
        shared=shared,
    )


def draw(response: Response, *, samples: int) -> Array:
    """Sample the second-order response and the model's own error: Lab (samples, B, 3)."""
    center, count = response.center, len(response.slope)
    z = normal_points(samples, count + 3)
    moved, noise = z[:, :-3], z[:, -3:]
    size = center.size
    drawn = moved @ response.slope.reshape(count, size)
    drawn += moved**2 @ response.curve.reshape(count, size)
    drawn = drawn.reshape(samples, *center.shape) + center
    return np.asarray(drawn + MODEL_LAB_SD * noise[:, None, :])


def spread(
    builds: Sequence[Build],
    *,
    press: Press,
    viewing: Viewing,
    target: Target | None = None,
    tolerance: float = 3.0,
    samples: int = 256,
) -> Spread:
    """Return 90 % intervals of Lab and ΔE00, and P(ΔE00 ≤ tolerance), for every build at once."""
    table = tabulate(builds)
    sds = stock_sds(builds, layers=table.K.shape[-2])
    response = respond(table, sds, press=press, viewing=viewing)
    standard = None if target is None else target.lab(viewing)
    return summarize(draw(response, samples=samples), standard=standard, tolerance=tolerance)


def summarize(drawn: Array, *, standard: Array | None, tolerance: float | Array) -> Spread:
    """Percentiles and chance of landing of sampled Lab (samples, B, 3).

    standard (3,) or (B, 3), tolerance a number or (B,): one for all builds, or each its own.
    """
    drawn = np.concatenate([np.maximum(drawn[..., :1], 0.0), drawn[..., 1:]], axis=-1)
    low, high = np.quantile(drawn, [LOW, HIGH], axis=0)
    if standard is None:
        order = drawn[..., 0]
        nothing = np.full(drawn.shape[1], np.nan)
        de_low, de_high, within = nothing, nothing, nothing
    else:
        order = delta_e_2000(standard, drawn)
        de_low, de_high = np.quantile(order, [LOW, HIGH], axis=0)
        within = np.mean(order <= tolerance, axis=0)
    ranks = np.argsort(order, axis=0)
    picked = [ranks[round(q * (len(ranks) - 1))] for q in (LOW, 0.5, HIGH)]
    corners = np.stack([np.take_along_axis(drawn, p[None, :, None], axis=0)[0] for p in picked], 1)
    return Spread(
        lab_low=low, lab_high=high, de_low=de_low, de_high=de_high, within=within, corners=corners
    )


def with_intervals(
    predictions: Sequence[Prediction],
    *,
    press: Press,
    target: Target | None = None,
    tolerance: float = 3.0,
    samples: int = 256,
) -> list[Prediction]:
    """Return the predictions, each with its interval; all must share one viewing."""
    if not predictions:
        return []
    viewing = predictions[0].viewing
    found = spread(
        [p.build for p in predictions],
        press=press,
        viewing=viewing,
        target=target,
        tolerance=tolerance,
        samples=samples,
    )
    return [
        replace(
            p,
            interval=interval_of(
                found, at, viewing=viewing, aimed=target is not None, tolerance=tolerance
            ),
        )
        for at, p in enumerate(predictions)
    ]


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
        de_high=float(found.de_high[at]) if aimed else None,
        within=float(found.within[at]) if aimed else None,
        tolerance=tolerance,
        hexes=(near, middle, far),
    )
