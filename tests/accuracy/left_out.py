"""Recipes left out of a sheet, with bronzing and gloss

Each ink is drawn down alone, 1:1 and 1:9 in white, over black and over white, in simulated studios
whose surface is not the assumed one: masstones that bronze (a gloss of their own color, so that
they read higher than any film of theirs can), a haze or gloss that the instrument catches, another
k1 and k2. Each recipe of a color is then left out, everything is fitted again, and the films that
were left out are predicted. A masstone that is left out is predicted from its tints, and the other
way round; both have all faults of the studio, so no prediction can come to zero.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.drawdowns.characterisation import characterise, predict_drawdown
from tests.accuracy import Detail, Row, row
from tests.accuracy._studio import Studio, World
from tests.accuracy.drawdowns import FAULTS, HIDING

ORDER, SLOW = 33, True
SEEDS = (1, 2)
SOURCE = "known truth: simulated studios"
SHEET = {"colours": 5, "tint": 0.5, "unseen": (0.1,)}
BRONZE = {"bronze": 0.010, "strong": 8.0, **FAULTS}
WORLDS = {
    "Kubelka–Munk, hiding, bronzing": World(**HIDING, **BRONZE, **SHEET),
    "radiative, hiding, bronzing": World(truth=1.0, **HIDING, **BRONZE, **SHEET),
    "radiative, hiding, bronzing, 8:d gloss included, k1 0.036": World(
        truth=1.0, geometry="d:8-sci", k1=0.036, **HIDING, **BRONZE, **SHEET
    ),
    "radiative, thin, bronzing": World(truth=1.0, **BRONZE, **SHEET),
    "Kubelka–Munk, hiding, gloss, k1 0.03, k2 0.45": World(
        k1=0.03, k2=0.45, sheen=0.008, **HIDING, **FAULTS, **SHEET
    ),
    "radiative, hiding, bronzing and gloss": World(
        truth=1.0, sheen=0.006, **HIDING, **BRONZE, **SHEET
    ),
}


def rows() -> list[Row]:
    """All studios together: tints, and masstones."""
    errors = np.concatenate([_errors(name) for name in WORLDS])
    return [
        row("Tints left out, bronzing and gloss", SOURCE, errors[:, 1:], limits={"p95": 4.6}),
        row("Masstones left out, from their tints alone", SOURCE, errors[:, 0]),
    ]


def details() -> list[Detail]:
    """Each studio, by what was left out."""
    cells = []
    for name in WORLDS:
        errors = _errors(name)
        line = [name]
        for at in range(3):
            each = errors[:, at]
            line.append(f"{each.mean():.2f} / {np.percentile(each, 95):.2f}")
        cells.append([*line, f"{np.percentile(errors, 95):.2f}", f"{errors.max():.2f}"])
    return [
        Detail(
            title="Recipes left out, by studio",
            text=f"ΔE00 mean / 95th percentile, D50/2°, {len(SEEDS)} studios each.",
            head=["studio", "masstone", "1:1", "1:9", "all, 95 %", "worst"],
            cells=cells,
        )
    ]


@cache
def _errors(world: str) -> np.ndarray:
    """ΔE00 (n, 3, 2) of masstone, 1:1 and 1:9 of each color over the two cards."""
    return np.concatenate([left_out_errors(Studio(WORLDS[world], seed)) for seed in SEEDS])


def left_out_errors(studio: Studio) -> np.ndarray:
    """The same of one studio."""
    sheet, viewing = [*studio.fitted, *studio.unseen], Viewing()
    found = []
    for name in (n for n in studio.inks if n.startswith("color")):
        recipes = list(dict.fromkeys(d.same_film for d in sheet if name in d.recipe))
        for recipe in recipes:
            out = [d for d in sheet if d.same_film == recipe]
            rest = [d for d in sheet if d.same_film != recipe]
            inks = characterise(rest, geometry=studio.world.geometry)  # type: ignore[arg-type]
            predicted = [
                predict_drawdown(inks, recipe=d.recipe, backing=d.card, thickness_um=d.thickness_um)
                for d in out
            ]
            measured = np.array([d.measured for d in out])
            found.append(delta_e_2000(lab(measured, viewing), lab(np.array(predicted), viewing)))
    return np.array(found).reshape(-1, 3, 2)
