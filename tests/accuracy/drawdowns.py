"""Tints that were not drawn down

Inks are characterized from drawdowns over black and over white: each ink alone and one tint in
white. The tints that were left out are then predicted, with nothing fitted to them. The truth is
known, for the studios are simulated: films by radiative transfer or by Kubelka–Munk (or halfway),
thick ones that hide and thin ones that do not, and faults of the sizes that studios have:
thicknesses off by 10 %, shares by 10 %, weighing by 4 %, a white whose scattering crowds, gloss in
the reading, drift, a card misread by 1 %, a surface that is not the assumed one. Twelve colors, a
black and a white each time; the held-out drawdowns have all these faults too, so no prediction can
come to zero.

"plain" is the usual least squares per band, K and S ≥ 0, all films as stated. "All" adds what
`inksim.characterise` has: films free under a prior, the directness of the light, the inks'
strengths, and less weight for a drawdown that lies far off.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.drawdowns.characterisation import Characterisation, characterise, predict_drawdown
from tests.accuracy import Detail, Row, row
from tests.accuracy._studio import Studio, World

ORDER = 32
SLOW = True
SEEDS = (1, 2, 3)
SOURCE = "known truth: simulated studios"
FAULTS = {
    "strength": 0.1, "weighing": 0.04, "crowding": 0.2, "gain": 0.003, "card": 0.01,
    "film": 0.10, "within_film": 0.03,
}  # fmt: skip
HIDING = {"thickness_um": 75.0, "pigment": 0.12}
FROM_A_THIRD = {"tint": 0.33, "unseen": (0.03, 0.1, 0.6)}
FROM_HALF = {"tint": 0.5, "unseen": (0.03, 0.1, 0.25)}
WORLDS = {
    "radiative, thin, 8:d gloss included, told ±5 %": World(
        truth=1.0, geometry="d:8-sci", told=True, told_error=0.05, film=0.25
    ),
    "the same with all faults, told ±7 %, 1 + 9 from 1 + 4": World(
        truth=1.0, geometry="d:8-sci", told=True, tint=0.2, unseen=(0.1,),
        **{**FAULTS, "film": 0.25, "told_error": 0.07},
    ),
    "radiative, thin, all faults": World(truth=1.0, **FAULTS),
    "radiative, thin, all faults, from 1 + 1": World(truth=1.0, **FROM_HALF, **FAULTS),
    "radiative, hiding": World(truth=1.0, **HIDING),
    "radiative, hiding, all faults": World(truth=1.0, **HIDING, **FAULTS),
    "radiative, hiding, all faults, index 1.45, 8:d": World(
        truth=1.0, index=1.45, geometry="d:8-sce", tint=0.2, **HIDING, **FAULTS
    ),
    "radiative, hiding, all faults, gloss": World(truth=1.0, sheen=0.008, **HIDING, **FAULTS),
    "radiative, hiding, shares off by 40 %": World(
        truth=1.0, **HIDING, **{**FAULTS, "strength": 0.4}
    ),
    "halfway, hiding, all faults, from 1 + 2": World(
        truth=0.5, **HIDING, **FROM_A_THIRD, **FAULTS
    ),
    "Kubelka–Munk, thin": World(),
    "Kubelka–Munk, thin, all faults": World(**FAULTS),
    "Kubelka–Munk, hiding, all faults, k2 0.50": World(k2=0.50, **HIDING, **FAULTS),
    "Kubelka–Munk, hiding, gloss, k1 0.03, k2 0.45": World(
        k1=0.03, k2=0.45, sheen=0.008, **HIDING, **FAULTS
    ),
}  # fmt: skip
PLAIN = {"thickness_sd": 0.0, "strength_sd": 0.0, "directness_sd": 0.0}
METHODS: Mapping[str, Mapping[str, Any]] = {
    "plain": PLAIN,
    "films free": {"strength_sd": 0.0, "directness_sd": 0.0},
    "films, strengths": {"directness_sd": 0.0},
    "all": {},
}


def rows() -> list[Row]:
    """All worlds together, plain and all."""
    plain, ours = (np.concatenate([_errors(w, m) for w in WORLDS]) for m in ("plain", "all"))
    worse = [float(_errors(w, "all").mean() / _errors(w, "plain").mean()) for w in WORLDS]
    return [
        row("Tints not drawn down, plain least squares", SOURCE, plain),
        row(
            "the same as characterized here",
            SOURCE,
            ours,
            limits={"mean": 1.1, "median": 0.95, "p95": 2.6},
        ),
        row(
            "mean error over that of plain least squares, by world",
            SOURCE,
            worse,
            unit="×",
            limits={"mean": 0.8, "worst": 1.05},
        ),
    ]


def details() -> list[Detail]:
    """Each world by each method."""
    cells = []
    for name in WORLDS:
        line = [name]
        for method in METHODS:
            e = _errors(name, method)
            line.append(f"{e.mean():.2f} / {np.median(e):.2f} / {np.percentile(e, 95):.2f}")
        cells.append([*line, f"{_directness(name):.2f}"])
    return [
        Detail(
            title="Tints not drawn down, by studio",
            text=f"ΔE00 mean / median / 95th percentile, D50/2°, {len(SEEDS)} studios each, and "
            "the directness that was found (0 is Kubelka–Munk's light).",
            head=["studio", *METHODS, "directness"],
            cells=cells,
        )
    ]


@cache
def _studio(world: str, seed: int) -> Studio:
    return Studio(WORLDS[world], seed)


@cache
def _fit(world: str, method: str, seed: int) -> Characterisation:
    studio = _studio(world, seed)
    options: dict[str, Any] = dict(METHODS[method])
    return characterise(studio.fitted, geometry=studio.world.geometry, **options)


@cache
def _errors(world: str, method: str) -> np.ndarray:
    return np.concatenate(
        [unseen_errors(_studio(world, seed), _fit(world, method, seed)) for seed in SEEDS]
    )


def _directness(world: str) -> float:
    return float(np.mean([_fit(world, "all", seed).directness for seed in SEEDS]))


def unseen_errors(studio: Studio, inks: Characterisation) -> np.ndarray:
    """ΔE00 of the studio's unseen tints from what is predicted for them."""
    predicted = [
        predict_drawdown(inks, recipe=d.recipe, backing=d.card, thickness_um=d.thickness_um)
        for d in studio.unseen
    ]
    measured = np.array([d.measured for d in studio.unseen])
    viewing = Viewing()
    return np.asarray(delta_e_2000(lab(measured, viewing), lab(np.array(predicted), viewing)))
