"""A shop looked through as a whole: all that is wrong is told at once, and nothing changes."""

from __future__ import annotations

import json
import time
from dataclasses import replace
from pathlib import Path

import pytest

from inksim.calibration.history import add_rows
from inksim.common.disk import PREVIOUS
from inksim.common.errors import LONGEST, InputError
from inksim.ledger.kept_job import new_job
from inksim.ledger.promises import promises_file
from inksim.ledger.shop_check import check_shop
from inksim.shop.edit import open_draft, save
from inksim.shop.fresh import new_shop
from inksim.shop.load import demo_shop_folder
from tests.calibration.test_damaged_history import damage
from tests.calibration.test_history import DAY, ROWS, a_row
from tests.cli.test_every_command import run

EVERY_FILE = ("inks.toml", "garments.toml", "press.toml", "rules.toml")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = new_shop(tmp_path / "shop")
    (tmp_path / "art.png").write_bytes(b"no picture is opened for a check")
    for name in ("Mill", "Weir"):
        new_job(folder, name=name, artwork=tmp_path / "art.png", garments={"Coal Black": 4})
    add_rows(folder, ROWS, date=DAY)
    return folder


def contents(folder: Path) -> dict[Path, bytes]:
    return {p: p.read_bytes() for p in folder.rglob("*") if p.is_file() and "sqlite-" not in p.name}


def told(shop: Path, *words: str) -> None:
    """Hold one fault to say all of these."""
    faults = check_shop(shop).faults
    assert any(all(word in fault for word in words) for fault in faults), faults


def test_a_sound_shop_has_no_fault_and_stays_as_it_is(shop: Path) -> None:
    before = contents(shop)
    done = run("shop", "--check", "--shop", shop)
    assert (done.exit_code, done.stdout.splitlines()[0]) == (0, f"{shop}: 0 faults")
    assert contents(shop) == before
    assert check_shop(demo_shop_folder()).faults == ()


def test_faults_of_every_file_are_told_at_once(shop: Path) -> None:
    for file in EVERY_FILE:
        (shop / file).write_text("wrong = 1\n")
    (shop / "jobs" / "mill" / "job.toml").write_bytes(b"\xff")
    (shop / "jobs" / "weir" / "decided.json").write_text("[")
    (shop / "press-history").mkdir()
    (shop / "press-history" / "press-0000-2026-01-01.toml").write_text("x = [")
    (shop / PREVIOUS).mkdir(exist_ok=True)
    (shop / PREVIOUS / "inks.toml").write_text("x = [")
    damage(shop, 4, "lab", "blue")
    damage(shop, 2, "passes", 3)
    done = run("shop", "--check", "--json", "--shop", shop)
    assert done.exit_code == 2
    faults = json.loads(done.stdout)["faults"]
    for part in (
        *EVERY_FILE, "jobs/mill", "decided.json", "press-0000-2026-01-01.toml",
        f"{PREVIOUS}/inks.toml", "reading 4: it is damaged", "reading 2: it is not as it was",
    ):  # fmt: skip
        assert any(part in fault for fault in faults), (part, faults)
    assert all(len(fault) <= LONGEST for fault in faults)
    assert "Traceback" not in done.stderr


def test_names_that_lead_nowhere_are_told(shop: Path) -> None:
    job = shop / "jobs" / "mill" / "job.toml"
    text = job.read_text().replace("Coal Black", "Gone Gray")
    job.write_text(f'{text}[artwork.inks]\n"#c9342f" = "Gone Red"\n')
    (shop / "jobs" / "weir" / "art.png").unlink()
    add_rows(shop, [a_row(60, ink="Gone Blue"), a_row(61, ink="Gone Blue")], date=DAY)
    told(shop, "jobs/mill", "garment 'Gone Gray'")
    told(shop, "jobs/mill", "ink 'Gone Red'")
    told(shop, "jobs/weir", "artwork 'art.png' is not there")
    told(shop, "history.sqlite", "2 readings (8, 9)", "ink 'Gone Blue'")


def test_lots_without_a_reading_and_what_is_never_read_are_noted(shop: Path) -> None:
    row = replace(a_row(70), ink="Gone Blue", ink_lot="L-9", garment_lot="A-17")
    add_rows(shop, [row], date=DAY)
    (shop / "prices 2019.xls").write_text("")
    (shop / "jobs" / "mill" / "mail.txt").write_text("")
    (shop / "jobs" / "half").mkdir()
    draft = open_draft(shop, "cloth")
    save(draft.add("cloth", {"name": "Spare", "hex": "#eeeeee"}))
    notes = " | ".join(check_shop(shop).notes)
    assert "lot 'L-9' of Gone Blue" in notes
    assert "A-17" not in notes  # of Mist Gray, of which a reading can be used
    assert "3rd bucket" not in notes
    for name in ("prices 2019.xls", "jobs/mill/mail.txt", "jobs/half"):
        assert name in notes
    assert "Spare" in notes
    assert "history.sqlite" not in notes


def test_a_proof_that_was_changed_is_told(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "shop")
    assert check_shop(shop).faults == ()
    promises_file(shop).write_bytes(b"no database" * 99)
    told(shop, "promises.sqlite", "damaged")


def test_a_shop_of_years_is_looked_through_in_seconds(shop: Path, tmp_path: Path) -> None:
    text = (shop / "jobs" / "mill" / "job.toml").read_bytes()
    for at in range(100):
        folder = shop / "jobs" / f"job-{at}"
        folder.mkdir()
        (folder / "job.toml").write_bytes(text)
        (folder / "art.png").write_bytes(b"")
    add_rows(shop, [a_row(at) for at in range(1000, 1500)], date=DAY)
    began = time.process_time()
    assert check_shop(shop).faults == ()
    assert time.process_time() - began < 10


def test_no_folder_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no shop folder"):
        check_shop(tmp_path / "nowhere")
