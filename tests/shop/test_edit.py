"""Saving a shop: whole or not at all, nobody's change lost, one step back."""

from __future__ import annotations

import fcntl
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from inksim.common import files
from inksim.common.errors import InputError
from inksim.common.files import UNFINISHED
from inksim.shop import edit
from inksim.shop.edit import (
    ChangedMeanwhile,
    editable_folder,
    is_demo,
    open_draft,
    save,
    undo,
)
from inksim.shop.fresh import new_shop
from inksim.shop.load import demo_shop_folder, load_shop

OCHRE = {"name": "Ochre", "hex": "#cc8822", "data": "measured", "source": "a test"}
APRON = {"name": "Apron", "hex": "#405060", "fibers": {"cotton": 1.0}}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "own")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.toml")}


def test_a_new_shop_is_the_demo_shop_to_start_from(tmp_path: Path) -> None:
    own = new_shop(tmp_path / "a" / "own", name="Mill Lane")
    shop, demo = load_shop(own), load_shop()
    assert shop.name == "Mill Lane"
    assert list(shop.inks) == list(demo.inks)
    with pytest.raises(InputError, match="not empty"):
        new_shop(own)
    with pytest.raises(InputError, match="cannot be made"):
        new_shop(own / "shop.toml" / "below")


def test_a_saved_entry_is_in_the_shop_and_only_its_file_changes(folder: Path) -> None:
    before = contents(folder)
    assert save(open_draft(folder, "target").add("target", OCHRE)) == folder / "targets.toml"
    assert load_shop(folder).target("ochre").hex()[0] == "#cc8822"
    after = contents(folder)
    assert {name for name in after if after[name] != before[name]} == {"targets.toml"}
    assert sorted(p.name for p in folder.iterdir() if p.name.startswith(".")) == [".previous"]


def test_a_file_that_is_not_there_is_made(folder: Path) -> None:
    (folder / "targets.toml").unlink()
    save(open_draft(folder, "target").add("target", OCHRE))
    assert list(load_shop(folder).targets) == ["Ochre"]
    undo(folder)
    assert not load_shop(folder).targets


@pytest.mark.parametrize(
    ("entry", "fault"),
    [
        ({**APRON, "fibers": {"cotton": 0.7}}, "sum to 1"),
        ({**APRON, "undyed": "no such cloth"}, "no such cloth"),
        ({**APRON, "colour": "blue"}, "colour: this field is not known"),
        ({"name": "Apron", "fibers": {"cotton": 1.0}}, "exactly one of reflectance, lab or hex"),
    ],
)
def test_what_would_spoil_the_shop_is_not_saved(
    folder: Path, entry: dict[str, object], fault: str
) -> None:
    before = contents(folder)
    with pytest.raises(InputError, match=fault) as error:
        save(open_draft(folder, "garment").add("garment", entry))
    assert str(error.value).startswith("garments.toml was not changed; the shop would have this")
    assert contents(folder) == before


def test_a_shop_with_an_old_fault_may_still_be_changed(folder: Path) -> None:
    with (folder / "inks.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[ink]]\nname = "broken"\n')
    save(open_draft(folder, "target").add("target", OCHRE))
    assert b"Ochre" in contents(folder)["targets.toml"]


def test_undo_goes_back_and_forth(folder: Path) -> None:
    start = contents(folder)
    save(open_draft(folder, "target").add("target", OCHRE))
    one = contents(folder)
    save(open_draft(folder, "garment").add("garment", APRON))
    assert undo(folder).file == "garments.toml"  # the one saved last
    assert contents(folder) == one
    assert undo(folder, "targets.toml").file == "targets.toml"
    assert contents(folder) == start
    undo(folder, "targets.toml")
    assert contents(folder) == one


def test_undo_without_a_save_says_so(folder: Path) -> None:
    with pytest.raises(InputError, match="nothing to undo"):
        undo(folder)


def test_undo_does_not_take_away_what_another_file_needs(folder: Path) -> None:
    save(open_draft(folder, "cloth").add("cloth", {"name": "raw", "hex": "#eeeeee"}))
    save(open_draft(folder, "garment").add("garment", {**APRON, "undyed": "raw"}))
    draft = open_draft(folder, "cloth")
    with pytest.raises(InputError, match=r"Apron.*raw"):
        save(draft.remove("cloth", "raw"))


def test_a_change_made_elsewhere_is_noticed_not_overwritten(folder: Path) -> None:
    mine, theirs = open_draft(folder, "target"), open_draft(folder, "target")
    save(theirs.add("target", OCHRE))
    with pytest.raises(ChangedMeanwhile, match=r"targets\.toml has been changed by somebody else"):
        save(mine.add("target", {**OCHRE, "name": "Umber"}))
    assert set(load_shop(folder).targets) >= {"Ochre"}
    assert "Umber" not in load_shop(folder).targets


def test_everybody_who_saves_at_once_gets_in_or_is_told(folder: Path) -> None:
    """Eight threads add a target each and repeat when told that the file changed: none is lost."""

    def add(number: int) -> None:
        while True:
            try:
                draft = open_draft(folder, "target")
                save(draft.add("target", {**OCHRE, "name": f"Ochre {number}"}))
            except ChangedMeanwhile:
                continue
            return

    threads = [threading.Thread(target=add, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {f"Ochre {n}" for n in range(8)} <= set(load_shop(folder).targets)


def test_a_write_that_fails_leaves_the_old_file_and_no_litter(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = contents(folder)
    listing = sorted(folder.iterdir())

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(InputError, match="cannot be written: No space"):
        save(open_draft(folder, "target").add("target", OCHRE))
    assert contents(folder) == before
    assert [p for p in sorted(folder.iterdir()) if p.name != ".previous"] == listing


def test_a_file_that_is_a_link_stays_one(folder: Path, tmp_path: Path) -> None:
    real = tmp_path / "shared-targets.toml"
    (folder / "targets.toml").rename(real)
    (folder / "targets.toml").symlink_to(real)
    save(open_draft(folder, "target").add("target", OCHRE))
    assert (folder / "targets.toml").is_symlink()
    assert OCHRE["name"] in real.read_text(encoding="utf-8")


def test_a_lock_is_waited_for_and_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "PATIENCE_S", 0.1)
    draft = open_draft(folder, "target").add("target", OCHRE)
    with (
        files.locked(folder / ".saving", what="the shop"),
        pytest.raises(InputError, match=r"another program is saving the shop .*nothing was saved"),
    ):
        save(draft)
    assert OCHRE["name"] not in load_shop(folder).targets
    save(draft)
    assert not (folder / ".saving").exists()


KILLED = """
import os, signal, sys
from pathlib import Path
from inksim.common import files
os.fsync = lambda handle: os.kill(os.getpid(), signal.SIGKILL)
with files.locked(Path(sys.argv[1], ".saving"), what="it"):
    files.write_whole(Path(sys.argv[1], "targets.toml"), b"half")
"""


def test_a_program_killed_while_saving_leaves_nothing_in_the_way(folder: Path) -> None:
    before = (folder / "targets.toml").read_bytes()
    for _ in range(2):
        killed = subprocess.run([sys.executable, "-c", KILLED, str(folder)], check=False)
        assert killed.returncode == -signal.SIGKILL
    assert (folder / "targets.toml").read_bytes() == before
    [left] = folder.glob(UNFINISHED)  # the second found the first's, and deleted it
    somebodys = folder / UNFINISHED.replace("*", "writing")
    with somebodys.open("wb") as writing:
        fcntl.flock(writing, fcntl.LOCK_EX)
        save(open_draft(folder, "target").add("target", OCHRE))
        assert OCHRE["name"] in load_shop(folder).targets
        assert not left.exists(), "left by a killed program"
        assert somebodys.exists(), "somebody writes it right now"
    assert not (folder / ".saving").exists()


def test_undo_after_a_kill_between_the_two_files_does_not_pretend(folder: Path) -> None:
    (folder / ".previous").mkdir()
    (folder / ".previous" / "targets.toml").write_bytes((folder / "targets.toml").read_bytes())
    with pytest.raises(InputError, match="nothing to undo"):
        undo(folder)


def test_a_folder_that_cannot_be_written_to_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(edit.os, "access", lambda *_: False)
    with pytest.raises(InputError, match="cannot be written to; nothing was saved"):
        editable_folder(folder)


def test_the_demo_shop_is_not_for_changing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="'inksim new DIR'"):
        editable_folder(None)
    with pytest.raises(InputError, match=r"no shop\.toml"):
        editable_folder(tmp_path)
    assert is_demo(demo_shop_folder())
    installed = new_shop(tmp_path / "inksim" / "demo")
    monkeypatch.setattr(edit, "PACKAGE", tmp_path / "inksim")
    with pytest.raises(InputError, match="an update would overwrite"):
        editable_folder(installed)


def test_permissions_of_a_file_stay(folder: Path) -> None:
    (folder / "targets.toml").chmod(0o664)
    save(open_draft(folder, "target").add("target", OCHRE))
    assert (folder / "targets.toml").stat().st_mode & 0o777 == 0o664
