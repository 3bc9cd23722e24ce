"""A small shop, small artworks and tables of jobs, and executors that behave badly."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from inksim.batch.pool import Pool
from inksim.batch.run import BatchResult, run_batch
from inksim.batch.task import Wanted
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from tests.small_shop import few_inks

GARMENTS = ("Coal Black", "Flour White")
THREADS = Pool(open=lambda: ThreadPoolExecutor(2), width=2)


def art(path: Path, *colours: tuple[int, int, int]) -> Path:
    """Bars of flat color, 60 pixels wide, at 150 dpi."""
    pixels = np.zeros((40, 60, 4), dtype=np.uint8)
    for at, (red, green, blue) in enumerate(colours or ((0xC9, 0x34, 0x2F),)):
        pixels[5:35, 5 + 12 * at : 15 + 12 * at] = (red, green, blue, 255)
    Image.fromarray(pixels).save(path, dpi=(150, 150))
    return path


class World:
    """A folder with a shop of few inks, artworks, and a table of them on two garments."""

    def __init__(self, folder: Path, *, artworks: int = 2) -> None:
        self.folder = folder
        self.shop_folder = few_inks(folder / "shop", "Kiln Red", "Weir Teal", "Chalk White Base")
        self.arts = [art(folder / f"a{n}.png", (0xC9, 0x34, 20 + n)) for n in range(artworks)]
        rows = [(f"{each.name}", garment) for each in self.arts for garment in GARMENTS]
        self.table = self.write("jobs.csv", "artwork,garment", *map(",".join, rows))
        self.out = folder / "out"

    @property
    def shop(self) -> Shop:
        return load_shop(self.shop_folder)

    def write(self, name: str, *lines: str) -> Path:
        path = self.folder / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    def run(self, source: Path | None = None, **options: Any) -> BatchResult:
        words: dict[str, Any] = {"pool": THREADS, "out": self.out, "wanted": Wanted(), **options}
        return run_batch(source or self.table, shop=self.shop, **words)


def jobs_of(result: BatchResult) -> list[dict[str, Any]]:
    """What the report for machines says."""
    jobs: list[dict[str, Any]] = json.loads(result.reports.document.read_text("utf-8"))["jobs"]
    return jobs


class Here(Executor):
    """Works at once, in this thread; notes how much was asked for, and dies at a word's will."""

    def __init__(self, dies: Callable[[Any], bool] = lambda _: False) -> None:
        self.dies, self.broken = dies, False
        self.asked = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        if self.broken:
            raise BrokenProcessPool("it broke before")
        done: Future[Any] = Future()
        self.asked += 1
        if self.dies(args[0]):
            self.broken = True
            done.set_exception(BrokenProcessPool("killed"))
        else:
            done.set_result(fn(*args, **kwargs))
        return done


def pool_of(make: Callable[[], Executor], *, width: int = 1) -> Pool:
    @contextmanager
    def opened() -> Iterator[Executor]:
        yield make()

    return Pool(open=opened, width=width)
