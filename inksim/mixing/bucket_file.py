"""A bucket as a file: what `inksim mix --json` wrote of a recipe or of a corrected bucket."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import numpy as np
from pydantic import ConfigDict, Field, PlainValidator

from inksim.colour import BANDS, Lamp, Viewing, stated_light
from inksim.common import FloatArray, InputError, json_of
from inksim.mixing.bucket import Bucket, BucketReading, known_inks
from inksim.printing import Build, Layer, Route
from inksim.shop import Entry, Shop, checked
from inksim.stock import Target, target_from_lab, target_from_reflectance

WHAT = "the recipe"
MOST_BYTES = 5_000_000
_Spectrum = Annotated[list[float], Field(min_length=BANDS, max_length=BANDS)]
_Lab = Annotated[list[float], Field(min_length=3, max_length=3)]


class _Part(Entry):
    model_config = ConfigDict(extra="ignore")
    ink: str
    grams: float


class _Layer(Entry):
    model_config = ConfigDict(extra="ignore")
    ink: str
    screen: str
    passes: int
    flash: bool


class _Print(Entry):
    """How it is printed."""

    model_config = ConfigDict(extra="ignore")
    route: Route
    screen: str
    passes: int
    base: _Layer | None = None


class _Recipe(_Print):
    parts: list[_Part]


def _stated_light(said: object) -> str | Lamp:
    try:
        return stated_light(said)
    except InputError as fault:
        raise ValueError(str(fault)) from None


class _Conditions(Entry):
    light: Annotated[str | Lamp, PlainValidator(_stated_light)] = "D50"
    observer: int = 2


class _Target(Entry):
    name: str
    lab_d50: _Lab
    reflectance: _Spectrum | None = None


class _Asked(Entry):
    target: _Target
    garment: str


class _Reading(Entry):
    after: int
    reflectance: _Spectrum | None = None
    lab: _Lab | None = None
    viewing: _Conditions = _Conditions()
    off_de00: float
    card: _Spectrum | None = None
    film_um: float | None = None


class _Bucket(_Print):
    inks: list[str]
    batches: Annotated[list[list[float]], Field(min_length=1)]
    readings: list[_Reading] = []  # noqa: RUF012


class _File(Entry):
    model_config = ConfigDict(extra="ignore")
    asked: _Asked
    conditions: _Conditions
    recipes: list[_Recipe] = []  # noqa: RUF012
    bucket: _Bucket | None = None


def read_bucket(file: Path, shop: Shop, *, number: int = 1) -> tuple[Bucket, Viewing]:
    """Read a bucket, or a recipe by its number, and the viewing that it was looked for under.

    Raises
    ------
    InputError : no such file or recipe; one that names what the shop no longer has; see `Bucket`.
    ShopFaults : every fault of the file at once.
    """
    if not file.is_file():
        raise InputError(
            f"{WHAT} cannot be read: there is no file '{file}'; write one with 'inksim mix … "
            "--json'."
        )
    with file.open("rb") as opened:
        data = opened.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise InputError(f"{WHAT} '{file}' is no file of 'inksim mix --json': it is too large.")
    try:
        said = json_of(data)
    except InputError as error:
        raise InputError(f"{WHAT} '{file}' is {error}.") from None
    if "asked" not in said:
        raise InputError(
            f"{WHAT} '{file}' is no file of 'inksim mix --json', which says what was asked; write "
            "one anew."
        )
    held = checked(said, _File, file=file.name, what=WHAT)
    viewing = Viewing(held.conditions.light, held.conditions.observer)
    target = _target_of(held.asked.target)
    if held.bucket is not None:
        kept = held.bucket
        build = _build_of(kept, held.asked.garment, kept.inks, shop)
        if any(len(row) != len(kept.inks) for row in kept.batches):
            raise InputError(
                f"{WHAT} '{file}': a batch has other inks than the bucket; give a weight for each "
                f"of {', '.join(kept.inks)}."
            )
        readings = tuple(_reading_of(each) for each in kept.readings)
        return Bucket(
            inks=known_inks(kept.inks, shop.inks), batches=np.array(kept.batches, dtype=np.float64),
            build=build, target=target, readings=readings,
        ), viewing  # fmt: skip
    if not 1 <= number <= len(held.recipes):
        raise InputError(
            f"recipe {number} is asked for; '{file}' has {len(held.recipes)}, by their numbers "
            "from 1."
        )
    one = held.recipes[number - 1]
    names = [part.ink for part in one.parts]
    build = _build_of(one, held.asked.garment, names, shop)
    return Bucket(
        inks=known_inks(names, shop.inks),
        batches=np.array([[part.grams for part in one.parts]], dtype=np.float64),
        build=build,
        target=target,
    ), viewing


def _build_of(of: _Print, garment: str, names: list[str], shop: Shop) -> Build:
    """The build, with the first ink of the mix in place of the mixture."""
    inks = known_inks(names, shop.inks)
    if not inks:
        raise InputError(f"{WHAT} has no ink in it.")
    layers = [Layer(ink=inks[0], screen=shop.screen(of.screen), passes=of.passes)]
    if of.base is not None:
        (under,) = known_inks([of.base.ink], shop.inks)
        screen = shop.screen(of.base.screen)
        layers.insert(
            0, Layer(ink=under, screen=screen, passes=of.base.passes, flash=of.base.flash)
        )
    return Build(garment=shop.garment(garment), layers=tuple(layers), route=of.route)


def _target_of(of: _Target) -> Target:
    if of.reflectance is not None:
        return target_from_reflectance(of.reflectance, name=of.name)
    return target_from_lab(of.lab_d50, name=of.name)


def _reading_of(of: _Reading) -> BucketReading:
    def spectrum(values: list[float] | None) -> FloatArray | None:
        return None if values is None else np.array(values)

    return BucketReading(
        after=of.after,
        reflectance=spectrum(of.reflectance),
        lab=spectrum(of.lab),
        viewing=Viewing(of.viewing.light, of.viewing.observer),
        off_de00=of.off_de00,
        card=spectrum(of.card),
        film_um=of.film_um,
    )


def asked_document(target: Target, garment: str) -> dict[str, Any]:
    """What a recipe was looked for, for its file."""
    return {
        "target": {
            "name": target.name,
            "lab_d50": [round(v, 4) for v in target.lab_d50.tolist()],
            "reflectance": _listed(target.reflectance),
        },
        "garment": garment,
    }


def bucket_document(bucket: Bucket) -> Mapping[str, Any]:
    """A bucket for its file, to be corrected again."""
    build, base = bucket.build, bucket.build.base
    return {
        "route": build.route,
        "screen": build.colour.screen.name,
        "passes": build.colour.passes,
        "base": base
        and {
            "ink": base.ink.name,
            "screen": base.screen.name,
            "passes": base.passes,
            "flash": base.flash,
        },
        "inks": [ink.name for ink in bucket.inks],
        "batches": [[round(g, 4) for g in row] for row in bucket.batches.tolist()],
        "readings": [
            {
                "after": each.after,
                "reflectance": _listed(each.reflectance),
                "lab": _listed(each.lab),
                "viewing": {"light": each.viewing.light, "observer": each.viewing.observer},
                "off_de00": each.off_de00,
                "card": _listed(each.card),
                "film_um": each.film_um,
            }
            for each in bucket.readings
        ],
    }


def _listed(values: FloatArray | None) -> list[float] | None:
    return None if values is None else [round(float(v), 6) for v in values]
