"""Make the demo shop's invented record of promises: shared/invented-record.csv.

Run from the top of the project: ``python -m tools.make_demo_record``. Nothing here was promised to
anybody or printed. Some colors of the demo's palette are decided on some of its garments, a proof
of four a fortnight. Most are "printed" within a few days: the print is drawn from the model's own
distribution with every error `WIDER` than the model says, one draw a proof for what a run shares,
so that the record has something to tell; from `NEW_LOT` on one ink comes from a new, weaker lot.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing
from inksim.decision.palette_by_garment import palette_on_stock
from inksim.ledger.outcomes import Outcome, outcomes_csv
from inksim.printing.build import tabulate
from inksim.printing.uncertainty import errors_of_builds, respond
from inksim.shop.load import load_shop

OUT = Path(__file__).resolve().parent.parent / "shared" / "invented-record.csv"
SEED = 2417
FIRST, PROOFS, COLOURS = date(2025, 2, 3), 30, 4
LEAST = 0.25
"""Chance of a color that a shop would make a proof of."""
READ = 0.75
"""Share of the promises of which the print was read."""
WIDER = 1.6
NEW_LOT, LOT_INK, LOT_LAB = date(2025, 10, 1), "Lantern Orange", np.array([4.0, -6.0, -9.0])


def main() -> None:
    """Promise, print, read and write."""
    rng = np.random.default_rng(SEED)
    shop, viewing = load_shop(), Viewing()
    cloths = [shop.garment(name) for name in ("Coal Black", "Flour White", "Mist Gray")]
    tolerance = shop.habits.tolerance_de00
    columns = palette_on_stock(shop, garments=cloths, viewing=viewing, tolerance=tolerance)
    answers = [a for column in columns for a in column if not a.build.bare and a.chance >= LEAST]
    listed: list[Outcome] = []
    for number in range(1, PROOFS + 1):
        day = FIRST + timedelta(days=14 * (number - 1))
        told = [answers[at] for at in rng.choice(len(answers), COLOURS, replace=False)]
        builds = [answer.build for answer in told]
        table = tabulate(builds)
        errors = errors_of_builds(builds, layers=table.passes.shape[1])
        found = respond(table, errors, press=shop.press, viewing=viewing)
        z = rng.standard_normal((len(found.about), COLOURS))
        z[found.shared] = z[found.shared][:, :1]
        moved = np.einsum("nbl,nb->bl", found.slope, z) + np.einsum("nbl,nb->bl", found.curve, z**2)
        left = found.model_sd * rng.standard_normal(found.model_sd.shape)
        labs = found.centre + WIDER * (moved + left)
        for answer, lab in zip(told, labs, strict=True):
            assert answer.ink is not None
            said = answer.verdict
            promise = Outcome(
                proof=number, promised_on=day.isoformat(), garment=answer.garment.name,
                ink=answer.ink.name, route=answer.route, data=answer.data, tolerance=tolerance,
                chance=round(said.chance, 4), median=round(said.median_de00, 3),
                low=round(said.low, 3), high=round(said.high, 3),
            )  # fmt: skip
            if rng.random() > READ:
                listed.append(promise)
                continue
            read_on = day + timedelta(days=int(rng.integers(2, 15)))
            later = read_on >= NEW_LOT and answer.ink.name == LOT_INK
            seen = lab + LOT_LAB * later
            off = seen - answer.lab
            listed.append(
                replace(
                    promise,
                    read_on=read_on.isoformat(),
                    read_by="instrument",
                    ink_lot="B" if later else "A",
                    found=round(float(delta_e_2000(answer.target.lab(viewing), seen)), 3),
                    against=round(float(delta_e_2000(answer.lab, seen)), 3),
                    dL=round(float(off[0]), 2),
                    da=round(float(off[1]), 2),
                    db=round(float(off[2]), 2),
                )
            )
    OUT.write_text(outcomes_csv(listed, invented=True), encoding="utf-8")


if __name__ == "__main__":
    main()
