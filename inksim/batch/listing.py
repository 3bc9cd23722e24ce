"""The jobs of a batch, one after another: rows of a table, or the job files of a folder.

A row that is wrong is listed with its fault; it stops nothing. Nothing is held in memory but the
row at hand, so that a table may have any length.
"""

from __future__ import annotations

import csv
import hashlib
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, time
from pathlib import Path
from typing import Any

from inksim.batch.task import digest
from inksim.common import InputError, cut, from_cell, toml_of
from inksim.job import JobArtworkEntry, JobEntry, typed_value

EVERY = "*"
"""In place of a garment: each of the shop's, a job of its own."""
JOB_FILE = "job.toml"
READ_AT_ONCE = 1 << 20
SEPARATORS = ",;\t"
_SHARD = re.compile(r"(\d{1,9})\s*/\s*(\d{1,9})")


@dataclass(frozen=True, kw_only=True)
class Listed:
    """One job as listed. source: where, in words. said: its fields. fault: '' if it can be tried.

    art: path of its artwork, '' of a list of colors. in_memory: see `Item`.
    """

    source: str
    name: str = ""
    art: str = ""
    said: dict[str, Any] = field(default_factory=dict)
    in_memory: bool = True
    fault: str = ""


@dataclass(frozen=True)
class Shard:
    """One of so many parts of a batch, counted from 1."""

    part: int = 1
    of: int = 1

    @classmethod
    def parsed(cls, text: str) -> Shard:
        """Parse a shard written as '2/3'.

        Raises
        ------
        InputError : not of that form, or no such part.
        """
        found = _SHARD.fullmatch(text.strip())
        if found is None:
            raise InputError(f"shard '{text}' is no part of a whole; write 1/3, 2/3 or 3/3.")
        part, of = int(found[1]), int(found[2])
        if not 1 <= part <= of:
            raise InputError(f"there is no shard {part} of {of}; allowed are 1/{of} to {of}/{of}.")
        return cls(part, of)

    @property
    def ending(self) -> str:
        """Ending of the names of its files: '-2-of-3'; '' where the list is not split."""
        return "" if self.of == 1 else f"-{self.part}-of-{self.of}"


class Listing:
    """The jobs of a table or a folder.

    Raises
    ------
    InputError : neither, a table without the columns it needs or with one that is no field, or
        nothing in it.
    """

    def __init__(self, source: Path, *, garments: Sequence[str]) -> None:
        self.source, self.garments = source, garments
        self.files: list[Path] = []
        self.columns: list[tuple[str, str]] = []
        self.separator = ","
        if source.is_dir():
            self.files = job_files(source)
        elif source.is_file() and source.suffix.lower() == ".csv":
            self.separator, self.columns = _columns(source)
        elif source.is_file():
            raise InputError(
                f"'{source.name}' is no table of jobs (.csv); give one, or a folder of jobs."
            )
        else:
            raise InputError(f"there is no table and no folder '{source}'; check the path.")

    @property
    def digest(self) -> str:
        """SHA-256 of all that the list says, without its artworks."""
        made = hashlib.sha256()
        for file in self.files or [self.source]:
            made.update(digest(str(file.relative_to(self.source))).encode())
            with file.open("rb") as opened:
                while piece := opened.read(READ_AT_ONCE):
                    made.update(piece)
        return digest(str(self.source.resolve()), *self.garments, made.hexdigest())

    def __iter__(self) -> Iterator[Listed]:
        return self._of_files() if self.files else self._of_rows()

    def _of_files(self) -> Iterator[Listed]:
        for file in self.files:
            source = str(file.relative_to(self.source))
            try:
                said = toml_of(file.read_bytes())
            except OSError as error:
                yield Listed(source=source, fault=f"'{source}' cannot be read: {error.strerror}.")
            except InputError as error:
                yield Listed(source=source, fault=cut(f"'{source}' is {error}."))
            else:
                if odd := _not_data(said):
                    fault = f"'{source}', {odd}: no day, time or nan is of use; put text in quotes."
                    yield Listed(source=source, fault=cut(fault))
                    continue
                artwork = said.get("artwork")
                named = artwork.get("file") if isinstance(artwork, dict) else None
                art = str(file.parent / named) if isinstance(named, str) and named else ""
                name = said.get("name")
                yield Listed(
                    source=source,
                    name=name if isinstance(name, str) and name else file.stem,
                    art=art,
                    said=said,
                    in_memory=False,
                )

    def _of_rows(self) -> Iterator[Listed]:
        for number, line in _lines(self.source):
            source = f"{self.source.name} line {number}"
            try:
                row = self._row(line)
            except InputError as error:
                yield Listed(source=source, fault=f"{source}: {error}")
                continue
            if row is None:
                continue
            art, garment, said = row
            for each in self.garments if garment == EVERY else [garment]:
                yield Listed(
                    source=source,
                    name=str(said.get("name", Path(art).stem)),
                    art=str(self.source.parent / art),
                    said={**said, "garments": [each]},
                )

    def _row(self, line: bytes) -> tuple[str, str, dict[str, Any]] | None:
        """Artwork, garment and fields of a line; None of an empty one."""
        cells = [from_cell(cell.strip()) for cell in _cells(line, self.separator)]
        if not any(cells):
            return None
        if len(cells) != len(self.columns):
            raise InputError(
                f"it has {len(cells)} cells, and the table {len(self.columns)} columns."
            )
        art = garment = ""
        said: dict[str, Any] = {"quantity": 1}
        placed: dict[str, Any] = {}
        for (table, name), text in zip(self.columns, cells, strict=True):
            if name == "artwork" and not table:
                art = text
            elif name == "garment":
                garment = text
            elif text:
                (placed if table else said)[name] = typed_value(name, text)
        if not art or not garment:
            raise InputError(f"it has no {'garment' if art else 'artwork'}.")
        return art, garment, {**said, "artwork": {**placed, "file": Path(art).name}}


def job_files(folder: Path) -> list[Path]:
    """The jobs of a folder, in order: its .toml files, and a job.toml in each folder of it.

    Raises
    ------
    InputError : there is none.
    """
    own = [p for p in folder.glob("*.toml") if p.is_file() and p.name[0] != "."]
    kept = [p for p in folder.glob(f"*/{JOB_FILE}") if p.is_file() and p.parent.name[0] != "."]
    if not own and not kept:
        raise InputError(
            f"'{folder}' has no job: no .toml file, and no folder with a {JOB_FILE}; name a folder "
            "that has, or a .csv table."
        )
    return sorted([*own, *kept])


def _lines(source: Path) -> Iterator[tuple[int, bytes]]:
    """Lines of a table after its head, with their numbers from 2."""
    with source.open("rb") as opened:
        next(opened, b"")
        yield from enumerate(opened, start=2)


def _cells(line: bytes, separator: str) -> list[str]:
    """The cells of one line. A line is a row: a quote left open spoils no other."""
    try:
        text = line.decode("utf-8-sig").rstrip("\r\n")
        return next(csv.reader([text], strict=True, delimiter=separator), [])
    except UnicodeDecodeError:
        raise InputError("it is not UTF-8 text; save the table as UTF-8.") from None
    except csv.Error:
        raise InputError("its quotes do not match, or a cell is too long.") from None


def _columns(source: Path) -> tuple[str, list[tuple[str, str]]]:
    """Separator of the cells, and each column as table ('' or 'artwork') and field."""
    with source.open("rb") as opened:
        head = opened.readline(READ_AT_ONCE)
    separator = max(SEPARATORS, key=lambda sign: head.count(sign.encode()))
    try:
        names = [cell.strip() for cell in _cells(head, separator)]
    except InputError as error:
        raise InputError(f"table '{source.name}', its first line: {error}") from None
    columns = [_column(name, source.name) for name in names]
    lacking = [n for n in ("artwork", "garment") if ("", n) not in columns]
    if lacking:
        raise InputError(
            f"table '{source.name}' has no column {' and no '.join(lacking)}; its first line names "
            "them: artwork,garment."
        )
    if twice := next((n for n in columns if columns.count(n) > 1), None):
        raise InputError(f"table '{source.name}' has two columns '{twice[1]}'; keep one.")
    return separator, columns


def _column(name: str, file: str) -> tuple[str, str]:
    own = set(JobEntry.model_fields) - {
        "artwork",
        "garments",
        "color",
        "invented",
        "press",
        "costs",
    }
    placed = set(JobArtworkEntry.model_fields) - {"file"}
    table, _, short = name.rpartition(".")
    if name in own | {"artwork", "garment"}:
        return "", name
    if short in placed and table in ("", "artwork"):
        return "artwork", short
    raise InputError(
        f"table '{file}': column '{name}' is no field of a job; it has artwork, garment, "
        f"{', '.join(sorted(own | placed))}."
    )


def _not_data(said: Any, where: str = "") -> str:
    """The field that holds what no field of a job is, a day, a time or nan; '' if there is none."""
    within = said.items() if isinstance(said, dict) else enumerate(said)
    for name, value in within:
        if isinstance(value, dict | list):
            if found := _not_data(value, f"{where}{name}."):
                return found
        elif isinstance(value, date | time) or (
            isinstance(value, float) and not math.isfinite(value)
        ):
            return f"{where}{name}"
    return ""
