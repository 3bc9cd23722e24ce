"""Chance that several prints of one run all land, and that one comes nearer than another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.colour import delta_e_2000
from inksim.common import FloatArray
from inksim.printing import SAMPLES, Build, Response, normal_points

MOST_DIRECTIONS = 58
"""Directions that the draws of a ranking take, the largest: 64 dimensions less the model's own
error in each of the two prints."""


def joint_chance(
    response: Response,
    *,
    standards: FloatArray,
    tolerances: FloatArray,
    shared: int = 128,
    own: int = 64,
) -> float:
    """Joint probability that all C colors of one run land.

    The colors share press and cloth: for each of `shared` samples of those, the conditional
    probability of each color is taken over `own` samples of its inks and of the model error; their
    product is averaged. Inks are taken as independent, even where two colors share one [assumption:
    the chance is then a little low].

    Parameters
    ----------
    response : of the C builds, in order. standards (C, 3), tolerances (C,).
    """
    common, apart = response.shared, ~response.shared
    z = normal_points(shared, int(common.sum()))
    y = normal_points(own, int(apart.sum()) + 3)
    moved, noise = y[:, :-3], y[:, -3:]
    product = np.ones(shared)
    for at, (standard, tolerance) in enumerate(zip(standards, tolerances, strict=True)):
        slope, curve = response.slope[:, at], response.curve[:, at]
        of_press = z @ slope[common] + z**2 @ curve[common]
        of_ink = moved @ slope[apart] + moved**2 @ curve[apart]
        of_ink += response.model_sd[at] * noise
        lab = response.centre[at] + of_press[:, None] + of_ink[None]
        lab[..., 0] = np.clip(lab[..., 0], 0.0, 100.0)
        product *= np.mean(delta_e_2000(standard, lab) <= tolerance, axis=1)
    return float(product.mean())


def nearer_share(response: Response, builds: Sequence[Build], *, standard: FloatArray) -> float:
    """Share of cases, 0..1, in which the first of two prints comes nearer to a target.

    Press, cloth and whatever ink both have move together in both; so what is not known of them
    hardly blurs the ranking. An ink's directions are matched in order, whichever film it is in; of
    calibrated inks, whose directions are those of a build's films together, that is near only. The
    model's own error is taken as independent in the two.

    Parameters
    ----------
    response : of the two builds, of one space. standard (3,): the target's Lab.
    """
    rows: dict[tuple[str, int], int] = {}
    place = np.empty((len(response.about), 2), dtype=np.intp)
    for which, build in enumerate(builds):
        count: dict[str, int] = {}
        for at, about in enumerate(response.about):
            what = _of_ink(about, build)
            place[at, which] = rows.setdefault((what, count.get(what, 0)), len(rows))
            count[what] = count.get(what, 0) + 1
    slope, curve = np.zeros((2, len(rows), 2, 3))
    for which in range(2):
        slope[place[:, which], which] = response.slope[:, which]
        curve[place[:, which], which] = response.curve[:, which]
    size = np.sum(slope**2 + 2.0 * curve**2, axis=(1, 2))
    kept = np.argsort(-size, kind="stable")[:MOST_DIRECTIONS]
    z = normal_points(SAMPLES, kept.size + 6)
    z, noise = z[:, :-6], z[:, -6:].reshape(SAMPLES, 2, 3)
    lab = response.centre + response.model_sd * noise
    lab += np.einsum("sn,nbc->sbc", z, slope[kept])
    lab += np.einsum("sn,nbc->sbc", z**2, curve[kept])
    lab[..., 0] = np.clip(lab[..., 0], 0.0, 100.0)
    off = delta_e_2000(standard, lab)
    return float(np.mean(off[:, 0] < off[:, 1]))


def _of_ink(about: str, build: Build) -> str:
    """What a direction is about, the ink's name instead of its film; '' for a film not there."""
    if not about.startswith("film"):
        return about
    film = int(about.removeprefix("film"))
    return f"ink {build.layers[film].ink.name}" if film < len(build.layers) else about
