"""A real scheduler on this machine with three worker processes, one of them killed at work."""

from __future__ import annotations

import os
import signal
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inksim.batch.cluster import cluster_pool
from inksim.batch.run import BatchResult, Progress
from inksim.batch.task import Wanted
from inksim.common import InputError
from tests.batch.batch_world import GARMENTS, World, jobs_of

dask = pytest.importorskip("dask")
distributed = pytest.importorskip("distributed")
QUIET = {
    "distributed.worker.multiprocessing-method": "forkserver",
    "distributed.worker.profile.enabled": False,
    "distributed.admin.tick.interval": "1s",
}
"""Each worker would import everything by itself, and look at itself a hundred times a second."""
DRAWN = Wanted(pictures=True)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Three worker processes, forked from one that has read what they need."""
    with warnings.catch_warnings(), dask.config.set(QUIET):
        warnings.simplefilter("ignore")  # of its own at start and end
        distributed.utils.get_mp_context().set_forkserver_preload(["tests.batch.preloaded"])
        made = distributed.LocalCluster(
            n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None,
            silence_logs=50,
        )  # fmt: skip
        yield made
        made.close()


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    made = World(tmp_path_factory.mktemp("cluster"), artworks=3)
    rows = [f"{a.name},{g},{n}" for a in made.arts for g in GARMENTS for n in (1, 20, 300)]
    made.table = made.write("jobs.csv", "artwork,garment,quantity", *rows)
    return made


@pytest.fixture(scope="module")
def here(world: World) -> BatchResult:
    """The same batch worked in this process."""
    return world.run(out=world.folder / "here", wanted=DRAWN)


def pictures(out: Path) -> dict[str, bytes]:
    return {p.relative_to(out).as_posix(): p.read_bytes() for p in out.glob("*/*.png")}


@pytest.mark.filterwarnings("ignore")
def test_all_results_arrive_once_though_a_worker_is_killed(
    cluster: Any, world: World, here: BatchResult
) -> None:
    killed: list[float] = []

    def kill_one(at: Progress) -> None:
        if at.done and not killed:
            worker = next(iter(cluster.workers.values()))
            killed.append(at.done / at.total)
            os.kill(worker.pid, signal.SIGKILL)

    pool = cluster_pool(cluster.scheduler_address)
    there = world.run(pool=pool, progress=kill_one, wanted=DRAWN)
    assert killed[0] < 0.5
    assert (there.done, there.failed, there.worked) == (18, 0, 18)
    assert jobs_of(there) == jobs_of(here)
    assert pictures(there.out) == pictures(here.out)
    assert len(pictures(here.out)) == 18


@pytest.mark.filterwarnings("ignore")
def test_artworks_and_results_go_through_a_folder_all_see(
    cluster: Any, world: World, here: BatchResult
) -> None:
    shared = world.folder / "shared"
    one = world.write("one.csv", "artwork,garment,quantity", "a0.png,Coal Black,1")
    pool = cluster_pool(cluster.scheduler_address, through=shared)
    there = world.run(one, out=world.folder / "through", pool=pool, wanted=DRAWN)
    assert there.done == 1
    ((name, drawn),) = pictures(there.out).items()
    assert drawn == pictures(here.out)[name]
    (art,) = shared.iterdir()  # results were taken away
    assert art.read_bytes() == world.arts[0].read_bytes()


@pytest.mark.filterwarnings("ignore")
def test_where_nobody_answers_it_is_said() -> None:
    with pytest.raises(InputError, match="no scheduler answers"):
        cluster_pool("tcp://127.0.0.1:9", patience_s=0.5)
    with pytest.raises(InputError, match="no address"):
        cluster_pool("nowhere")
