"""Proofs issued, sealed before anything is printed: an sqlite file in the shop's folder.

A proof is sealed with all that it promises of every color on every garment, and with what it was
worked out from. Its content has a SHA-256 mark over itself and the mark before it, so that a row
that was changed, or taken out, is told. A seal is written once: the tables refuse to change one.

With a proof stand the marks of all readings that the shop's history had until then: the press may
have been fitted to them, so that none of them ever scores this proof (see `outcomes`).
"""

from __future__ import annotations

import datetime
import hashlib
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

from inksim import __version__
from inksim.calibration import marks_ever
from inksim.colour import Lamp, Viewing, stated_light
from inksim.common import Database, InputError, version_of
from inksim.decision import Answer
from inksim.ledger.decided import PRESS, shop_versions
from inksim.shop import Shop, editable_folder, is_demo

FILE = "promises.sqlite"
SHORT_MARK = 12
"""Hex digits of a mark that a sheet shows."""
_TABLES = (
    """CREATE TABLE proof (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        content TEXT NOT NULL UNIQUE,
        mark TEXT NOT NULL UNIQUE CHECK (length(mark) = 64)
    ) STRICT""",
    "CREATE TRIGGER sealed_stays BEFORE UPDATE ON proof "
    "BEGIN SELECT RAISE(ABORT, 'a sealed proof is not changed'); END",
    "CREATE TRIGGER sealed_is_kept BEFORE DELETE ON proof "
    "BEGIN SELECT RAISE(ABORT, 'a sealed proof is not removed'); END",
)


class SealedLayer(NamedTuple):
    """One ink through one screen, by names."""

    ink: str
    screen: str
    passes: int
    flash: bool


@dataclass(frozen=True, kw_only=True)
class SealedColour:
    """What was promised of one color on one garment; see `Answer`.

    ink: None where the cloth is left bare. layers: garment side first. target_lab, lab: asked for
    and predicted, under the proof's viewing. de00: between them. median, low, high: ΔE00 as
    promised; chance: of at most `tolerance`. word: the verdict's.
    """

    target: str
    garment: str
    ink: str | None
    route: str
    layers: tuple[SealedLayer, ...]
    target_lab: tuple[float, float, float]
    lab: tuple[float, float, float]
    de00: float
    median: float
    low: float
    high: float
    chance: float
    tolerance: float
    word: str
    data: str


@dataclass(frozen=True, kw_only=True)
class SealedProof:
    """A proof as it was issued.

    day : YYYY-MM-DD. design : what it shows, and on what. job : key of the kept job; ''
        without. inksim : version of the program.
    files : content hash of the shop's files by name; press_version : of press.toml.
    readings : marks of the readings that the history had until then. mark : of the whole row.
    altered : what is wrong with the row, in words; '' if it is as it was sealed.
    """

    number: int
    day: str
    design: str
    job: str
    inksim: str
    files: dict[str, str]
    press_version: int
    light: str | Lamp
    observer: int
    readings: frozenset[str]
    colours: tuple[SealedColour, ...]
    mark: str
    altered: str = ""

    @property
    def viewing(self) -> Viewing:
        """Light and observer that its colors are of."""
        return Viewing(light=self.light, observer=self.observer)


@dataclass(frozen=True, kw_only=True)
class Issued:
    """What a sheet shows of its seal. number: None where it has none; why then says why."""

    number: int | None = None
    mark: str = ""
    job: str = ""
    why: str = ""

    @property
    def words(self) -> str:
        """'Proof no. 12, seal 3f09a2c4d1e8, job harvest-tour' or 'no proof number: …'."""
        if self.number is None:
            return f"no proof number: {self.why}"
        job = f", job {self.job}" if self.job else ""
        return f"Proof no. {self.number}, seal {self.mark[:SHORT_MARK]}{job}"


def promises_file(shop_folder: Path) -> Path:
    """Path of a shop's sealed proofs."""
    return shop_folder / FILE


def issue_proof(
    shop: Shop,
    answers: Sequence[Answer],
    *,
    design: str,
    viewing: Viewing,
    day: datetime.date,
    job: str = "",
) -> Issued:
    """Issue a proof: seal what it promises, and give it the shop's next number.

    The same proof asked for again on the same day is the same proof, with the number it has. No
    number without a shop of one's own that can be written to: nothing would keep the promise.

    Parameters
    ----------
    answers : every color on every garment; none for tonal artwork, which promises no single color.
    design : what the proof shows, on what and how large, with the mark of the artwork's file.
    job : key of the kept job.

    Raises
    ------
    InputError : the file of promises is damaged, or a newer inksim's.
    """
    if is_demo(shop.folder):
        return Issued(
            job=job,
            why="the demo shop keeps no record",
        )
    try:
        folder = editable_folder(shop.folder)
    except InputError:  # whose words name a path, and this stands on a client's sheet
        return Issued(job=job, why="the shop's folder cannot be written to")
    rests_on = shop_versions(shop)
    content = json.dumps(
        {
            "day": day.isoformat(),
            "design": design,
            "job": job,
            "inksim": __version__,
            "files": {name: mark for name, mark in rests_on.items() if name != PRESS},
            "press_version": rests_on[PRESS],
            "light": asdict(viewing.light) if isinstance(viewing.light, Lamp) else viewing.light,
            "observer": viewing.observer,
            "readings": sorted(marks_ever(folder)),
            "colours": [asdict(_sealed(answer, viewing)) for answer in answers],
        },
        ensure_ascii=False,
        sort_keys=True,
    )
    with _promises(folder).change() as connection:
        found = connection.execute("SELECT * FROM proof WHERE content = ?", (content,)).fetchone()
        if found is not None:
            return Issued(number=found["number"], mark=found["mark"], job=job)
        last = connection.execute("SELECT mark FROM proof ORDER BY number DESC LIMIT 1").fetchone()
        number = _numbered(connection) + 1
        mark = _mark(last["mark"] if last else "", number=number, content=content)
        connection.execute("INSERT INTO proof VALUES (?, ?, ?)", (number, content, mark))
    return Issued(number=number, mark=mark, job=job)


def sealed_proofs(shop_folder: Path) -> tuple[SealedProof, ...]:
    """All proofs a shop has issued, by number; what was changed since says so in `altered`.

    Raises
    ------
    InputError : the file is damaged, or a newer inksim's.
    """
    if not promises_file(shop_folder).exists():
        return ()
    with _promises(shop_folder).open() as connection:
        if not version_of(connection):
            return ()
        rows = connection.execute(
            "SELECT number, content, mark FROM proof ORDER BY number"
        ).fetchall()
    before, found = "", []
    for row in rows:
        whole = row["mark"] == _mark(before, number=row["number"], content=row["content"])
        found.append(_proof(row, altered="" if whole else "it or the one before was changed"))
        before = row["mark"]
    return tuple(found)


def missing_numbers(shop_folder: Path) -> tuple[int, ...]:
    """Numbers of proofs that were issued and are no longer there."""
    if not promises_file(shop_folder).exists():
        return ()
    with _promises(shop_folder).open() as connection:
        if not version_of(connection):
            return ()
        there = {row["number"] for row in connection.execute("SELECT number FROM proof")}
        return tuple(n for n in range(1, _numbered(connection) + 1) if n not in there)


def _proof(row: sqlite3.Row, *, altered: str) -> SealedProof:
    try:
        said: dict[str, Any] = json.loads(row["content"])
        colours = tuple(
            SealedColour(
                **{
                    **each,
                    "layers": tuple(SealedLayer(*layer) for layer in each["layers"]),
                    "lab": tuple(each["lab"]),
                    "target_lab": tuple(each["target_lab"]),
                }
            )
            for each in said["colours"]
        )
        said["light"] = stated_light(said["light"])
        said |= {"colours": colours, "readings": frozenset(said["readings"])}
        return SealedProof(number=row["number"], mark=row["mark"], altered=altered, **said)
    except (InputError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        unread = SealedProof(
            number=row["number"], day="", design="", job="", inksim="", files={}, press_version=0,
            light="D50", observer=2, readings=frozenset(), colours=(), mark=row["mark"],
        )  # fmt: skip
        return replace(unread, altered="it can no longer be read")


def _sealed(answer: Answer, viewing: Viewing) -> SealedColour:
    said = answer.verdict
    lab, target = (tuple(map(float, each)) for each in (answer.lab, answer.target.lab(viewing)))
    return SealedColour(
        target=answer.target.name,
        garment=answer.garment.name,
        ink=answer.ink.name if answer.ink else None,
        route=answer.route,
        layers=tuple(
            SealedLayer(at.ink.name, at.screen.name, at.passes, at.flash)
            for at in answer.build.layers
        ),
        target_lab=target,  # type: ignore[arg-type]
        lab=lab,  # type: ignore[arg-type]
        de00=float(answer.delta_e_2000),
        median=float(said.median_de00),
        low=float(said.low),
        high=float(said.high),
        chance=float(said.chance),
        tolerance=float(answer.interval.tolerance),
        word=said.word,
        data=answer.data,
    )


def _mark(before: str, *, number: int, content: str) -> str:
    return hashlib.sha256(f"{before}\n{number}\n{content}".encode()).hexdigest()


def _numbered(connection: sqlite3.Connection) -> int:
    """The highest number that was ever given."""
    row = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'proof'").fetchone()
    return int(row[0]) if row else 0


def _to_1(connection: sqlite3.Connection) -> None:
    for statement in _TABLES:  # one by one: executescript would commit
        connection.execute(statement)


def _promises(shop_folder: Path) -> Database:
    return Database(
        path=promises_file(shop_folder),
        what="record of promises",
        steps=(_to_1,),
        rescue="Put it aside and bring back a copy of it; a new one begins at proof no. 1.",
    )
