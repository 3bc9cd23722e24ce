"""Undo in a shop that two people change: each takes back his own."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.shop.changes import Change, acting_as, last_change
from inksim.shop.edit import open_draft, save, undo
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from inksim.shop.undo_words import what_undo_brings
from inksim.shop.usual_start import SCREENS, USUAL_PRESS, save_start_press
from tests.shop.test_edit import APRON, OCHRE


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop in which Ada added a target, and then Ben a garment."""
    folder = new_shop(tmp_path / "own")
    for at, (who, kind, entry) in enumerate([("Ada", "target", OCHRE), ("Ben", "garment", APRON)]):
        with acting_as(who):
            file = save(open_draft(folder, kind).add(kind, entry))
        # Which came last is known by the clock of the files, and the second is not waited for.
        kept = folder / ".previous" / file.name
        os.utime(kept, (1_700_000_000 + at, 1_700_000_000 + at))
    return folder


def test_undo_takes_back_ones_own_last_change_though_another_came_after(folder: Path) -> None:
    with acting_as("Ada"):
        change = last_change(folder)
        assert change is not None
        assert (change.by, change.mine, change.file) == ("Ada", True, "targets.toml")
        undo(folder)
    shop = load_shop(folder)
    assert "Ochre" not in shop.targets
    assert "Apron" in shop.garments


def test_undo_never_takes_back_somebody_elses_change(folder: Path) -> None:
    with acting_as("Cleo"):
        with pytest.raises(InputError, match="not yours: Ben added garment 'Apron'"):
            undo(folder)
        assert "Apron" in load_shop(folder).garments
        assert undo(folder, anyone=True).by == "Ben"  # asked for by name, it is done
    assert "Apron" not in load_shop(folder).garments


def test_what_an_undo_brings_back_is_said_in_a_users_words(folder: Path) -> None:
    with acting_as("Ben"):
        assert what_undo_brings(change_of(folder)) == "take out garment Apron"
        undo(folder)
        assert what_undo_brings(change_of(folder)) == "bring back garment Apron"
        undo(folder)
        save(open_draft(folder, "garment").replace("garment", "Apron", {**APRON, "note": "x"}))
        assert what_undo_brings(change_of(folder)) == "garment Apron as it was"
        save(open_draft(folder, "screen").remove("screen", "305"))
        assert what_undo_brings(change_of(folder)) == "bring back screen 305"
        save(open_draft(folder, "costs.toml").set({"labor_per_hour": 31.0, "waste_share": 0.1}))
        said = what_undo_brings(change_of(folder), money="EUR")
        assert said == "Labor: 28 EUR/h, Spoiled prints and ink wiped off: 5 % again"
        go_back_to = undo(folder)  # the values that stood there before, either way
        assert go_back_to.file == "costs.toml"
        said = what_undo_brings(change_of(folder), money="EUR")
        assert said == "Labor: 31 EUR/h, Spoiled prints and ink wiped off: 10 % again"


def change_of(folder: Path) -> Change:
    """The change that an undo would take back."""
    change = last_change(folder)
    assert change is not None
    return change


def test_files_changed_as_one_are_taken_back_and_brought_back_as_one(tmp_path: Path) -> None:
    folder = new_shop(tmp_path / "own", empty=True)
    before = texts(folder)
    save_start_press(folder, USUAL_PRESS)
    after = texts(folder)
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed == {"press.toml", "screens.toml"}
    for file, there in ((None, before), ("screens.toml", after), ("press.toml", before)):
        undo(folder, file)
        assert {name: text for name, text in texts(folder).items() if text} == there
    said = what_undo_brings(change_of(folder))
    assert set(said.split("; ")) == {"bring back 4 screens", "press as before"}


def test_what_was_changed_since_stays_when_the_rest_of_a_change_is_taken_back(
    tmp_path: Path,
) -> None:
    folder = new_shop(tmp_path / "own", empty=True)
    save_start_press(folder, USUAL_PRESS)
    save(open_draft(folder, "screen").remove("screen", "110"))
    assert undo(folder, "press.toml").also == ()
    assert set(load_shop(folder).screens) == set(SCREENS) - {"110"}


def texts(folder: Path) -> dict[str, str]:
    """The shop's files by name."""
    return {path.name: path.read_text() for path in folder.glob("*.toml")}
