"""What was decided last for a kept job, and from which versions of everything it rests on."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inksim.common import InputError, check_may_change, json_of, json_text, write_whole
from inksim.ledger.kept_job import KeptJob
from inksim.shop import Shop, keep_before, versions

FILE = "decided.json"
RESTS_ON = (
    "inks.toml", "garments.toml", "screens.toml", "press.toml", "rules.toml", "costs.toml",
)  # fmt: skip
"""The files of a shop that every decision rests on."""
TARGETS = "targets.toml"
"""The one that only a job that names a target of the shop rests on."""
PRESS = "press version"


@dataclass(frozen=True, kw_only=True)
class Decided:
    """What `keep_decision` wrote last of a kept job.

    made: ISO date and time. rests_on: SHA-256 by file, and the press's version. said: the whole
    file, what the decision was and with these two.
    """

    made: str
    rests_on: Mapping[str, Any]
    said: Mapping[str, Any]

    def changed(self, kept: KeptJob, shop: Shop) -> tuple[str, ...]:
        """Say what has changed of what it rests on: files by name, in words."""
        now = rests_on(kept, shop)
        names = [name for name in {**self.rests_on, **now} if name != PRESS]
        said = [name for name in names if self.rests_on.get(name) != now.get(name)]
        before, press = self.rests_on.get(PRESS), now[PRESS]
        if before != press:
            said = [*(s for s in said if s != "press.toml"), f"press version {before} → {press}"]
        return tuple(said)


def shop_versions(shop: Shop) -> dict[str, Any]:
    """SHA-256 of each file of a shop that a decision rests on, and the press's version."""
    assert shop.folder is not None
    made: dict[str, Any] = {}
    for name in RESTS_ON:
        if (shop.folder / name).is_file():
            made[name] = hashlib.sha256((shop.folder / name).read_bytes()).hexdigest()
    return made | {PRESS: next(each.number for each in versions(shop.folder) if each.current)}


def rests_on(kept: KeptJob, shop: Shop) -> dict[str, Any]:
    """What a decision rests on: the job's file and artwork, then `shop_versions`."""
    assert shop.folder is not None
    targets = [TARGETS] if any(colour.target for colour in kept.entry.color) else []
    art = [] if kept.artwork is None else [kept.artwork]
    files = [*art, *(shop.folder / name for name in targets)]
    made: dict[str, Any] = {kept.file.name: hashlib.sha256(kept.data).hexdigest()}
    made |= {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in files if path.is_file()
    }
    return made | shop_versions(shop)


def keep_decision(
    kept: KeptJob, shop: Shop, said: Mapping[str, Any], *, made: str, program: str
) -> Path:
    """Write what was decided into the job's folder, with what it rests on: the file.

    What was decided before is kept.

    said: as JSON has it. made: ISO date and time. program: the version of inksim.

    Raises
    ------
    InputError : the folder cannot be written to, or nothing may be changed here.
    """
    check_may_change(f"job '{kept.key}'")
    whole = {"made": made, "program": program, "rests_on": rests_on(kept, shop), **said}
    path = kept.folder / FILE
    if path.is_file():
        keep_before(kept.folder, FILE, path.read_bytes(), what="decided the job")
    write_whole(path, f"{json_text(whole)}\n".encode())
    return path


def last_decision(kept: KeptJob) -> Decided | None:
    """What was decided last; None if nothing was.

    Raises
    ------
    InputError : the file is not what `keep_decision` writes.
    """
    path = kept.folder / FILE
    if not path.is_file():
        return None
    try:
        whole = json_of(path.read_bytes())
        garments = whole.get("garments", [])
        if not isinstance(garments, list) or not all(isinstance(each, dict) for each in garments):
            raise InputError("not what was decided of garments")
        return Decided(made=str(whole["made"]), rests_on=dict(whole["rests_on"]), said=whole)
    except (InputError, ValueError, KeyError, TypeError):
        raise InputError(
            f"'{path}' is not what inksim keeps of a decision; delete it and run 'inksim advise "
            f"{kept.key}' again."
        ) from None
