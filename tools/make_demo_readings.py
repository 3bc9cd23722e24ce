"""Make the demo shop's invented readings of prints: shared/readings/first-prints.csv.

Run from the top of the project: ``python -m tools.make_demo_readings``. Nothing here was measured
or printed. The prints are worked out for a press with parameters of its own and by rules that are
not inksim's (`tests.press_worlds.OtherWorld`: lognormal films, each layer uneven by itself, cloth
darkened by optical contact), with the demo's inks 6 to 12 % off their entries, some cloths of
another lot, and a reading noise of 0.5 ΔE00. If model and inks were the demo's own, a calibration
would come out perfect and show nothing.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from inksim.calibration.history import to_csv
from inksim.calibration.print_rows import row_of_build
from inksim.printing.build import Build
from inksim.shop.load import load_shop
from tests.press_worlds import D50, OtherWorld, build_of, noisy

OUT = Path(__file__).resolve().parent.parent / "shared" / "readings" / "first-prints.csv"
SEED = 1742
DAY = "2026-02-10"


def prints() -> tuple[Build, ...]:
    """What was pulled: every route, light and dark cloths, two meshes, one and two strokes."""
    return (
        build_of("Coal Black", "Lantern Orange", "white-base"),
        build_of("Flour White", "Lantern Orange", "straight"),
        build_of("Mist Gray", "Kiln Red", "straight"),
        build_of("Kingcup Yellow", "Cornflower Blue", "straight", passes=1, screen="230"),
        build_of("Slate Gray", "Foxglove Pink", "discharge-base"),
        build_of("Estuary Navy", "Barley Yellow", "white-base"),
        build_of("Pebble Heather", "Weir Teal", "straight"),
    )


def world() -> OtherWorld:
    """The press that printed them, of numbers made up by hand."""
    shop = load_shop()
    off = np.random.default_rng(SEED).uniform(0.06, 0.12, (len(shop.inks), 2))
    signs = np.random.default_rng(SEED + 1).choice([-1.0, 1.0], off.shape)
    press = shop.press.values._replace(
        release=0.49, pass_gain=0.68, cv_cloth=0.34, cv_base=0.20, soak=0.33, pick_up=0.10,
        discharge_deposit_um=6.5,
    )  # fmt: skip
    return OtherWorld(
        press=press,
        inks={n: (1 + f[0], 1 + f[1]) for n, f in zip(shop.inks, off * signs, strict=True)},
        cloths=dict.fromkeys(shop.garments, 1.0) | {"Mist Gray": 1.07, "Slate Gray": 0.95},
        left=dict.fromkeys(shop.garments, 1.0) | {"Slate Gray": 1.1},
        contact=0.15,
    )


def main() -> None:
    """Print, read and write."""
    from inksim.colour.viewing import lab

    builds = prints()
    read = lab(noisy(world().prints(builds), np.random.default_rng(SEED + 2)), D50)
    rows = [
        row_of_build(
            build,
            name=f"{build.colour.ink.name} on {build.garment.name}",
            lab=tuple(round(float(v), 2) for v in seen),
            geometry="45:0",
            date=DAY,
            note="invented",
        )
        for build, seen in zip(builds, read, strict=True)
    ]
    OUT.parent.mkdir(exist_ok=True)
    head = (
        "# INVENTED: no press printed these; see tools/make_demo_readings.py for how they came.\n"
    )
    OUT.write_text(head + to_csv(rows), encoding="utf-8")


if __name__ == "__main__":
    main()
