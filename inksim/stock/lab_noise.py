"""How far a color is off that was read as Lab: by itself, and with all that one picture shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from inksim.colour import difference_metric
from inksim.common import FloatArray, InputError
from inksim.stock.provenance import MEAN_LENGTH

PHOTO: Final = "photo"
"""What a color was read by, and where data come from, that state the noise of each reading."""
MOST_OFF_DE00 = 30.0
"""A reading that is further off tells no color from another."""
TOGETHER = " + "
"""Between the keys of the pictures that a mean is of."""


class LabNoise(NamedTuple):
    """How far a color that was read is from the true one, mean ΔE00.

    own: by its own error, less in a mean of several. shared: by the error that all readings of one
    picture have in common, which no mean over that picture takes away. picture: its key; of a mean
    over several, the keys joined by `TOGETHER`; '' where nothing is shared.
    """

    own: float
    shared: float = 0.0
    picture: str = ""

    @property
    def whole(self) -> float:
        """Both errors together."""
        return float(np.hypot(self.own, self.shared))

    @property
    def pictures(self) -> dict[str, float]:
        """The part of each picture in the shared error: equal parts, as of as many readings."""
        keys = self.picture.split(TOGETHER) if self.picture else []
        return dict.fromkeys(keys, self.shared / float(np.sqrt(max(len(keys), 1))))


def lab_root(lab: FloatArray, off_de00: FloatArray | float) -> FloatArray:
    """Symmetric roots (..., 3, 3) of the covariance of Lab (..., 3) that is off_de00 (...) off.

    Isotropic in ΔE00: (off / `MEAN_LENGTH`)² times the inverse of the metric at the color. The root
    that is symmetric moves neighboring colors alike, so it carries an error from one to the other.
    """
    size, axes = np.linalg.eigh(difference_metric(lab))
    scale = np.asarray(off_de00)[..., None, None] / MEAN_LENGTH
    return np.asarray(scale * (axes / np.sqrt(size)[..., None, :]) @ axes.mT)


def noise_fault(sd_de00: float | None, shared_de00: float | None, picture: str) -> str | None:
    """What is wrong with the noise that a reading states, in a clause; None if nothing is."""
    for called, what, off in (
        ("sd_de00", "how far the reading is off on average", sd_de00),
        ("shared_de00", "the error common to all readings of one picture", shared_de00),
    ):
        if off is not None and not 0 < off <= MOST_OFF_DE00:
            return f"{called} is {off:g}; it is {what}, above 0 and at most {MOST_OFF_DE00:g} ΔE00"
    if (shared_de00 is None) == bool(picture):
        has, lacks = ("picture", "shared_de00") if picture else ("shared_de00", "picture")
        return f"it has {has} and no {lacks}; readings of one picture state both"
    if shared_de00 is not None and sd_de00 is None:
        return "it has shared_de00 and no sd_de00; give the reading's own error too"
    return None


def stated_noise(
    sd_de00: float | None, shared_de00: float | None, picture: str, *, where: str
) -> LabNoise | None:
    """The noise that a reading states; None where it states none.

    Raises
    ------
    InputError : see `noise_fault`.
    """
    if fault := noise_fault(sd_de00, shared_de00, picture):
        raise InputError(f"{where}: {fault}.")
    return None if sd_de00 is None else LabNoise(sd_de00, shared_de00 or 0.0, picture)


def noise_of_mean(each: Sequence[LabNoise]) -> LabNoise:
    """Noise of the plain mean of some readings.

    Their own errors are independent; those of one picture are the same and add up, those of
    several pictures are independent.
    """
    shared: dict[str, float] = {}
    for noise in each:
        for key, off in noise.pictures.items():
            shared[key] = shared.get(key, 0.0) + off / len(each)
    return LabNoise(
        float(np.linalg.norm([noise.own for noise in each])) / len(each),
        float(np.linalg.norm(list(shared.values()))) if shared else 0.0,
        TOGETHER.join(sorted(shared)),
    )
