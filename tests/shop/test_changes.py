"""Undo in a shop that two people change: each takes back his own."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.shop.changes import acting_as, last_change
from inksim.shop.edit import open_draft, save, undo
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
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
