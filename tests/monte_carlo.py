"""A plain Monte Carlo of the whole print model: what `inksim.uncertainty` is held against.

No direction, no response, no quasi-random point: every sample is a press, a set of inks, a cloth
and a discharge drawn from their joint distribution, and is printed by the full model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from inksim.colour.viewing import Viewing, lab
from inksim.printing.build import Build, lower, tabulate
from inksim.printing.swatches import mean_reflectance
from inksim.stock.press import MEANINGS, Press, PressValues
from inksim.stock.provenance import DISCHARGE_LEFT_SD
from inksim.stock.stock_error import error_of, error_of_cloth

BLOCK = 500


def sample_prints(
    builds: Sequence[Build], press: Press, *, count: int, rng: np.random.Generator
) -> np.ndarray:
    """Lab (count, B, 3), D50/2°, of builds whose inks are as the press prints them."""
    return np.concatenate(
        [_block(builds, press, min(BLOCK, count - at), rng) for at in range(0, count, BLOCK)]
    )


def _known(press: Press, count: int, rng: np.random.Generator) -> np.ndarray:
    """What is known of the press, drawn (count, n): its parameters, then its strengths.

    Only what is unsure is drawn, so that what is known for certain does not shift the rest.
    """
    covariance = press.covariance
    unsure = np.flatnonzero(np.diag(covariance) > 0.0)
    found = np.zeros((count, len(covariance)))
    found[:, unsure] = rng.multivariate_normal(
        np.zeros(unsure.size), covariance[np.ix_(unsure, unsure)], count, method="eigh"
    )
    return found


def _block(
    builds: Sequence[Build], press: Press, count: int, rng: np.random.Generator
) -> np.ndarray:
    size, names = len(PressValues._fields), [s.ink for s in press.strengths]
    known = _known(press, count, rng)
    values = np.array(press.values) + known[:, :size]
    low, high = (np.array([getattr(MEANINGS[n], end) for n in PressValues._fields])
                 for end in ("least", "most"))  # fmt: skip
    values = np.clip(values, low, high)
    inks: dict[str, np.ndarray] = {}  # ln K and ln S (count, 2, 31) of each ink
    rows = dict(zip(names, press.strength_rows, strict=True))
    for build in builds:
        for ink in (layer.ink for layer in build.layers):
            if ink.name in inks:
                continue
            error = error_of(ink)
            basis = np.concatenate([np.eye(2)[..., None] * np.ones(31), error.shapes])
            at = rows.get(ink.name, np.zeros(0, dtype=int))
            sds = np.concatenate([[error.K, error.S], np.ones(len(error.shapes))])
            place = rng.normal(size=(count, sds.size)) * sds * press.ink_sd_factor
            place[:, : at.size] = known[:, at]
            inks[ink.name] = np.tensordot(place, basis, axes=1)
    table = tabulate(builds)
    ln = np.zeros((count, *table.passes.shape, 2, 31))
    for b, build in enumerate(builds):
        for at, layer in enumerate(build.layers):
            ln[:, b, at] = inks[layer.ink.name]
    cloth = np.empty((count, *table.cloth_ks.shape))
    for b, build in enumerate(builds):
        error = error_of_cloth(build.garment)
        shapes = rng.normal(size=(count, len(error.shapes))) @ error.shapes
        cloth[:, b] = error.ks * rng.normal(size=(count, 1)) + shapes
    left = np.array([DISCHARGE_LEFT_SD[b.garment.discharged is not None] for b in builds])
    moved = table.cloth_ks * np.exp(cloth)
    most = np.maximum(table.cloth_ks, table.discharged_ks)
    done = table.discharged_ks * np.exp(rng.normal(size=(count, len(builds))) * left)[..., None]
    found = replace(
        table,
        K=table.K * np.exp(ln[..., 0, :]),
        S=table.S * np.exp(ln[..., 1, :]),
        cloth_ks=moved,
        discharged_ks=np.where(table.discharges[:, None], np.minimum(done, most), moved),
    )
    seen = lab(mean_reflectance(lower(found, PressValues(*values.T))), Viewing())
    return seen + press.left_of(seen) * rng.normal(size=seen.shape)
