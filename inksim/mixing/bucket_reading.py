"""A reading of a bucket from files or Lab, repeats averaged."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from inksim.colour import D50, Viewing, delta_e_2000
from inksim.common import FloatArray, InputError
from inksim.mixing.bucket import BucketReading
from inksim.printing import flat_card
from inksim.readings import (
    listed_colour,
    pick,
    reading_suffixes,
    specular_excluded,
    split_reference,
)
from inksim.stock import parse_target

CONTRADICT_DE00 = 2.0
"""Repeats this far from their mean are not of one print [assumption]: four times what an
instrument on one print should keep (`readings.REPEATABLE`)."""


def reading_of_bucket(
    texts: Sequence[str],
    *,
    after: int,
    sure: Callable[[float], float],
    card: str | None = None,
    film_um: float | None = None,
) -> BucketReading:
    """Make a reading of files, as ``FILE`` or ``FILE#sample``, or of Lab as ``L,a,b`` (D50/2°).

    Parameters
    ----------
    texts : repeats of one reading. after: how many batches were in the bucket.
    sure : mean ΔE00 that a mean of so many measurements is off.
    card : 'white', 'black' or a reading of the bare card, of a drawdown. film_um: its dry film.

    Raises
    ------
    InputError : no reading; repeats that contradict each other; see `BucketReading`.
    """
    backing = None if card is None else _card(card)
    if not texts:
        raise InputError("the bucket was not read; give a reading of its print or drawdown.")
    if all(_is_file(text) for text in texts):
        picked = pick(texts)
        _agree(picked.repeatability, count=picked.repeats)
        lab: FloatArray | None = None
        reflectance, viewing = None, D50
        if picked.reading.reflectance is not None:
            reflectance, _ = specular_excluded(picked.reading)
        else:
            lab, viewing = listed_colour(picked.reading)
        return BucketReading(
            after=after, reflectance=reflectance, lab=lab, viewing=viewing,
            off_de00=sure(picked.repeats), card=backing, film_um=film_um,
        )  # fmt: skip
    values = np.array([_lab_of(text) for text in texts])
    mean = values.mean(axis=0)
    _agree(float(delta_e_2000(mean, values).mean()), count=len(values))
    return BucketReading(
        after=after, lab=mean, viewing=Viewing(), off_de00=sure(len(values)),
        card=backing, film_um=film_um,
    )  # fmt: skip


def _agree(repeatability: float | None, *, count: int) -> None:
    if repeatability is not None and repeatability > CONTRADICT_DE00:
        raise InputError(
            f"the {count} readings lie {repeatability:.1f} ΔE00 from their mean and contradict "
            "each other: they are not of one print; read it again."
        )


def _is_file(text: str) -> bool:
    file, _ = split_reference(text)
    return file.is_file() or file.suffix.lower() in reading_suffixes()


def _lab_of(text: str) -> FloatArray:
    """Lab of a text; a hex code or a target's name is no reading."""
    found = None if text.strip().startswith("#") or "," not in text else parse_target(text)
    if found is None:
        raise InputError(
            f"'{text[:60]}' is no reading of a print: give a file of readings, as FILE#SAMPLE, or "
            "Lab under D50, as 42.1,30.5,8.2."
        )
    return found.lab_d50


def _card(text: str) -> FloatArray:
    """Reflectance (31,) of a bare card."""
    usual = flat_card()
    named = {"white": usual.white, "black": usual.black}.get(text.strip().lower())
    if named is not None:
        return named
    if not _is_file(text):
        raise InputError(
            f"'{text[:60]}' is no card; give white, black or a reading of the bare card as "
            "FILE#SAMPLE."
        )
    reflectance, _ = specular_excluded(pick([text]).reading)
    return reflectance
