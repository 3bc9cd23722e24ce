"""A job as one keeps it: a folder under the shop, with its file and the artwork as it came.

`jobs/<folder>/job.toml` is for a person to read and edit; it is written whole or not at all, under
a lock, with the version before kept beside it for `undo`. What a command works on without one is
the same `Job`, in memory.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inksim.common import InputError, locked, slug, unknown, write_whole
from inksim.job import Job, JobEntry, load_job
from inksim.shop import Shop, editable_folder, read_checked, set_values

JOBS, FILE, PREVIOUS, LOCK = "jobs", "job.toml", ".previous.toml", ".saving"
MOST_ARTWORK_BYTES = 512 * 1024 * 1024
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

    def job(self, shop: Shop) -> Job:
        """The job, checked against its shop: see `load_job`."""
        return load_job(self.file, shop=shop)


def jobs_folder(shop_folder: Path) -> Path:
    """Where a shop keeps its jobs."""
    return shop_folder / JOBS


def new_job(
    shop_folder: Path | None,
    *,
    name: str,
    artwork: Path | None = None,
    garments: Mapping[str, int],
    fields: Mapping[str, Any] | None = None,
) -> KeptJob:
    """Make a job: copy the artwork as it is, and write the file.

    Parameters
    ----------
    shop_folder : a shop of one's own.
    name : free text; the folder is named after it.
    artwork : a file to copy; None where `fields` has a list of colors.
    garments : quantity by the garment's name, at least one.
    fields : of job.toml, by dotted name ("artwork.width_mm").

    Raises
    ------
    InputError : no such artwork, a job of that folder name, a field that is none, or a folder that
        cannot be written to. Nothing is left behind then.
    """
    home = jobs_folder(editable_folder(shop_folder))
    if not garments:
        raise InputError("a job prints on at least one garment; name it, with a quantity.")
    key = slug(name)
    if not key:
        raise InputError(f"'{name}' has no letter or digit to name a folder after.")
    if (home / key).exists():
        raise InputError(
            f"there is a job '{key}' already; choose another name, or copy it with "
            "'inksim job copy'."
        )
    values: dict[str, Any] = {
        "name": name,
        "garments": list(garments),
        "quantity": dict(garments),
        **(fields or {}),
    }
    if artwork is not None:
        values["artwork.file"] = _plain_file(artwork)
    home.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=home, prefix=".new-") as made:
        draft = Path(made) / key
        draft.mkdir()
        if artwork is not None:
            _copy(artwork, draft / values["artwork.file"])
        text = HEAD + set_values("", values, file=FILE)
        write_whole(draft / FILE, text.encode())
        read_checked(draft / FILE, JobEntry, what="the job")
        _moved(draft, home / key)
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


def change_job(kept: KeptJob, values: Mapping[str, Any]) -> KeptJob:
    """Set fields of a job by dotted name; None takes one out. The version before is kept.

    Raises
    ------
    InputError : somebody changed it since it was opened, or a field would be a fault.
    """
    text = set_values(kept.data.decode("utf-8-sig"), values, file=FILE)
    return _saved(kept, text.encode())


def undo_job(kept: KeptJob) -> KeptJob:
    """Bring back the version before the last change; done twice, it is redone.

    Raises
    ------
    InputError : nothing to undo, or what `change_job` raises.
    """
    before = kept.folder / PREVIOUS
    if not before.is_file():
        raise InputError(f"there is nothing to undo in job '{kept.key}'.")
    return _saved(kept, before.read_bytes())


def copy_job(
    shop_folder: Path | None,
    kept: KeptJob,
    *,
    name: str,
    garments: Mapping[str, int] | None = None,
) -> KeptJob:
    """Copy a job with its artwork: 'same again, on navy'. Proofs and answers stay with the old one.

    garments: quantity by name; the old ones if not given.

    Raises
    ------
    InputError : see `new_job`.
    """
    home = jobs_folder(editable_folder(shop_folder))
    key = slug(name)
    if not key or (home / key).exists():
        raise InputError(f"there is a job '{key}' already; choose another name.")
    values: dict[str, Any] = {"name": name, "again_of": kept.key}
    if garments is not None:
        values |= {"garments": list(garments), "quantity": None}
    with tempfile.TemporaryDirectory(dir=home, prefix=".new-") as made:
        draft = Path(made) / key
        draft.mkdir()
        if kept.artwork is not None:
            _copy(kept.artwork, draft / kept.artwork.name)
        text = set_values(kept.data.decode("utf-8-sig"), values, file=FILE)
        if garments is not None:
            text = set_values(text, {"quantity": dict(garments)}, file=FILE)
        write_whole(draft / FILE, text.encode())
        read_checked(draft / FILE, JobEntry, what="the job")
        _moved(draft, home / key)
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
        if not name or not count.strip().isdecimal() or int(count) < 1:
            raise InputError(f"'{text}' is no garment and quantity; write \"Coal Black=40\".")
        if name in found:
            raise InputError(f"garment '{name}' is given twice.")
        found[name] = int(count)
    return found


def _saved(kept: KeptJob, data: bytes) -> KeptJob:
    with locked(kept.folder / LOCK, what=f"the job '{kept.key}'"):
        now = kept.file.read_bytes()
        if now != kept.data:
            raise InputError(
                f"job '{kept.key}' has been changed by somebody else since it was read; nothing "
                "was saved. Open it again and repeat the change."
            )
        if data != now:
            with tempfile.TemporaryDirectory() as made:
                trial = Path(made) / FILE
                trial.write_bytes(data)
                read_checked(trial, JobEntry, what="the job")
            write_whole(kept.folder / PREVIOUS, now)
            write_whole(kept.file, data)
    entry = read_checked(kept.file, JobEntry, what="the job")
    return KeptJob(folder=kept.folder, data=data, entry=entry)


def _plain_file(artwork: Path) -> str:
    """A file name to keep the artwork by: letters, digits, dots and dashes, its ending kept."""
    if not artwork.is_file():
        raise InputError(f"there is no artwork '{artwork}'.")
    return f"{slug(artwork.stem) or 'artwork'}{artwork.suffix.lower()}"


def _copy(source: Path, target: Path) -> None:
    if source.stat().st_size > MOST_ARTWORK_BYTES:
        raise InputError(f"'{source}' is larger than {MOST_ARTWORK_BYTES // 2**20} MB.")
    shutil.copyfile(source, target)
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def _moved(draft: Path, target: Path) -> None:
    """Give a finished folder its name in one step."""
    try:
        draft.rename(target)
    except OSError as error:
        raise InputError(f"'{target}' cannot be made: {error.strerror}.") from None
