"""What became of promises: readings of prints held against the seals of their proofs.

A reading scores a sealed color of the same garment and the same films: of the proof that its note
names ('proof 12', or the seal that the sheet shows), printed on the proof's day or later; else of
the latest proof before its day. Repeats of one day and of the same lots are one print: their mean.

No print scores a prediction that may have been fitted to it: a reading that the shop's history had
when the proof was sealed never scores that proof, nor the same reading entered again. What a
calibration left out as looking wrong is kept to score proofs alone: to leave it out of the record,
too, would flatter it.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, fields
from typing import Any, get_type_hints

import numpy as np

from inksim.calibration import PrintRow, row_of_build
from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import MADE_BY, FloatArray, InputError, csv_text, day_of, from_cell
from inksim.ledger.promises import SHORT_MARK, SealedColour, SealedLayer, SealedProof
from inksim.printing import Build
from inksim.stock import noise_of_mean

NAMED = re.compile(r"\bproof(?:\W*(?:no|number|seal)\b)?\W*([0-9a-f]{12,64}\b|\d+)", re.I)
"""A proof as a note names it: 'proof 12', 'Proof no. 12', or by 12 or more digits of its seal."""
Print = tuple[PrintRow, FloatArray]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One promised color, and one print of it; `read_on` is '' where none was read yet.

    Has no name of a client, a job or an artwork. promised_on, read_on : YYYY-MM-DD. chance, median,
    low, high, tolerance : as promised. found : ΔE00 of the reading to the target; against : to the
    predicted color; dL, da, db : the reading less the predicted color. off_de00 : how far the
    reading itself is off on average, ΔE00.
    """

    proof: int
    promised_on: str
    garment: str
    ink: str
    route: str
    data: str
    tolerance: float
    chance: float
    median: float
    low: float
    high: float
    read_on: str = ""
    read_by: str = ""
    garment_lot: str = ""
    ink_lot: str = ""
    found: float | None = None
    against: float | None = None
    dL: float | None = None
    da: float | None = None
    db: float | None = None
    off_de00: float | None = None

    @property
    def landed(self) -> bool:
        """Whether the print was inside the tolerance."""
        return self.found is not None and self.found <= self.tolerance

    @property
    def inside(self) -> bool:
        """Whether the print was as far from the target as 9 in 10 were said to be."""
        return self.found is not None and self.low <= self.found <= self.high

    @property
    def farther(self) -> float:
        """ΔE00 found less the median promised."""
        return (self.found or 0.0) - self.median


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """Every promised color of the proofs with its prints. unmatched: why a reading scored none."""

    each: tuple[Outcome, ...]
    unmatched: tuple[str, ...] = ()


def outcomes(proofs: Sequence[SealedProof], rows: Sequence[PrintRow]) -> Outcomes:
    """Hold readings against sealed proofs; one that was altered since promises nothing."""
    whole = [proof for proof in proofs if not proof.altered]
    promised: dict[Hashable, dict[int, SealedProof]] = {}
    for proof in whole:
        for colour in proof.colours:
            promised.setdefault(_films(colour), {})[proof.number] = proof
    prints: dict[tuple[int, Hashable], dict[tuple[str, ...], list[Print]]] = {}
    unmatched = []
    for row in rows:
        films = _films_read(row)
        try:
            proof_of = _proof_of(row, list(promised.get(films, {}).values()))
            if proof_of is None:
                continue
            seen = _seen(row, proof_of.viewing)
        except InputError as error:
            unmatched.append(f"{row.name}: {error}")
            continue
        print_of = (_day(row), row.garment_lot, row.ink_lot, row.base_lot)
        found = prints.setdefault((proof_of.number, films), {})
        found.setdefault(print_of, []).append((row, seen))
    listed = []
    for proof in whole:
        for colour in proof.colours:
            if colour.ink is None:
                continue  # nothing is printed: the cloth is as it is
            groups = prints.get((proof.number, _films(colour)), {(): []})
            listed += [_outcome(proof, colour, groups[key]) for key in sorted(groups)]
    return Outcomes(each=tuple(listed), unmatched=tuple(unmatched))


def _proof_of(row: PrintRow, fit: Sequence[SealedProof]) -> SealedProof | None:
    """The proof that a reading scores, of those of its films; None where it came before them.

    Raises
    ------
    InputError : it names a proof that it cannot score, or has no day.
    """
    named, day, mark = NAMED.search(row.note), _day(row), row.mark
    fit = [proof for proof in fit if mark not in proof.readings]
    if named is None:
        if fit and not day:
            raise InputError("it has no day (YYYY-MM-DD), so nobody knows what it came after")
        earlier = [proof for proof in fit if proof.day < day]
        return earlier[-1] if earlier else None
    word = named[1].lower()
    for proof in fit:
        if proof.mark.startswith(word) if len(word) >= SHORT_MARK else proof.number == int(word):
            if not day or day < proof.day:
                raise InputError(f"it names proof no. {proof.number}, and is older or has no day")
            return proof
    raise InputError(
        f"it names proof {word}, which promised no such print, or was made when the reading was "
        "known"
    )


def _day(row: PrintRow) -> str:
    try:
        return day_of(row.date)
    except InputError:
        return ""


def _films(colour: SealedColour) -> Hashable:
    """What is printed on what; whether the top film is flashed makes no difference to its color."""
    layers = (*colour.layers[:-1], *(each[:3] for each in colour.layers[-1:]))
    return colour.garment, colour.route, layers


def proof_of_print(
    proofs: Sequence[SealedProof], builds: Sequence[Build], *, job: str
) -> tuple[int | None, int | None]:
    """The number of a job's latest proof that promised these prints, and of its latest proof.

    proofs : of the shop, by number. builds : what is printed on one garment. job : its key. The two
    differ where the garment's print was decided anew since it was proofed.
    """
    of_job = [
        (proof.number, {_films(colour) for colour in proof.colours})
        for proof in proofs
        if proof.job == job and not proof.altered
        and any(colour.garment == builds[0].garment.name for colour in proof.colours)
    ]  # fmt: skip
    wanted = {_films_read(row_of_build(build, name="")) for build in builds}
    fit = [number for number, films in of_job if wanted <= films]
    return (fit[-1] if fit else None), (of_job[-1][0] if of_job else None)


def _films_read(row: PrintRow) -> Hashable:
    """What a reading is of, as `_films` has it; never of a halftone, whose dots are not films."""
    base = () if row.base is None else (SealedLayer(*row.base),)
    films = row.garment, row.route, (*base, (row.ink, row.screen, row.passes))
    return films if row.coverage == 1 else (*films, row.coverage)


def _seen(row: PrintRow, viewing: Viewing) -> FloatArray:
    """Lab (3,) of a reading under a proof's light."""
    if row.reflectance is not None:
        return lab_of(np.asarray(row.reflectance), viewing)
    if (row.light, row.observer) != (viewing.light, viewing.observer):
        raise InputError(
            f"Lab under {row.light}/{row.observer}° cannot score a proof under "
            f"{viewing.light}/{viewing.observer}°; a spectrum could"
        )
    return np.asarray(row.lab)


def _outcome(proof: SealedProof, colour: SealedColour, prints: Sequence[Print]) -> Outcome:
    promised: dict[str, Any] = {
        "proof": proof.number, "promised_on": proof.day, "garment": colour.garment,
        "ink": colour.ink, "route": colour.route, "data": colour.data,
        "tolerance": colour.tolerance, "chance": colour.chance, "median": colour.median,
        "low": colour.low, "high": colour.high,
    }  # fmt: skip
    if not prints:
        return Outcome(**promised)
    first, weights = prints[0][0], np.array([row.weight for row, _ in prints])
    seen = np.average([lab for _, lab in prints], axis=0, weights=weights)
    off = seen - np.array(colour.lab)
    return Outcome(
        **promised,
        read_on=_day(first),
        read_by=first.read_by,
        garment_lot=first.garment_lot,
        ink_lot=first.ink_lot,
        found=float(delta_e_2000(np.array(colour.target_lab), seen)),
        against=float(delta_e_2000(np.array(colour.lab), seen)),
        dL=float(off[0]),
        da=float(off[1]),
        db=float(off[2]),
        off_de00=noise_of_mean([row.noise for row, _ in prints]).whole,
    )


COLUMNS = tuple(each.name for each in fields(Outcome))
INVENTED = "# INVENTED: no press printed these."


def outcomes_csv(listed: Sequence[Outcome], *, invented: bool = False) -> str:
    """Outcomes as CSV with all digits, without a name of a client, job or artwork."""
    rows = [[getattr(each, name) for name in COLUMNS] for each in listed]
    return csv_text(COLUMNS, rows, first=INVENTED if invented else "")


def read_outcomes(text: str) -> tuple[Outcome, ...]:
    """Read what `outcomes_csv` wrote."""
    return tuple(_read(text))


def _read(text: str) -> Iterator[Outcome]:
    kinds = get_type_hints(Outcome)
    lines = (line for line in text.splitlines() if not line.startswith("#"))
    for row in csv.DictReader(lines):
        values: dict[str, Any] = {}
        for name, cell in row.items():
            if name == MADE_BY:
                continue
            if kinds[name] is str:
                values[name] = from_cell(cell)
            elif kinds[name] is int:
                values[name] = int(cell)
            else:
                values[name] = float(cell) if cell else None
        yield Outcome(**values)
