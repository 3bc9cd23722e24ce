"""What travels to a worker and back: a snapshot of the shop, an artwork, some jobs; what was found.

All of it is plain data, so that any executor can carry it, on this machine or on another.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from inksim import __version__
from inksim.batch.palette import Palette
from inksim.colour import Viewing
from inksim.common import json_text, write_whole
from inksim.shop import FILES

OF_A_TABLE = "a row of a table is no kept job; 'inksim job new' keeps one"
FORMAT = 1
"""Of what is found of a job: raised when a manifest of an older inksim says it otherwise."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What is asked of every job, besides its numbers."""

    viewing: Viewing = Viewing()
    pictures: bool = False
    proofs: bool = False

    @property
    def words(self) -> str:
        """What is asked, as text for keys; a lamp with its spectrum."""
        kinds = [k for k in ("pictures", "proofs") if getattr(self, k)]
        return ",".join([repr(self.viewing), *kinds])


@dataclass(frozen=True)
class ShopFiles:
    """The files of a shop by name, as they were when the batch began."""

    files: Mapping[str, bytes]

    @cached_property
    def digest(self) -> str:
        """SHA-256 of names and contents."""
        return digest(*(part for name in sorted(self.files) for part in (name, self.files[name])))

    @classmethod
    def of(cls, folder: Path) -> ShopFiles:
        """The files of a shop's folder that a decision can rest on."""
        return cls({n: (folder / n).read_bytes() for n in FILES if (folder / n).is_file()})


@dataclass(frozen=True, kw_only=True)
class Art:
    """An artwork: its file's name and SHA-256, and where to read it, or its bytes."""

    name: str
    sha256: str
    path: Path | None = None
    data: bytes | None = None


@dataclass(frozen=True)
class Numbered:
    """Whether a proof is numbered. job: key of its kept job; draft: why it has no number, or ''."""

    job: str = ""
    draft: str = OF_A_TABLE


@dataclass(frozen=True, kw_only=True)
class Item:
    """One job. said: its fields, as `JobEntry` has them. file: as faults name it. proof: of it.

    in_memory: of an artwork that no job's file says more of: a width may be assumed.
    """

    key: str
    name: str
    file: str
    said: Mapping[str, Any]
    in_memory: bool
    proof: Numbered = Numbered()


@dataclass(frozen=True, kw_only=True)
class Task:
    """Some jobs of one artwork, or one of a list of colors.

    through: a folder that all machines see, in which results are left; '' where they travel back.
    home: the shop's own folder, where proofs get numbers; None where workers do not see it.
    palettes: of the artwork, by background, those that were found before. share: others wait for
    those found now.
    """

    shop: ShopFiles
    art: Art | None
    items: tuple[Item, ...]
    wanted: Wanted
    through: str = ""
    home: Path | None = None
    palettes: Mapping[str, Palette] = field(default_factory=dict)
    share: bool = False


@dataclass(frozen=True, kw_only=True)
class Made:
    """One file of a job. kind: 'picture' or 'proof'; garment: '' of one for all.

    number: of a proof. said: of its number and seal, or why it has none.
    """

    kind: str
    garment: str
    suffix: str
    data: bytes | None = None
    path: str = ""
    number: int | None = None
    said: str = ""

    def left_in(self, folder: str, name: str) -> Made:
        """Write its bytes to a folder that all workers see, and name the file instead."""
        assert self.data is not None  # it was just made
        path = Path(folder) / f"{name}{self.suffix}"
        write_whole(path, self.data)
        return replace(self, data=None, path=str(path))

    def taken(self) -> bytes:
        """Its bytes."""
        return Path(self.path).read_bytes() if self.data is None else self.data


@dataclass(frozen=True, kw_only=True)
class ItemOutcome:
    """What became of one job: found, JSON-ready, or a fault in a sentence."""

    key: str
    found: Mapping[str, Any] | None = None
    fault: str = ""
    files: tuple[Made, ...] = ()
    seconds: float = 0.0


@dataclass(frozen=True, kw_only=True)
class TaskOutcome:
    """What became of a task: of each of its jobs, and the palettes that it shares."""

    items: Sequence[ItemOutcome]
    palettes: Sequence[Palette] = ()


def digest(*parts: str | bytes) -> str:
    """SHA-256 of parts, each kept apart from the next."""
    made = hashlib.sha256()
    for part in parts:
        data = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        made.update(f"{len(data)}:".encode())
        made.update(data)
    return made.hexdigest()


def key_of(
    said: Mapping[str, Any],
    *,
    name: str,
    in_memory: bool,
    art: str,
    shop: str,
    wanted: Wanted,
    proof: Numbered = Numbered(),
) -> str:
    """Key of a job, made of all that its outcome depends on. art, shop: their SHA-256.

    name: what a proof calls it; nothing else depends on what its files are called. A draft is other
    than a proof with a number: see `Numbering`.
    """
    artwork = said.get("artwork")
    plain = dict(said)
    if isinstance(artwork, Mapping):
        plain["artwork"] = {**artwork, "file": ""}
    of_proof = _on_proof(name, proof) if wanted.proofs else ""
    return digest(
        f"{FORMAT} {__version__} {in_memory}", of_proof, art, shop, wanted.words,
        json_text(sorted_of(plain), indent=None),
    )  # fmt: skip


def _on_proof(name: str, proof: Numbered) -> str:
    return name if proof.draft else digest(name, proof.job)


def sorted_of(value: Any) -> Any:
    """A value with its mappings in order, and what JSON lacks as text."""
    if isinstance(value, Mapping):
        return {str(key): sorted_of(value[key]) for key in sorted(value, key=str)}
    if isinstance(value, list | tuple):
        return [sorted_of(each) for each in value]
    if isinstance(value, float):
        return repr(value)  # NaN is no JSON
    return value if isinstance(value, bool | int | str | None) else str(value)
