"""Load the press of press.toml, with its calibration, and what of that holds for its inks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from inksim.shop.faults import Faults
from inksim.shop.press_schema import CalibrationEntry, ParameterEntry, PressEntry
from inksim.stock import MEANINGS, Ink, Parameter, Press, PressValues, Strength, error_of


def press_of(entry: PressEntry) -> Press:
    """Make the press of press.toml, with its calibration and the press before it."""
    found = entry.calibration or CalibrationEntry()
    correlation, unknown = _with_later_parameters(found)
    return Press(
        name=entry.name,
        calibrated=entry.calibrated,
        source=entry.source,
        model_sd=found.model_sd,
        ink_sd_factor=found.ink_sd_factor,
        strengths=tuple(
            Strength(
                e.name,
                Parameter(e.K.value, e.K.sd),
                Parameter(e.S.value, e.S.sd),
                e.mark,
                tuple(Parameter(*place) for place in e.shapes),
            )
            for e in found.ink
        ),
        correlation=correlation,
        prior=Press(name=entry.name, **_parameters(found.prior)) if found.prior else None,
        **(unknown | _parameters(entry.parameters)),
    )


def _with_later_parameters(
    found: CalibrationEntry,
) -> tuple[tuple[tuple[float, ...], ...] | None, dict[str, Parameter]]:
    """Correlation and parameters of a calibration that was made before the model had them all.

    A later parameter is correlated with none. Its effect was none when the prints were read, and
    stays none, as unsure as its prior, until the press is calibrated again: so the calibrated
    press predicts its prints as it did.
    """
    names, rows = PressValues._fields, found.correlation
    known = [name in found.prior for name in names]
    inks = sum(2 + len(ink.shapes) for ink in found.ink)
    if rows is None or all(known) or any(len(row) != sum(known) + inks for row in (rows, *rows)):
        return rows, {}
    kept = np.flatnonzero([*known, *[True] * inks])
    whole = np.eye(len(names) + inks)
    whole[np.ix_(kept, kept)] = rows
    later = {
        name: getattr(Press, name)._replace(value=MEANINGS[name].least)
        for name, was in zip(names, known, strict=True)
        if not was and MEANINGS[name].least == 0.0
    }
    return tuple(map(tuple, whole.tolist())), later


def _parameters(entries: Mapping[str, ParameterEntry]) -> dict[str, Any]:
    return {name: Parameter(p.value, p.sd) for name, p in entries.items()}


def lacks(entry: PressEntry) -> tuple[str, ...]:
    """Parameters that were not there yet when the press was calibrated."""
    if not entry.calibrated or entry.calibration is None:
        return ()
    return tuple(name for name in PressValues._fields if name not in entry.calibration.prior)


def printed_as(ink: Ink, strength: Strength | None) -> Ink:
    return strength.printed(ink) if strength else ink


def holds(strength: Strength, inks: Mapping[str, Ink]) -> bool:
    """Whether a strength was found for the ink as it is now, and along the shapes it has now."""
    ink = inks.get(strength.ink)
    if ink is None or strength.mark not in ("", ink.mark):
        return False
    return len(strength.shapes) in (0, len(error_of(ink).shapes))


def checked_press(entry: PressEntry, faults: Faults) -> Press | None:
    """Make the press, checking each parameter alone first so that every fault is told."""
    before = len(faults)
    prior = entry.calibration.prior if entry.calibration else {}
    for table, entries in (("parameters", entry.parameters), ("calibration, prior", prior)):
        for name, parameter in entries.items():
            where = f"press.toml, {table}, {name}"
            if name in MEANINGS:
                alone = PressEntry(name=entry.name, parameters={name: parameter})
                faults.attempt(where, lambda alone=alone: press_of(alone))  # type: ignore[misc]
            else:
                faults.append(f"{where}: not known; the parameters are {', '.join(MEANINGS)}")
    inks = [ink.name for ink in entry.calibration.ink] if entry.calibration else []
    faults += [
        f"press.toml, calibration, ink '{name}': stands {inks.count(name)} times; an ink has one "
        "strength, so go back with 'inksim press --back', or calibrate again"
        for name in dict.fromkeys(inks)
        if inks.count(name) > 1
    ]
    if len(faults) > before:
        return None
    return faults.attempt("press.toml", lambda: press_of(entry))
