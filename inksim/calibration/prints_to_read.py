"""Which prints to read: optimal design of the readings for a calibration.

Bayesian experimental design, A-optimal in ΔE00, one print after the other [Chaloner & Verdinelli,
Statistical Science 10 (1995) 273]. The model is taken as linear about the press before its first
calibration, with the priors of a calibration and the cautious κ and τ that its fit starts from:
reading print i turns the covariance C of the unknowns into C − C·Jᵢ'(Nᵢ + JᵢCJᵢ')⁻¹JᵢC, and the
spread that remains of print b is √tr(GᵦJᵦCJᵦ'), in ΔE00, G the local metric. Its mean over all
prints is minimized. No reading is needed for this.

The cloths' lots do not count in that spread, since a calibration does not keep them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from inksim.calibration.fit import reading_noise
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.print_rows import row_of_build
from inksim.calibration.reading_model import reading_model
from inksim.colour import Viewing, difference_metric, lab as lab_of
from inksim.common import FloatArray, InputError, counted, csv_text
from inksim.decision import discharge_facts
from inksim.printing import Build, swatch
from inksim.shop import Shop, usable_routes, usual_build
from inksim.stock import CAUTIOUS_INK_SD_FACTOR, CAUTIOUS_MODEL_SD, Press

MOST_TO_CHOOSE_FROM = 400
"""Most candidate prints, spread over the stock: the work grows with their square, and 400 take some
seconds."""
AS_GOOD = 0.01
"""Of prints that leave a spread so little larger than the best one's, by this share, one is taken
by the route that was read least, and of those on the garment read least [assumption]: the estimate
is linear, and knows no other rules than the model's, by which all inks could be read over one
base."""
SIX = 6  # prints of a first calibration: see tests/accuracy/calibration_study.py
COLUMNS = (
    "name", "garment", "ink", "route", "screen", "passes", "base", "base_screen", "base_passes",
    "flash", "garment_lot", "ink_lot", "base_lot", "read_by", "L", "a", "b", "date", "note",
)  # fmt: skip


def prints_to_read(shop: Shop, *, count: int = SIX) -> tuple[Build, ...]:
    """Return the usual prints whose readings tell most about a shop's press, best first.

    Of every color on every garment by each route that the shop has; over a discharge base only
    where the dye discharges well. Fewer than count if there are no more.

    Raises
    ------
    InputError : no color of the shop prints on any of its garments.
    """
    builds = list(_usual_prints(shop))
    if not builds:
        colours = len(shop.colour_inks)
        raise InputError(
            f"no color of this shop prints on any of its garments ({counted(colours, 'color')}, "
            f"{counted(len(shop.garments), 'garment')}, {counted(len(shop.screens), 'screen')}); "
            "add what is missing, or a mesh that a color prints through."
        )
    some = [builds[at] for at in spread_out(len(builds), most=MOST_TO_CHOOSE_FROM)]
    chosen = choose_prints(some, press=shop.press, count=min(count, len(some)))
    return tuple(some[at] for at in chosen)


def table_to_fill_in(shop: Shop) -> str:
    """CSV table of the prints to read, with L, a, b to fill in.

    That of a shop whose entries are invented says so in its first line, which is passed over when
    it is read back.

    Raises
    ------
    InputError : see `prints_to_read`.
    """
    first = f"# INVENTED: inks and garments of {shop.name} are made up; prints are not."
    rows = []
    for build in prints_to_read(shop):
        ink, garment = build.colour.ink.name, build.garment.name
        row = row_of_build(build, name=f"{ink} {build.route} {garment}")
        cells: dict[str, Any] = {
            "name": row.name, "garment": garment, "ink": ink, "route": build.route,
            "screen": row.screen, "passes": row.passes,
        }  # fmt: skip
        if row.base:
            base, screen, strokes, flash = row.base
            cells |= {
                "base": base, "base_screen": screen, "base_passes": strokes,
                "flash": "yes" if flash else "no",
            }  # fmt: skip
        rows.append([cells.get(column, "") for column in COLUMNS])
    return csv_text(COLUMNS, rows, first=first if shop.invented else "")


def choose_prints(builds: Sequence[Build], *, press: Press, count: int) -> tuple[int, ...]:
    """Choose the builds to print and read, greedily: indices, the most informative first.

    Parameters
    ----------
    builds : what the shop prints, with inks as filed: the candidates, and the prints that count.
    press : calibrated or not; the start is `Press.before`.
    count : 1 to the number of builds.

    Raises
    ------
    InputError : count out of its range.
    """
    if not 1 <= count <= len(builds):
        raise InputError(
            f"{count} prints were asked for out of {len(builds)}; ask for 1 to {len(builds)}."
        )
    slope, wanted, noise = _linear(builds, press.before)
    covariance = np.eye(slope.shape[-1])
    chosen: list[int] = []
    for _ in range(count):
        left = remaining_spread(covariance, slope=slope, wanted=wanted, noise=noise)
        left[chosen] = np.inf
        read = [builds[at] for at in chosen]
        times = [
            (
                sum(each.route == build.route for each in read),
                sum(each.garment.name == build.garment.name for each in read),
            )
            for build in builds
        ]
        as_good = np.flatnonzero(left <= (1.0 + AS_GOOD) * left.min())
        best = int(min(as_good, key=lambda at: (*times[at], left[at])))
        chosen.append(best)
        J = slope[best]
        across = covariance @ J.T
        covariance = covariance - across @ np.linalg.solve(noise[best] + J @ across, across.T)
    return tuple(chosen)


def remaining_spread(
    covariance: FloatArray, *, slope: FloatArray, wanted: FloatArray, noise: FloatArray
) -> FloatArray:
    """Mean spread in ΔE00 (B,) that remains over all prints after reading each one.

    covariance (n, n) of the unknowns; slope (B, 3, n): J; wanted (B, 3, n): √G·J of what is kept;
    noise (B, 3, 3).
    """
    across = covariance @ slope.mT  # (B, n, 3)
    root = np.linalg.inv(np.linalg.cholesky(noise + slope @ across))
    told = across @ root.mT  # told·told' is what reading i takes off the covariance
    size = np.einsum("bai,ij,baj->b", wanted, covariance, wanted)
    taken = np.zeros((len(slope), len(slope)))
    for axis in range(wanted.shape[1]):
        gone = np.tensordot(wanted[:, axis], told, axes=(1, 1))  # (B of prints, B of readings, 3)
        taken += np.sum(gone**2, axis=-1)
    return np.asarray(np.sqrt(np.maximum(size[:, None] - taken, 0.0)).mean(axis=0))


def spread_out(count: int, *, most: int) -> list[int]:
    """Indices of at most so many of `count` items, out of step with any period in their order.

    Every second build could be of one route, since builds come route by route within ink and
    garment; multiples of the golden section are equidistributed for every period [Weyl 1916].
    """
    turn = np.arange(count) * (0.5 * (math.sqrt(5.0) - 1.0)) % 1.0
    return sorted(np.argsort(turn, kind="stable")[:most].tolist())


def _usual_prints(shop: Shop) -> Iterator[Build]:
    filed = shop.before
    for garment in filed.garments.values():
        for ink in filed.inks.values():
            if ink.kind != "color":
                continue
            for route in usable_routes(garment, shop=filed):
                least = shop.rules.least_discharge_grade
                if route == "discharge-base" and discharge_facts(garment).grade < least:
                    continue
                try:
                    yield usual_build(filed, garment=garment, ink=ink, route=route)
                except InputError:  # an ink without a screen that it prints through
                    continue


def _linear(builds: Sequence[Build], press: Press) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Jacobian J (B, 3, n), √G·J of the unknowns that are kept, and noise with the model's own."""
    seen = lab_of(swatch(builds, press=press), Viewing())
    readings = [
        PrintReading(name=str(at), build=build, lab=lab)
        for at, (build, lab) in enumerate(zip(builds, seen, strict=True))
    ]
    model = reading_model(readings, press)
    unknowns = model.unknowns
    factor = np.where(unknowns.of_ink, CAUTIOUS_INK_SD_FACTOR[model.ink_trust], 1.0)
    slope = model.jacobian(np.zeros(unknowns.size)) * factor
    root = np.linalg.cholesky(difference_metric(seen)).mT
    noise = reading_noise(model) + CAUTIOUS_MODEL_SD**2 * np.eye(3)
    return slope, root @ (slope * unknowns.kept), noise
