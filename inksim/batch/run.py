"""Run a batch: what is listed is claimed, worked, recorded and reported."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from inksim import __version__
from inksim.batch.chunks import MOST_AT_ONCE, Artworks, Chunk, Chunks, Count, of_shard
from inksim.batch.dispatch import Dispatch
from inksim.batch.listing import Listing, Shard
from inksim.batch.manifest import DONE, FAILED, OPEN, RENEW_S, Manifest, Row
from inksim.batch.numbering import IN_A_SHARD, ON_A_CLUSTER, Numbering
from inksim.batch.pool import Pool, process_pool
from inksim.batch.report import Reports, write_reports
from inksim.batch.task import (
    FORMAT,
    ItemOutcome,
    Made,
    ShopFiles,
    TaskOutcome,
    Wanted,
    digest,
)
from inksim.common import InputError, make_folder, slug, write_whole
from inksim.shop import Shop

POLL_S = 1.0


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a batch is: rows done, of how many, failed among them; seconds left, or None."""

    done: int
    total: int
    failed: int
    left_s: float | None


@dataclass(frozen=True, kw_only=True)
class BatchResult:
    """What became of a batch. worked: jobs that this run did; total, done, failed: rows listed."""

    total: int
    done: int
    failed: int
    worked: int
    out: Path
    reports: Reports


def run_batch(
    source: Path,
    *,
    shop: Shop,
    out: Path,
    wanted: Wanted | None = None,
    pool: Pool | None = None,
    shard: Shard | None = None,
    again: bool = False,
    progress: Callable[[Progress], None] = lambda _: None,
) -> BatchResult:
    """Work all jobs of a table or a folder that the manifest does not have yet, and report.

    Parameters
    ----------
    source : a CSV with columns artwork and garment, or a folder of jobs: see docs/batch.md.
    out : the folder for all that is made, with the manifest.
    pool : where they are worked; processes on this machine if not given.
    shard : the part to do, all if not given. again: work what failed once more.

    Raises
    ------
    InputError : nothing to work, or something that cannot be written; what is done stays done.
    """
    pool, shard, wanted = pool or process_pool(), shard or Shard(), wanted or Wanted()
    listing = Listing(source, garments=list(shop.garments))
    try:
        make_folder(out)
    except OSError as error:
        raise InputError(f"'{out}' cannot be made: {error.strerror}; name another --out.") from None
    files = ShopFiles.of(shop.folder)
    manifest = Manifest(
        path=out / f"manifest{shard.ending}.sqlite",
        list_id=digest(
            listing.digest, files.digest, wanted.words, f"{shard} {FORMAT} {__version__}"
        ),
    )
    manifest.keep_list(of_shard(listing, shard))
    if shard.of == 1:
        for other in sorted(out.glob("manifest-*-of-*.sqlite")):
            manifest.take_over(other)
    if not manifest.counted() and shard.of == 1:
        raise InputError(f"'{source.name}' lists no job: it has no row below its first line.")
    elsewhere = pool.carry or pool.through is not None
    run = _Run(
        manifest=manifest, shop=files, out=out, wanted=wanted, pool=pool, again=again,
        tell=progress, numbering=Numbering(
            home=shop.folder, source=source,
            none=IN_A_SHARD if shard.of > 1 else ON_A_CLUSTER if elsewhere else "",
        ),
    )  # fmt: skip
    try:
        run.work_all()
    finally:
        with suppress(InputError):  # what stopped it is told, and a claim ends by itself
            manifest.release()
    counted = manifest.counted()
    total = sum(counted.values())
    return BatchResult(
        total=total,
        done=counted.get(DONE, 0),
        failed=counted.get(FAILED, 0),
        worked=run.worked,
        out=out,
        reports=write_reports(manifest, out, ending=shard.ending, pictures=wanted.pictures),
    )


@dataclass(kw_only=True, eq=False)
class _Run:
    """One run over a list."""

    manifest: Manifest
    shop: ShopFiles
    out: Path
    wanted: Wanted
    pool: Pool
    again: bool
    tell: Callable[[Progress], None]
    numbering: Numbering
    worked: int = 0
    count: Count = field(default_factory=Count)
    arts: Artworks = field(default_factory=Artworks)
    began: float = field(default_factory=time.monotonic)
    renewed: float = field(default_factory=time.monotonic)

    def __post_init__(self) -> None:
        self.dispatch = Dispatch(pool=self.pool, finished=self._record, tick=self._tick)

    def work_all(self) -> None:
        """Work until nothing is open, by this run or another on the same manifest."""
        self.count.total = sum(self.manifest.counted().values())
        self.count.through = self.count.failed = self.manifest.broken()
        chunks, left = self._next(self.manifest.rows()), False
        while True:
            before = self.worked
            self.dispatch.work(chunks)
            if not self.manifest.counted().get(OPEN):
                break
            if left and self.worked == before:
                time.sleep(POLL_S)  # another run is at it
            chunks, left = self._next(self.manifest.rows(left=True), anew=False), True
        self._told()

    def _next(self, rows: Iterator[Row], *, anew: bool = True) -> Iterator[Chunk | None]:
        return Chunks(
            manifest=self.manifest, shop=self.shop, wanted=self.wanted, pool=self.pool,
            count=self.count, arts=self.arts, numbering=self.numbering,
            again=self.again and anew, anew=anew,
            most=max(1, min(MOST_AT_ONCE, self.count.total // (2 * self.dispatch.window))),
        ).of(rows)  # fmt: skip

    def _tick(self) -> None:
        """Renew the lease on what is claimed, every now and then."""
        now = time.monotonic()
        if now - self.renewed > RENEW_S:
            self.manifest.renew()
            self.renewed = now

    def _record(self, chunk: Chunk, outcome: TaskOutcome) -> None:
        """Write files, then what the manifest says of them, so that it never says too much."""
        self.arts.settle(chunk.path, outcome.palettes)
        done = [(each, self._written(each, chunk.names[each.key])) for each in outcome.items]
        self.manifest.finish(done)
        for item, _ in done:
            rows = chunk.rows[item.key]
            self.worked += 1
            self.count.through += rows
            self.count.failed += rows * bool(item.fault)
            for made in item.files:
                if made.path:
                    Path(made.path).unlink(missing_ok=True)
        self._told()

    def _written(self, outcome: ItemOutcome, name: str) -> list[dict[str, str]]:
        """Write the files of a job into a folder of its name, each with a part of its key."""
        files: list[dict[str, str]] = []
        for made in outcome.files:
            folder = self.out / slug(name)
            make_folder(folder)
            path = folder / _file_name(made, outcome.key, [each["file"] for each in files])
            write_whole(path, made.taken())
            files.append(
                {
                    "kind": made.kind,
                    "garment": made.garment,
                    "file": path.relative_to(self.out).as_posix(),
                    "said": made.said,
                }
            )
        return files

    def _told(self) -> None:
        spent = time.monotonic() - self.began
        done = min(self.count.through, self.count.total)
        left = (self.count.total - done) * spent / self.worked if self.worked else None
        self.tell(
            Progress(done=done, total=self.count.total, failed=self.count.failed, left_s=left)
        )


def _file_name(made: Made, key: str, taken: list[str]) -> str:
    number = f"-{made.number}" if made.number else ""
    stem = f"{slug(made.garment) if made.garment else made.kind}{number}-{key[:12]}"
    more = (f"{stem}{f'-{n}' if n > 1 else ''}{made.suffix}" for n in count(1))
    return next(name for name in more if not any(t.endswith(f"/{name}") for t in taken))
