"""Calibration on presses whose truth is known

Random presses print a few builds, which are read with 0.5 ΔE00 of noise; the press is calibrated
to those readings, and all other builds of the shop are predicted. `before` is the median ΔE00 of
all other builds on the generic press, `after` on the calibrated one. Cover is the share of L*, a*
and b* of those builds that lie inside their 90 % intervals; it should be 85 to 95 %.

- *press only*: the model itself; inks and cloths are exactly as filed. Intervals allow for inks and
  cloths that are not, so here they are too wide.
- *whole prior*: the model itself, and whatever it calls unsure (press, inks, cloth lots, what a
  discharge leaves) is drawn from what it says of it.
- *other rules*: lognormal thickness, each layer uneven on its own, cloth darkened by optical
  contact, K and S of every ink 10 % off.

Three prints: one color by each route. Six: six colors once each, every route, light and dark
cloths, two meshes, one and two strokes. Both stand in tests/press_worlds.py. *Chosen*: the six that
`choose_prints` picks by the model's own slopes and priors; it knows no other rules. The
last row has three prints where the truth is another model: what three prints that fit can hide.
The priors of `model_sd` and `ink_sd_factor`, and which prints are read, were chosen on such
presses, so this is a check that they hold on others, not an independent proof.

Presses differ a lot, so the ratio is said in three ways: of the means over presses of each press's
median (what is promised, with the 95 % range of a bootstrap over presses), of the medians over
presses, and of the medians of all builds of all presses. They do not agree: a press that was near
the generic one to begin with has little to gain, and inks that were not read keep their error. With
the true press and the true strength of the inks read, the inks not read alone would leave about a
third by all three. Which prints are read matters more than any prior does, and a choice by
expectation is not sure to be the best: other choices that were tried gave 0.44 to 0.54 by medians
over presses.

Cover is bound to differ: three prints cannot tell an exact stock from one that is a little off, so
what widens the interval for one widens it for the other.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from inksim.calibration.press_estimate import calibrate, printed
from inksim.calibration.prints_to_read import choose_prints
from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.printing.build import Build
from inksim.printing.swatches import swatch
from inksim.printing.uncertainty import spread
from tests.accuracy import Detail, Row, row
from tests.press_worlds import (
    World,
    all_builds,
    other_rules,
    press_only,
    read_prints,
    six_prints,
    study_shop,
    three_prints,
    whole_prior,
)

ORDER, SLOW = 60, True
PRESSES, SEED, EVERY = 120, 20250, 4
D50 = Viewing()
SOURCE = "known truth, simulated"


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """Presses (n,): medians before and after, share covered; called_wrong: right readings.

    each_before, each_after (n, B): ΔE00 of every build; read (B,): whether its color was read.
    """

    each_before: np.ndarray
    each_after: np.ndarray
    read: np.ndarray
    cover: np.ndarray
    called_wrong: int

    @property
    def before(self) -> np.ndarray:
        """Median over builds, by press."""
        return np.asarray(np.median(self.each_before, axis=1))

    @property
    def after(self) -> np.ndarray:
        """Median over builds, by press."""
        return np.asarray(np.median(self.each_after, axis=1))

    def range(self) -> tuple[float, float]:
        """95 % range of the ratio: 2000 bootstrap samples of the presses."""
        rng, count = np.random.default_rng(0), self.after.size
        at = rng.integers(0, count, (2000, count))
        low, high = np.percentile(
            self.after[at].mean(axis=1) / self.before[at].mean(axis=1), [2.5, 97.5]
        )
        return float(low), float(high)

    def ratios(self) -> tuple[float, float, float]:
        """By the medians over presses, by all builds together, and for colors that were read."""
        by_press = np.median(self.after) / np.median(self.before)
        pooled = np.median(self.each_after) / np.median(self.each_before)
        read = np.median(self.each_after[:, self.read], axis=1).mean()
        read /= np.median(self.each_before[:, self.read], axis=1).mean()
        return float(by_press), float(pooled), float(read)

    @property
    def ratio(self) -> float:
        """Mean over presses of the median after, over that of the median before."""
        return float(self.after.mean() / self.before.mean())


def study(
    world: Callable[[np.random.Generator], World],
    prints: Sequence[Build],
    *,
    presses: int,
    seed: int,
    every: int = 1,
) -> Outcome:
    """Calibrate random presses of a world; every: of the other builds, only every so many."""
    rng, press = np.random.default_rng(seed), study_shop().press
    done = {words(build) for build in prints}
    others = [build for build in all_builds() if words(build) not in done][::every]
    generic = lab(swatch(others, press=press), D50)
    before, after, cover, wrong = [], [], [], 0
    for _ in range(presses):
        truth_of = world(rng)
        found = calibrate(read_prints(truth_of, prints, rng), press=press)
        truth = lab(truth_of.prints(others), D50)
        builds = [printed(build, press=found.press) for build in others]
        predicted = lab(swatch(builds, press=found.press), D50)
        sure = spread(builds, press=found.press, viewing=D50)
        before.append(delta_e_2000(truth, generic))
        after.append(delta_e_2000(truth, predicted))
        cover.append(np.mean((truth >= sure.lab_low) & (truth <= sure.lab_high)))
        wrong += len(found.suspects)
    colours = {build.colour.ink.name for build in prints}
    return Outcome(
        each_before=np.array(before),
        each_after=np.array(after),
        read=np.array([build.colour.ink.name in colours for build in others]),
        cover=np.array(cover),
        called_wrong=wrong,
    )


def words(build: Build) -> object:
    """What tells two builds apart."""
    layers = tuple((at.ink.name, at.screen.name, at.passes, at.flash) for at in build.layers)
    return build.garment.name, layers


@cache
def chosen_prints() -> tuple[Build, ...]:
    """The six builds that are expected to tell most of all others, before anything is read."""
    builds = all_builds()
    best = choose_prints(builds, press=study_shop().press, count=6)
    return tuple(builds[at] for at in best)


CASES = (
    ("press only", press_only, three_prints, 1 / 3),
    ("press only, six", press_only, six_prints, None),
    ("whole prior", whole_prior, three_prints, None),
    ("other rules", other_rules, six_prints, 1 / 2),
    ("other rules, chosen", other_rules, chosen_prints, 1 / 2),
    ("other rules, three", other_rules, three_prints, None),
)


@cache
def outcomes() -> tuple[Outcome, ...]:
    """All worlds, full size."""
    return tuple(
        study(world, prints(), presses=PRESSES, seed=SEED, every=EVERY)
        for _, world, prints, _ in CASES
    )


def rows() -> list[Row]:
    """Median ΔE00 of all other builds after calibration, by press."""
    return [
        row(
            f"Other builds of a calibrated press, {name}",
            SOURCE,
            outcome.after,
            limits={} if most is None else {"mean": float(outcome.before.mean() * most)},
            note=f"{len(prints())} readings",
        )
        for (name, _, prints, most), outcome in zip(CASES, outcomes(), strict=True)
    ]


def details() -> list[Detail]:
    """Before, after, ratio and cover of each world."""
    cells = []
    for (name, _, prints, most), found in zip(CASES, outcomes(), strict=True):
        (low, high), (by_press, pooled, read) = found.range(), found.ratios()
        worst, best = np.percentile(found.cover, [10, 90])
        cells.append(
            (
                name, str(len(prints())), str(found.after.size), f"{found.before.mean():.2f}",
                f"{found.after.mean():.2f}", f"{found.ratio:.2f} ({low:.2f} to {high:.2f})",
                "not asked" if most is None else f"{most:.2f}", f"{by_press:.2f}", f"{pooled:.2f}",
                f"{read:.2f}", f"{found.cover.mean():.1%}", f"{worst:.0%} to {best:.0%}",
                str(found.called_wrong),
            )
        )  # fmt: skip
    head = (
        "truth", "readings", "presses", "before", "after", "ratio (95 %)", "asked",
        "ratio of medians", "ratio, all builds", "ratio, colors read", "cover of 90 %",
        "10th to 90th press", "right readings called wrong",
    )  # fmt: skip
    return [
        Detail(
            title="Before and after",
            text="Before and after are means over presses of the median ΔE00 of all other builds.",
            head=head,
            cells=cells,
        )
    ]


if __name__ == "__main__":
    for line in (details()[0].head, *details()[0].cells):
        print(" | ".join(line))
    sys.exit(any(each.missed for each in rows()))
