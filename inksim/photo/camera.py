"""What a camera or a scanner makes of color, told by a chart in its picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import D50, delta_e_2000, difference_metric, lab_from_xyz
from inksim.common import FloatArray, InputError
from inksim.photo.charts import Chart
from inksim.photo.seen import PhotoReading, Seen
from inksim.stock import MEAN_LENGTH

MOST_CLIPPED = 0.02
"""A patch with a larger share of clipped pixels is not used."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Camera:
    """A picture's way from RGB to color, and how far it is off.

    left_out_de00 : mean ΔE00 of the chart's patches, each read by a camera that was made without
        it; nan where the chart has too few.
    findings : what was found of picture and chart, sentences for the user.
    """

    matrix: FloatArray
    left_out_de00: float
    left_out_sd: FloatArray
    findings: tuple[str, ...] = ()

    def read(self, seen: Seen) -> PhotoReading:
        """The color of a region of the same picture."""
        lab = lab_from_xyz(np.maximum(_terms(seen.rgb) @ self.matrix, 0.0), D50)
        slopes = [
            lab_from_xyz(np.maximum(_terms(seen.rgb + step) @ self.matrix, 0.0), D50) - lab
            for step in np.diag(seen.rgb_sd)
        ]
        own = np.hypot(self.left_out_sd, np.linalg.norm(slopes, axis=0))
        shared = np.full(3, 0.5)
        metric = difference_metric(lab)
        own_de00, shared_de00 = (
            MEAN_LENGTH * float(np.sqrt(np.einsum("i,ii,i", sd, metric, sd) / 3.0))
            for sd in (own, shared)
        )
        return PhotoReading(
            name=seen.name,
            lab=lab,
            lab_sd=own,
            shared_sd=shared,
            sd_de00=own_de00,
            shared_de00=shared_de00,
        )


def camera_of(chart: Chart, patches: Sequence[Seen], *, surround: Sequence[Seen] = ()) -> Camera:
    """The camera of a picture in which a chart lies.

    Parameters
    ----------
    patches : the chart's patches as seen, each with the name it has in the chart; some may be
        missing. Those with more than `MOST_CLIPPED` clipped are not used.
    surround : one and the same gray, white or paper at several places, to flatten uneven light.

    Raises
    ------
    InputError : a name that the chart does not have or that stands twice, or no patch left.
    """
    at = {name: i for i, name in enumerate(chart.names)}
    for seen in patches:
        if seen.name not in at:
            raise InputError(
                f"chart '{chart.name}' has no patch '{seen.name}'; it has "
                f"{', '.join(chart.names[:12])}."
            )
    used = [seen for seen in patches if seen.clipped <= MOST_CLIPPED]
    findings = [f"patch '{each.name}' is clipped: not used" for each in patches if each not in used]
    if len({seen.name for seen in used}) < len(used):
        raise InputError(f"a patch of chart '{chart.name}' is given twice; give each once.")
    if not used:
        raise InputError(
            f"no patch of chart '{chart.name}' is left to read by: all are clipped or missing; "
            "take the picture again, darker."
        )
    rgb = np.array([seen.rgb for seen in used])
    places = [at[seen.name] for seen in used]
    xyz, lab = chart.xyz[places], chart.lab[places]
    if len(used) < 6:
        scale = xyz.mean(axis=0) / np.maximum(rgb.mean(axis=0), 1e-6)
        return Camera(
            matrix=np.asarray(np.diag(scale)),
            left_out_de00=float("nan"),
            left_out_sd=np.array([3.0, 6.0, 6.0]),
            findings=(*findings, "too few patches to learn how the camera sees color"),
        )
    weight = 1.0 / np.maximum(xyz[:, 1:2], 2.0)
    left = []
    for out in range(len(used)):
        rest = np.arange(len(used)) != out
        fit = np.linalg.lstsq((_terms(rgb) * weight)[rest], (xyz * weight)[rest], rcond=None)[0]
        left.append(lab_from_xyz(np.maximum(_terms(rgb[out]) @ fit, 0.0), D50))
    matrix = np.asarray(np.linalg.lstsq(_terms(rgb) * weight, xyz * weight, rcond=None)[0])
    return Camera(
        matrix=matrix,
        left_out_de00=float(np.mean(delta_e_2000(lab, np.array(left)))),
        left_out_sd=np.sqrt(np.mean((lab - np.array(left)) ** 2, axis=0)),
        findings=tuple(findings),
    )


def _terms(rgb: FloatArray) -> FloatArray:
    return np.maximum(rgb, 0.0)
