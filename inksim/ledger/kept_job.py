"""A job as one keeps it: a folder under the shop, with its file and the artwork as it came.

`jobs/<folder>/job.toml` is for a person to read and edit; it is written whole or not at all, under
a lock, with the version before kept beside it for `undo`, and who changed it. What a command works
on without one is the same `Job`, in memory.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

from inksim.common import (
    InputError,
    file_name,
    locked,
    make_folder,
    slug,
    sync_folder,
    temporary_folder,
    toml_of,
    unknown,
    write_whole,
)
from inksim.job import DrawnJob, JobEntry, drawn_job, load_drawn_job
from inksim.ledger.changes import differences
from inksim.shop import (
    Change,
    ChangedMeanwhile,
    Shop,
    change_kept,
    check_mine,
    checked,
    editable_folder,
    is_demo,
    read_checked,
    set_values,
    write_changed,
)

JOBS, FILE, PROOFS, LOCK = "jobs", "job.toml", "proofs", ".saving"
MOST_ARTWORK_BYTES = 512 * 1024 * 1024
MOST_DIGITS = 30
"""Of a quantity, that Python is given to convert; what a job may print is checked as a number."""
HEAD = "# A job of this shop. Edit it here or with 'inksim job set'; see docs/jobs.md.\n"


@dataclass(frozen=True, kw_only=True)
class KeptJob:
    """A kept job as read: its folder, its file's bytes, and what they say."""

    folder: Path
    data: bytes
    entry: JobEntry

    @property
    def key(self) -> str:
        """The name of its folder, by which commands know it."""
        return self.folder.name

    @property
    def file(self) -> Path:
        """Its file."""
        return self.folder / FILE

    @property
    def artwork(self) -> Path | None:
        """The artwork as it came; None for a list of colors."""
        return None if self.entry.artwork is None else self.folder / self.entry.artwork.file

    def drawn(self, shop: Shop) -> DrawnJob:
        """The job with its artwork, checked against its shop: see `load_job`."""
        return drawn_job(self.entry, folder=self.folder, shop=shop, file=FILE)

    @property
    def quantities(self) -> dict[str, int]:
        """Prints by garment, as the file names them."""
        own = self.entry.quantity
        if isinstance(own, int):
            return dict.fromkeys(self.entry.garments, own)
        return own

    @property
    def changed(self) -> str:
        """When its file was changed last, ISO date and time."""
        then = datetime.fromtimestamp(self.file.stat().st_mtime).astimezone()
        return then.isoformat(timespec="seconds")

    @property
    def files(self) -> tuple[Path, ...]:
        """The files in its folder that are for people to open."""
        return tuple(sorted(p for p in self.folder.iterdir() if p.is_file() and p.name[0] != "."))

    @property
    def proofs(self) -> tuple[Path, ...]:
        """The proofs written of it."""
        return tuple(sorted((self.folder / PROOFS).glob("*.pdf")))

    @property
    def last_change(self) -> Change | None:
        """What `undo_job` would take back; None if nothing."""
        return change_kept(self.folder, FILE)


def jobs_folder(shop_folder: Path) -> Path:
    """Where a shop keeps its jobs."""
    return shop_folder / JOBS


def job_file(word: str | Path, shop_folder: Path | None) -> Path:
    """The job's file that a command is given: a file, a folder with one, or a kept job's name.

    Raises
    ------
    InputError : none of them, with the jobs there are; an artwork, which is no job yet.
    """
    path = Path(word)
    if path.suffix.lower() == ".toml":
        return path
    if path.is_file():
        raise InputError(
            f"'{path.name}' is no job's file (.toml); an artwork becomes a job with "
            "'inksim job new', and then goes by the job's name."
        )
    if (path / FILE).is_file():
        return path / FILE
    name = str(word)
    keys = kept_keys(shop_folder) if shop_folder else []
    key = name if name in keys else slug(name)
    if shop_folder and key in keys:
        return jobs_folder(shop_folder) / key / FILE
    if not shop_folder or is_demo(shop_folder):
        there = "the demo shop keeps no jobs; name the shop that does with --shop"
    elif keys:
        there = f"'{jobs_folder(shop_folder)}' has {', '.join(keys)}"
    else:
        there = f"'{shop_folder}' keeps none yet; 'inksim job new' makes one"
    raise InputError(f"there is no file, and no job, '{name}': {there}.")


def kept_at(file: Path, shop_folder: Path | None) -> KeptJob | None:
    """The kept job whose file this is; None of a file that is not kept under this shop."""
    key = "" if shop_folder is None else kept_key(file, shop_folder)
    return open_job(shop_folder, key) if key else None


def kept_key(file: Path, shop_folder: Path) -> str:
    """The key of the kept job whose file this is; '' of a file that is not kept under this shop."""
    home, folder = jobs_folder(shop_folder).resolve(), file.resolve().parent
    return folder.name if file.name == FILE and folder.parent == home else ""


def new_job(
    shop_folder: Path | None,
    *,
    name: str,
    artwork: Path | None = None,
    garments: Mapping[str, int],
    fields: Mapping[str, Any] | None = None,
    shop: Shop | None = None,
) -> KeptJob:
    """Make a job: copy the artwork as it is, and write the file.

    Parameters
    ----------
    shop_folder : a shop of one's own.
    name : free text; the folder is named after it.
    artwork : a file to copy; None where `fields` has a list of colors.
    garments : quantity by the garment's name, at least one.
    fields : of job.toml, by dotted name ("artwork.width_mm").
    shop : to check the job against; not checked if not given.

    Raises
    ------
    InputError : no such artwork, a job of that folder name, a field that is none, or a folder that
        cannot be written to. Nothing is left behind then.
    ShopFaults : what the shop does not have.
    """
    home = jobs_folder(editable_folder(shop_folder))
    if not garments:
        raise InputError("a job prints on at least one garment; name it, with a quantity.")
    values: dict[str, Any] = {
        "name": name,
        "garments": list(garments),
        "quantity": dict(garments),
        **{field: value for field, value in (fields or {}).items() if "." not in field},
    }
    if artwork is not None:
        values["artwork.file"] = _plain_file(artwork)
    values |= fields or {}
    text = HEAD + set_values("", values, file=FILE)
    key = _made(home, name, text, artwork=artwork, file=values.get("artwork.file", ""), shop=shop)
    return open_job(shop_folder, key)


def open_job(shop_folder: Path | None, name: str) -> KeptJob:
    """Open a kept job by its folder's name, or by its own.

    Raises
    ------
    InputError : no such job, with those there are; or a file that cannot be read.
    ShopFaults : what is wrong in it.
    """
    if shop_folder is None:
        raise InputError("the demo shop keeps no jobs; make a shop of your own with 'inksim new'.")
    home = jobs_folder(shop_folder)
    keys = kept_keys(shop_folder)
    key = name if name in keys else slug(name)
    if key not in keys:
        raise unknown(name, keys, what="job", where=f"in '{home}'")
    data = (home / key / FILE).read_bytes()
    entry = read_checked(home / key / FILE, JobEntry, what="the job")
    return KeptJob(folder=home / key, data=data, entry=entry)


def kept_keys(shop_folder: Path) -> list[str]:
    """Names of the folders of a shop's jobs, in order."""
    home = jobs_folder(shop_folder)
    if not home.is_dir():
        return []
    return sorted(p.name for p in home.iterdir() if (p / FILE).is_file() and p.name[0] != ".")


def change_job(
    kept: KeptJob,
    values: Mapping[str, Any],
    *,
    garments: Mapping[str, int] | None = None,
    shop: Shop | None = None,
    check: Callable[[JobEntry], object] | None = None,
) -> KeptJob:
    """Set fields of a job by dotted name; None takes one out. The version before is kept.

    garments: quantity by name, instead of those it has. shop: to check the job against; not
    checked if not given. check: instead of that, where its artwork has been read.

    Raises
    ------
    InputError : somebody changed it since it was opened, or a field would be a fault.
    ShopFaults : what the shop does not have.
    """
    text = set_values(kept.data.decode("utf-8-sig"), values, file=FILE)
    if garments is not None:
        text = _on_garments(text, garments)
    if shop is not None:
        check = partial(drawn_job, folder=kept.folder, shop=shop, file=FILE)
    return _saved(kept, text.encode(), check=check)


def undo_job(kept: KeptJob, *, anyone: bool = False) -> tuple[KeptJob, Change]:
    """Bring back the version before the last change, and say what it was; done twice, it is redone.

    anyone: take back a change that somebody else made, too.

    Raises
    ------
    InputError : nothing to undo, somebody else's change, or what `change_job` raises.
    """
    _check_current(kept)
    change = kept.last_change
    if change is None:
        raise InputError(f"there is nothing to undo in job '{kept.key}'.")
    if not anyone:
        check_mine(change, by=f"inksim job undo {kept.key}")
    return _saved(kept, change.before, did=change.back), change


def copy_job(
    shop_folder: Path | None,
    kept: KeptJob,
    *,
    name: str,
    garments: Mapping[str, int] | None = None,
    shop: Shop | None = None,
) -> KeptJob:
    """Copy a job with its artwork: 'same again, on navy'. Proofs and answers stay with the old one.

    garments: quantity by name; the old ones if not given.

    Raises
    ------
    InputError, ShopFaults : see `new_job`.
    """
    home = jobs_folder(editable_folder(shop_folder))
    values = {"name": name, "again_of": kept.key}
    text = set_values(kept.data.decode("utf-8-sig"), values, file=FILE)
    if garments is not None:
        text = _on_garments(text, garments)
    file = kept.entry.artwork.file if kept.entry.artwork else ""
    key = _made(home, name, text, artwork=kept.artwork, file=file, shop=shop)
    return open_job(shop_folder, key)


def garments_of(texts: Sequence[str]) -> dict[str, int]:
    """Quantities by garment of words like 'Coal Black=40'.

    Raises
    ------
    InputError : no number, or one below 1; a garment twice.
    """
    found: dict[str, int] = {}
    for text in texts:
        name, _, count = text.rpartition("=")
        name = name.strip()
        digits = count.strip().lstrip("0")
        if not name or not digits.isdecimal() or len(digits) > MOST_DIGITS:
            raise InputError(f"'{text}' is no garment and quantity; write \"Coal Black=40\".")
        if name.casefold() in map(str.casefold, found):
            raise InputError(f"garment '{name}' is given twice.")
        found[name] = int(digits)
    return found


def _on_garments(text: str, garments: Mapping[str, int]) -> str:
    """A job's text with other garments; the old quantities go, so that none is left over."""
    text = set_values(text, {"garments": list(garments), "quantity": None}, file=FILE)
    return set_values(text, {"quantity": dict(garments)}, file=FILE)


def _made(
    home: Path, name: str, text: str, *, artwork: Path | None, file: str, shop: Shop | None
) -> str:
    """Make a job's folder under another name, and give it its own when it is whole: its name."""
    key = slug(name)
    make_folder(home)
    if (home / key).exists():
        raise _taken(key)
    with temporary_folder(home) as made:
        draft = made / key
        draft.mkdir()
        if artwork is not None:
            _copy(artwork, draft / file)
        write_whole(draft / FILE, text.encode())
        read_checked(draft / FILE, JobEntry, what="the job")
        if shop is not None:
            load_drawn_job(draft / FILE, shop=shop)
        try:
            draft.rename(home / key)
            sync_folder(home)
        except OSError as error:
            if (home / key).exists():
                raise _taken(key) from None
            raise InputError(f"'{home / key}' cannot be made: {error.strerror}.") from None
    return key


def _taken(key: str) -> InputError:
    return InputError(
        f"there is a job '{key}' already; choose another name, or change it with 'inksim job set'."
    )


def _saved(
    kept: KeptJob,
    data: bytes,
    *,
    check: Callable[[JobEntry], object] | None = None,
    did: str = "",
) -> KeptJob:
    """Write a job's file under a lock; did: what changed, in words, if not told by its fields."""
    try:
        document = toml_of(data)
    except InputError as error:
        raise InputError(f"nothing was saved: '{kept.file}' would be {error}.") from None
    entry = checked(document, JobEntry, file=FILE, what="the job")
    if check is not None:
        check(entry)
    with locked(kept.folder / LOCK, what=f"the job '{kept.key}'"):
        _check_current(kept)
        if data != kept.data:
            fields = "; ".join(differences(kept.data, data))
            what = did or (f"set {fields}" if fields else "changed comments")
            write_changed(kept.folder, FILE, data, before=kept.data, what=what)
    return KeptJob(folder=kept.folder, data=data, entry=entry)


def _check_current(kept: KeptJob) -> None:
    """Refuse to change a job that is not as it was when it was opened."""
    if kept.file.read_bytes() != kept.data:
        raise ChangedMeanwhile(
            f"job '{kept.key}' has been changed by somebody else since it was read; nothing was "
            "saved. Open it again and repeat the change."
        )


def _plain_file(artwork: Path) -> str:
    """A file name to keep the artwork by: letters, digits, dots and dashes, its ending kept."""
    if not artwork.is_file():
        raise InputError(f"there is no artwork '{artwork}'.")
    return file_name(artwork.name)


def _copy(source: Path, target: Path) -> None:
    if source.stat().st_size > MOST_ARTWORK_BYTES:
        raise InputError(f"'{source}' is larger than {MOST_ARTWORK_BYTES // 2**20} MB.")
    shutil.copyfile(source, target)
    with target.open("rb+") as file:
        os.fsync(file.fileno())
