"""Proofs of kept jobs have numbers and seals, each once; all others are drafts that say why."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from inksim.batch.listing import Shard
from inksim.batch.numbering import IN_A_SHARD, NOT_KEPT
from inksim.batch.run import BatchResult
from inksim.batch.task import OF_A_TABLE, Wanted
from inksim.cli.commands import main
from inksim.ledger import new_job, sealed_proofs
from inksim.ledger.decided import last_decision
from inksim.ledger.kept_job import open_job
from tests.batch.batch_world import THREADS, World, jobs_of

PROOFS = Wanted(proofs=True)


@pytest.fixture
def world(tmp_path: Path) -> World:
    made = World(tmp_path)
    for art in made.arts:
        new_job(made.shop_folder, name=f"Mill {art.stem}", artwork=art, garments={"Coal Black": 9})
    return made


def said(result: BatchResult) -> list[str]:
    return [file["said"] for job in jobs_of(result) for file in job["files"]]


def test_kept_jobs_are_numbered_once_as_the_command_numbers_them(world: World) -> None:
    jobs = world.shop_folder / "jobs"
    shards = world.run(jobs, wanted=PROOFS, shard=Shard(1, 1 + len(world.arts)))
    assert said(shards) == [f"no proof number: {IN_A_SHARD}"] * shards.done
    assert not sealed_proofs(world.shop_folder)
    whole = world.run(jobs, wanted=PROOFS, pool=THREADS)
    seals = sealed_proofs(world.shop_folder)
    assert [seal.number for seal in seals] == [1, 2]
    assert sorted(said(whole)) == [
        f"Proof no. {seal.number}, seal {seal.mark[:12]}, job {seal.job}" for seal in seals
    ]
    for seal in seals:  # what was decided is kept with the job, as the command keeps it
        assert last_decision(open_job(world.shop_folder, seal.job)) is not None
    for job in jobs_of(whole):  # lost, and made again the same day: the number that it has
        (world.out / job["files"][0]["file"]).unlink()
    again = world.run(jobs, wanted=PROOFS)
    assert (again.worked, said(again)) == (2, said(whole))
    done = CliRunner().invoke(main, ["proof", seals[1].job, "--shop", str(world.shop_folder)])
    assert done.exit_code in (0, 1), done.stderr
    assert sealed_proofs(world.shop_folder) == seals


def test_a_row_and_a_job_kept_elsewhere_are_drafts_that_say_why(world: World) -> None:
    one = world.write("one.csv", "artwork,garment", "a0.png,Coal Black")
    assert said(world.run(one, wanted=PROOFS)) == [f"no proof number: {OF_A_TABLE}"]
    elsewhere = world.folder / "elsewhere"
    (world.shop_folder / "jobs").rename(elsewhere)
    (elsewhere / "mill-a1" / "job.toml").unlink()
    assert said(world.run(elsewhere, wanted=PROOFS)) == [f"no proof number: {NOT_KEPT}"]
    assert not sealed_proofs(world.shop_folder)
