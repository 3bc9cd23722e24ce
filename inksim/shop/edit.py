"""Edit a shop's text files: add, replace and remove entries, save atomically, undo.

A `Draft` is one file as it was read and as it shall be; `add`, `replace`, `remove` and `set` return
a new draft and touch no file. `save` writes it: under a lock, only if nobody has changed the file
since it was read, only if the shop has no fault more than before, in one step that cannot be seen
half done, and with the version before kept for `undo`. Comments in the files stay.

The command line and the app both write through this module and no other way.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace as with_changes
from pathlib import Path
from typing import Any

from inksim.common import PACKAGE, InputError, ShopFaults, locked, write_whole
from inksim.shop.load import KINDS, demo_shop_folder, load_shop
from inksim.shop.migration import migrate
from inksim.shop.toml_text import add_entry, find_entry, remove_entry, replace_entry, set_values

PREVIOUS, LOCK = ".previous", ".saving"
HOW_TO = "Make a shop of your own with 'inksim new DIR' and name it with --shop DIR."


class ChangedMeanwhile(InputError):
    """Somebody else has changed the file since it was read: read it again and repeat the change."""


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A file being edited: ``before`` as read, None if there was none; ``text`` as it shall be.

    The methods raise InputError: see `toml_text`.
    """

    folder: Path
    file: str
    before: bytes | None
    text: str

    def add(self, kind: str, entry: Mapping[str, Any]) -> Draft:
        """Add an entry; its name must be free."""
        text = add_entry(self.text, self._key(kind), entry, file=self.file)
        return with_changes(self, text=text)

    def replace(self, kind: str, name: str, entry: Mapping[str, Any]) -> Draft:
        """Give an entry these fields and no others."""
        text = replace_entry(self.text, self._key(kind), name, entry, file=self.file)
        return with_changes(self, text=text)

    def remove(self, kind: str, name: str) -> Draft:
        """Remove an entry."""
        text = remove_entry(self.text, self._key(kind), name, file=self.file)
        return with_changes(self, text=text)

    def set(self, values: Mapping[str, Any]) -> Draft:
        """Give values outside of entries, by dotted name; None takes one out."""
        return with_changes(self, text=set_values(self.text, values, file=self.file))

    def entry(self, kind: str, name: str) -> dict[str, Any]:
        """Return an entry's fields as plain values."""
        return find_entry(self.text, self._key(kind), name, file=self.file)

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
        text = "" if before is None else before.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{file} is not UTF-8 text (byte {error.start}).") from None
    return Draft(folder=folder, file=file, before=before, text=text)


def save(draft: Draft) -> Path:
    """Write a draft atomically, and keep the version before it for `undo`.

    A shop of an older format becomes one of the newest, with a copy of it kept: see `migration`.

    Returns
    -------
    The file written.

    Raises
    ------
    ChangedMeanwhile : the file is not as it was when the draft was opened.
    InputError : the shop would have a fault more than now (they are listed), or another program
        is saving right now, or the folder cannot be written to.
    """
    check(draft)
    path, data = draft.folder / draft.file, draft.text.encode()
    with locked(draft.folder / LOCK, what=f"the shop '{draft.folder}'"):
        now = _read(path)
        if now != draft.before:
            raise ChangedMeanwhile(
                f"{draft.file} has been changed by somebody else since it was read; nothing was "
                "saved. Load the shop again and repeat the change."
            )
        if now != data:
            migrate(draft.folder)
            kept = draft.folder / PREVIOUS
            kept.mkdir(exist_ok=True)
            write_whole(kept / draft.file, now or b"")
            write_whole(path, data)
    return path


def check(draft: Draft) -> None:
    """Check a draft as `save` does.

    Raises
    ------
    InputError : the shop would have a fault more than now, or the folder cannot be written to.
    """
    _check_writable(draft.folder)
    try:
        draft.text.encode()
    except UnicodeEncodeError as error:
        around = draft.text[max(0, error.start - 20) : error.end + 20].splitlines()[0]
        raise InputError(
            f"{draft.file} was not changed: {around!r} has a byte that is no UTF-8 text; write the "
            "name in UTF-8."
        ) from None
    if fresh := _new_faults(draft):
        these = "this fault" if len(fresh) == 1 else "these faults"
        lines = "\n".join(f"  {fault}" for fault in fresh)
        raise InputError(f"{draft.file} was not changed; the shop would have {these}:\n{lines}")


def undo(folder: Path, file: str | None = None) -> Path:
    """Bring back the version before the last save; done twice, it is redone.

    file: None for the one saved last.

    Raises
    ------
    InputError : nothing to undo, or what `save` raises.
    """
    last = file_to_undo(folder, file)
    if last is None:
        raise InputError(f"there is nothing to undo in '{folder / file if file else folder}'.")
    before = (folder / PREVIOUS / last).read_bytes()
    return save(with_changes(open_draft(folder, last), text=before.decode("utf-8-sig")))


def file_to_undo(folder: Path, file: str | None = None) -> str | None:
    """Name of the file that `undo` would bring back, None if there is nothing to undo."""
    kept = [
        p
        for p in (folder / PREVIOUS).glob("*.toml")
        if file in (None, p.name) and p.read_bytes() != _read(folder / p.name)
    ]
    return max(kept, key=lambda path: path.stat().st_mtime_ns).name if kept else None


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
        return folder.resolve() == demo_shop_folder().resolve()
    except InputError:
        return False


def new_shop(folder: Path, *, name: str | None = None) -> Path:
    """Make a new shop: a copy of the demo shop's text files, to edit.

    Raises
    ------
    InputError : the folder exists and is not empty, or cannot be made.
    """
    if name is not None and (not 0 < len(name) <= 60 or name != name.strip()):
        raise InputError("a shop's name has 1 to 60 characters, without spaces at its ends.")
    if name is not None and not name.isprintable():
        raise InputError("a shop's name has no line breaks or control characters.")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"'{folder}' is there already and not empty; name a new folder.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"'{folder}' cannot be made: {error.strerror}.") from None
    for source in sorted(demo_shop_folder().glob("*.toml")):
        data = source.read_bytes()
        if name is not None and source.name == "shop.toml":
            import tomlkit

            about = tomlkit.parse(data.decode("utf-8-sig"))
            about["name"] = name
            data = about.as_string().encode()
        write_whole(folder / source.name, data)
    return folder


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _check_writable(folder: Path) -> None:
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


def _new_faults(draft: Draft) -> list[str]:
    """Faults that the draft would add to the shop."""
    with tempfile.TemporaryDirectory() as name:
        trial = Path(name)
        for source in draft.folder.glob("*.toml"):
            shutil.copyfile(source, trial / source.name)
        (trial / draft.file).write_bytes(draft.text.encode())
        after = _faults(trial)
    before = set(_faults(draft.folder)) if after else set()
    return [fault.replace(name, str(draft.folder)) for fault in after if fault not in before]
