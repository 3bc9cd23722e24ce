"""Whose the last change of a shop's file is, and what it was: kept with the version before it.

The version before stands in .previous under the file's name, with one line of words above it, so
that both are written in one step. Who changes something is the user of this machine, or whoever
`acting_as` names: people on one page are all the same user of the machine that serves it.
"""

from __future__ import annotations

import getpass
import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from inksim.common import PREVIOUS, InputError, json_of, listed, make_folder, write_whole

OLDER, MOST_OLDER = "older", 10
"""Folder in `PREVIOUS` for the versions before the last one, and how many of a file it keeps."""
_MARK = b"# kept before the change "
_TOOK_BACK, _BROUGHT_BACK = "took back: ", "brought back: "
_acting: ContextVar[str] = ContextVar("acting", default="")


@dataclass(frozen=True, kw_only=True)
class Change:
    """The last change of a file.

    by: who made it, '' where that was not kept; at: local date and time; what: in words; mine:
    whether whoever asks made it; before: the file before it, b"" if there was none. one: shared by
    changes of several files that were made as one; also: the others of them, from `last_change`.
    """

    file: str
    by: str
    at: str
    what: str
    mine: bool
    before: bytes
    one: str = ""
    also: tuple[Change, ...] = ()

    @property
    def files(self) -> str:
        """The files that it changed: 'press.toml and screens.toml'."""
        return listed([self.file, *(each.file for each in self.also)])

    @property
    def words(self) -> str:
        """'added garment 'Plum' (garments.toml, 2026-03-04 10:15)'."""
        return f"{self.done} ({', '.join(filter(None, (self.files, self.at)))})"

    @property
    def done(self) -> str:
        """What was done, to all of its files."""
        return "; ".join([self.what, *(each.what for each in self.also)])

    @property
    def whose(self) -> str:
        """Who made it, in words."""
        return self.by or "somebody whose name was not kept"

    @property
    def back(self) -> str:
        """What taking it back is, in words; what was taken back is brought back."""
        if self.also:
            return "; ".join(each.back for each in (replace(self, also=()), *self.also))
        if self.what.startswith(_TOOK_BACK):
            return f"{_BROUGHT_BACK}{self.what.removeprefix(_TOOK_BACK)}"
        return f"{_TOOK_BACK}{self.what.removeprefix(_BROUGHT_BACK)}"


@contextmanager
def acting_as(who: str) -> Iterator[None]:
    """Name who makes the changes inside: a person on a page, where the user is the server's."""
    token = _acting.set(who)
    try:
        yield
    finally:
        _acting.reset(token)


def actor() -> str:
    """Who makes changes here."""
    if who := _acting.get():
        return who
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):  # a system that has no name for its user
        return "this machine's user"


def marked(before: bytes, *, what: str, one: str = "") -> bytes:
    """The version before a change, with whose and what it is in its first line."""
    at = datetime.now().astimezone().strftime("%Y-%m-%d %H:%M")
    said = {"by": actor(), "at": at, "what": what} | ({"one": one} if one else {})
    return _MARK + json.dumps(said).encode() + b"\n" + before


def keep_before(folder: Path, file: str, before: bytes, *, what: str, one: str = "") -> None:
    """Keep the version before a change, whose it is and what it was, for `change_kept`.

    The ten that were kept before it stay too, in the folder `OLDER`.
    """
    kept = folder / PREVIOUS / file
    make_folder(kept.parent / OLDER)
    if kept.is_file():
        _keep_older(kept)
    write_whole(kept, marked(before, what=what, one=one))


def write_changed(
    folder: Path, file: str, data: bytes, *, before: bytes, what: str, one: str = ""
) -> None:
    """Write a file, and keep the version before it: see `keep_before`.

    An undo writes the file first: a program killed between the two steps has then done all that was
    asked, or nothing. The other way round it would keep, to go back to, the version that is there.
    """
    last = change_kept(folder, file)
    if takes_back := last is not None and last.before == data:
        write_whole(folder / file, data)
    keep_before(folder, file, before, what=what, one=one)
    if not takes_back:
        write_whole(folder / file, data)


def _keep_older(kept: Path) -> None:
    """Keep a version that the next one replaces, numbered upwards; `MOST_OLDER` of a file stay."""
    there = _older(kept)
    data, last = kept.read_bytes(), there[max(there)] if there else None
    if last is None or last.read_bytes() != data:
        number = max(there, default=0) + 1
        write_whole(kept.parent / OLDER / f"{kept.name}.{number:06d}", data)
        for old in sorted(there)[: -(MOST_OLDER - 1)]:
            there[old].unlink(missing_ok=True)


def _older(kept: Path) -> dict[int, Path]:
    """Older versions of a file by number."""
    found = (kept.parent / OLDER).glob(f"{kept.name}.*")
    return {int(each.suffix[1:]): each for each in found if each.suffix[1:].isdecimal()}


def change_kept(folder: Path, file: str) -> Change | None:
    """The last change of a file, None if none is kept, or it changed nothing."""
    try:
        kept = (folder / PREVIOUS / file).read_bytes()
    except FileNotFoundError:
        return None
    first, _, before = kept.partition(b"\n")
    said = {"by": "", "at": "", "what": f"changed {file}", "one": ""}
    if first.startswith(_MARK):
        said |= _mark(first.removeprefix(_MARK), known=said)
    else:  # an older inksim kept the version alone
        before = kept
    path = folder / file
    if (path.read_bytes() if path.is_file() else b"") == before:
        return None
    by, at, what, one = said.values()
    return Change(file=file, by=by, at=at, what=what, mine=by == actor(), before=before, one=one)


def _mark(line: bytes, *, known: Iterable[str]) -> dict[str, str]:
    """What the line above a version says; nothing where it is damaged."""
    try:
        found = json_of(line)
    except InputError:
        return {}
    return {word: found[word] for word in known if isinstance(found.get(word), str)}


def last_change(folder: Path, file: str | None = None, *, anyone: bool = False) -> Change | None:
    """The change that an undo would take back: one's own last, or else somebody else's last.

    file: of this file, and of those changed with it. anyone: the very last, whoever made it.
    """
    names = list((folder / PREVIOUS).glob("*.toml"))
    latest = sorted(names, key=lambda path: path.stat().st_mtime_ns, reverse=True)
    every = [change for path in latest if (change := change_kept(folder, path.name))]
    found = [change for change in every if file in (None, change.file)]
    own = [] if anyone else [change for change in found if change.mine]
    last = next(iter(own or found), None)
    if last is None or not last.one:
        return last
    others = (each for each in every if each.one == last.one and each.file != last.file)
    return replace(last, also=tuple(others))


def check_mine(change: Change, *, by: str = "inksim undo") -> None:
    """Refuse to take back what somebody else did; by: the command that would.

    Raises
    ------
    InputError : whose it is, what it was, and how to do it all the same.
    """
    if not change.mine:
        raise InputError(
            f"the last change is not yours: {change.whose} {change.words}. Nothing was undone; "
            f"where you mean that one, '{by} --anyway' takes it back."
        )
