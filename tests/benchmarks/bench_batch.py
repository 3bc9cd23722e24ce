"""A batch: what it costs beside the bare decisions, and how its own work grows with the list.

Times are CPU seconds of this process, everything done in it. The batch's own work is that of
lists whose jobs a worker answers at once; the rest of a job is its decision, which knows of none.
"""

from __future__ import annotations

import resource
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from contextlib import nullcontext
from pathlib import Path
from typing import Any
from unittest import mock

from PIL import Image

from inksim.batch import dispatch
from inksim.batch.pool import Pool
from inksim.batch.run import run_batch
from inksim.batch.task import ItemOutcome, Task, TaskOutcome, Wanted
from inksim.job import decide_job, job_in_memory
from inksim.shop.load import load_shop

ARTWORKS, LISTS = 2, (2500, 10_000)
FOUND = {"garments": [], "notes": []}
Row = tuple[str, float, float | str | None, str]


class Here(Executor):
    """Works at once, in this thread."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Do it."""
        done: Future[Any] = Future()
        done.set_result(fn(*args, **kwargs))
        return done


HERE = Pool(open=lambda: nullcontext(Here()), width=1)


def spent(step: Callable[[], object]) -> float:
    """CPU seconds of a step."""
    start = time.process_time()
    step()
    return time.process_time() - start


def art(path: Path, shade: int) -> Path:
    """Two flat colors, 400 × 300 pixels."""
    picture = Image.new("RGBA", (400, 300), (0, 0, 0, 0))
    picture.paste((200, 40, shade, 255), (20, 20, 180, 280))
    picture.paste((30, 120, shade, 255), (220, 20, 380, 280))
    picture.save(path, dpi=(150, 150))
    return path


def answered(task: Task) -> TaskOutcome:
    """What a worker hands back, at no cost."""
    return TaskOutcome(items=[ItemOutcome(key=item.key, found=FOUND) for item in task.items])


def main() -> list[Row]:
    """Rows (name, value, target, unit)."""
    shop = load_shop()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        arts = [art(folder / f"a{n}.png", 20 + 30 * n) for n in range(ARTWORKS)]
        own = []
        for size in LISTS:
            table = folder / f"{size}.csv"
            rows = (f"{arts[n % ARTWORKS].name},Coal Black,{n + 1}\n" for n in range(size))
            table.write_text("artwork,garment,quantity\n" + "".join(rows), encoding="utf-8")
            with mock.patch.object(dispatch, "work", answered):
                out = folder / f"out-{size}"
                own.append(spent(lambda t=table, o=out: run_batch(t, shop=shop, out=o, pool=HERE)))  # type: ignore[misc]
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e9
        few, many = (cost / size for cost, size in zip(own, LISTS, strict=True))

        table = folder / "all.csv"
        table.write_text(
            "artwork,garment\n" + "".join(f"{each.name},*\n" for each in arts), encoding="utf-8"
        )
        garments = list(shop.garments.values())
        jobs = ARTWORKS * len(garments)

        def bare() -> None:
            """Each artwork read once, each garment decided."""
            for each in arts:
                drawn = job_in_memory(each, shop=shop, garments=garments)
                for garment in garments:
                    decide_job(drawn.job.on(garment), shop=shop)

        def batch(name: str, wanted: Wanted) -> float:
            out = folder / name
            return spent(lambda: run_batch(table, shop=shop, out=out, pool=HERE, wanted=wanted))

        bare()  # warm
        numbers, alone = batch("numbers", Wanted()), spent(bare)
        drawn = batch("pictures", Wanted(pictures=True))
    return [
        (f"{jobs} jobs in a batch / the bare decisions", numbers / alone, 1.25, "×"),
        ("a job, numbers only", numbers / jobs * 1000, None, "ms"),
        ("a job with its picture", drawn / jobs * 1000, None, "ms"),
        (f"own work a job, list of {LISTS[1]} / of {LISTS[0]}", many / few, 1.2, "×"),
        ("own work a job", many * 1000, None, "ms"),
        (f"peak memory after a list of {LISTS[1]}", peak, 0.6, "GB"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:60} {value:12.4g} {unit:9} {target if target is not None else ''}")
