"""Calibrate a press to its own prints: the maximum a posteriori press, with its covariance.

The fit is in fit.py; which readings are left out, and why, in checks.py. The result is a new
`Press`: its parameters and the strengths of the inks that were read, each with its posterior
standard deviation, and their correlation, so that every later prediction uses the posterior.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.calibration.checks import (
    Contradiction,
    Suspect,
    check_possible,
    check_together,
    contradictions,
    leave_one_out,
    wrong_readings,
)
from inksim.calibration.fit import PressFit, fit_press
from inksim.calibration.lots import NARROWED, LotResult, lot_results
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.reading_model import reading_model
from inksim.calibration.unknowns import Part
from inksim.colour import delta_e_2000, hex_code, xyz_from_lab
from inksim.common import FloatArray, IndexArray, InputError
from inksim.printing import NORMAL_HIGH, Build
from inksim.stock import MEANINGS, Parameter, Press, PressValues, Strength

TOGETHER = 0.9
"""Two parameters correlated by more than this count as told together only [assumption]."""


@dataclass(frozen=True, kw_only=True)
class ReadingResult:
    """One reading: ΔE00 from the prediction before, after, and by all other readings (alone).

    left_out: whether it was left out of the fit (a `Suspect`).
    read_by, sd_de00: what it was read with, and how far off that is on average: its weight;
    shared_de00, picture: how far its picture is off besides, which ``after`` and ``alone`` allow
    for.
    hexes: sRGB of the prediction before, of the reading, and of the prediction after.
    """

    name: str
    before: float
    after: float
    alone: float
    left_out: bool
    read_by: str
    sd_de00: float
    shared_de00: float | None
    picture: str
    hexes: tuple[str, str, str]


@dataclass(frozen=True, kw_only=True)
class ParameterResult:
    """One parameter, prior and posterior; low, high: 90 % interval; told: whether it narrowed."""

    name: str
    before: Parameter
    after: Parameter
    low: float
    high: float
    told: bool


@dataclass(frozen=True, kw_only=True)
class ClothResult:
    """Posterior of a cloth's dye: a nuisance parameter, reported but not kept (the lot changes).

    factor: on the dye of its entry (K/S), or, if discharged, on the dye that a discharge leaves
    in it; sd: posterior sd of its logarithm; sd_before: prior sd.
    """

    name: str
    discharged: bool
    factor: float
    sd: float
    sd_before: float

    @property
    def of(self) -> str:
        """What the factor scales: the dye, or what a discharge leaves of it."""
        return "dye left by a discharge" if self.discharged else "dye"

    @property
    def off(self) -> bool:
        """Whether its 90 % interval excludes its entry.

        The factor is held near 1 by its prior: of a lot 10 % darker than a measured entry a few
        readings show 1 to 4 %, so that most lots go untold.
        """
        return abs(float(np.log(self.factor))) > NORMAL_HIGH * self.sd


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """A calibrated press, with diagnostics.

    together: pairs of parameters (or 'K of INK', 'S of INK') that the readings could not tell
    apart, with their correlation. suspects: readings left out as wrong, unless kept on demand.
    lots: of inks and cloths, a nuisance like the cloths' dye: reported and not kept.
    """

    press: Press
    readings: tuple[ReadingResult, ...]
    parameters: tuple[ParameterResult, ...]
    together: tuple[tuple[str, str, float], ...]
    suspects: tuple[Suspect, ...]
    contradictions: tuple[Contradiction, ...]
    cloths: tuple[ClothResult, ...] = ()
    lots: tuple[LotResult, ...] = ()

    @property
    def used(self) -> tuple[ReadingResult, ...]:
        """The readings used in the fit."""
        return tuple(reading for reading in self.readings if not reading.left_out)

    @property
    def medians(self) -> dict[str, float]:
        """Median ΔE00 of the used readings 'before', 'after' and predicted 'by_the_others'."""
        table = [(reading.before, reading.after, reading.alone) for reading in self.used]
        middle = np.median(np.reshape(table, (-1, 3)), axis=0).tolist()
        return dict(zip(("before", "after", "by_the_others"), middle, strict=True))


def calibrate(
    readings: Sequence[PrintReading],
    *,
    press: Press,
    source: str = "",
    keep_all: bool = False,
) -> Calibration:
    """Calibrate a press to readings of its prints.

    Parameters
    ----------
    readings : one or more, of builds of inks as filed (`Shop.before`).
    press : calibrated or not; the fit starts from `Press.before`, so give all readings that still
        hold, old ones too.
    source : where the result comes from, for the press's file.
    keep_all : use readings that look wrong as well; they are still named.

    Raises
    ------
    InputError : no reading, two of one name, readings that no press can have printed, or that fit
        nothing.
    """
    _check_names(readings)
    model = reading_model(readings, press.before)
    if not keep_all:
        check_possible(model)
    suspects = wrong_readings(model)
    wrong = {suspect.name for suspect in suspects}
    used = np.array([keep_all or reading.name not in wrong for reading in readings])
    found = fit_press(model, used=used)
    alone = leave_one_out(found)
    if not keep_all:
        check_together(used, alone)
    start = np.zeros((1, model.unknowns.size))
    lab_before, lab_after = model.lab(start)[0], found.residual + model.read
    before = delta_e_2000(lab_before, model.read)
    after = delta_e_2000(lab_after, model.read)
    made = _press(found, source=source)
    return Calibration(
        press=made,
        readings=tuple(
            ReadingResult(
                name=reading.name,
                before=float(before[at]),
                after=float(after[at]),
                alone=float(alone.delta_e[at]),
                left_out=not bool(used[at]),
                read_by=reading.read_by,
                sd_de00=reading.off_de00,
                shared_de00=reading.shared_de00,
                picture=reading.picture,
                hexes=_hexes(reading, lab_before[at], model.read[at], lab_after[at]),
            )
            for at, reading in enumerate(readings)
        ),
        parameters=tuple(_results(press.before, made)),
        together=_together(found),
        suspects=suspects,
        contradictions=contradictions(model.readings),
        cloths=tuple(_cloths(found)),
        lots=lot_results(found),
    )


def printed(build: Build, *, press: Press) -> Build:
    """Return a build with its filed inks replaced by inks as a calibrated press prints them."""
    by_name = {strength.ink: strength for strength in press.strengths}
    layers = tuple(
        replace(layer, ink=known.printed(layer.ink))
        if (known := by_name.get(layer.ink.name))
        else layer
        for layer in build.layers
    )
    return replace(build, layers=layers)


def _check_names(readings: Sequence[PrintReading]) -> None:
    if not readings:
        raise InputError("there is no reading to calibrate to; give one or more, best three.")
    names = [reading.name for reading in readings]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"two readings are named '{name}'; give each its own name.")


def _press(found: PressFit, *, source: str) -> Press:
    """Press of a fit: u and its covariance in the parameters' own units."""
    model = found.model
    unknowns, before = model.unknowns, model.press
    size = len(PressValues._fields)
    # places of the kept unknowns in the order of Press.covariance; nuisances are left out
    inks = np.flatnonzero(unknowns.of_ink)
    row = [PressValues._fields.index(name) for name in unknowns.parameters]
    row += range(size, size + len(inks))
    kept = np.flatnonzero(unknowns.kept)
    covariance = np.zeros((size + len(inks), size + len(inks)))
    scaled = found.covariance * np.outer(unknowns.scale, unknowns.scale)
    covariance[np.ix_(row, row)] = scaled[np.ix_(kept, kept)]
    sd = np.sqrt(np.diagonal(covariance))
    values = model.values(found.u)
    layers = [layer.ink for reading in model.readings for layer in reading.build.layers]
    marks = {ink.name: ink.mark for ink in layers}
    parameters = {
        name: Parameter(float(getattr(values, name)), float(sd[at]))
        for at, name in enumerate(PressValues._fields)
    }
    return Press(
        name=before.name,
        **parameters,
        model_sd=found.model_sd,
        ink_sd_factor=found.ink_factor,
        strengths=tuple(_strength(found, part, marks[part.name]) for part in unknowns.inks),
        correlation=tuple(map(tuple, _correlation(covariance, sd).tolist())),
        prior=before,
        calibrated=True,
        source=source,
    )


def _strength(found: PressFit, ink: Part, mark: str) -> Strength:
    """Strength of an ink: u and its sd in the units of a `Strength`."""
    value = (found.u[ink.columns] * ink.scale).tolist()
    sd = (np.sqrt(np.diagonal(found.covariance))[ink.columns] * ink.scale).tolist()
    k, s, *shapes = map(Parameter, value, sd)
    return Strength(
        ink.name,
        k._replace(value=float(np.exp(k.value))),
        s._replace(value=float(np.exp(s.value))),
        mark,
        tuple(shapes),
    )


def _hexes(reading: PrintReading, *labs: FloatArray) -> tuple[str, str, str]:
    """sRGB codes of three Lab under a reading's viewing."""
    seen = reading.viewing
    before, read, after = (hex_code(xyz_from_lab(lab, seen), seen)[0] for lab in labs)
    return before, read, after


def _correlation(covariance: FloatArray, sd: FloatArray) -> FloatArray:
    still = sd == 0
    size = np.where(still, 1.0, sd)
    correlation = covariance / np.outer(size, size)
    correlation[still, still] = 1.0
    return np.asarray((correlation + correlation.T) / 2.0)


def _results(before: Press, after: Press) -> list[ParameterResult]:
    found = []
    for name in PressValues._fields:
        old, new = getattr(before, name), getattr(after, name)
        if old.sd == 0:  # not fitted
            continue
        meaning = MEANINGS[name]
        found.append(
            ParameterResult(
                name=name,
                before=old,
                after=new,
                low=max(meaning.least, new.value - NORMAL_HIGH * new.sd),
                high=min(meaning.most, new.value + NORMAL_HIGH * new.sd),
                told=bool(new.sd <= NARROWED * old.sd),
            )
        )
    return found


def _cloths(found: PressFit) -> list[ClothResult]:
    """The dye of each cloth, and what a discharge leaves of it: told, and not kept."""
    unknowns = found.model.unknowns
    ln = found.u * unknowns.scale
    sd = np.sqrt(np.diagonal(found.covariance)) * unknowns.scale
    return [
        ClothResult(
            name=part.name,
            discharged=part.kind == "discharge",
            factor=float(np.exp(ln[part.start])),
            sd=float(sd[part.start]),
            sd_before=float(part.scale[0]),
        )
        for part in unknowns.parts
        if part.kind in ("cloth", "discharge")
    ]


def _together(found: PressFit) -> tuple[tuple[str, str, float], ...]:
    """Pairs of strongly correlated unknowns, strongest first; shapes say nothing by themselves."""
    unknowns = found.model.unknowns
    told = np.ones(unknowns.size, dtype=np.bool_)
    for part in unknowns.parts:
        told[part.start + (2 if part.kind in ("ink", "ink lot") else 1) : part.columns.stop] = False
    covariance = found.covariance[np.ix_(told, told)]
    sd = np.sqrt(np.diagonal(covariance))
    correlation = covariance / np.outer(sd, sd)
    labels = [unknowns.labels[at] for at in np.flatnonzero(told).tolist()]
    rows, columns = np.triu_indices(len(labels), k=1)
    strong: IndexArray = np.flatnonzero(np.abs(correlation[rows, columns]) > TOGETHER)
    pairs = [
        (labels[rows[at]], labels[columns[at]], float(correlation[rows[at], columns[at]]))
        for at in strong.tolist()
    ]
    return tuple(sorted(pairs, key=lambda pair: -abs(pair[2])))
