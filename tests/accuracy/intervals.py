"""How sure a prediction is, against a Monte Carlo

Six prints by their three routes, each with its 90 % interval, against 20 000 prints of the full
model whose press, inks, cloth and discharge are drawn at random from what is known of them. What is
compared is where an interval ends, in half-widths of the interval itself: a Monte Carlo of this
size knows it to 0.015 to 0.02. ΔE00 is taken from 20 targets, 0 to 10 away from the print that is
expected; its chance of landing is that of being within 3.

Lab ends follow from cumulants, ΔE00 from 512 fixed samples of the second-order response. The rest
is what a response of second order along each direction leaves out, and grows with the square of how
unsure the inks are. Products of two directions added to it bring nothing: what is left is of third
order and more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from inksim.calibration.press_estimate import calibrate, printed
from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing
from inksim.printing.build import Build, tabulate
from inksim.printing.uncertainty import errors_of_builds, lab_ends, respond, summarize
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.press import Press
from tests.accuracy import Detail, Row, row
from tests.monte_carlo import sample_prints
from tests.press_worlds import build_of, read_prints, six_prints, study_shop, whole_prior

ORDER = 58
SAMPLES, TOLERANCE = 20_000, 3.0
SOURCE = f"Monte Carlo of the full model, {SAMPLES} prints"
D50 = Viewing()
NAMES = (
    ("Kingcup Yellow", "Cornflower Blue", "white-base"),
    ("Coal Black", "Barley Yellow", "straight"),
    ("Mist Gray", "Kiln Red", "straight"),
    ("Slate Gray", "Damson Purple", "discharge-base"),
    ("Flour White", "Weir Teal", "straight"),
    ("Coal Black", "Foxglove Pink", "white-base"),
)
LIMITS = {  # of Lab ends; of ΔE00 ends, worst and rms; of the chance
    "invented": (0.20, 0.35, 0.13, 0.06),
    "measured": (0.20, 0.25, 0.05, 0.07),
    "calibrated": (0.10, 0.20, 0.06, 0.04),
}


@cache
def calibrated_press() -> Press:
    """A press calibrated to six readings of prints."""
    rng = np.random.default_rng(4)
    readings = read_prints(whole_prior(rng), six_prints(), rng)
    return calibrate(readings, press=study_shop().press).press


def builds_of(data: str) -> tuple[list[Build], Press]:
    """The six prints and their press, by what is known of the stock."""
    if data == "invented":
        shop = load_shop()
        inks = {name: replace(ink, error=None) for name, ink in shop.inks.items()}
        shop = replace(shop, inks=inks)  # as unsure as any invented ink
        builds = [
            usual_build(shop, garment=shop.garment(g), ink=shop.ink(i), route=r)  # type: ignore[arg-type]
            for g, i, r in NAMES
        ]
        return builds, shop.press
    builds = [build_of(*names) for names in NAMES]
    if data == "measured":
        return builds, study_shop().press
    return [printed(build, press=calibrated_press()) for build in builds], calibrated_press()


@dataclass(frozen=True, kw_only=True)
class Compared:
    """Ends off, in half-widths: lab, delta_e; delta_e in ΔE00; chance off; share inside Lab's."""

    lab: np.ndarray
    delta_e: np.ndarray
    in_de00: np.ndarray
    chance: np.ndarray
    inside: np.ndarray


@cache
def compared(data: str) -> Compared:
    """Hold the intervals of six prints against the Monte Carlo."""
    builds, press = builds_of(data)
    drawn = sample_prints(builds, press, count=SAMPLES, rng=np.random.default_rng(11))
    table = tabulate(builds)
    errors = errors_of_builds(builds, layers=table.K.shape[-2])
    response = respond(table, errors, press=press, viewing=D50)
    low, high = lab_ends(response)
    ends = np.quantile(drawn, [0.05, 0.95], axis=0)
    off_lab = (np.stack([low, high]) - ends) / (ends[1] - ends[0]) * 2.0
    relative, absolute, chance = [], [], []
    for away in (0.0, 1.0, 2.0, 5.0, 10.0):
        for way in (*np.eye(3), np.array([-0.8, -0.4, 0.4])):
            standard = response.centre + away * way
            full = delta_e_2000(standard, drawn)
            ends = np.quantile(full, [0.05, 0.95], axis=0)
            found = summarize(response, standard=standard, tolerance=TOLERANCE)
            off = np.stack([found.de_low, found.de_high]) - ends
            absolute.append(off)
            relative.append(off / (ends[1] - ends[0]) * 2.0)
            chance.append(found.within - np.mean(full <= TOLERANCE, axis=0))
    return Compared(
        lab=off_lab,
        delta_e=np.array(relative),
        in_de00=np.array(absolute),
        chance=np.array(chance),
        inside=np.mean((drawn >= low) & (drawn <= high), axis=0),
    )


def rows() -> list[Row]:
    """Ends of Lab and of ΔE00, and the chance of landing, by what is known of the stock."""
    found = []
    for data, (of_lab, of_de, _, of_chance) in LIMITS.items():
        seen = compared(data)
        found += [
            row(f"Lab ends, {data}", SOURCE, seen.lab, unit="half-widths",
                limits={"worst": of_lab}),
            row(f"ΔE00 ends, {data}", SOURCE, seen.delta_e, unit="half-widths",
                limits={"worst": of_de}),
            row(f"chance of landing, {data}", SOURCE, seen.chance, unit="–",
                limits={"worst": of_chance}),
        ]  # fmt: skip
    return found


def details() -> list[Detail]:
    """The same in ΔE00, and how many of the prints lie inside."""
    cells = []
    for data in LIMITS:
        seen = compared(data)
        rms = float(np.sqrt(np.mean(seen.delta_e**2)))
        cells.append(
            (
                data, f"{rms:.2f}", f"{np.abs(seen.in_de00).mean():.2f}",
                f"{np.abs(seen.in_de00).max():.2f}", f"{seen.inside.mean():.1%}",
                f"{seen.inside.min():.1%} to {seen.inside.max():.1%}",
            )
        )  # fmt: skip
    return [
        Detail(
            title="In ΔE00, and how many prints lie inside",
            text="Prints inside: of the Monte Carlo, between the ends of L*, a* and b*.",
            head=("stock", "ΔE00 ends, rms, half-widths", "mean, ΔE00", "worst, ΔE00",
                  "prints inside 90 %", "from to"),
            cells=cells,
        )
    ]  # fmt: skip
