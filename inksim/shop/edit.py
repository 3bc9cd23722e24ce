"""Edit a shop's text files: add, replace and remove entries, save atomically, undo.

A `Draft` is one file as it was read and as it shall be; `add`, `replace`, `remove` and `set` return
a new draft and touch no file. `save` writes it: under a lock, only if nobody has changed the file
since it was read, only if the shop has no fault more than before, in one step that cannot be seen
half done, and with the version before kept for `undo`. Several files are saved as one change.
Comments in the files stay.

The command line and the app both write through this module and no other way.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, replace as with_changes
from pathlib import Path
from secrets import token_hex
from typing import Any

from inksim.common import (
    PACKAGE,
    PREVIOUS,
    InputError,
    ShopFaults,
    check_may_change,
    listed,
    locked,
    temporary_folder,
    text_of,
)
from inksim.shop.changes import (
    Change,
    change_kept,
    check_mine,
    last_change,
    write_changed,
)
from inksim.shop.load import KINDS, demo_shop_folder, load_shop
from inksim.shop.migration import migrate
from inksim.shop.toml_text import add_entry, find_entry, remove_entry, replace_entry, set_values

LOCK = ".saving"
HOW_TO = "Make a shop of your own with 'inksim new DIR' and name it with --shop DIR."


class ChangedMeanwhile(InputError):
    """Somebody else has changed the file since it was read: read it again and repeat the change."""


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A file being edited: ``before`` as read, None if there was none; ``text`` as it shall be.

    did: what was done to it, in words, for whoever undoes it.

    The methods raise InputError: see `toml_text`.
    """

    folder: Path
    file: str
    before: bytes | None
    text: str
    did: tuple[str, ...] = ()

    @property
    def path(self) -> Path:
        """Where the file stands."""
        return self.folder / self.file

    def add(self, kind: str, entry: Mapping[str, Any]) -> Draft:
        """Add an entry; its name must be free."""
        text = add_entry(self.text, self._key(kind), entry, file=self.file)
        return self._done(text, f"added {kind} '{entry['name']}'")

    def replace(self, kind: str, name: str, entry: Mapping[str, Any]) -> Draft:
        """Give an entry these fields and no others."""
        text = replace_entry(self.text, self._key(kind), name, entry, file=self.file)
        return self._done(text, f"changed {kind} '{entry['name']}'")

    def remove(self, kind: str, name: str) -> Draft:
        """Remove an entry."""
        text = remove_entry(self.text, self._key(kind), name, file=self.file)
        return self._done(text, f"removed {kind} '{name}'")

    def set(self, values: Mapping[str, Any]) -> Draft:
        """Give values outside of entries, by dotted name; None takes one out."""
        text = set_values(self.text, values, file=self.file)
        return self._done(text, f"set {', '.join(f for f in values if not f.endswith('source'))}")

    def entry(self, kind: str, name: str) -> dict[str, Any]:
        """Return an entry's fields as plain values."""
        return find_entry(self.text, self._key(kind), name, file=self.file)

    def _done(self, text: str, what: str) -> Draft:
        return with_changes(self, text=text, did=(*self.did, what))

    def _key(self, kind: str) -> str:
        file, key = KINDS[kind]
        if file != self.file:
            raise ValueError(f"{kind} entries stand in {file}, not in {self.file}")
        return key


def open_draft(folder: Path, kind_or_file: str) -> Draft:
    """Open the file that holds a kind of entry, or a file by its name, for editing.

    Raises
    ------
    InputError : the file is not UTF-8 text.
    """
    file = KINDS[kind_or_file][0] if kind_or_file in KINDS else kind_or_file
    before = _read(folder / file)
    try:
        text = "" if before is None else text_of(before)
    except InputError as error:
        raise InputError(f"{file} is {error}.") from None
    return Draft(folder=folder, file=file, before=before, text=text)


def save(draft: Draft, *more: Draft) -> Path:
    """Write a draft atomically, and keep the version before it for `undo`.

    more: drafts of other files of the shop, checked with it, then written one after the other; one
    `undo` takes all of them back. A shop of an older format becomes one of the newest, with a copy
    of it kept: see `migration`.

    Returns
    -------
    The file written, the first of several.

    Raises
    ------
    ChangedMeanwhile : the file is not as it was when the draft was opened.
    InputError : the shop would have a fault more than now (they are listed), or another program
        is saving right now, or the folder cannot be written to.
    """
    drafts = (draft, *more)
    check(*drafts)
    with locked(draft.folder / LOCK, what=f"the shop '{draft.folder}'"):
        for each in drafts:
            if _read(each.path) != each.before:
                raise ChangedMeanwhile(
                    f"{each.file} has been changed by somebody else since it was read; nothing was "
                    "saved. Load the shop again and repeat the change."
                )
        if changed := [each for each in drafts if each.before != each.text.encode()]:
            migrate(draft.folder)
            one = token_hex(4) if len(changed) > 1 else ""
            for each in changed:
                what = "; ".join(each.did) or f"changed {each.file}"
                write_changed(
                    each.folder, each.file, each.text.encode(), before=each.before or b"",
                    what=what, one=one,
                )  # fmt: skip
    return draft.path


def check(draft: Draft, *more: Draft) -> None:
    """Check drafts of a shop as `save` does, and write nothing.

    Raises
    ------
    InputError : the shop would have a fault more than now, or the folder cannot be written to.
    """
    _check_writable(draft.folder)
    for each in (draft, *more):
        try:
            each.text.encode()
        except UnicodeEncodeError as error:
            around = each.text[max(0, error.start - 20) : error.end + 20].splitlines()[0]
            raise InputError(
                f"{each.file} was not changed: {around!r} has a byte that is no UTF-8 text; write "
                "the name in UTF-8."
            ) from None
    if fresh := _new_faults(draft, *more):
        files = listed([each.file for each in (draft, *more)])
        changed = f"{files} {'were' if more else 'was'} not changed"
        these = "this fault" if len(fresh) == 1 else "these faults"
        lines = "\n".join(f"  {fault}" for fault in fresh)
        raise InputError(f"{changed}; the shop would have {these}:\n{lines}")


def undo(folder: Path, file: str | None = None, *, anyone: bool = False) -> Change:
    """Take back one's own last change, and say what it was; done twice, it is redone.

    file: of this file; None for the one saved last. anyone: whoever made it.

    Raises
    ------
    InputError : nothing to undo, somebody else's change, or what `save` raises.
    """
    found = last_change(folder, file, anyone=anyone)
    if found is None:
        raise InputError(f"there is nothing to undo in '{folder / file if file else folder}'.")
    # Who saves from here on is noticed by `save`; who has saved since it was found, by `_restored`.
    save(*(_restored(folder, each, anyone=anyone) for each in (found, *found.also)))
    return found


def _restored(folder: Path, found: Change, *, anyone: bool) -> Draft:
    """A draft of a file as it was before a change."""
    draft = open_draft(folder, found.file)
    change = change_kept(folder, found.file)
    if change is None or change.what != found.what or change.before != found.before:
        raise ChangedMeanwhile(f"{found.file} has been changed just now; nothing was undone.")
    if not anyone:
        check_mine(change)
    try:
        text = text_of(change.before)
    except InputError as error:
        raise InputError(
            f"nothing was undone: '{folder / PREVIOUS / found.file}', the version before, is "
            f"{error}."
        ) from None
    return with_changes(draft, text=text, did=(change.back,))


def editable_folder(folder: Path | None) -> Path:
    """Return the folder to change, or refuse.

    Raises
    ------
    InputError : no folder named (the demo shop is not for changing), the demo shop as installed
        with inksim (an update would overwrite it), no shop, or one that cannot be written to.
    """
    if folder is None:
        raise InputError(f"the demo shop that comes with inksim is not changed. {HOW_TO}")
    if not (folder / "shop.toml").is_file():
        raise InputError(f"'{folder}' is no shop: it has no shop.toml. {HOW_TO}")
    if folder.resolve() == PACKAGE / "demo":
        raise InputError(
            f"'{folder}' is the demo shop as installed with inksim, which an update would "
            f"overwrite; it is not changed. {HOW_TO}"
        )
    _check_writable(folder)
    return folder


def is_demo(folder: Path) -> bool:
    """Whether a folder is the demo shop of a checkout, which all its users share."""
    try:
        return folder.samefile(demo_shop_folder())
    except (InputError, OSError):
        return False


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _check_writable(folder: Path) -> None:
    check_may_change(f"the shop '{folder}'")
    if not os.access(folder, os.W_OK):
        raise InputError(
            f"the shop '{folder}' cannot be written to; nothing was saved. Change its permissions, "
            "or copy it to a folder of your own."
        )


def _faults(folder: Path) -> tuple[str, ...]:
    try:
        load_shop(folder)
    except ShopFaults as error:
        return error.faults
    return ()


def _new_faults(*drafts: Draft) -> list[str]:
    """Faults that drafts of a shop would add to it."""
    folder = drafts[0].folder
    with temporary_folder() as trial:
        for source in folder.glob("*.toml"):
            shutil.copyfile(source, trial / source.name)
        for draft in drafts:
            (trial / draft.file).write_bytes(draft.text.encode())
        after = _faults(trial)
    before = set(_faults(folder)) if after else set()
    return [fault.replace(str(trial), str(folder)) for fault in after if fault not in before]
