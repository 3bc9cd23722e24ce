"""The palette of an artwork on many garments is found once, by whichever worker has it first."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inksim.artwork import find_flats, read_artwork
from inksim.batch import work as module
from inksim.batch.palette import Palette
from inksim.batch.pool import Pool
from inksim.batch.task import Wanted
from tests.batch.batch_world import Here, World, jobs_of, pool_of


class Strangers(Here):
    """Each task is worked by a worker that has seen no artwork before."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        for kept in ("placed", "reduced"):
            module._KEPT.pop(kept, None)
        return super().submit(fn, *args, **kwargs)


def test_it_is_found_once_for_all_workers_and_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    world, found = World(tmp_path, artworks=2), []
    rows = [f"{art.name},Coal Black,{n}" for art in world.arts for n in range(1, 7)]
    table = world.write("many.csv", "artwork,garment,quantity", *rows)
    drawn = Wanted(pictures=True)
    alone = world.run(table, out=tmp_path / "alone", wanted=drawn)
    monkeypatch.setattr(module, "find_flats", lambda art: found.append(art.name) or find_flats(art))
    pool = pool_of(Strangers, width=1)
    shared = world.run(table, pool=pool, wanted=drawn)
    assert sorted(found) == [art.name for art in world.arts]
    assert jobs_of(shared) == jobs_of(alone)  # keys, numbers, files' names
    pictures = [p.relative_to(world.out) for p in world.out.glob("*/*.png")]
    assert len(pictures) == 12
    assert all((alone.out / p).read_bytes() == (world.out / p).read_bytes() for p in pictures)


def test_only_the_first_task_of_an_artwork_is_at_work_before_its_palette_is_there(
    tmp_path: Path,
) -> None:
    world = World(tmp_path, artworks=3)
    begun: list[tuple[str, bool]] = []

    class Noting(ThreadPoolExecutor):
        def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
            begun.append((args[0].art.name, bool(args[0].palettes)))
            return super().submit(fn, *args, **kwargs)

    rows = [f"{art.name},Coal Black,{n}" for art in world.arts for n in range(1, 9)]
    table = world.write("many.csv", "artwork,garment,quantity", *rows)
    result = world.run(table, pool=Pool(open=lambda: Noting(2), width=2))
    assert (result.done, result.worked) == (24, 24)
    names = [name for name, _ in begun]
    assert [known for _, known in begun] == [name in names[:at] for at, name in enumerate(names)]
    assert names[:3] == [art.name for art in world.arts]  # who waits keeps nobody from working


def test_a_task_that_takes_long_is_recorded_as_far_as_it_is_and_the_rest_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    world, workers = World(tmp_path, artworks=1), Here()
    rows = [f"a0.png,Coal Black,{n}" for n in range(1, 13)]
    table = world.write("many.csv", "artwork,garment,quantity", *rows)
    monkeypatch.setattr(module, "LONG_S", 0.0)
    seen: list[int] = []
    pool = pool_of(lambda: workers, width=1)
    result = world.run(table, pool=pool, progress=lambda at: seen.append(at.done))
    assert (result.done, result.worked, workers.asked) == (12, 12, 12)
    assert seen == [*range(1, 13), 12]


def test_a_palette_arrives_as_it_was_sent(tmp_path: Path) -> None:
    flats = find_flats(read_artwork(World(tmp_path, artworks=1).arts[0]))
    there = Palette.of(flats, background="keep").unpacked()
    assert np.array_equal(there.labels, flats.labels)
    assert not there.labels.flags.writeable
    assert (there.colours, there.notes, there.background) == (
        flats.colours, flats.notes, flats.background,
    )  # fmt: skip
