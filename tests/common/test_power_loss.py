"""A loss of power at any moment: a file is the old one or the new one, and what was saved is saved.

The shim below stands between inksim and the disk. It keeps what a disk has to keep and no more: the
content of a file as it was when the file was synced, the names of a folder as they were when the
folder was synced (POSIX.1-2017, fsync: nothing else is promised). Before and after every call that
changes names, the power may go, and what comes back is one of three disks:

- one that kept nothing unsynced;
- one that kept the names at once, the content only when synced: a renamed file may be empty;
- one that kept all.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from inksim.calibration.history import add_rows, history_file, remove_row, rows_kept
from inksim.common.database import Database
from inksim.common.disk import PREVIOUS
from inksim.common.files import write_whole
from inksim.ledger.kept_job import change_job, new_job, open_job
from inksim.shop.changes import MOST_OLDER, OLDER, marked
from inksim.shop.edit import open_draft, save, undo
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from inksim.shop.press_file import save_press
from tests.calibration.test_history import DAY, ROWS

Tree = dict[str, bytes]
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="it opens no folder to sync it")


class Disk:
    """What of a folder survives, and every state of it that a loss of power may leave.

    ignores: 'files' or 'folders', whose syncs are lost on the way: what a test has to notice.
    """

    def __init__(self, root: Path, *, ignores: str = "") -> None:
        self.root, self.ignores = root, ignores
        self.content: dict[int, bytes] = {}
        self.names: dict[int, dict[str, int]] = {}
        self.open: list[int] = []  # a number of a file is not given again while it is open
        self.states: list[Tree] = []
        for path in (root, *root.rglob("*")):
            self.keep(os.open(path, os.O_RDONLY))

    def keep(self, handle: int) -> None:
        """Keep what is synced through a handle."""
        self.open.append(os.dup(handle))
        at = os.fstat(handle)
        if stat.S_ISDIR(at.st_mode):
            self.names[at.st_ino] = {
                name: os.stat(name, dir_fd=handle, follow_symlinks=False).st_ino
                for name in os.listdir(handle)
            }
        else:
            self.content[at.st_ino] = os.pread(handle, at.st_size, 0)

    def look(self) -> None:
        """The power may go here."""
        last: Tree = {}
        self.lazy(self.root.stat().st_ino, "", last)
        real = [path for path in self.root.rglob("*") if path.is_file()]
        called = {path: str(path.relative_to(self.root)) for path in real}
        eager = {name: self.content.get(path.stat().st_ino, b"") for path, name in called.items()}
        self.states += [last, eager, {name: path.read_bytes() for path, name in called.items()}]

    def lazy(self, folder: int, head: str, made: Tree) -> None:
        for name, number in self.names.get(folder, {}).items():
            if number in self.names:
                self.lazy(number, f"{head}{name}/", made)
            elif number in self.content:
                made[f"{head}{name}"] = self.content[number]
            else:
                made[f"{head}{name}"] = b""

    @contextmanager
    def working(self, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
        sync = os.fsync

        def synced(handle: int) -> None:
            folder = stat.S_ISDIR(os.fstat(handle).st_mode)
            self.look()
            if self.ignores != ("folders" if folder else "files"):
                sync(handle)
                self.keep(handle)
            self.look()

        def between(name: str) -> None:
            real: Callable[..., Any] = getattr(os, name)

            def call(*args: Any, **more: Any) -> Any:
                self.look()
                try:
                    return real(*args, **more)
                finally:
                    self.look()

            patch.setattr(os, name, call)

        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", synced)
            for name in ("replace", "rename", "unlink", "mkdir", "rmdir"):
                between(name)
            yield
        self.look()
        for handle in self.open:
            os.close(handle)

    @property
    def end(self) -> tuple[Tree, ...]:
        """The three disks once all has returned."""
        return tuple(self.states[-3:])


def one_of(states: list[Tree], file: str, *allowed: bytes | None) -> None:
    """Hold a file of every state to be one of these; None: not there."""
    found = {state.get(file) for state in states}
    assert found <= set(allowed), (file, found - set(allowed))


# -- What inksim writes, each: folder → (what is there before, the act, what holds)


def writes_a_file(root: Path) -> Callable[[], Any]:
    (root / "old").write_bytes(b"before" * 99)
    return lambda: (write_whole(root / "old", b"after"), write_whole(root / "new", b"fresh"))


def a_file_holds(disk: Disk) -> None:
    one_of(disk.states, "old", b"before" * 99, b"after")
    one_of(disk.states, "new", None, b"fresh")
    for state in disk.end:
        assert (state["old"], state["new"]) == (b"after", b"fresh")


def saves(root: Path) -> Callable[[], Any]:
    new_shop(root / "shop")

    def act() -> None:
        for name in ("Lichen", "Moss"):
            draft = open_draft(root / "shop", "target")
            save(draft.add("target", {"name": name, "hex": "#6f7d3a"}))

    return act


def saving_holds(disk: Disk) -> None:
    file, kept = "shop/targets.toml", f"shop/{PREVIOUS}/targets.toml"
    versions = list(dict.fromkeys(state[file] for state in disk.states))
    assert len(versions) == 3  # never half of one
    assert [b"Lichen" in each for each in versions] == [False, True, True]
    for state in disk.states:
        # what a save has replaced is there to be undone
        at = versions.index(state[file])
        if at:
            assert state[kept].split(b"\n", 1)[1] in versions[at - 1 :]
    for state in disk.end:
        assert (state[file], state[kept].split(b"\n", 1)[1]) == (versions[2], versions[1])


def makes_a_shop(root: Path) -> Callable[[], Any]:
    return lambda: new_shop(root / "its" / "shop")


def a_shop_holds(disk: Disk) -> None:
    whole = disk.states[-1]
    for state in disk.states:
        if state.get("its/shop/shop.toml"):
            assert state.items() >= whole.items()  # with shop.toml the folder is a shop
    assert all(state == whole for state in disk.end)


def keeps_a_job(root: Path) -> Callable[[], Any]:
    new_shop(root / "shop")
    (root / "art.png").write_bytes(b"picture")

    def act() -> None:
        shop = root / "shop"
        new_job(shop, name="Mill", artwork=root / "art.png", garments={"Coal Black": 4})
        change_job(open_job(shop, "mill"), {"note": "by hand"})

    return act


def a_job_holds(disk: Disk) -> None:
    one_of(disk.states, "shop/jobs/mill/art.png", None, b"picture")
    versions = {state.get("shop/jobs/mill/job.toml") for state in disk.states}
    assert len(versions) == 3  # none, the first, the changed
    for state in disk.end:
        assert state["shop/jobs/mill/art.png"] == b"picture"
        assert b"by hand" in state["shop/jobs/mill/job.toml"]


def calibrates(root: Path) -> Callable[[], Any]:
    new_shop(root / "shop")
    press = load_shop(root / "shop").press
    return lambda: save_press(root / "shop", press, day=DAY, readings=3)


def calibrating_holds(disk: Disk) -> None:
    before = disk.states[0]["shop/press.toml"]
    kept = f"shop/press-history/press-0000-{DAY}.toml"
    one_of(disk.states, "shop/press.toml", before, disk.end[-1]["shop/press.toml"])
    for state in disk.states:
        if state["shop/press.toml"] != before:
            assert state[kept] == before  # no version is ever lost
    assert all(state["shop/press.toml"] != before for state in disk.end)


WORK: dict[str, tuple[Callable[[Path], Callable[[], Any]], Callable[[Disk], None]]] = {
    "a file": (writes_a_file, a_file_holds),
    "a save": (saves, saving_holds),
    "a shop": (makes_a_shop, a_shop_holds),
    "a job": (keeps_a_job, a_job_holds),
    "a calibration": (calibrates, calibrating_holds),
}


def worked(name: str, root: Path, monkeypatch: pytest.MonkeyPatch, *, ignores: str = "") -> Disk:
    act = WORK[name][0](root)
    disk = Disk(root, ignores=ignores)
    with disk.working(monkeypatch):
        act()
    assert len(disk.states) > 12
    return disk


@pytest.mark.parametrize("name", WORK)
def test_power_may_go_at_any_moment(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    WORK[name][1](worked(name, tmp_path, monkeypatch))


@pytest.mark.parametrize("ignores", ["files", "folders"])
@pytest.mark.parametrize("name", WORK)
def test_a_sync_that_is_left_out_is_noticed(
    name: str, ignores: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = worked(name, tmp_path, monkeypatch, ignores=ignores)
    with pytest.raises((AssertionError, KeyError)):
        WORK[name][1](disk)


# -- sqlite has its own


def test_sqlite_syncs_every_change_itself(tmp_path: Path) -> None:
    # FULL (2): in write-ahead mode the log is synced at each commit (sqlite.org/pragma.html)
    base = Database(path=tmp_path / "a.sqlite", what="test", steps=(_table,), rescue="")
    with base.change() as connection:
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def _table(connection: sqlite3.Connection) -> None:
    connection.execute("CREATE TABLE one (x)")


# -- What a write replaces is kept, and not without end


def test_the_versions_before_the_last_are_kept_and_bounded(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "shop")
    texts = [(shop / "targets.toml").read_bytes()]
    for at in range(MOST_OLDER + 5):
        save(open_draft(shop, "target").add("target", {"name": f"T{at}", "hex": "#6f7d3a"}))
        texts.append((shop / "targets.toml").read_bytes())
    older = sorted((shop / PREVIOUS / OLDER).glob("targets.toml.*"))
    assert len(older) == MOST_OLDER
    bodies = [path.read_bytes().split(b"\n", 1)[1] for path in older]
    assert bodies == texts[-MOST_OLDER - 2 : -2]
    undo(shop)  # they are no changes to take back by themselves
    assert (shop / "targets.toml").read_bytes() == texts[-2]
    assert marked(b"x", what="y").endswith(b"\nx")


def test_a_reading_taken_out_is_in_the_copy_kept(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "shop")
    add_rows(shop, ROWS, date=DAY)
    for number in (2, 3):
        remove_row(shop, number)
    assert [each.number for each in rows_kept(shop)] == [1, 4, 5, 6, 7]
    with closing(sqlite3.connect(shop / PREVIOUS / history_file(shop).name)) as kept:
        numbers = [row[0] for row in kept.execute("SELECT id FROM reading ORDER BY id")]
    assert numbers == [1, 3, 4, 5, 6, 7]  # the file before the last removal, and no older one
