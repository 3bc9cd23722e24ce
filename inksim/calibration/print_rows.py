"""Readings of prints as rows of names and numbers: read from files, resolved against a shop.

A row names what was printed, so that it stays valid when an ink is characterized anew; `reading_of`
looks the names up in the shop as it is now. In a file of readings, beside the spectrum or L, a, b,
the columns are

- ``garment``, ``ink``: names of the shop;
- ``route``: straight, white-base or discharge-base; straight if not given;
- ``screen``, ``passes``, ``base_screen``, ``base_passes``, ``flash`` (yes, no): the shop's habits
  if not given; ``base``: the base's ink, else the shop's first of the route;
- ``coverage`` (percent, or ``tone``) and ``lines_per_inch``, for a halftone of the color;
- ``weight``: of how many measurements the reading is the mean; ``read_by``: instrument, camera,
  eye, or any other word with ``sd_de00``, how far the reading is off on average; ``shared_de00``
  and ``picture``: how far all readings of one picture are off together, and its key;
- ``garment_lot``, ``ink_lot``, ``base_lot``: any words;
- ``date``, ``note``: to remember, a date as `day_of` reads it; ``proof``: number of the proof
  that the print was made to, kept as the note's first words; ``scores_only``: yes, of a reading
  that scores proofs and to which no press is fitted.

Rows of one name are repeats: their mean is taken, and how far apart they are tells how sure it is.
A row without a reading is skipped and reported.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from inksim.calibration.print_reading import (
    READ_BY,
    PrintReading,
    check_sureness,
    noise_read,
    repeated_sd,
)
from inksim.calibration.row_words import LOTS, RowWords
from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import FloatArray, InputError, counted
from inksim.printing import BARE, Build, Layer, Route
from inksim.readings import (
    Reading,
    average,
    listed_colour,
    raise_faults,
    read_readings,
    specular_excluded,
)
from inksim.shop import Shop
from inksim.stock import LabNoise


@dataclass(frozen=True, kw_only=True)
class PrintRow:
    """One reading of a print, as names and numbers.

    base: (ink, screen, passes, flash) or None. reflectance: 31 values, or lab: three, one of them.
    scores_only: kept to score proofs, and no press is fitted to it.
    """

    name: str
    garment: str
    route: Route
    ink: str
    screen: str
    passes: int
    base: tuple[str, str, int, bool] | None = None
    coverage: float = 1.0
    lines_per_inch: float | None = None
    weight: float = 1.0
    read_by: str = "instrument"
    sd_de00: float | None = None
    garment_lot: str = ""
    ink_lot: str = ""
    base_lot: str = ""
    reflectance: tuple[float, ...] | None = None
    lab: tuple[float, float, float] | None = None
    light: str = "D50"
    observer: int = 2
    geometry: str | None = None
    date: str = ""
    note: str = ""
    source: str = ""
    scores_only: bool = field(default=False, repr=False)  # no part of the mark, which seals keep
    shared_de00: float | None = field(default=None, repr=False)  # these in the mark if given alone
    picture: str = field(default="", repr=False)

    @property
    def noise(self) -> LabNoise:
        """Its own error, as stated or as what it was read by lets expect, and the one it shares."""
        return noise_read(self)

    @property
    def read_words(self) -> str:
        """'eye', 'instrument, ± 0.4 ΔE00' or 'photo, ± 1.2 ΔE00 and 0.9 with its picture'."""
        own = "" if self.sd_de00 is None else f", ± {self.sd_de00:.2g} ΔE00"
        shared = "" if self.shared_de00 is None else f" and {self.shared_de00:.2g} with its picture"
        return f"{self.read_by}{own}{shared}"

    @property
    def mark(self) -> str:
        """Fingerprint of what was printed and read: equal for the same reading entered twice."""
        what = replace(
            self, name="", date="", note="", source="",
            coverage=float(self.coverage), weight=float(self.weight),
            lines_per_inch=None if self.lines_per_inch is None else float(self.lines_per_inch),
            sd_de00=None if self.sd_de00 is None else float(self.sd_de00),
            reflectance=None if self.reflectance is None else tuple(map(float, self.reflectance)),
            lab=self.lab and (float(self.lab[0]), float(self.lab[1]), float(self.lab[2])),
        )  # fmt: skip
        said = repr(what)
        if self.shared_de00 is not None or self.picture:  # rows of before have the mark they had
            said += repr((self.picture, self.shared_de00 and float(self.shared_de00)))
        return hashlib.sha256(said.encode()).hexdigest()[:16]


@dataclass(frozen=True, kw_only=True)
class PrintFile:
    """The prints in a file. unread: names of the skipped rows without a reading.

    notes: assumptions made in reading the others, each sentence once.
    """

    rows: tuple[PrintRow, ...]
    unread: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def read_print_rows(
    source: Path | bytes,
    *,
    shop: Shop,
    name: str | None = None,
    read_by: str = "instrument",
    sd_de00: float | None = None,
    **stated: Any,
) -> PrintFile:
    """Read the prints in a file of readings, given by path, or as bytes with a name for messages.

    read_by, sd_de00 : of the rows that do not say it.

    Raises
    ------
    InputError : every fault of the file at once: a name the shop does not have, a screen an ink
        does not print through, repeats of one name that are of different prints; or a file in which
        nothing was filled in.
    """
    called = source.name if isinstance(source, Path) else name or "readings"
    listed = read_readings(source, name=name, **stated)
    readings = [r for r in listed if r.reflectance is not None or r.lab or r.xyz]
    names = {reading.name for reading in readings}
    unread = tuple(dict.fromkeys(r.name for r in listed if r.name not in names))
    if not readings:
        raise InputError(
            f"{called}: no row has a reading yet; fill in L, a and b, or a spectrum, of the "
            "prints that were read. Rows left empty are passed over."
        )
    rows, faults = [], []
    groups: dict[str, list[Reading]] = {}
    for reading in readings:
        groups.setdefault(reading.name, []).append(reading)
    for repeats in groups.values():
        try:
            rows.append(_row(repeats, shop=shop, read_by=read_by, sd_de00=sd_de00))
        except InputError as error:
            faults.append(str(error))
    raise_faults(faults, file=called)
    said = Counter(note for reading in readings for note in dict.fromkeys(reading.notes))
    notes = tuple(f"{counted(number, 'reading')}: {note}." for note, number in said.items())
    return PrintFile(rows=tuple(rows), unread=unread, notes=notes)


def reading_of(row: PrintRow, *, shop: Shop) -> PrintReading:
    """Resolve a row against the shop as it is now, with inks as filed.

    Raises
    ------
    InputError : the shop no longer has the garment, an ink or a screen.
    """
    filed = shop.before
    layers = []
    if row.base is not None:
        ink, screen, passes, flash = row.base
        layers.append(
            Layer(ink=filed.ink(ink), screen=filed.screen(screen), passes=passes, flash=flash)
        )
    top = Layer(ink=filed.ink(row.ink), screen=filed.screen(row.screen), passes=row.passes)
    return PrintReading(
        name=row.name,
        build=Build(garment=filed.garment(row.garment), layers=(*layers, top), route=row.route),
        reflectance=row.reflectance,  # type: ignore[arg-type]
        lab=row.lab,  # type: ignore[arg-type]
        viewing=Viewing(light=row.light, observer=row.observer),
        weight=row.weight,
        read_by=row.read_by,
        sd_de00=row.sd_de00,
        shared_de00=row.shared_de00,
        picture=row.picture,
        garment_lot=row.garment_lot,
        ink_lot=row.ink_lot,
        base_lot=row.base_lot,
        date=row.date,
        coverage=row.coverage,
        lines_per_inch=row.lines_per_inch,
        source=row.source,
    )


def row_of_build(build: Build, *, name: str, **fields: Any) -> PrintRow:
    """Make the row of a build of one color with or without a base; fields: see `PrintRow`."""
    if len(build.layers) > 2:
        raise InputError(
            f"'{name}' has {len(build.layers)} layers; a row holds a base and a color."
        )
    if build.route == BARE:
        raise InputError(f"'{name}' is bare cloth; a row holds a print.")
    base = build.base
    return PrintRow(
        name=name,
        garment=build.garment.name,
        route=build.route,
        ink=build.colour.ink.name,
        screen=build.colour.screen.name,
        passes=build.colour.passes,
        base=None if base is None else (base.ink.name, base.screen.name, base.passes, base.flash),
        **fields,
    )


def _row(
    repeats: Sequence[Reading], *, shop: Shop, read_by: str, sd_de00: float | None
) -> PrintRow:
    """The row of a reading, or of the mean of its repeats."""
    first = repeats[0]
    words = [RowWords(reading, read_by=read_by, sd_de00=sd_de00) for reading in repeats]
    build = words[0].build(shop)
    if any(other.what(shop) != words[0].what(shop) for other in words[1:]):
        raise InputError(
            f"{first.source}: several readings are named '{first.name}' but are of different "
            "prints; give each its own name, or the same garment, ink, screens, lots and read_by."
        )
    reading = first if len(repeats) == 1 else average(repeats)[0]
    spectrum: FloatArray | None = None
    lab, viewing = None, Viewing()
    if reading.reflectance is not None:
        spectrum, _ = specular_excluded(reading)
    else:
        lab, viewing = listed_colour(reading)
    coverage = words[0].coverage()
    noise = reading.noise
    return row_of_build(
        build,
        name=first.name,
        coverage=coverage,
        lines_per_inch=words[0].lines() if coverage < 1 else None,
        weight=sum(each.weight for each in words),
        read_by=words[0].read_by,
        sd_de00=_sd(words, reading),
        shared_de00=round(noise.shared, 4) if noise and noise.picture else None,
        picture=noise.picture if noise else "",
        **{lot: words[0].text(lot) or "" for lot in LOTS},
        reflectance=None if spectrum is None else tuple(float(v) for v in spectrum),
        lab=None if lab is None else tuple(float(v) for v in lab),
        light=viewing.light,
        observer=viewing.observer,
        geometry="d:8-sce" if reading.geometry == "d:8-sci" else reading.geometry,
        date=words[0].day(),
        note=words[0].note(),
        scores_only=words[0].scores_only(),
        source=reading.source,
    )


def _sd(words: Sequence[RowWords], mean: Reading) -> float | None:
    """How far the mean of some repeats is off; None: as its `read_by` lets expect."""
    read_by, stated = words[0].read_by, [each.sd_de00 for each in words]
    for each in words:
        check_sureness(read_by, each.sd_de00, where=each.where)
    if len(words) == 1:
        return stated[0]
    weights = np.array([each.weight for each in words])
    if any(sd is not None for sd in stated):
        off = [
            READ_BY[read_by].of_mean(weight) if sd is None else sd
            for sd, weight in zip(stated, weights.tolist(), strict=True)
        ]
        return round(float(np.linalg.norm(off)) / len(off), 4)
    apart = delta_e_2000([_seen(each.reading) for each in words], _seen(mean))
    return round(repeated_sd(np.asarray(apart), read_by=read_by, weights=weights), 4)


def _seen(reading: Reading) -> FloatArray:
    """Lab (3,) of a reading as it stands, to compare repeats."""
    if reading.reflectance is not None:
        return lab_of(reading.reflectance, Viewing())
    return listed_colour(reading)[0]
