"""Files that other people wrote: the other spelling is read, and gone where an entry is changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from inksim.common import ShopFaults
from inksim.ledger.uses import uses_of
from inksim.shop.edit import open_draft, save
from inksim.shop.load import load_shop
from tests.small_shop import write


def least(folder: Path) -> Path:
    folder.mkdir()
    return write(folder)


def other(folder: Path) -> Path:
    for file, mine, theirs in (
        ("garments.toml", "fibers", "fibres"),
        ("inks.toml", 'kind = "color"', 'kind = "colour"'),
    ):
        text = (folder / file).read_text("utf-8")
        assert mine in text
        (folder / file).write_text(text.replace(mine, theirs), "utf-8")
    return folder


def test_it_means_the_same(tmp_path: Path) -> None:
    mine = load_shop(least(tmp_path / "mine"))
    theirs = load_shop(other(least(tmp_path / "theirs")))
    assert {n: g.fibers for n, g in theirs.garments.items()} == {
        n: g.fibers for n, g in mine.garments.items()
    }
    assert [ink.kind for ink in theirs.inks.values()] == [ink.kind for ink in mine.inks.values()]
    assert "color" in {ink.kind for ink in theirs.inks.values()}
    for shop in (mine, theirs):
        assert uses_of(shop.folder, "ink", "ember") == (
            "it is the shop's only ink that prints a color",
        )


def test_an_entry_that_is_changed_is_written_in_one_spelling(tmp_path: Path) -> None:
    folder = other(least(tmp_path / "shop"))
    name = next(iter(load_shop(folder).garments))
    draft = open_draft(folder, "garment")
    fields = draft.entry("garment", name)
    save(draft.replace("garment", name, {**fields, "note": "read anew"}))
    assert "fibers" in open_draft(folder, "garment").text
    assert load_shop(folder).garments[name].fibers == fields["fibers"]


def test_both_at_once_are_refused(tmp_path: Path) -> None:
    folder = least(tmp_path / "shop")
    file = folder / "garments.toml"
    text = file.read_text("utf-8")
    line = "fibers = {cotton = 1.0}"
    assert line in text
    file.write_text(text.replace(line, f"{line}\n{line.replace('fibers', 'fibres')}", 1), "utf-8")
    with pytest.raises(ShopFaults, match="fibres: this field is not known"):
        load_shop(folder)
