"""What a mixture is held against: a color under one viewing, or a spectrum under all lights.

What is minimized is

    ΔE00²                                       of a color, under the viewing asked for;
    Σ_v u_v ΔE00_v² + Σ_λ s_λ² (R_λ − R*_λ)²    of a spectrum R*,

u the viewing's weight and that of the other lights, s_λ² the ΔE00² that an error in the band λ
alone would make, summed over the lights: a band that no light shows counts for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inksim.colour import BANDS, Viewing, delta_e_2000, difference_metric, lab as lab_of
from inksim.common import FloatArray
from inksim.printing import USUAL_LIGHTS
from inksim.stock import Target

OTHER_LIGHTS = 0.2
"""Weight of ΔE00² under all other lights together, against that under the viewing [assumption]."""
SHAPE = 0.2
"""Weight of the sum over the bands [assumption]: it decides where the lights leave it open."""
STEP = 1e-3
_SLOPE = 1e-4


@dataclass(frozen=True, kw_only=True, eq=False)
class Aim:
    """A target as residuals of prints.

    viewings: V of them, the one asked for first; weights (V,); standards (V, 3) their Lab.
    spectrum (31,): of the target; None of a color. every: of the 31 bands each so many-th is
    worked on. exact: whether ΔE00 itself is followed, or its metric at the target for a first look.
    """

    viewings: tuple[Viewing, ...]
    weights: FloatArray
    standards: FloatArray
    spectrum: FloatArray | None
    every: int = 1
    exact: bool = True

    @cached_property
    def _widened(self) -> FloatArray:
        """Bands of the films to 31 (b, 31), linear between."""
        own = np.arange(BANDS)[:: self.every]
        return np.stack([np.interp(np.arange(BANDS), own, row) for row in np.eye(own.size)])

    @cached_property
    def _metrics(self) -> FloatArray:
        """Metric (V, 3, 3) at the target."""
        return difference_metric(self.standards)

    @cached_property
    def _band_weights(self) -> FloatArray:
        """s² (b,) of the bands."""
        assert self.spectrum is not None
        own = self.spectrum[:: self.every]
        total = np.zeros(own.size)
        for v in range(len(self.viewings)):
            slopes = self._slopes(own[None], np.eye(own.size)[None], v)[1][0]
            total += self.weights[v] * np.einsum("bi,ij,bj->b", slopes, self._metrics[v], slopes)
        return np.asarray(SHAPE * total)

    def coarse(self, every: int) -> Aim:
        """The aim for a first, rough search: the viewing, and the spectrum on fewer bands."""
        return replace(
            self, viewings=self.viewings[:1], weights=self.weights[:1],
            standards=self.standards[:1], every=every, exact=False,
        )  # fmt: skip

    def lab(self, reflectance: FloatArray, v: int = 0) -> FloatArray:
        """Lab (..., 3) of films' bands under a viewing."""
        if reflectance.shape[-1] != BANDS:
            reflectance = reflectance @ self._widened
        return np.asarray(lab_of(reflectance, self.viewings[v]))

    def _slopes(self, R: FloatArray, dR: FloatArray, v: int) -> tuple[FloatArray, FloatArray]:
        """Lab (P, 3) and its derivatives (P, m, 3) along directions dR (P, m, b)."""
        here = self.lab(R, v)
        moved = self.lab(R[:, None] + _SLOPE * dR, v)
        return here, (moved - here[:, None]) / _SLOPE

    def square(self, R: FloatArray) -> FloatArray:
        """The square (P,) that is minimized."""
        total = np.zeros(len(R))
        for v in range(len(self.viewings)):
            total += self.weights[v] * self._square(self.lab(R, v), v)
        if self.spectrum is not None:
            total += (R - self.spectrum[:: self.every]) ** 2 @ self._band_weights
        return total

    def _square(self, lab: FloatArray, v: int) -> FloatArray:
        if self.exact:
            return np.asarray(delta_e_2000(self.standards[v], lab) ** 2)
        away = lab - self.standards[v]
        return np.asarray(np.einsum("pi,ij,pj->p", away, self._metrics[v], away))

    def normal(self, R: FloatArray, dR: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The square (P,), half its gradient (P, m) and Gauss–Newton matrix (P, m, m).

        R (P, b), dR (P, m, b): reflectance and its derivatives by m unknowns.
        """
        P, m = dR.shape[:2]
        f, g, H = np.zeros(P), np.zeros((P, m)), np.zeros((P, m, m))
        for v, weight in enumerate(self.weights):
            here, slopes = self._slopes(R, dR, v)
            value, half, metric = self._local(here, v)
            f += weight * value
            g += weight * np.einsum("pmi,pi->pm", slopes, half)
            H += weight * np.einsum("pmi,pij,pnj->pmn", slopes, metric, slopes, optimize=True)
        if self.spectrum is not None:
            away = R - self.spectrum[:: self.every]
            weighed = dR * self._band_weights
            f += away**2 @ self._band_weights
            g += np.einsum("pmb,pb->pm", weighed, away)
            H += weighed @ dR.mT
        return f, g, H

    def _local(self, lab: FloatArray, v: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """ΔE00² (P,), half its gradient (P, 3) and its metric (P, 3, 3)."""
        goal = self.standards[v]
        if not self.exact:
            metric = np.broadcast_to(self._metrics[v], (len(lab), 3, 3))
            half = (lab - goal) @ self._metrics[v]
            return np.einsum("pi,pi->p", lab - goal, half), half, metric
        steps = STEP * np.eye(3)
        up, down = (delta_e_2000(goal, lab[:, None] + sign * steps) ** 2 for sign in (1.0, -1.0))
        half = (up - down) / (4.0 * STEP)
        metric = difference_metric(0.5 * (lab + goal))
        return delta_e_2000(goal, lab) ** 2, half, metric


def aim_at(target: Target, viewing: Viewing, *, lights: Sequence[str] = USUAL_LIGHTS) -> Aim:
    """The aim of a target: its color under a viewing, or its spectrum under all lights."""
    viewings = [viewing]
    if target.reflectance is not None:
        viewings += [Viewing(light, viewing.observer) for light in lights if light != viewing.light]
    others = len(viewings) - 1
    weights = np.array([1.0, *[OTHER_LIGHTS / max(others, 1)] * others])
    return Aim(
        viewings=tuple(viewings),
        weights=weights,
        standards=np.stack([target.lab(each) for each in viewings]),
        spectrum=target.reflectance,
    )
