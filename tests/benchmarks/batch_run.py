"""A batch as long as asked, really worked: CPU and memory as it goes.

    python -m tests.benchmarks.batch_run 300 --pictures
    python -m tests.benchmarks.batch_run 10000 --most-cpu-s 300

The artworks are made: logos as JPEG on white, white lettering on transparent, and with --photos
photographs. Each is on all garments of the demo shop, so often as gives the number of jobs. One
worker process; CPU seconds are of both programs. Linux alone, whose /proc it reads.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from inksim.batch.pool import process_pool
from inksim.batch.run import Progress, run_batch
from inksim.batch.task import Wanted
from inksim.shop.load import load_shop

ROWS_OF_TABLE = 10
SIZE = (900, 700)


class Enough(Exception):
    """The time that was given is over."""


def logo(path: Path, number: int) -> None:
    """Three flat colors on white, as JPEG; another for each number."""
    shade = number % 200
    picture = Image.new("RGB", SIZE, "white")
    drawn = ImageDraw.Draw(picture)
    drawn.ellipse((60, 80, 500, 600), fill=(200, 40, shade))
    drawn.rectangle((420, 160, 840, 420), fill=(30, 100, shade))
    drawn.text((450, 200), f"Mill {number}", fill=(20, 20, 20), font_size=110)
    picture.save(path, quality=88, dpi=(150, 150))


def white(path: Path, number: int) -> None:
    """White lettering on transparent."""
    picture = Image.new("RGBA", SIZE, (255, 255, 255, 0))
    drawn = ImageDraw.Draw(picture)
    drawn.text((40, 150), f"Weir {number}", fill=(255, 255, 255, 255), font_size=220)
    picture.save(path, dpi=(150, 150))


def photograph(path: Path, number: int) -> None:
    """Soft noise of many colors, as a photograph has it."""
    noise = np.random.default_rng(number).integers(0, 256, (SIZE[1] // 20, SIZE[0] // 20, 3))
    soft = Image.fromarray(noise.astype(np.uint8)).resize(SIZE, Image.Resampling.BICUBIC)
    soft.filter(ImageFilter.GaussianBlur(3)).save(path, quality=92, dpi=(150, 150))


KINDS = {"logo": (logo, "jpg"), "white": (white, "png"), "photo": (photograph, "jpg")}


def cpu_s(pid: int) -> float:
    """CPU seconds of a program."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def rss_mb(pid: int) -> float:
    """Memory of a program."""
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGESIZE") / 1e6


def workers() -> list[int]:
    """The worker processes: the children of this program that are no helper of Python's."""
    me = os.getpid()
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            mine = parent == me and b"resource_tracker" not in (folder / "cmdline").read_bytes()
        except (FileNotFoundError, ProcessLookupError):
            continue
        if mine:
            found.append(int(folder.name))
    return found


@dataclass
class Watch:
    """What was seen of a run at so many jobs: CPU of hands and of the program, their memory."""

    most_cpu_s: float
    jobs: int
    rows: list[tuple[int, float, float, float, float]] = field(default_factory=list)

    def look(self, at: Progress) -> None:
        """Look, at every tenth of the jobs."""
        hands, mine = workers(), os.getpid()
        spent = sum(map(cpu_s, hands)), cpu_s(mine)
        over = sum(spent) > self.most_cpu_s
        if over or at.done == self.jobs or self._tenth_more(at.done, sum(spent)):
            self.rows.append((at.done, *spent, sum(map(rss_mb, hands)), rss_mb(mine)))
            print(f"{at.done:6}  {spent[0]:9.1f} {spent[1]:9.1f}  "
                  f"{self.rows[-1][3]:7.0f} {self.rows[-1][4]:7.0f}", flush=True)  # fmt: skip
        if over:
            raise Enough

    def _tenth_more(self, done: int, spent: float) -> bool:
        """Whether a tenth of the jobs or of the time is over since the last row."""
        if not self.rows:
            return True
        jobs, hands, mine, *_ = self.rows[-1]
        by_jobs, by_time = self.jobs / ROWS_OF_TABLE, self.most_cpu_s / ROWS_OF_TABLE
        return done - jobs >= by_jobs or spent - hands - mine >= by_time


def main() -> None:
    """Work the jobs and print what was seen."""
    given = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    given.add_argument("jobs", type=int)
    given.add_argument("--pictures", action="store_true")
    given.add_argument("--photos", action="store_true")
    given.add_argument("--most-cpu-s", type=float, default=600)
    asked = given.parse_args()
    shop = load_shop()
    kinds = ["logo", "white", *(["photo"] if asked.photos else [])]
    watch = Watch(asked.most_cpu_s, asked.jobs)
    with tempfile.TemporaryDirectory() as name:
        folder, lines = Path(name), ["artwork,garment,width_mm,background"]
        for n in range(-(-asked.jobs // len(shop.garments))):
            kind = kinds[n % len(kinds)]
            draw, ending = KINDS[kind]
            draw(folder / f"{kind}-{n}.{ending}", n)
            outside = "auto" if kind == "logo" else "keep"
            lines += [f"{kind}-{n}.{ending},{g},250,{outside}" for g in shop.garments]
        table = folder / "jobs.csv"
        table.write_text("\n".join(lines[: asked.jobs + 1]), encoding="utf-8")
        print("  jobs  CPU s: workers, program  MB: workers, program")
        try:
            wanted = Wanted(pictures=asked.pictures)
            made = run_batch(table, shop=shop, out=folder / "out", pool=process_pool(1),
                             wanted=wanted, progress=watch.look)  # fmt: skip
            print(f"{made.done} done, {made.failed} failed")
        except Enough:
            print(f"stopped at {asked.most_cpu_s:g} CPU s")
    rows = [row for row in watch.rows if row[1]]  # at the end the workers are gone
    (first, w0, p0, *_), (last, w1, p1, *_) = rows[0], rows[-1]
    done = last - first
    print(f"{(w1 - w0) / done * 1000:.1f} ms a job in workers, {(p1 - p0) / done * 1000:.2f} ms in "
          f"the program, of jobs {first} to {last}")  # fmt: skip


if __name__ == "__main__":
    main()
