"""A shop that was read by photo

A shop owner draws each ink down over white and black card, lays shirts and drawdowns beside a
chart, and takes a picture; then prints six colors and takes another. Nothing but those two
pictures tells his stock and his press. How near are all his other prints predicted, against the
same shop where only hex values are known, and where an instrument read everything?

The truth is not the program's model: inks, cloths and presses are drawn as in the chapter on
chances (tests/accuracy/_worlds.py) and print by other rules (`OtherWorld` of
tests/press_worlds.py: lognormal thickness, each layer uneven on its own, contact as a factor on
the cloth's K/S).

- *hex*: inks by the hex of a film of unknown thickness over white, some with a word for how they
  cover or a hex over black; cloths by hex; no print was read.
- *photo*: looks over white and over black of a film known to 8 %, and cloths, as Lab with its
  noise; six prints as Lab with noise. Own noise 1.2 ΔE00 and 1.0 that each picture shares.
- *photo, its common error not said*: the same, the noise of a picture passed off as each
  reading's.
- *instrument*: spectra of two films of each ink and of cloths and prints.
- *camera*: as photo, by a simulated camera, light and JPEG file (tests/accuracy/_cameras.py) and
  the readings and the noise that `inksim photo` makes of them.

Cover is the share of L*, a* and b* inside their 90 % intervals. The least to ask is half the
error of hex.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from inksim.calibration.press_estimate import calibrate, printed
from inksim.calibration.print_reading import PrintReading
from inksim.colour.cielab import delta_e_2000
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.viewing import lab
from inksim.common.errors import InputError
from inksim.photo.camera import camera_of
from inksim.photo.charts import chart_of
from inksim.printing.build import Build
from inksim.printing.swatches import swatch
from inksim.printing.uncertainty import spread
from inksim.stock.garment import BRIGHTEST, Garment
from inksim.stock.ink import Ink
from inksim.stock.lab_noise import LabNoise, lab_root
from inksim.stock.press import Press
from tests.accuracy import Detail, Row, row
from tests.accuracy._cameras import take, twenty
from tests.accuracy._shops import (
    D50,
    LOOK_CARD,
    LOOK_UM,
    Plan,
    filed_inks,
    fitted,
    from_hex,
    take_look,
)
from tests.accuracy._worlds import InkTruth, Rng, draw_cloth, draw_ink, draw_press, draw_white, off
from tests.press_worlds import CONTACT, OtherWorld, noisy

ORDER, SLOW = 63, True
SHOPS, SEED = 16, 7
COLOURS, CLOTHS, PRINTS_READ = 4, 4, 6
OWN, SHARED = 1.2, 1.0
SOURCE = "known truth, simulated shops"
Read = Callable[[np.ndarray, str, Rng], tuple[np.ndarray, list[LabNoise]]]
"""Lab (n, 3) and noise of reflectances (n, 31) in one picture."""
KINDS = ("hex", "photo", "photo, its common error not said", "camera", "instrument")


def simulated(truth: np.ndarray, picture: str, rng: Rng) -> tuple[np.ndarray, list[LabNoise]]:
    """A camera of which nothing is known but its noise."""
    true, common = lab(truth, D50), rng.normal(size=3)
    read = true + (lab_root(true, OWN) @ rng.normal(size=(len(true), 3, 1)))[..., 0]
    read += lab_root(true, SHARED) @ common
    read[:, 0] = np.clip(read[:, 0], 1.0, 99.0)
    return read, [LabNoise(OWN, SHARED, picture)] * len(true)


def unsaid(truth: np.ndarray, picture: str, rng: Rng) -> tuple[np.ndarray, list[LabNoise]]:
    """The same, and what a picture shares is said to be each reading's own."""
    read, noise = simulated(truth, picture, rng)
    return read, [LabNoise(each.whole) for each in noise]


def by_camera(truth: np.ndarray, picture: str, rng: Rng) -> tuple[np.ndarray, list[LabNoise]]:
    """A simulated camera with an ordinary sensor, its JPEG, and what inksim reads in it."""
    sensor = twenty("kept out")[int(rng.integers(5))]
    seen = take(sensor, str(rng.choice(["D50", "D65", "LED-B3"])), "JPEG", truth, rng)
    camera = camera_of(chart_of("iso17321"), seen.patches, surround=seen.surround)
    read = camera.read_all(seen.regions)
    noise = [LabNoise(each.sd_de00, each.shared_de00, picture) for each in read]
    return np.array([each.lab for each in read]), noise


READERS: Mapping[str, Read] = {
    "photo": simulated, "photo, its common error not said": unsaid, "camera": by_camera
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Truth:
    """A shop as it is: inks, cloths (n, 31), the builds by name, and how it prints."""

    inks: dict[str, InkTruth]
    cloths: np.ndarray
    plans: list[Plan]
    read: list[int]
    prints: np.ndarray

    @property
    def others(self) -> list[int]:
        """Builds that were not read."""
        return [at for at in range(len(self.plans)) if at not in self.read]


def draw_truth(rng: Rng) -> Truth:
    """A shop drawn at random, with six of its prints chosen to be read."""
    inks = {f"color {at}": draw_ink(rng) for at in range(COLOURS)}
    inks["white"] = InkTruth(parts=((1.0, draw_white(rng)),))
    cloths = np.array([draw_cloth(rng) for _ in range(CLOTHS)])
    plans = []
    for cloth in range(CLOTHS):
        for name in list(inks)[:COLOURS]:
            top = (rng.uniform(17.0, 38.0), int(rng.integers(1, 3)))
            plans += [
                Plan(cloth=cloth, route="straight", inks=(name,), screens=(top,)),
                Plan(cloth=cloth, route="white-base", inks=("white", name),
                     screens=((rng.uniform(36.0, 55.0), 1), top)),
            ]  # fmt: skip
    press = Press(name="generic")
    filed = filed_inks(
        {name: {"K": ink.K.tolist(), "S": ink.S.tolist()} for name, ink in inks.items()},
        kinds(inks),
    )
    garments = [garment(f"cloth {at}", cloth, "measured") for at, cloth in enumerate(cloths)]
    world = OtherWorld(
        press=draw_press(rng, press), inks=dict.fromkeys(inks, (1.0, 1.0)),
        cloths=dict.fromkeys([each.name for each in garments], 1.0),
        left=dict.fromkeys([each.name for each in garments], 1.0),
        contact=float(rng.uniform(*CONTACT)),
    )  # fmt: skip
    prints = world.prints([plan.build(filed, garments) for plan in plans])
    return Truth(inks=inks, cloths=cloths, plans=plans, read=_six(plans, rng),
                 prints=np.clip(prints, 1e-4, BRIGHTEST))  # fmt: skip


def _six(plans: Sequence[Plan], rng: Rng) -> list[int]:
    """Six builds: each route three times, as many colors and cloths as there are."""
    order, read = rng.permutation(len(plans)).tolist(), list[int]()
    for want in ("straight", "white-base") * (PRINTS_READ // 2):
        done = [plans[at] for at in read]
        left = [at for at in order if plans[at].route == want and at not in read]
        read.append(
            min(left, key=lambda at: (
                sum(plans[at].inks[-1] == each.inks[-1] for each in done),
                sum(plans[at].cloth == each.cloth for each in done),
            ))
        )  # fmt: skip
    return read


def kinds(names: Mapping[str, Any]) -> dict[str, str]:
    """Kind of each ink."""
    return {name: "white-base" if name == "white" else "color" for name in names}


def garment(
    name: str, reflectance: np.ndarray, data: Any, noise: LabNoise | None = None
) -> Garment:
    """A cotton of a reflectance."""
    return Garment(name=name, reflectance=np.clip(reflectance, 1e-4, BRIGHTEST),
                   fibers={"cotton": 1.0}, data=data, noise=noise)  # fmt: skip


def a_surface(seen: np.ndarray) -> np.ndarray:
    """Lab (3,) of the nearest color with a surface, by its chroma: as `add` enters it."""
    for paler in np.linspace(0.0, 0.9, 46):
        taken = seen * [1.0, 1.0 - paler, 1.0 - paler]
        try:
            reflectance_from_lab(taken, D50)
        except InputError:
            continue
        return np.asarray(taken)
    raise AssertionError(f"no surface near {seen}")


def stock(truth: Truth, kind: str, rng: Rng) -> tuple[dict[str, Ink], list[Garment]]:
    """Inks and cloths as filed, by how they are known."""
    if kind == "hex":
        fields = {
            n: take_look(i.film, rng, kind=kinds(truth.inks)[n]) for n, i in truth.inks.items()
        }
        cloths = [
            garment(f"cloth {at}", from_hex(cloth), "recovered")
            for at, cloth in enumerate(truth.cloths)
        ]
        return filed_inks(fields, kinds(truth.inks)), cloths
    if kind == "instrument":
        cloths = [garment(f"cloth {at}", cloth, "measured")
                  for at, cloth in enumerate(noisy(truth.cloths, rng))]  # fmt: skip
        return filed_inks(fitted(truth.inks, rng), kinds(truth.inks)), cloths
    films, told = [], []
    for name, ink in truth.inks.items():
        um = LOOK_UM[kinds(truth.inks)[name]] * float(np.exp(rng.uniform(-0.4, 0.4)))
        white = LOOK_CARD + rng.uniform(-0.05, 0.05)
        films += [ink.film(um, np.full(31, card)) for card in (white, 0.01)]
        told.append(um * off(rng, 0.08))
    seen, noise = READERS[kind](np.concatenate([films, truth.cloths]), "stock", rng)
    said = [
        {"lab": [float(v) for v in a_surface(one)], "sd_de00": float(own.own)}
        | ({"shared_de00": own.shared, "picture": own.picture} if own.picture else {})
        for one, own in zip(seen, noise, strict=True)
    ]
    fields = {
        name: {**said[2 * at], "data": "photo", "over_black": said[2 * at + 1], "film_um": told[at]}
        for at, name in enumerate(truth.inks)
    }
    first = 2 * len(truth.inks)
    cloths = [
        garment(f"cloth {at}", reflectance_from_lab(said[first + at]["lab"], D50), "photo",
                noise[first + at])
        for at in range(CLOTHS)
    ]  # fmt: skip
    return filed_inks(fields, kinds(truth.inks)), cloths


def press_of(truth: Truth, kind: str, builds: Sequence[Build], rng: Rng) -> Press:
    """The press as the six prints tell it; the generic one of a shop that read none."""
    press, seen = Press(name="generic"), truth.prints[truth.read]
    if kind == "hex":
        return press
    if kind == "instrument":
        readings = [
            PrintReading(name=f"print {at}", build=builds[at], reflectance=np.minimum(one, 1.0))
            for at, one in zip(truth.read, noisy(seen, rng), strict=True)
        ]
    else:
        read, noise = READERS[kind](seen, "prints", rng)
        readings = [
            PrintReading(name=f"print {at}", build=builds[at], lab=one, read_by="photo",
                         sd_de00=own.own, shared_de00=own.shared or None, picture=own.picture)
            for at, one, own in zip(truth.read, read, noise, strict=True)
        ]  # fmt: skip
    return calibrate(readings, press=press).press


@dataclass(frozen=True, kw_only=True)
class Found:
    """Off: ΔE00 (B,) of other builds; inside (B, 3): whether the truth was in its interval."""

    off: np.ndarray
    inside: np.ndarray


def foretold(truth: Truth, kind: str, rng: Rng) -> Found:
    """All other builds of a shop, predicted as its owner can, against the truth."""
    inks, cloths = stock(truth, kind, rng)
    builds = [plan.build(inks, cloths) for plan in truth.plans]
    press = press_of(truth, kind, builds, rng)
    others = [printed(builds[at], press=press) for at in truth.others]
    true = lab(truth.prints[truth.others], D50)
    sure = spread(others, press=press, viewing=D50)
    return Found(
        off=delta_e_2000(true, lab(swatch(others, press=press), D50)),
        inside=(true >= sure.lab_low) & (true <= sure.lab_high),
    )


@cache
def study(
    shops: int = SHOPS, which: tuple[str, ...] = KINDS, first: int = 0
) -> dict[str, list[Found]]:
    """The same shops by each kind of knowledge."""
    found: dict[str, list[Found]] = {kind: [] for kind in which}
    for number in range(first, first + shops):
        truth = draw_truth(np.random.default_rng([SEED, number]))
        for kind in which:
            rng = np.random.default_rng([SEED, number, KINDS.index(kind)])
            found[kind].append(foretold(truth, kind, rng))
    return found


def medians(found: Sequence[Found]) -> np.ndarray:
    """Median ΔE00 of the other builds, by shop."""
    return np.array([np.median(each.off) for each in found])


def cover(found: Sequence[Found]) -> float:
    """Share of L*, a*, b* inside their 90 % interval."""
    return float(np.mean([each.inside.mean() for each in found]))


def rows() -> list[Row]:
    """Median ΔE00 of all other builds, by shop, and cover."""
    found = study()
    hexes = medians(found["hex"])
    made = []
    for kind in KINDS:
        asked = kind == "photo"
        made += [
            row(f"Other builds of a shop known by {kind}", SOURCE, medians(found[kind]),
                limits={"mean": float(hexes.mean()) / 2.0} if asked else {}),
            row(f"Cover of the 90 % interval less 90 %, {kind}", SOURCE,
                [cover(found[kind]) - 0.90], unit="–", limits={"worst": 0.06} if asked else {}),
        ]  # fmt: skip
    return made


def details() -> list[Detail]:
    """Error, ratio to hex and cover by how a shop is known."""
    found = study()
    hexes = medians(found["hex"])
    cells = []
    for kind in KINDS:
        mine = medians(found[kind])
        every = np.concatenate([each.off for each in found[kind]])
        cells.append(
            (kind, str(mine.size), f"{mine.mean():.2f}", f"{np.median(every):.2f}",
             f"{np.percentile(every, 95):.1f}", f"{mine.mean() / hexes.mean():.2f}",
             f"{cover(found[kind]):.1%}")
        )  # fmt: skip
    head = ("known by", "shops", "mean of medians", "median of all", "95th percentile",
            "ratio to hex", "cover of 90 %")  # fmt: skip
    return [Detail(title="Other builds, by how a shop is known", text="ΔE00 of all builds but the "
                   "six that were read.", head=head, cells=cells)]  # fmt: skip


if __name__ == "__main__":
    for line in (details()[0].head, *details()[0].cells):
        print(" | ".join(line))
    sys.exit(any(each.missed for each in rows()))
