"""What was decided for a kept job is kept, and what has changed since is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.ledger.decided import keep_decision, last_decision
from inksim.ledger.kept_job import KeptJob, change_job, new_job, open_job
from inksim.shop.load import load_shop
from inksim.shop.press_file import save_press
from tests.small_shop import write


@pytest.fixture
def job(tmp_path: Path) -> KeptJob:
    folder = tmp_path / "shop"
    folder.mkdir()
    write(folder)
    picture = tmp_path / "logo.png"
    picture.write_bytes(b"as it came")
    made = new_job(folder, name="Mill logo", artwork=picture, garments={"gray": 40})
    keep_decision(
        made, load_shop(folder), {"nominal": True, "answers": []}, made="2026-03-04T10:00:00+00:00",
        program="0.1.0",
    )  # fmt: skip
    return made


def folder_of(job: KeptJob) -> Path:
    return job.folder.parents[1]


def since(job: KeptJob) -> tuple[str, ...]:
    last = last_decision(open_job(folder_of(job), job.key))
    assert last is not None
    return last.changed(open_job(folder_of(job), job.key), load_shop(folder_of(job)))


def more(path: Path, text: str) -> None:
    path.write_bytes(path.read_bytes() + text.encode())


def test_it_is_plain_json_beside_the_job(job: KeptJob) -> None:
    said = json.loads((job.folder / "decided.json").read_text("utf-8"))
    assert (said["made"], said["program"], said["nominal"]) == (
        "2026-03-04T10:00:00+00:00", "0.1.0", True,
    )  # fmt: skip
    assert set(said["rests_on"]) == {
        "job.toml", "logo.png", "inks.toml", "garments.toml", "screens.toml", "press.toml",
        "press version",
    }  # fmt: skip
    assert since(job) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda j: more(folder_of(j) / "inks.toml", "# another delivery\n"), "inks.toml"),
        (lambda j: more(folder_of(j) / "garments.toml", "# bleached\n"), "garments.toml"),
        (lambda j: more(folder_of(j) / "press.toml", "# oiled\n"), "press.toml"),
        (lambda j: (folder_of(j) / "rules.toml").write_text("", "utf-8"), "rules.toml"),
        (lambda j: more(j.folder / "logo.png", "by a newer mail"), "logo.png"),
        (lambda j: change_job(j, {"note": "rush"}), "job.toml"),
    ],
    ids=["inks", "garments", "press", "rules", "artwork", "job"],
)
def test_each_thing_it_rests_on_is_told_when_it_changes(
    change: Callable[[KeptJob], object], said: str, job: KeptJob
) -> None:
    change(job)
    assert since(job) == (said,)


def test_what_it_does_not_rest_on_is_not_told(job: KeptJob) -> None:
    (folder_of(job) / "targets.toml").write_text("", "utf-8")
    (folder_of(job) / "palette.toml").write_text("", "utf-8")
    (job.folder / "proofs").mkdir()
    assert since(job) == ()


def test_a_calibration_since_is_told_by_its_version(job: KeptJob) -> None:
    shop = load_shop(folder_of(job))
    made = save_press(folder_of(job), shop.press, day="2026-03-05", readings=6)
    assert since(job) == (f"press version 0 → {made.number}",)


def test_nothing_decided_is_nothing_and_a_broken_file_is_said(job: KeptJob) -> None:
    (job.folder / "decided.json").write_text("{", "utf-8")
    with pytest.raises(InputError, match="run 'inksim advise mill-logo' again"):
        last_decision(job)
    (job.folder / "decided.json").unlink()
    assert last_decision(job) is None
