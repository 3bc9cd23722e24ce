"""What a camera or a scanner makes of color, told by a chart in its picture.

`fit` finds the camera; here stand which data it may use, how far the priors hold, and how sure a
reading is. Of a reading's covariance in Lab

    own    = D⁻¹ diag(s²) D⁻ᵀ + N diag(rgb_sd²) Nᵀ
    shared = J Σ Jᵀ κ²

D turns Lab differences into ΔE00 and s is what the fit leaves of the chart's patches: a camera
does not see as an eye does, and two cloths of one RGB differ in color. N is the slope with RGB, J
with the camera's parameters and Σ their covariance, for κ the patches' residuals in units of those
assumed. Σ grows with the distance from the chart's colors, and with that from its place where no
surround tells of the light.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import chroma, delta_e_2000
from inksim.common import FloatArray, InputError
from inksim.photo.charts import NEUTRAL_CHROMA, Chart
from inksim.photo.fit import (
    DARK,
    GAIN,
    SRGB_TO_XYZ,
    Data,
    Fit,
    Scales,
    fitted,
    lab_at,
    slopes,
    whitening,
)
from inksim.photo.likely import Likely, likely_of
from inksim.photo.seen import PhotoReading, Seen
from inksim.photo.terms import gain_shapes
from inksim.stock import MEAN_LENGTH

MOST_CLIPPED = 0.02
"""A patch with a larger share of clipped pixels is not used; a reading with one says so."""
FEW = 6
"""With fewer patches nothing is chosen by leaving patches out: the priors stand."""
CHOICE = (
    Scales(linear=1.0, second=0.0, third=0.0),
    Scales(linear=1.0, second=0.3, third=0.0),
    Scales(linear=1.0, second=1.0, third=0.0),
    Scales(linear=3.0, second=1.0, third=0.0),
    Scales(linear=3.0, second=1.0, third=0.3),
    Scales(linear=3.0, second=3.0, third=0.0),
    Scales(linear=3.0, second=3.0, third=1.0),
)
"""Degrees of the root polynomial and how far its terms are held down; the one whose patches are
predicted best when left out is taken."""
OF_FEW = Scales(linear=0.25, second=0.1, third=0.0, curve=0.05)
"""A camera of which a card or a few patches are seen: as a file in sRGB would be, or not quite."""
PRIOR_SD, PRIOR_COUNT = np.array([0.5, 1.2, 1.2]), 4.0
"""What a fit leaves of a patch before any was seen, ΔE00, and for how many patches that counts."""
SPREAD = np.array([1.0, 1.25, 1.1])
"""How much more it leaves of a cloth or a print than of a chart's patch, along L* and the two
others: they vary in more ways. [assumption] From simulated cameras (tests/accuracy/cameras.py)."""
CLIPPED_DE00 = 20.0
"""How far the map alone is off besides where all pixels are clipped [assumption]."""
INDEPENDENT = 1 / 3
"""How far what the map leaves is independent of what is likely to be left [assumption]: so stated
90 % intervals hold as many, for the ten cameras with which constants are chosen."""
LEAST_LAB, MOST_LAB = (0.0, -150.0, -150.0), (100.0, 150.0, 150.0)
TINY = 1e-3
"""Added to a variance that may be 0, ΔE00²."""
FAR_DE00 = 20.0
"""A color this far from every patch of the chart is told so."""
WHITE_SDS = 1.0
"""A reading is told to be beyond white from so many of its sd above L* 100 [assumption]."""
BEYOND_WHITE = (
    "lighter than a perfect white, and cut to L* 100: more light falls on it than on the chart, it "
    "shines, or the chart is another than was said"
)
SHADOW, MANY = 0.07, 8
"""Told of so many places of the surround is one whose ln light is so far from what the others say
[assumption]: 0.02 in rendered pictures without a shadow, 0.075 with one of 10 % beside a cloth."""
DOUBTFUL, LEAST_DOUBTFUL = 4.0, 5.0
"""A patch is named that is so many times the usual and at least so many ΔE00 off, left out."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Camera:
    """A picture's way from RGB to color, and how far it is off.

    left_out_de00 : mean ΔE00 of the chart's patches, each read by a camera that was fitted
        without it; nan where the chart has too few.
    left_out : the same for each patch of the chart (N,); nan for one that was not used.
    likely : surfaces as this camera sees them; None where the chart has no spectra, or is a card.
    findings : what was found of picture and chart, sentences for the user.
    """

    chart: Chart
    fit: Fit
    factor: FloatArray
    left_sd: FloatArray
    left_out_de00: float
    left_out: FloatArray
    likely: Likely | None = None
    findings: tuple[str, ...] = ()

    def read(self, seen: Seen) -> PhotoReading:
        """The color of a region of the same picture."""
        return self.read_all([seen])[0]

    def read_all(self, regions: Sequence[Seen]) -> tuple[PhotoReading, ...]:
        """The colors of regions of the same picture."""
        if not regions:
            return ()
        rgb, sd, xy = _arrays(regions, self.factor)
        theta = self.fit.parameters
        by_map, J = slopes(theta, rgb, xy, self.factor)
        lab, own = self._likelier(by_map, np.array([each.clipped for each in regions]))
        shown = np.clip(lab, LEAST_LAB, MOST_LAB)
        D = whitening(shown)
        away = delta_e_2000(shown[:, None], self.chart.lab).min(axis=1)
        noise = np.stack(
            [lab_at(theta, rgb + sd * axis, xy, self.factor) - by_map for axis in np.eye(3)],
            axis=-1,
        )
        own += noise @ noise.mT
        shared = J @ (self.fit.covariance * self._kappa2) @ J.mT
        de00 = [
            MEAN_LENGTH * np.sqrt(np.trace(D @ each @ D.mT, axis1=1, axis2=2) / 3.0)
            for each in (own, shared)
        ]
        lab_sd, shared_sd = (np.sqrt(np.einsum("nii->ni", each)) for each in (own, shared))
        return tuple(
            PhotoReading(
                name=seen.name,
                lab=shown[at],
                lab_sd=lab_sd[at],
                shared_sd=shared_sd[at],
                sd_de00=float(de00[0][at]),
                shared_de00=float(de00[1][at]),
                notes=(
                    *self._notes(seen, float(away[at]), float(self._light_sd(xy[at]))),
                    *([BEYOND_WHITE] if lab[at, 0] > 100.0 + WHITE_SDS * lab_sd[at, 0] else []),
                ),
            )
            for at, seen in enumerate(regions)
        )

    def _likelier(self, lab: FloatArray, clipped: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lab (n, 3) by the map and by what is likely, and what they leave (n, 3, 3).

        A and C the covariances of the two, A(A + C)⁻¹ of what is likely to be left is added. Of
        A(A + C)⁻¹A, which that would take from A if both were independent, it takes all of what is
        clipped, and `INDEPENDENT` of the rest.
        """
        by_map = np.clip(lab, LEAST_LAB, MOST_LAB)
        D = whitening(by_map)
        inverse = np.linalg.inv(D)
        left = (inverse * (self.left_sd * SPREAD) ** 2) @ inverse.mT
        cut = (CLIPPED_DE00 * clipped[:, None, None]) ** 2 * (inverse @ inverse.mT)
        if self.likely is None:
            return lab, left + cut
        more, spread = self.likely.of(by_map)
        spread += TINY * np.eye(3)
        added = (left + cut) @ np.linalg.solve(left + cut + spread, more[..., None])
        own = left - INDEPENDENT * left @ np.linalg.solve(left + spread, left)
        return lab + added[..., 0], own + cut - cut @ np.linalg.solve(cut + spread, cut)

    @property
    def _kappa2(self) -> float:
        """κ²: what the fit leaves, in units of the σ that its covariance is for."""
        sigma = self.fit.scales.sigma
        return float(np.mean((self.left_sd / sigma) ** 2))

    def _light_sd(self, xy: FloatArray) -> FloatArray:
        """Standard deviation () of ln light at a place (2,)."""
        shape = gain_shapes(xy)
        return np.sqrt(shape @ self.fit.covariance[GAIN, GAIN] @ shape * self._kappa2)

    def _notes(self, seen: Seen, away: float, light_sd: float) -> tuple[str, ...]:
        notes = []
        if seen.clipped > MOST_CLIPPED:
            told = ", and is told by what such surfaces usually are" if self.likely else ""
            notes.append(
                f"{seen.clipped:.0%} of its pixels are at an end of the scale: the color lies "
                f"beyond what the file holds{told}"
            )
        if len(self.chart.names) >= FEW and away > FAR_DE00:
            notes.append(f"{away:.0f} ΔE00 from the nearest patch of the chart: less sure")
        if light_sd > 0.05:
            notes.append(f"the light at its place is known to {light_sd:.0%} only")
        return tuple(notes)


def camera_of(chart: Chart, patches: Sequence[Seen], *, surround: Sequence[Seen] = ()) -> Camera:
    """The camera of a picture in which a chart lies.

    Parameters
    ----------
    patches : the chart's patches as seen, each with the name it has in the chart; some may be
        missing. Those with more than `MOST_CLIPPED` clipped are not used.
    surround : one and the same gray, white or paper at several places, to flatten uneven light.
        Without it the light is told by the chart alone, and known less the farther from it.

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
    if len({seen.name for seen in patches}) < len(patches):
        raise InputError(f"a patch of chart '{chart.name}' is given twice; give each once.")
    used = [seen for seen in patches if seen.clipped <= MOST_CLIPPED]
    around = [seen for seen in surround if seen.clipped <= MOST_CLIPPED]
    if not used:
        raise InputError(
            f"no patch of chart '{chart.name}' is left to read by: all are clipped or missing; "
            "take the picture again, with less light."
        )
    places = np.array([at[seen.name] for seen in used])
    lab = chart.lab[places]
    factor = balance(np.array([seen.rgb for seen in used]), chart.xyz[places], chroma(lab))
    rgb, sd, xy = _arrays(used, factor)
    lit, _, lit_xy = _arrays(around, factor)
    data = Data(rgb=rgb, xy=xy, sd=sd, lab=lab, around=lit, around_xy=lit_xy, factor=factor)
    few = len(used) < FEW
    fit = (
        fitted(data, OF_FEW)
        if few
        else min((fitted(data, scales) for scales in CHOICE), key=lambda each: each.score)
    )
    # a residual times the same left out: neither too small as the first nor too large as the other
    squares = np.sum(np.abs(fit.left) ** 0.5 * np.abs(fit.left_out) ** 1.5, axis=0)
    squares[1:] = (3.0 * squares[1:] + squares[1:].mean()) / 4.0
    left_sd = np.sqrt((PRIOR_COUNT * PRIOR_SD**2 + squares) / (PRIOR_COUNT + len(used)))
    left_out = np.full(len(chart.names), np.nan)
    likely = None
    if not few and chart.reflectance is not None:
        likely = likely_of(fit.parameters, data, chart.reflectance[places])
    if not few:
        left_out[places] = np.linalg.norm(fit.left_out, axis=-1)
    return Camera(
        chart=chart,
        fit=fit,
        factor=factor,
        left_sd=left_sd,
        left_out_de00=float("nan") if few else float(np.nanmean(left_out)),
        left_out=left_out,
        likely=likely,
        findings=(
            *_findings(chart, patches, around, left_out, few=few),
            *_shadows(around, fit.around),
        ),
    )


def _arrays(
    regions: Sequence[Seen], factor: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """White-balanced rgb (n, 3), its sd (n, 3), and places (n, 2)."""
    rgb = np.array([each.rgb for each in regions]).reshape(-1, 3)
    sd = np.array([each.rgb_sd for each in regions]).reshape(-1, 3)
    xy = np.array([[each.x, each.y] for each in regions]).reshape(-1, 2)
    return np.maximum(rgb, DARK) * factor, sd * factor, xy


def balance(rgb: FloatArray, xyz: FloatArray, chroma: FloatArray) -> FloatArray:
    """Factor (3,) that brings the most neutral patches to the sRGB of their color."""
    expected = np.maximum(xyz / 100.0 @ np.linalg.inv(SRGB_TO_XYZ).T, DARK)
    bright = xyz[:, 1] >= 0.1 * xyz[:, 1].max()
    grey = bright & (chroma <= max(NEUTRAL_CHROMA, float(chroma[bright].min())))
    return np.asarray(np.exp(np.mean(np.log(expected / np.maximum(rgb, DARK))[grey], axis=0)))


def _findings(
    chart: Chart,
    patches: Sequence[Seen],
    around: Sequence[Seen],
    left_out: FloatArray,
    *,
    few: bool,
) -> tuple[str, ...]:
    found = []
    clipped = [seen.name for seen in patches if seen.clipped > MOST_CLIPPED]
    if clipped:
        found.append(
            f"at an end of the scale and not used: {', '.join(clipped[:6])}"
            + (f" and {len(clipped) - 6} more" if len(clipped) > 6 else "")
        )
    if few:
        found.append(
            "too few patches to learn how the camera sees color: taken as a picture in sRGB, its "
            "gray set by the card"
        )
    known = np.isfinite(left_out)
    if known.any():
        usual = float(np.median(left_out[known]))
        for at in np.flatnonzero(known & (left_out > max(DOUBTFUL * usual, LEAST_DOUBTFUL))):
            found.append(
                f"patch '{chart.names[at]}' is {left_out[at]:.1f} ΔE00 from what the others say: "
                "dirty, in a shadow, or another chart"
            )
    if len(around) < 3:
        found.append(
            "the light's evenness is told by the chart alone: keep what is read close to it, or "
            "mark the same paper at several places"
        )
    return tuple(found)


def _shadows(around: Sequence[Seen], left_out: FloatArray) -> Iterator[str]:
    """The place of the surround that is farthest from what the others say of it, if it is far."""
    if len(around) < MANY:
        return
    off = left_out.mean(axis=1)
    at = int(np.argmax(np.abs(off)))
    if abs(off[at]) > SHADOW:
        more = "darker" if off[at] < 0 else "lighter"
        yield (
            f"the sheet at '{around[at].name}' is {abs(np.expm1(off[at])):.0%} {more} than its "
            "other places tell: a shadow, a glare or a fold; what lies beside it may be further off"
        )
