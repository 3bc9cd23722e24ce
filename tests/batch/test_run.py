"""A batch gives what each job gives by itself, once, whatever happens to one of them."""

from __future__ import annotations

import csv
import os
import sqlite3
import subprocess
import sys
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest

from inksim.batch.chunks import MOST_AT_ONCE
from inksim.batch.dispatch import MOST_DEATHS, TASKS_EACH
from inksim.batch.listing import Shard
from inksim.batch.manifest import LEASE_S, Manifest
from inksim.batch.pool import Pool
from inksim.batch.task import Wanted
from inksim.common import InputError
from inksim.job import decide_job, job_in_memory
from inksim.reports import document
from tests.batch.batch_world import GARMENTS, THREADS, Here, World, art, jobs_of, pool_of

TOP = Path(__file__).parents[2]


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path)


def test_its_numbers_are_those_of_each_job_decided_by_itself(world: World) -> None:
    result = world.run()
    assert (result.total, result.done, result.failed, result.worked) == (4, 4, 0, 4)
    jobs = iter(jobs_of(result))
    for each in world.arts:
        for name in GARMENTS:
            shop = world.shop
            alone = job_in_memory(each, shop=shop, garments=[shop.garment(name)])
            answers = document(decide_job(alone.job, shop=shop).answers)
            assert next(jobs)["garments"][0]["answers"] == answers


def test_run_twice_it_works_nothing_and_says_the_same(world: World) -> None:
    first = world.run(wanted=Wanted(pictures=True, proofs=True))
    before = {p: p.read_bytes() for p in world.out.rglob("*.*") if ".sqlite" not in p.name}
    again = world.run(wanted=Wanted(pictures=True, proofs=True))
    assert (first.worked, again.worked, again.done) == (4, 0, 4)
    assert {p: p.read_bytes() for p in before} == before
    assert len(list(world.out.glob("*/*.png"))) == len(list(world.out.glob("*/*.pdf"))) == 4


def test_only_what_changed_is_worked_and_only_what_is_lost_is_made_again(world: World) -> None:
    world.run(wanted=Wanted(pictures=True))
    art(world.arts[0], (10, 120, 130))
    assert world.run(wanted=Wanted(pictures=True)).worked == 2
    rows = jobs_of(world.run(wanted=Wanted(pictures=True)))
    (world.out / rows[3]["files"][0]["file"]).unlink()
    assert world.run(wanted=Wanted(pictures=True)).worked == 1


def test_what_the_shop_changes_is_worked_anew(world: World) -> None:
    world.run()
    file = world.shop_folder / "press.toml"
    file.write_text(file.read_text("utf-8") + "\n# nothing but a comment\n", encoding="utf-8")
    assert world.run().worked == 4


def test_the_same_input_is_worked_once_under_any_name(world: World) -> None:
    (world.folder / "copy.png").write_bytes(world.arts[0].read_bytes())
    rows = [f"{name},Coal Black" for name in ("a0.png", "a0.png", "copy.png")]
    result = world.run(world.write("twice.csv", "artwork,garment", *rows))
    assert (result.total, result.done, result.worked) == (3, 3, 1)
    assert [job["artwork"] for job in jobs_of(result)] == ["a0.png", "a0.png", "copy.png"]


def test_a_fault_stops_no_other_and_is_told_in_the_report(world: World) -> None:
    (world.folder / "bad.png").write_bytes(world.arts[0].read_bytes()[:90])
    path = world.write(
        "some.csv", "artwork,garment,quantity", "bad.png,Coal Black,", "lost.png,Coal Black,",
        "a0.png,Cole Black,", "a0.png,Coal Black,many", "short", "a0.png,Coal Black,5",
    )  # fmt: skip
    result = world.run(path)
    assert (result.done, result.failed) == (1, 5)
    with result.reports.table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["state"] for row in rows] == ["failed"] * 5 + ["done"]
    for row, words in zip(rows, ("bad.png", "lost.png", "Coal Black", "quantity", "2 cells", ""),
                          strict=False):  # fmt: skip
        assert words in row["fault"] or (words == "2 cells" and "1 cells" in row["fault"])
    art(world.folder / "lost.png")
    assert world.run(path).failed == 4  # it is there now
    assert world.run(path).worked == 0
    assert world.run(path, again=True).worked == 3


def test_a_killed_worker_costs_the_job_that_kills_it_and_no_other(world: World) -> None:
    killer = "a1.png,Flour White"
    died: list[int] = []

    def dies(task: Any) -> bool:
        bad = any(
            item.file == "a1.png" and item.said["garments"] == ["Flour White"]
            for item in task.items
        )
        if bad:
            died.append(len(task.items))
        return bad

    result = world.run(pool=pool_of(lambda: Here(dies), width=1))
    assert (result.done, result.failed) == (3, 1)
    assert [job["state"] for job in jobs_of(result)] == ["done", "done", "done", "failed"], killer
    assert died == [1] * (1 + MOST_DEATHS)  # once beside others, then alone


def test_never_more_than_a_window_is_submitted(tmp_path: Path) -> None:
    world = World(tmp_path, artworks=4)
    rows = [f"a{n % 4}.png,Coal Black,{n}" for n in range(1, 40)]
    table = world.write("many.csv", "artwork,garment,quantity", *rows)
    waiting: list[Future[Any]] = []
    most = 0

    class Lazy(Here):
        def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
            nonlocal most
            kept: Future[Any] = Future()
            waiting.append(kept)
            most = max(most, sum(not each.done() for each in waiting))
            if most == TASKS_EACH or len(waiting) > TASKS_EACH:
                for each in waiting:
                    if not each.done():
                        each.set_exception(KeyboardInterrupt())
            assert len(args[0].items) <= MOST_AT_ONCE
            return kept

    with pytest.raises(InputError, match="lost on its way"):
        world.run(table, pool=pool_of(Lazy, width=1))
    assert most == TASKS_EACH
    assert world.run(table).done == len(rows)  # its claims were given back


def test_shards_together_are_the_whole_and_the_report_needs_no_more_work(world: World) -> None:
    parts = [world.run(shard=Shard(part, 3)).worked for part in (1, 2, 3)]
    assert sum(parts) == 4
    whole = world.run()
    assert (whole.worked, whole.done) == (0, 4)
    assert [job["state"] for job in jobs_of(whole)] == ["done"] * 4


def test_a_job_somebody_works_is_left_to_him_until_his_time_is_over(tmp_path: Path) -> None:
    mine = Manifest(path=tmp_path / "m.sqlite", list_id="x")
    other = Manifest(path=mine.path, list_id="x")
    assert other.claim({0: "k"})[0] == {"k"}
    assert mine.claim({0: "k"})[0] == set()
    elsewhere = Manifest(path=mine.path, list_id="x", owner="no-such-host 1 2")
    assert elsewhere.claim({1: "far"})[0] == {"far"}
    assert mine.claim({1: "far"})[0] == set()
    with sqlite3.connect(mine.path) as con:
        con.execute("UPDATE item SET lease = lease - ?", (2 * LEASE_S,))
    con.close()
    assert mine.claim({0: "k", 1: "far"})[0] == {"k", "far"}


def test_a_job_of_a_program_that_is_gone_is_free_at_once(tmp_path: Path) -> None:
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    mine = Manifest(path=tmp_path / "m.sqlite", list_id="x")
    host = mine.owner.rsplit(" ", 2)[0]
    Manifest(path=mine.path, list_id="x", owner=f"{host} {gone.pid} 0").claim({0: "k"})
    assert mine.claim({0: "k"})[0] == {"k"}


def test_where_nothing_can_be_written_it_stops_and_keeps_what_is_done(world: World) -> None:
    world.run()
    world.out.joinpath("a0").write_text("a file where a folder of pictures would be")
    with pytest.raises((InputError, OSError)):
        world.run(wanted=Wanted(pictures=True))
    assert world.run().worked == 0
    (world.out / "a0").unlink()
    assert world.run(wanted=Wanted(pictures=True)).done == 4


def test_a_folder_of_jobs_is_worked_as_its_files_say(world: World) -> None:
    jobs = world.folder / "jobs"
    jobs.mkdir()
    (jobs / "list.toml").write_text(
        'name = "List"\ngarments = ["Coal Black", "Flour White"]\nquantity = 10\n'
        '[[color]]\ntarget = "#c0392b"\narea_cm2 = 80\n'
    )
    (jobs / "pic.toml").write_text(
        'name = "Pic"\ngarments = ["Coal Black"]\nquantity = 3\n'
        '[artwork]\nfile = "../a0.png"\nwidth_mm = 10\n'
    )
    (jobs / "bad.toml").write_text('name = "Bad"\ngarments = ["Coal Black"]\nquantity = 0\n')
    result = world.run(jobs, wanted=Wanted(pictures=True, proofs=True))
    bad, plain, pic = jobs_of(result)
    assert (result.done, result.failed) == (2, 1)
    assert "quantity" in bad["fault"]
    assert [each["quantity"] for each in plain["garments"]] == [10, 10]
    assert {each["kind"] for each in pic["files"]} == {"picture", "proof"}


def test_killed_in_the_middle_and_begun_again_it_does_what_is_left(tmp_path: Path) -> None:
    """By the processes of the command itself; the whole machine's power is tested in `common`."""
    world = World(tmp_path, artworks=4)
    words = [sys.executable, "-m", "inksim.cli", "batch", str(world.table), "--out",
             str(world.out), "--shop", str(world.shop_folder), "--workers", "1"]  # fmt: skip
    run = subprocess.Popen(words, cwd=TOP, stderr=subprocess.PIPE, text=True)
    assert run.stderr is not None
    assert " of 8" in run.stderr.readline()  # something is done
    run.kill()
    run.communicate()
    with sqlite3.connect(world.out / "manifest.sqlite") as con:
        done = con.execute("SELECT count(*) FROM item WHERE state = 'done'").fetchone()[0]
    con.close()
    assert 0 < done < 8
    result = world.run()
    assert (result.done, result.worked) == (8, 8 - done)
    assert jobs_of(result) == jobs_of(world.run(out=tmp_path / "fresh"))


def test_a_pool_of_processes_computes_with_one_thread_each(monkeypatch: Any) -> None:
    from inksim.batch.pool import THREADS as NAMES, process_pool

    monkeypatch.setenv(NAMES[0], "7")
    with process_pool(1).open() as executor:
        assert [executor.submit(os.getenv, name).result() for name in NAMES] == ["1"] * len(NAMES)
    assert os.environ[NAMES[0]] == "7"
    assert isinstance(THREADS, Pool)
