"""What may be off in a bucket and on the press, and what the bucket then prints.

The unknowns z are independent standard normals: of each ink, and of the base under it, ln K, ln S
and the shapes of its error; the press along the principal axes of its covariance; the cloth; what
a discharge leaves; what the model itself leaves of the print's Lab; the weighings; the thickness of
each film that was read, and of the next. All of them but the last stay as they are when the bucket
is printed again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inksim.colour import D50, Viewing, delta_e_2000, difference_metric, lab as lab_of
from inksim.common import FloatArray
from inksim.mixing.bucket import Bucket, BucketReading
from inksim.optics import external_from_internal, film_over, internal_from_external
from inksim.printing import (
    StockErrors,
    flattened,
    lower,
    mean_reflectance,
    press_axes,
    stock_errors,
    tabulate,
)
from inksim.stock import MEAN_LENGTH, MEANINGS, Press, PressValues, mixed_ks

WEIGHING_SD = 0.01
"""Of ln of each weight: the scale, and what sticks to the spoon [assumption]."""
FILM_SD = 0.05
"""Of ln of a drawdown's thickness as stated [assumption]."""
PRINT_SD = 0.02
"""Of ln of a print's wet films about what the press lays down on other days [assumption]."""
OTHER_LIGHTS = (Viewing("A", 2), Viewing("F11", 2))
OTHER_SD = 0.4
"""Sd of how a spectrum's color moves under another light, as a share of that of the color:
place and pressure move both alike [assumption]."""
STEP = 1e-3
FIELDS = PressValues._fields
RELEASE = FIELDS.index("release")
NEXT = -1
"""The print that is not yet read, among the films."""


@dataclass(frozen=True, kw_only=True, eq=False)
class BucketModel:
    """A bucket on a press. viewing: that its target holds for. step_g: of the scale."""

    bucket: Bucket
    press: Press
    viewing: Viewing
    step_g: float

    @cached_property
    def _errors(self) -> StockErrors:
        """Errors of the inks in the bucket, then of the base's ink, if there is one."""
        base = self.bucket.build.base
        inks = [*self.bucket.inks, *([base.ink] if base else [])]
        ink, cloth = np.zeros((1, 1), dtype=np.intp), np.zeros(1, dtype=np.intp)
        return stock_errors(inks, [self.bucket.build.garment], ink=ink, cloth=cloth)

    @cached_property
    def _axes(self) -> FloatArray:
        """Steps (A, 14) of the press's parameters."""
        own = np.array(self.press.values, dtype=np.float64)
        steps = [(np.array(axis.up) - own) / axis.at[0] for axis in press_axes(self.press)]
        return np.array(steps).reshape(-1, own.size)

    @cached_property
    def places(self) -> dict[str, slice]:
        """Where each kind of unknown stands in z."""
        rows, coordinates = self._errors.sds.shape
        sizes = {
            "inks": rows * coordinates,
            "press": len(self._axes),
            "cloth": self._errors.cloths.shape[1],
            "discharge": 1,
            "model": 3,
            "weighing": self.bucket.batches.size,
            "films": len(self.bucket.readings) + 1,
        }
        ends = np.cumsum([0, *sizes.values()])
        return {
            name: slice(first, end)
            for name, first, end in zip(sizes, ends[:-1], ends[1:], strict=True)
        }

    @property
    def size(self) -> int:
        """Number N of unknowns."""
        return int(self.places["films"].stop)

    def ln_factors(self, z: FloatArray) -> FloatArray:
        """Ln K and ln S (P, inks, 2, 31) that the inks are off, of z (P, N)."""
        e = self._errors
        own = z[:, self.places["inks"]].reshape(len(z), *e.sds.shape) * e.sds
        moved = np.einsum("pic,icjb->pijb", own * self.press.ink_sd_factor, e.basis)
        return np.asarray(moved)

    def weighed(self, z: FloatArray, after: int) -> FloatArray:
        """True grams (P, n) in the bucket after so many batches."""
        batches = self.bucket.batches
        scale = self.step_g / np.sqrt(12.0) / np.maximum(batches, self.step_g)
        sd = np.hypot(WEIGHING_SD, scale)
        own = z[:, self.places["weighing"]].reshape(len(z), *batches.shape) * sd
        return np.asarray((batches * np.exp(own))[:, :after].sum(axis=1))

    def mixed(self, z: FloatArray, grams: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """K and S (P, 31) per µm of dry film and solids (P,) of grams (P, n) mixed."""
        inks = self.bucket.inks
        bare = np.array([ink.mixing_ks for ink in inks])
        ks = bare * np.exp(self.ln_factors(z)[:, : len(inks)])
        wet = grams / [ink.density_g_cm3 for ink in inks]
        solid = np.array([ink.solids_by_volume for ink in inks])
        dry = wet * solid
        total = dry.sum(axis=1)
        eta = np.array([ink.directness for ink in inks])
        K, S, _ = mixed_ks(dry / total[:, None], ks[:, :, 0], ks[:, :, 1], directness=eta)
        return K, S, np.asarray(total / wet.sum(axis=1))

    def _pressed(self, z: FloatArray, at: int) -> PressValues:
        """The press's parameters (P,), within their ranges, as print `at` was printed."""
        moved = np.array(self.press.values) + z[:, self.places["press"]] @ self._axes
        moved[:, RELEASE] *= np.exp(PRINT_SD * z[:, self.places["films"]][:, at])
        least = [MEANINGS[name].least for name in FIELDS]
        most = [MEANINGS[name].most for name in FIELDS]
        return PressValues(*np.clip(moved, least, most).T)

    def printed(self, z: FloatArray, grams: FloatArray, at: int = NEXT) -> FloatArray:
        """Reflectance (P, 31) of print `at` of grams (P, n), for unknowns z (P, N)."""
        P, inks = len(z), len(self.bucket.inks)
        table = tabulate([self.bucket.build])
        layers = table.K.shape[1]
        K, S = (np.array(np.broadcast_to(each, (P, *each.shape))) for each in (table.K, table.S))
        solids = np.array(np.broadcast_to(table.solids, (P, 1, layers)))
        if layers > 1:
            under = np.exp(self.ln_factors(z)[:, inks])
            K[:, 0, 0] *= under[:, 0]
            S[:, 0, 0] *= under[:, 1]
        K[:, 0, -1], S[:, 0, -1], solids[:, 0, -1] = self.mixed(z, grams)
        dye = z[:, self.places["cloth"]] @ self._errors.cloths[0]
        cloth = table.cloth_ks * np.exp(dye)[:, None]
        left = np.exp(z[:, self.places["discharge"]] * self._errors.left[0])[:, None]
        discharged = np.minimum(table.discharged_ks * left, np.maximum(cloth, table.discharged_ks))
        full = replace(
            table, K=K, S=S, solids=solids, cloth_ks=cloth,
            discharged_ks=discharged if table.discharges.any() else cloth,
        )  # fmt: skip
        return mean_reflectance(flattened(lower(full, self._pressed(z, at))))

    def drawn_down(self, z: FloatArray, grams: FloatArray, at: int) -> FloatArray:
        """Reflectance (P, 31) of the drawdown that reading `at` is of."""
        reading = self.bucket.readings[at]
        assert reading.card is not None
        assert reading.film_um is not None
        K, S, _ = self.mixed(z, grams)
        thick = reading.film_um * np.exp(FILM_SD * z[:, self.places["films"]][:, at])
        inside = internal_from_external(np.broadcast_to(reading.card, K.shape[-1:]))
        R = film_over(K, S, thickness_um=thick[:, None], backing=inside)
        return external_from_internal(R)

    @cached_property
    def _left(self) -> FloatArray:
        """Sd (3,) of what the model itself leaves of Lab."""
        z = np.zeros((1, self.size))
        now = self.printed(z, self.weighed(z, len(self.bucket.batches)))
        return np.asarray(self.press.left_of(lab_of(now, self.viewing))[0])

    def lab(self, z: FloatArray, grams: FloatArray) -> FloatArray:
        """Lab (P, 3) of the print, with what the model leaves of it."""
        return self.seen(self.printed(z, grams), z, self.viewing)

    def seen(self, R: FloatArray, z: FloatArray, viewing: Viewing) -> FloatArray:
        """Lab (P, 3) of prints under a viewing."""
        return np.asarray(lab_of(R, viewing) + z[:, self.places["model"]] * self._left)

    def residuals(self, z: FloatArray, at: int) -> FloatArray:
        """What reading `at` leaves (P, 3 or 9), in its own standard deviations.

        Its color; of a spectrum also how that moves under `OTHER_LIGHTS`.
        """
        reading = self.bucket.readings[at]
        grams = self.weighed(z, reading.after)
        if reading.card is None:
            R = self.printed(z, grams, at)
            here = self.seen(R, z, reading.viewing)
        else:
            R = self.drawn_down(z, grams, at)
            here = lab_of(R, reading.viewing)
        root = self._root(reading)
        parts = [(here - reading.seen) @ root]
        if reading.reflectance is not None:
            still, read = lab_of(R, D50), lab_of(reading.reflectance, D50)
            for light in OTHER_LIGHTS:
                moved = lab_of(R, light) - still
                asked = lab_of(reading.reflectance, light) - read
                parts.append((moved - asked) @ root / OTHER_SD)
        return np.concatenate(parts, axis=1)

    def _root(self, reading: BucketReading) -> FloatArray:
        """Root (3, 3) of the weight of a reading's Lab; the model's rest counts for a drawdown."""
        metric = difference_metric(reading.seen)
        root = np.linalg.cholesky(metric + 1e-9 * np.eye(3)) / self._sd(reading)
        return np.asarray(root, dtype=np.float64)

    def _sd(self, reading: BucketReading) -> float:
        """Sd of each axis of a reading's color, ΔE00."""
        left = 0.0 if reading.card is None else self.press.model_sd
        return float(np.hypot(reading.off_de00 / MEAN_LENGTH, left))

    def far(self, at: int, values: FloatArray, spread: FloatArray) -> tuple[float, float]:
        """ΔE00 of reading `at` from what is expected of it, and what is usual (mean length).

        values (3,), spread (3, 3): what it leaves, and its covariance, in its own sd.
        """
        reading = self.bucket.readings[at]
        expected = reading.seen + values @ np.linalg.inv(self._root(reading))
        usual = MEAN_LENGTH * np.sqrt(np.trace(spread) / 3.0) * self._sd(reading)
        return float(delta_e_2000(expected, reading.seen)), float(usual)


def slopes(values: FloatArray) -> FloatArray:
    """Derivatives (N, m) of values (1 + N, m) at z and at z + STEP along each unknown."""
    return np.asarray((values[1:] - values[0]) / STEP)


def about(z: FloatArray) -> FloatArray:
    """z (N,) and z moved by `STEP` along each unknown (1 + N, N)."""
    return np.concatenate([z[None], z + STEP * np.eye(z.size)])
