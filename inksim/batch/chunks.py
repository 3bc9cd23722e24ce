"""What to do next: rows of the manifest claimed, some of one artwork at a time."""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from inksim.batch.listing import Listed, Shard
from inksim.batch.manifest import Manifest, Row
from inksim.batch.numbering import Numbering
from inksim.batch.palette import Palette
from inksim.batch.pool import Pool
from inksim.batch.task import (
    Art,
    Item,
    ItemOutcome,
    ShopFiles,
    Task,
    TaskOutcome,
    Wanted,
    digest,
    key_of,
)
from inksim.common import InputError, cut, make_folder, write_whole

MOST_AT_ONCE = 16
"""Jobs of one artwork in a task: what a kill loses of a worker, and reading it again costs."""
MOST_WAITING = 64
"""Chunks that wait for palettes."""
READ_AT_ONCE = 1 << 20


@dataclass(kw_only=True)
class Count:
    """Counts of a list: its rows, those done, and of these the failed."""

    total: int = 0
    through: int = 0
    failed: int = 0


@dataclass(frozen=True)
class Chunk:
    """What one task works. rows: of each key. path: of its artwork. deaths: workers lost by it."""

    task: Task
    rows: Mapping[str, int]
    names: Mapping[str, str]
    path: str
    deaths: int = 0

    def single(self) -> Iterator[Chunk]:
        """Split into chunks of one job each."""
        for item in self.task.items:
            task = replace(self.task, items=(item,))
            yield replace(self, task=task, rows={item.key: self.rows[item.key]})

    def left_by(self, outcome: TaskOutcome) -> Chunk | None:
        """What a worker handed back unworked; None if nothing."""
        done = {each.key for each in outcome.items}
        items = tuple(item for item in self.task.items if item.key not in done)
        if not items:
            return None
        palettes = {**self.task.palettes, **{each.background: each for each in outcome.palettes}}
        task = replace(self.task, items=items, palettes=palettes, share=False)
        return replace(self, task=task, rows={item.key: self.rows[item.key] for item in items})


@dataclass(eq=False)
class OpenArt:
    """An artwork that has rows left.

    sought: a task at work is to share its palettes. asked: one was; a fault gives none.
    """

    sha: str
    sought: bool = False
    asked: bool = False
    palettes: dict[str, Palette] = field(default_factory=dict)


class Artworks(dict[str, OpenArt]):
    """The artworks that tasks are being made of, by path."""

    def settle(self, path: str, palettes: Iterable[Palette]) -> None:
        """Take the palettes that a task brought, none where it found none."""
        if path in self:
            self[path].sought = False
            self[path].palettes |= {each.background: each for each in palettes}


def of_shard(listing: Iterable[Listed], shard: Shard) -> Iterator[Listed]:
    """The jobs of one part. Jobs of an artwork stay together, `MOST_AT_ONCE` at a time."""
    if shard.of == 1:
        yield from listing
        return
    given, seen = [0] * shard.of, dict[str, tuple[int, int]]()
    for each in listing:
        of_art, mine = seen.get(each.art, (0, 0)) if each.art else (0, 0)
        if of_art % MOST_AT_ONCE == 0:
            mine = given.index(min(given))
        given[mine] += 1
        if each.art:
            seen[each.art] = (of_art + 1, mine)
        if mine == shard.part - 1:
            yield each


@dataclass(frozen=True)
class _Piece:
    """Rows of one artwork. last: no more of it follow."""

    rows: list[Row]
    last: bool

    @property
    def path(self) -> str:
        return self.rows[0].listed.art


@dataclass(kw_only=True, eq=False)
class Chunks:
    """Makes chunks of rows. most: jobs in one. again: what failed too.

    anew: rows are seen for the first time, so that those somebody else does are counted. arts: of
    what was begun. numbering: of proofs.
    """

    manifest: Manifest
    shop: ShopFiles
    wanted: Wanted
    pool: Pool
    count: Count
    arts: Artworks
    numbering: Numbering
    most: int
    again: bool
    anew: bool

    def of(self, rows: Iterator[Row]) -> Iterator[Chunk | None]:
        """The chunks of some rows, in order of artwork, and None where all that is left waits.

        The first chunk of an artwork finds its palette. The others of it wait until that is there,
        while those of the next artworks are begun.
        """
        waiting: deque[_Piece] = deque()
        for piece in self._pieces(rows):
            waiting.append(piece)
            yield from self._ready(waiting)
            while len(waiting) >= MOST_WAITING:
                yield None
                yield from self._ready(waiting)
        while waiting:
            yield None
            yield from self._ready(waiting)

    def _pieces(self, rows: Iterator[Row]) -> Iterator[_Piece]:
        """Rows of one artwork, as many as a chunk may have."""
        some: list[Row] = []
        for row in rows:
            same = bool(some) and row.listed.art == some[0].listed.art
            if some and (not same or len(some) == self.most):
                yield _Piece(some, last=not same)
                some = []
            some.append(row)
        if some:
            yield _Piece(some, last=True)

    def _ready(self, waiting: deque[_Piece]) -> Iterator[Chunk]:
        """Chunks of the pieces that need not wait; the others stay, in their order."""
        for _ in range(len(waiting)):
            piece = waiting.popleft()
            known = self.arts.get(piece.path)
            if known is not None and known.sought:
                waiting.append(piece)
                continue
            yield from self._claimed(piece)
            if piece.last:
                self.arts.pop(piece.path, None)

    def _claimed(self, piece: _Piece) -> Iterator[Chunk]:
        rows, path = piece.rows, piece.path
        try:
            art = self._opened(path)
        except InputError as error:
            self._unreadable(rows, str(error))
            return
        items, numbers, names = {}, {}, {}
        for row in rows:
            at = row.listed
            proof = self.numbering.of(at)
            key = key_of(
                at.said, name=at.name, in_memory=at.in_memory, art=art.sha, shop=self.shop.digest,
                wanted=self.wanted, proof=proof,
            )  # fmt: skip
            file = Path(at.art).name if at.in_memory else at.source
            items[key] = Item(
                key=key, name=at.name, file=file, said=at.said, in_memory=at.in_memory, proof=proof
            )
            numbers[row.number] = key
            names[key] = at.name
        mine, failed = self.manifest.claim(numbers, again=self.again)
        if self.anew:
            self.count.through += sum(key not in mine for key in numbers.values())
            self.count.failed += sum(key in failed for key in numbers.values())
        if not mine:
            return
        art.sought = bool(path) and not piece.last and not art.asked
        art.asked = art.asked or art.sought
        yield Chunk(
            Task(
                shop=self.shop,
                art=self._travelling(path, art.sha) if path else None,
                items=tuple(items[key] for key in items if key in mine),
                wanted=self.wanted,
                through=str(self.pool.through or ""),
                home=None if self.numbering.none else self.numbering.home,
                palettes=dict(art.palettes),
                share=art.sought,
            ),
            {key: sum(k == key for k in numbers.values()) for key in mine},
            names,
            path,
        )

    def _unreadable(self, rows: list[Row], why: str) -> None:
        """Jobs whose artwork cannot be read; each is tried again by every run."""
        keys = {
            r.number: digest("unreadable", r.listed.art, r.listed.source, str(r.number))
            for r in rows
        }
        mine, _ = self.manifest.claim(keys, again=True)
        self.manifest.finish([(ItemOutcome(key=key, fault=cut(why)), ()) for key in mine])
        self.count.through += len(rows)
        self.count.failed += len(rows)

    def _opened(self, path: str) -> OpenArt:
        """An artwork as it is known, or read now; one without a SHA-256 of a list of colors."""
        if path not in self.arts:
            self.arts[path] = OpenArt(_sha_of(path) if path else "")
        return self.arts[path]

    def _travelling(self, path: str, sha: str) -> Art:
        """An artwork as it travels to workers: a path that they see, or its bytes."""
        file = Path(path)
        if self.pool.carry:
            return Art(name=file.name, sha256=sha, data=file.read_bytes())
        if self.pool.through is None:
            return Art(name=file.name, sha256=sha, path=file.absolute())
        there = self.pool.through.absolute() / f"{sha}{file.suffix}"
        if not there.is_file():
            make_folder(there.parent)
            write_whole(there, file.read_bytes())
        return Art(name=file.name, sha256=sha, path=there)


def _sha_of(path: str) -> str:
    """SHA-256 of an artwork's file."""
    made = hashlib.sha256()
    try:
        with Path(path).open("rb") as opened:
            while piece := opened.read(READ_AT_ONCE):
                made.update(piece)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no name that a file can have"
        raise InputError(
            f"artwork '{Path(path).name}' cannot be opened ({why}): {path}; check the path."
        ) from None
    return made.hexdigest()
