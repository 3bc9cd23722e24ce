"""A real scheduler on this machine with two worker processes, one of them killed at work."""

from __future__ import annotations

import os
import signal
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inksim.batch.cluster import cluster_pool
from inksim.batch.run import Progress
from inksim.batch.task import Wanted
from inksim.common import InputError
from tests.batch.batch_world import World, jobs_of

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own at start and end
        made = distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
            silence_logs=50,
        )  # fmt: skip
        yield made
        made.close()


def pictures(out: Path) -> dict[str, bytes]:
    return {p.relative_to(out).as_posix(): p.read_bytes() for p in out.glob("*/*.png")}


@pytest.mark.filterwarnings("ignore")
def test_all_results_arrive_once_though_a_worker_is_killed(cluster: Any, tmp_path: Path) -> None:
    world = World(tmp_path, artworks=3)
    killed: list[int] = []

    def kill_one(at: Progress) -> None:
        if at.done and not killed:
            worker = next(iter(cluster.workers.values()))
            killed.append(worker.pid)
            os.kill(worker.pid, signal.SIGKILL)

    wanted = Wanted(pictures=True)
    pool = cluster_pool(cluster.scheduler_address)
    there = world.run(pool=pool, progress=kill_one, wanted=wanted)
    assert killed
    assert (there.done, there.failed, there.worked) == (6, 0, 6)
    here = world.run(out=tmp_path / "here", wanted=wanted)
    assert jobs_of(there) == jobs_of(here)
    assert pictures(there.out) == pictures(here.out)
    assert len(pictures(here.out)) == 6


@pytest.mark.filterwarnings("ignore")
def test_artworks_and_results_go_through_a_folder_all_see(cluster: Any, tmp_path: Path) -> None:
    world, shared = World(tmp_path, artworks=1), tmp_path / "shared"
    pool = cluster_pool(cluster.scheduler_address, through=shared)
    there = world.run(pool=pool, wanted=Wanted(pictures=True))
    here = world.run(out=tmp_path / "here", wanted=Wanted(pictures=True))
    assert there.done == 2
    assert pictures(there.out) == pictures(here.out)
    (art,) = shared.iterdir()  # results were taken away
    assert art.read_bytes() == world.arts[0].read_bytes()


@pytest.mark.filterwarnings("ignore")
def test_where_nobody_answers_it_is_said() -> None:
    with pytest.raises(InputError, match="no scheduler answers"):
        cluster_pool("tcp://127.0.0.1:9", patience_s=0.5)
    with pytest.raises(InputError, match="no address"):
        cluster_pool("nowhere")
