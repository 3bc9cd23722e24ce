"""Shops drawn at random: what their owner filed, and how the same builds truly print.

Kinds of data: 'measured' (inks fitted to drawdowns that were read with noise), 'recovered' (inks
and cloths by their hex), 'invented' (filed after another that is like it) and 'calibrated' (any of
the three, with six of the shop's own prints read).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from inksim.calibration.press_estimate import calibrate, printed
from inksim.calibration.reading_model import PrintReading
from inksim.colour.cielab import delta_e_2000
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.srgb import encode_srgb, hex_from_rgb8, lab_from_hex, linear_srgb
from inksim.colour.viewing import Viewing, lab, xyz
from inksim.drawdowns.files import Drawdowns, FilmReading
from inksim.drawdowns.recipe import FilmRecipe
from inksim.drawdowns.to_shop import fit_sheet, fitted_ink_fields
from inksim.printing.build import Build, Layer, Route, lower, tabulate
from inksim.printing.swatches import mean_reflectance
from inksim.shop.ink_schema import InkEntry
from inksim.shop.load import ink_of as ink_of_entry
from inksim.stock.garment import BRIGHTEST, Garment
from inksim.stock.ink import Ink
from inksim.stock.press import Press, PressValues
from inksim.stock.screen import Screen
from tests.accuracy._worlds import (
    InkTruth,
    Rng,
    cloth_from_ks,
    draw_cloth,
    draw_ink,
    draw_press,
    draw_white,
    ks_of,
    off,
    textiles,
    wave,
)
from tests.press_worlds import noisy

Film = Callable[[float, np.ndarray], np.ndarray]
STOCKS = ("measured", "recovered", "invented")
KINDS = (*STOCKS, "calibrated")
D50 = Viewing()
COLOURS, CLOTHS, PRINTS_READ = 4, 4, 6
SOLIDS = {"color": 0.34, "white-base": 0.42, "discharge-base": 0.10}
LOOK_UM, LOOK_CARD = {"color": 6.0, "white-base": 12.0}, 0.85
"""Film and card of a look over white: as the file supposes them; the true ones vary about it."""
MODEL_DE00 = 0.8
"""Mean of what the print model itself leaves: 1 to 2 are expected of a calibrated press, but with
what is left of inks, cloth and readings."""


@dataclass(frozen=True, kw_only=True)
class DrawnShop:
    """Builds as filed, with the press as filed; truth (B, 3): Lab of the true prints.

    looks (B, 3): Lab of the true top ink over a white card.
    """

    stock: str
    filed: list[Build]
    press: Press
    truth: np.ndarray
    looks: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A build without its stock: names, (ink volume, passes) of each layer, garment side first."""

    cloth: int
    route: Route
    inks: tuple[str, ...]
    screens: tuple[tuple[float, int], ...]

    def build(self, inks: Mapping[str, Ink], cloths: Sequence[Garment]) -> Build:
        """The build with a stock."""
        layers = tuple(
            Layer(ink=inks[name], screen=screen(volume), passes=passes, flash=name != "discharge")
            for name, (volume, passes) in zip(self.inks, self.screens, strict=True)
        )
        return Build(garment=cloths[self.cloth], layers=layers, route=self.route)


def screen(volume: float) -> Screen:
    """A screen of an ink volume, cm³/m²."""
    return Screen(name=f"{volume:.1f}", threads_per_cm=60.0, thread_um=60.0,
                  ink_volume_cm3_m2=volume)  # fmt: skip


def draw_shop(rng: Rng, kind: str) -> DrawnShop:
    """One shop of a kind of data: its builds and their truth."""
    stock = STOCKS[rng.integers(len(STOCKS))] if kind == "calibrated" else kind
    truths = {f"color {at}": draw_ink(rng) for at in range(COLOURS)}
    truths["white"] = InkTruth(parts=((1.0, draw_white(rng)),))
    filed, truths = known_inks(truths, stock, rng)
    cloths, true_cloths = zip(
        *(_cloth(f"cloth {n}", stock, rng) for n in range(CLOTHS)), strict=True
    )
    plans = _plans(rng, [name for name in truths if name != "white"])
    true_inks = filed | {
        name: replace(filed[name], K=ink.K, S=ink.S, error=None) for name, ink in truths.items()
    }
    builds = [plan.build(filed, cloths) for plan in plans]
    left = np.array([off(rng, 0.6) for _ in cloths])[[plan.cloth for plan in plans]]
    press = Press(name="generic")
    prints = _printed(
        [plan.build(true_inks, true_cloths) for plan in plans],
        press=draw_press(rng, press), left=left, rng=rng,
    )  # fmt: skip
    card = np.full(prints.shape[1], LOOK_CARD)
    looks = np.array([truths[plan.inks[-1]].film(LOOK_UM["color"], card) for plan in plans])
    if kind == "calibrated":
        read = _spread_out(plans, rng)
        readings = [
            PrintReading(name=f"print {at}", build=builds[at], reflectance=np.minimum(reading, 1.0))
            for at, reading in zip(read, noisy(prints[read], rng), strict=True)
        ]
        press = calibrate(readings, press=press, keep_all=True).press
        others = [at for at in range(len(plans)) if at not in read]
        builds = [printed(builds[at], press=press) for at in others]
        prints, looks = prints[others], looks[others]
    return DrawnShop(
        stock=stock, filed=builds, press=press, truth=lab(prints, D50), looks=lab(looks, D50)
    )


def _plans(rng: Rng, colours: Sequence[str]) -> list[Plan]:
    """Each color on each cloth by each route; meshes and passes vary."""
    found = []
    for cloth in range(CLOTHS):
        for name in colours:
            top = (rng.uniform(17.0, 38.0), int(rng.integers(1, 3)))
            white, wet = (rng.uniform(36.0, 55.0), 1), (rng.uniform(30.0, 50.0), 1)
            found += [
                Plan(cloth=cloth, route="straight", inks=(name,), screens=(top,)),
                Plan(cloth=cloth, route="white-base", inks=("white", name), screens=(white, top)),
                Plan(cloth=cloth, route="discharge-base", inks=("discharge", name),
                     screens=(wet, top)),
            ]  # fmt: skip
    return found


def _spread_out(plans: Sequence[Plan], rng: Rng) -> list[int]:
    """Six builds to read: every route twice, as many colors as there are."""
    order = rng.permutation(len(plans))
    read: list[int] = []
    for want in ("straight", "white-base", "discharge-base") * (PRINTS_READ // 3):
        done = [plans[at].inks[-1] for at in read]
        left = [at for at in order if plans[at].route == want and at not in read]
        read.append(int(min(left, key=lambda at: done.count(plans[at].inks[-1]))))
    return read


def _printed(
    builds: Sequence[Build], *, press: PressValues, left: np.ndarray, rng: Rng
) -> np.ndarray:
    """Reflectance (B, 31) of true prints: the full model, and what no model of this kind knows."""
    table = tabulate(builds)
    done = np.minimum(
        table.discharged_ks * left[:, None], np.maximum(table.cloth_ks, table.discharged_ks)
    )
    done = np.where(table.discharges[:, None], done, table.cloth_ks)
    prints = mean_reflectance(lower(replace(table, discharged_ks=done), press))
    return _off_model(prints, rng)


def _off_model(prints: np.ndarray, rng: Rng) -> np.ndarray:
    """Prints changed by a smooth curve of 0 to twice `MODEL_DE00`."""
    curve = np.array([wave(rng) + 0.5 * rng.uniform(-1, 1) for _ in prints])
    wanted, size = rng.uniform(0.0, 2 * MODEL_DE00, len(prints)), np.full(len(prints), 0.01)
    clean = lab(prints, D50)
    for _ in range(4):
        now = delta_e_2000(clean, lab(prints * np.exp(size[:, None] * curve), D50))
        size = np.minimum(size * wanted / now, 0.15)
    return np.clip(prints * np.exp(size[:, None] * curve), 1e-4, BRIGHTEST)


# -- what the owner knows


def hex_of(reflectance: np.ndarray) -> str:
    """The hex of a sample as most software has it: each channel clipped by itself, eight bits."""
    code = encode_srgb(np.clip(linear_srgb(xyz(reflectance, D50), D50), 0.0, 1.0))
    return hex_from_rgb8(np.round(255.0 * code).astype(np.uint8))


def from_hex(reflectance: np.ndarray) -> np.ndarray:
    """A sample as it is recovered from its own hex."""
    found = reflectance_from_lab(lab_from_hex(hex_of(reflectance), D50), D50)
    return np.clip(found, 1e-4, BRIGHTEST)


def _cloth(name: str, stock: str, rng: Rng) -> tuple[Garment, Garment]:
    """A cloth as filed and as it is."""
    true = draw_cloth(rng)
    undyed = textiles()[np.argmax(lab(textiles(), D50)[:, 0])]
    if stock == "measured":
        filed = _lot(true, rng, strength=0.025, shape=0.015)
    elif stock == "recovered":
        filed = from_hex(_lot(true, rng, strength=0.05, shape=0.03))
    else:
        filed = _lot(true, rng, strength=0.09, shape=0.06)
    grade, fibres = int(rng.integers(3, 6)), {"cotton": 1.0}
    both = [
        Garment(name=name, reflectance=np.clip(reading, 1e-4, BRIGHTEST), fibers=fibres,
                undyed=undyed, discharge_grade=grade, data=stock)  # type: ignore[arg-type]
        for reading in (filed, true)
    ]  # fmt: skip
    return both[0], both[1]


def _lot(cloth: np.ndarray, rng: Rng, *, strength: float, shape: float) -> np.ndarray:
    """Another lot of a cloth."""
    return cloth_from_ks(ks_of(cloth) * off(rng, strength) * np.exp(shape * wave(rng)))


def known_inks(
    truths: Mapping[str, InkTruth], stock: str, rng: Rng
) -> tuple[dict[str, Ink], dict[str, InkTruth]]:
    """The inks as filed, by the kind of data, and as they are."""
    kinds = {name: "white-base" if name == "white" else "color" for name in truths}
    if stock == "measured":
        fields = fitted(truths, rng)
        true = {name: ink.moved(rng, size=0.1) for name, ink in truths.items()}  # the batch
    elif stock == "recovered":
        fields = {n: take_look(ink.film, rng, kind=kinds[n]) for n, ink in truths.items()}
        true = dict(truths)
    else:
        fields = {
            name: {"K": ink.K.tolist(), "S": ink.S.tolist(), "data": "invented"}
            for name, ink in truths.items()
        }
        true = {name: ink.moved(rng) for name, ink in truths.items()}
    filed = filed_inks(fields, kinds)
    return filed | {"discharge": _discharge(stock)}, true


def take_look(film: Film, rng: Rng, *, kind: str = "color") -> dict[str, Any]:
    """An entry by the hex of a film over white; film and white are not quite as supposed.

    Some owners say in a word how it covers, some give its look over black as well, some nothing;
    one in three tells the film, off by 8 %. film: reading (31,) of so many µm over a card (31,).
    """
    um = LOOK_UM[kind] * np.exp(rng.uniform(-0.5, 0.5))
    white, black = (np.full(31, card) for card in (LOOK_CARD + rng.uniform(-0.08, 0.05), 0.01))
    said: dict[str, Any] = {"hex": hex_of(film(um, white))}
    if rng.random() < 1 / 3:
        said["film_um"] = float(um * off(rng, 0.08))
    how = rng.random()
    if how < 0.45:
        said["covers"] = opacity_word(film, um, rng)
    elif how < 0.65:
        said["over_black"] = {"hex": hex_of(film(um, black))}
    return said


def opacity_word(film: Film, um: float, rng: Rng) -> str:
    """How a shop calls a film's cover: by about its contrast ratio, as its eye has it."""
    dark, light = (xyz(film(um, np.full(31, card)), D50)[1] for card in (0.01, 0.80))
    seen = dark / light + rng.uniform(-0.08, 0.08)
    return "black" if seen > 0.80 else "half" if seen > 0.30 else "clear"


def filed_inks(fields: Mapping[str, Mapping[str, Any]], kinds: Mapping[str, str]) -> dict[str, Ink]:
    """Inks as a shop's file makes them of their entries."""
    return {
        name: ink_of_entry(
            InkEntry.model_validate(
                {"name": name, "kind": kinds[name], "solids_by_volume": SOLIDS[kinds[name]], **said}
            )
        )
        for name, said in fields.items()
    }


@cache
def _discharge(stock: Any) -> Ink:
    """A base that is only there for what it does to the cloth."""
    return Ink(name="discharge", kind="discharge-base", K=np.full(31, 5e-4), S=np.full(31, 4e-3),
               solids_by_volume=SOLIDS["discharge-base"], data=stock)  # fmt: skip


def fitted(truths: Mapping[str, InkTruth], rng: Rng) -> dict[str, dict[str, Any]]:
    """Entries from a fit to films over black and over white, thicknesses told, read with noise."""
    white = 0.80 + rng.uniform(-0.03, 0.03) - 0.05 * np.linspace(1, 0, 31) ** 4
    cards = {"black": np.full(31, rng.uniform(0.005, 0.015)), "white": white}
    recipes = [{name: 1.0} for name in truths]
    if rng.random() < 0.5:
        recipes += [{name: 0.2, "white": 0.8} for name in truths if name != "white"]
    films = []
    for recipe in recipes:
        thick = np.exp(rng.uniform(np.log(4.0), np.log(20.0)))
        told = thick * off(rng, 0.05)
        parts = {name: part * off(rng, 0.03) for name, part in recipe.items()}
        mixed = InkTruth(
            parts=tuple(
                (part / sum(parts.values()) * share, pigment)
                for name, part in parts.items()
                for share, pigment in truths[name].parts
            )
        )
        for backing, card in cards.items():
            reading = mixed.film(thick * off(rng, 0.02), card) * off(rng, 0.003)
            reading = np.clip(reading + 0.0015 * rng.standard_t(5, 31), 1e-4, 1.0)
            made = FilmRecipe(parts=recipe)
            films.append(
                FilmReading(
                    name=f"{made.words} {backing}", source="sheet.csv, line 1", recipe=made,
                    backing=backing, card=card, reading=reading, thickness_um=told,
                    film=made.words,
                )
            )  # fmt: skip
    sheet = Drawdowns(films=tuple(films), geometry="45:0", m_condition=None, cards=cards,
                      notes=(), warnings=())  # fmt: skip
    found = fit_sheet(sheet)
    return {name: fitted_ink_fields(found, name, sheet=sheet, date="2026-01-01") for name in truths}
