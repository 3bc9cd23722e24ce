"""What a gram more or less of an ink does to the print of a recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000
from inksim.common import FloatArray
from inksim.printing import Build, predict_nominal
from inksim.stock import Ink, PressValues, Recipe, Target, mix_inks

SPAN = 0.5
"""How far a part is moved each way, of its own weight."""
STEPS = 10
"""Points each way."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ShareCurve:
    """ΔE00 against how much of one ink is in the bucket, the others as they are.

    grams (n,): of the ink. share (n,): of the bucket's weight then, 0..1. off (n,): ΔE00 of the
    print from the target. at: index of the recipe itself. per_gram: ΔE00 that one gram more moves
    the print by, against the print of the recipe.
    """

    ink: Ink
    grams: FloatArray
    share: FloatArray
    off: FloatArray
    at: int
    per_gram: float


def share_curves(
    recipe: Recipe, build: Build, *, target: Target, press: PressValues, viewing: Viewing
) -> tuple[ShareCurve, ...]:
    """The curve of each ink of a recipe, the one of which a gram does most first.

    None of a recipe of one ink: more of it is only more of it.

    Parameters
    ----------
    build : that the mixture is printed by, on top.
    """
    if len(recipe.parts) < 2:
        return ()
    weight = np.array([part.grams for part in recipe.parts])
    step = np.linspace(-SPAN, SPAN, 2 * STEPS + 1)
    table = []
    for at in range(len(weight)):
        moved = np.repeat(weight[None], len(step) + 1, axis=0)
        moved[:-1, at] *= 1.0 + step
        moved[-1, at] += 1.0
        table.append(moved)
    grams = np.stack(table)
    inks = [part.ink for part in recipe.parts]
    builds = [_printed(build, inks, row) for row in grams.reshape(-1, len(weight))]
    found = predict_nominal(builds, press=press, viewing=viewing)
    lab = np.stack([each.lab for each in found]).reshape(*grams.shape[:2], 3)
    off = delta_e_2000(target.lab(viewing), lab)
    moves = delta_e_2000(lab[:, STEPS], lab[:, -1])
    curves = [
        ShareCurve(
            ink=ink,
            grams=grams[at, :-1, at],
            share=grams[at, :-1, at] / grams[at, :-1].sum(axis=1),
            off=off[at, :-1],
            at=STEPS,
            per_gram=float(moves[at]),
        )
        for at, ink in enumerate(inks)
    ]
    return tuple(sorted(curves, key=lambda each: -each.per_gram))


def _printed(build: Build, inks: Sequence[Ink], grams: FloatArray) -> Build:
    """The build with these grams of the inks mixed on top."""
    own = [(i, float(g) / i.density_g_cm3) for i, g in zip(inks, grams, strict=True) if g > 0]
    wet = sum(volume for _, volume in own)
    ink = mix_inks([(i, v / wet) for i, v in own], name="mixed") if len(own) > 1 else own[0][0]
    return replace(build, layers=(*build.layers[:-1], replace(build.colour, ink=ink)))
