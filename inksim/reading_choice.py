"""Which prints to read: those after which the other prints are expected to be surest.

Bayesian experimental design, A-optimal in ΔE00, one print after the other [Chaloner & Verdinelli,
Statistical Science 10 (1995) 273]. The model is taken as linear about the press before its first
calibration, with the priors of a calibration and the cautious κ and τ that its fit starts from:
reading print i turns the covariance C of the unknowns into C − C·Jᵢ'(Nᵢ + JᵢCJᵢ')⁻¹JᵢC, and the
size of what is then left of print b is √tr(GᵦJᵦCJᵦ'), in ΔE00, G the local metric. Its mean over
all prints is made least. Colors need not be known: nothing was read yet.

What a cloth's lot does is no part of that size, since a calibration does not keep it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.appearance import Viewing
from inksim.appearance import lab as lab_of
from inksim.build import Build, lower, tabulate
from inksim.calibration_fit import difference_metric, reading_noise
from inksim.calibration_model import reading_model
from inksim.errors import InputError
from inksim.kubelka_munk import Array
from inksim.press import Press
from inksim.print_reading import PrintReading
from inksim.prints import swatch
from inksim.unsure import CAUTIOUS_INK_SD_FACTOR, CAUTIOUS_MODEL_SD


def choose_prints(builds: Sequence[Build], *, press: Press, count: int) -> tuple[int, ...]:
    """Return the indices of the builds to print and read, the one that tells most first.

    Parameters
    ----------
    builds : what the shop prints, with inks as filed; both what may be read and what is wanted.
    press : calibrated or not; the start is `Press.before`.
    count : how many, 1 to the number of builds.

    Raises
    ------
    InputError : count out of its range.
    """
    if not 1 <= count <= len(builds):
        raise InputError(
            f"{count} prints were asked for out of {len(builds)}; ask for 1 to {len(builds)}."
        )
    slope, wanted, noise = _linear(builds, press.before)
    covariance = np.eye(slope.shape[-1])
    chosen: list[int] = []
    for _ in range(count):
        left = left_after_each(covariance, slope=slope, wanted=wanted, noise=noise)
        left[chosen] = np.inf
        best = int(np.argmin(left))
        chosen.append(best)
        J = slope[best]
        across = covariance @ J.T
        covariance = covariance - across @ np.linalg.solve(noise[best] + J @ across, across.T)
    return tuple(chosen)


def left_after_each(covariance: Array, *, slope: Array, wanted: Array, noise: Array) -> Array:
    """Mean ΔE00 size (B,) left of all prints once this one, too, were read.

    covariance (n, n) of the unknowns; slope (B, 3, n): J; wanted (B, 3, n): √G·J of what is kept;
    noise (B, 3, 3).
    """
    across = covariance @ slope.mT  # (B, n, 3)
    root = np.linalg.inv(np.linalg.cholesky(noise + slope @ across))
    told = across @ root.mT  # told·told' is what reading i takes off the covariance
    size = np.einsum("bai,ij,baj->b", wanted, covariance, wanted)
    taken = np.zeros((len(slope), len(slope)))
    for axis in range(wanted.shape[1]):
        gone = np.tensordot(wanted[:, axis], told, axes=(1, 1))  # (B of prints, B of readings, 3)
        taken += np.sum(gone**2, axis=-1)
    return np.asarray(np.sqrt(np.maximum(size[:, None] - taken, 0.0)).mean(axis=0))


def _linear(builds: Sequence[Build], press: Press) -> tuple[Array, Array, Array]:
    """Slopes J (B, 3, n), √G·J of what a calibration keeps, and noise with the model's own."""
    seen = lab_of(swatch(lower(tabulate(builds), press.values)), Viewing())
    readings = [
        PrintReading(name=str(at), build=build, lab=lab)
        for at, (build, lab) in enumerate(zip(builds, seen, strict=True))
    ]
    model = reading_model(readings, press)
    unknowns = model.unknowns
    factor = np.where(unknowns.of_ink, CAUTIOUS_INK_SD_FACTOR[model.ink_data], 1.0)
    slope = model.jacobian(np.zeros(unknowns.size)) * factor
    kept = np.arange(unknowns.size) < len(unknowns.parameters) + 2 * len(unknowns.inks)
    root = np.linalg.cholesky(difference_metric(seen)).mT
    noise = reading_noise(model) + CAUTIOUS_MODEL_SD**2 * np.eye(3)
    return slope, root @ (slope * kept), noise
