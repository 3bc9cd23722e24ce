"""Make entries of a reading, a Lab, an XYZ or a hex code, with their provenance.

What is returned are the fields of an entry as `schema` has them; `edit` writes them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from inksim.colour import (
    D50,
    Viewing,
    check_plausible_lab,
    delta_e_2000,
    lab as lab_of,
    lab_from_hex,
    lab_from_xyz,
    reflectance_from_lab,
    rgb8_from_hex,
)
from inksim.common import FloatArray, InputError
from inksim.readings import Picked, listed_colour, pick, specular_excluded
from inksim.shop.ink_schema import LOOKS, NOISE, InkEntry
from inksim.shop.load import ink_of
from inksim.shop.schema import GarmentEntry
from inksim.stock import PHOTO, LabNoise

MOST_PALER = 0.4
"""Share of its chroma that a noisy color without a surface may lose to get one [assumption]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class KnownColour:
    """A color to enter: exactly one of ``reflectance`` (31,), ``lab`` (D50/2°) and ``hex``.

    ``data`` says how it is known; ``source`` in words where from; ``notes`` what was assumed or
    done; ``warnings`` what the shop should look at. ``noise`` of a Lab that was read by photo.
    """

    reflectance: FloatArray | None = None
    lab: tuple[float, float, float] | None = None
    hex: str | None = None
    data: str
    source: str
    noise: LabNoise | None = None
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def fields(self) -> dict[str, Any]:
        """Return the entry's fields that say its color and where it comes from."""
        look: dict[str, Any] = {}
        if self.reflectance is not None:
            look["reflectance"] = self.reflectance.tolist()
        if self.lab is not None:
            look["lab"] = [float(v) for v in self.lab]
        if self.hex is not None:
            look["hex"] = self.hex
        if self.noise is not None and self.data == PHOTO:
            look["sd_de00"] = round(self.noise.own, 3)
            if self.noise.picture:
                look |= {"shared_de00": round(self.noise.shared, 3), "picture": self.noise.picture}
        return {"data": self.data, "source": self.source, **look}

    def spectrum(self, *, where: str) -> FloatArray:
        """Reflectance (31,): as read, or recovered from the color."""
        if self.reflectance is not None:
            return self.reflectance
        lab = self.lab if self.lab is not None else lab_from_hex(str(self.hex), D50)
        return reflectance_from_lab(lab, D50, where=where)


def colour_from_readings(references: Sequence[str], *, date: str, **stated: Any) -> KnownColour:
    """Make a color of readings named ``FILE`` or ``FILE#sample``; several become their mean.

    A spectrum is kept as such and is 'measured'; a Lab that was read by photo is kept with its
    noise and is 'photo'. Another listed color for D50/2° is kept as Lab, one for another light as
    the spectrum recovered from it; both are 'recovered'. `date` is when it is entered; `stated`:
    see `read_readings`.

    Raises
    ------
    InputError : see `readings.pick`; a reading that is neither spectrum nor color.
    """
    picked = pick(references, **stated)
    source = provenance(picked, date=date)
    warnings = (picked.warning,) if picked.warning else ()
    if picked.reading.reflectance is not None:
        spectrum, more = specular_excluded(picked.reading)
        made = KnownColour(reflectance=spectrum, data="measured", source=source, notes=more)
    else:
        lab, viewing = listed_colour(picked.reading)
        if picked.reading.read_by == PHOTO and picked.reading.noise is not None:
            made = _by_photo(lab, picked.reading.noise, viewing=viewing, source=source)
        else:
            made = colour_from_lab(tuple(lab), viewing=viewing, source=source)
    return replace(made, notes=(*picked.reading.notes, *made.notes), warnings=warnings)


def _by_photo(lab: FloatArray, noise: LabNoise, *, viewing: Viewing, source: str) -> KnownColour:
    """A color that was read by photo: a Lab for D50/2° with its noise, whatever it was listed for.

    That of another light is the one of the spectrum recovered from it: a photo is off by more.
    Noise may carry a deep color to where none is: it is then taken paler, as far as it may be off.
    """
    notes: tuple[str, ...] = ()
    for paler in np.linspace(0.0, MOST_PALER, 41):
        taken = lab * [1.0, 1.0 - paler, 1.0 - paler]
        off = float(delta_e_2000(lab, taken))
        try:
            made = colour_from_lab(tuple(taken), viewing=viewing, source=source)
            break
        except InputError:
            if off > 2.0 * noise.whole:
                raise
            notes = (f"no surface has this color: taken {off:.1f} ΔE00 paler, within its noise",)
    seen = made.lab
    if made.reflectance is not None:
        first, second, third = (round(float(v), 3) for v in lab_of(made.reflectance, D50))
        seen = (first, second, third)
    return KnownColour(
        lab=seen, data=PHOTO, source=source, noise=noise, notes=(*notes, *made.notes)
    )


def provenance(picked: Picked, *, date: str) -> str:
    """Say where a reading comes from: 'sheet.csv, line 3, brick (45:0, M1); 2026-03-01'."""
    reading = picked.reading
    how = ", ".join(filter(None, (reading.geometry or "geometry not stated", reading.m_condition)))
    several = ""
    if picked.repeatability is not None:
        several = f"; mean of {picked.repeats}, {picked.repeatability:.2f} ΔE00 from their mean"
    return f"{picked.source}, {reading.name} ({how}){several}; {date}"


def colour_from_lab(
    lab: Sequence[float], *, viewing: Viewing, source: str, where: str = "the color"
) -> KnownColour:
    """Make a color of CIELAB (3,) under any viewing.

    Under D50/2°, which a shop's files use, it is kept as Lab; under another, as the spectrum
    recovered from it.

    Raises
    ------
    InputError : out of range, or a color that no surface has.
    """
    values = check_plausible_lab(lab, where=where)
    stated = f"Lab {values[0]:.2f} {values[1]:+.2f} {values[2]:+.2f}, {viewing}"
    spectrum = reflectance_from_lab(values, viewing, where=where)
    if viewing == D50:
        first, second, third = (float(v) for v in values)
        return KnownColour(lab=(first, second, third), data="recovered", source=source)
    return KnownColour(
        reflectance=spectrum,
        data="recovered",
        source=source,
        notes=(f"recovered from {stated}: a shop's files give Lab for D50/2°",),
    )


def colour_from_xyz(
    xyz: Sequence[float], *, viewing: Viewing, source: str, where: str = "the color"
) -> KnownColour:
    """Make a color of XYZ (3,), Y of the perfect diffuser 100.

    Raises
    ------
    InputError : Y above 100 or any of them negative (is the scale 0..1?), or no surface's color.
    """
    if any(v < 0 for v in xyz) or xyz[1] > 100 or max(xyz) <= 1:
        stated = ", ".join(f"{v:g}" for v in xyz)
        raise InputError(
            f"{where}: XYZ {stated} is out of range; give it on the scale where white has Y = 100."
        )
    return colour_from_lab(
        tuple(lab_from_xyz(xyz, viewing)), viewing=viewing, source=source, where=where
    )


def colour_from_hex(code: str, *, source: str) -> KnownColour:
    """Make a color of an sRGB hex code, which stays as it was entered.

    Raises
    ------
    InputError : not a hex code.
    """
    rgb8_from_hex(code)
    return KnownColour(hex=code.strip(), data="recovered", source=source)


def garment_entry(colour: KnownColour, **fields: Any) -> dict[str, Any]:
    """Fields of a garment as `GarmentEntry` has them, with its color; None where not known."""
    unknown = {name: None for name in GarmentEntry.model_fields if name not in fields}
    return {**fields, **unknown, **colour.fields()}


def ink_entry_from_look(
    colour: KnownColour, *, over_black: KnownColour | None = None, **common: Any
) -> dict[str, Any]:
    """Fields of an ink known by how a film of it looks: 'photo' with its noise, or 'recovered'.

    over_black: the same film's look over black; common: further fields of an `InkEntry`.
    A drawdown of known thickness over black and over white says far more (`characterise`).
    """
    fields = colour.fields()
    data = colour.data if colour.data in ("invented", PHOTO) else "recovered"
    said = (*LOOKS, *NOISE)
    black = over_black and {k: v for k, v in over_black.fields().items() if k in said}
    return {**common, "over_black": black, **fields, "data": data}


def ink_assumptions(fields: Mapping[str, Any]) -> tuple[str, ...]:
    """What of an ink nobody stated, in words, by the fields of its entry as a file has them."""
    return ink_of(InkEntry.model_validate(fields)).assumed
