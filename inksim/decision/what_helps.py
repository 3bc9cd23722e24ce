"""The one thing that would help most: a reading of an ink or a cloth, or a strike-off.

What a reading would leave of an error is put in place of what there is, and the chance is worked
out again from the model's own slopes: no print is predicted anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from inksim.colour import BANDS
from inksim.common import FloatArray
from inksim.printing import Build, Response
from inksim.stock import (
    CLOTH_KS_SD,
    DISCHARGE_LEFT_SD,
    INK_K_SD,
    INK_S_SD,
    MEAN_LENGTH,
    READING_DE00,
    Ink,
    Press,
    error_of,
    error_of_cloth,
)

WORTH_SAYING = 0.05
"""Chance that a thing has to add before it is said [assumption]."""


def what_helps(
    response: Response,
    builds: Sequence[Build],
    *,
    press: Press,
    chance: Callable[[Response], float],
) -> str:
    """Name what would raise the chance most, and to what; '' where nothing adds `WORTH_SAYING`.

    Each is weighed as if it came out as expected. A reading of an ink leaves what a measured one is
    unsure of, all its directions alike; a strike-off leaves every direction what one reading of
    that print does. A strike-off always tells most, being the print itself, but takes its screens:
    so where a reading helps the reading is named, as what is short of it.

    Parameters
    ----------
    response : of the builds, which are the colors of one run. chance: of all of them, 0..1.
    """
    now = chance(response)
    best, words = now + WORTH_SAYING, ""
    for what, helped in _things(response, builds, press=press):
        found = chance(helped)
        if found >= best:
            best, words = found, f"Short of a strike-off, reading {what} would help most"
    if not words:
        struck = chance(_struck_off(response))
        if struck >= best:
            best, words = struck, "A strike-off would help most"
    return f"{words}: {best:.0%} if it reads as expected" if words else ""


def _things(
    response: Response, builds: Sequence[Build], *, press: Press
) -> Iterator[tuple[str, Response]]:
    """Each ink and cloth worth reading, in words, and the response once it is read."""
    about = np.array(response.about)
    inks = {layer.ink.name: layer.ink for build in builds for layer in build.layers}
    for ink in inks.values():
        share = _left_of_ink(ink, press)
        if share == 1.0:
            continue
        left = np.ones(response.slope.shape[:2])
        for at, build in enumerate(builds):
            for film, layer in enumerate(build.layers):
                if layer.ink.name == ink.name:
                    left[about == f"film {film}", at] = share
        yield f"the ink {ink.name}", _shrunk(response, left)
    cloth = builds[0].garment
    now = error_of_cloth(cloth)
    share = CLOTH_KS_SD["measured"] / float(np.hypot(now.ks, _rms(now.shapes)))
    if share < 1.0:
        left = np.ones(response.slope.shape[:2])
        left[about == "cloth"] = share
        yield f"the cloth {cloth.name}", _shrunk(response, left)
    if cloth.discharged is None and any(b.route == "discharge-base" for b in builds):
        left = np.ones(response.slope.shape[:2])
        left[about == "discharge"] = DISCHARGE_LEFT_SD[True] / DISCHARGE_LEFT_SD[False]
        yield f"a discharged swatch of {cloth.name}", _shrunk(response, left)


def _left_of_ink(ink: Ink, press: Press) -> float:
    """Share of an ink's standard deviations that its reading would leave, at most 1."""
    known = next((each for each in press.strengths if each.ink == ink.name), None)
    error = error_of(ink)
    sds = np.array([error.K, error.S, *np.ones(len(error.shapes))])
    if known is not None:  # of shapes that it does not tell the prior stands
        sds[: len(known.sds)] = known.sds
    shapes = sds[2:, None, None] * error.shapes
    now = (np.hypot(sds[0], _rms(shapes[:, 0])), np.hypot(sds[1], _rms(shapes[:, 1])))
    read = (INK_K_SD["measured"], INK_S_SD["measured"])
    return min(1.0, max(r / max(float(n), r) for r, n in zip(read, now, strict=True)))


def _rms(shapes: FloatArray) -> float:
    """Standard deviation that shapes (D, 31) add up to, over the bands."""
    return float(np.sqrt(np.sum(shapes**2) / BANDS))


def _shrunk(response: Response, left: FloatArray) -> Response:
    """The response with each direction of each build at a share (n, B) of its deviation."""
    return replace(
        response,
        slope=response.slope * left[..., None],
        curve=response.curve * left[..., None] ** 2,
    )


def _struck_off(response: Response) -> Response:
    """The response after one Lab reading of each build.

    The prior of the directions z is I; the reading is J'z with the noise σ² of an instrument and of
    what the model leaves. With J/σ = U s Vᵀ the posterior is I − U s²/(s² + 1) Uᵀ, and its root
    takes the place of I. Curves keep their own directions.
    """
    slope, curve = np.empty_like(response.slope), np.empty_like(response.curve)
    noise = np.hypot(READING_DE00 / MEAN_LENGTH, response.model_sd)
    for at in range(slope.shape[1]):
        U, s, _ = np.linalg.svd(response.slope[:, at] / noise[at], full_matrices=False)
        root = np.eye(len(U)) - U * (1.0 - 1.0 / np.hypot(s, 1.0)) @ U.T
        slope[:, at] = root @ response.slope[:, at]
        curve[:, at] = (root**2).T @ response.curve[:, at]
    return replace(response, slope=slope, curve=curve)
