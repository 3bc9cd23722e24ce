"""What to do next: rows of the manifest claimed, some of one artwork at a time."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from inksim.batch.listing import Listed, Shard
from inksim.batch.manifest import Manifest, Row
from inksim.batch.pool import Pool
from inksim.batch.task import Art, Item, ItemOutcome, ShopFiles, Task, Wanted, digest, key_of
from inksim.common import InputError, cut, make_folder, write_whole

MOST_AT_ONCE = 16
"""Jobs of one artwork in a task: what a kill loses of a worker, and reading it again costs."""
READ_AT_ONCE = 1 << 20


@dataclass(kw_only=True)
class Count:
    """Rows of the list, those that are through, and of these the failed."""

    total: int = 0
    through: int = 0
    failed: int = 0


@dataclass(frozen=True)
class Chunk:
    """What one task works: a row for each key. deaths: of workers with it alone."""

    task: Task
    rows: Mapping[str, int]
    names: Mapping[str, str]
    deaths: int = 0

    def single(self) -> Iterator[Chunk]:
        """The same, one job each."""
        for item in self.task.items:
            task = Task(
                shop=self.task.shop, art=self.task.art, items=(item,), wanted=self.task.wanted,
                through=self.task.through,
            )  # fmt: skip
            yield Chunk(task, {item.key: self.rows[item.key]}, self.names, self.deaths)


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


@dataclass(kw_only=True, eq=False)
class Chunks:
    """Makes chunks of rows. most: jobs in one. again: what failed too.

    anew: rows are seen for the first time, so that those somebody else does are counted.
    """

    manifest: Manifest
    shop: ShopFiles
    wanted: Wanted
    pool: Pool
    count: Count
    most: int
    again: bool
    anew: bool
    _art: tuple[str, str] = ("", "")

    def of(self, rows: Iterator[Row]) -> Iterator[Chunk]:
        """The chunks of some rows, in order of artwork."""
        some: list[Row] = []
        for row in rows:
            if some and (row.listed.art != some[0].listed.art or len(some) == self.most):
                yield from self._claimed(some)
                some = []
            some.append(row)
        yield from self._claimed(some)

    def _claimed(self, rows: list[Row]) -> Iterator[Chunk]:
        if not rows:
            return
        path = rows[0].listed.art
        try:
            sha = self._sha_of(path) if path else ""
        except InputError as error:
            self._unreadable(rows, str(error))
            return
        items, numbers, names = {}, {}, {}
        for row in rows:
            at = row.listed
            key = key_of(
                at.said, name=at.name, in_memory=at.in_memory, art=sha, shop=self.shop.digest,
                wanted=self.wanted,
            )  # fmt: skip
            file = Path(at.art).name if at.in_memory else at.source
            items[key] = Item(
                key=key, name=at.name, file=file, said=at.said, in_memory=at.in_memory
            )
            numbers[row.number] = key
            names[key] = at.name
        mine, failed = self.manifest.claim(numbers, again=self.again)
        if self.anew:
            self.count.through += sum(key not in mine for key in numbers.values())
            self.count.failed += sum(key in failed for key in numbers.values())
        if not mine:
            return
        yield Chunk(
            Task(
                shop=self.shop,
                art=self._travelling(path, sha) if path else None,
                items=tuple(items[key] for key in items if key in mine),
                wanted=self.wanted,
                through=str(self.pool.through or ""),
            ),
            {key: sum(k == key for k in numbers.values()) for key in mine},
            names,
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

    def _sha_of(self, path: str) -> str:
        if self._art[0] != path:
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
            self._art = (path, made.hexdigest())
        return self._art[1]

    def _travelling(self, path: str, sha: str) -> Art:
        """An artwork as workers come by it."""
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
