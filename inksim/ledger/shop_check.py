"""A shop of years, looked through as a whole: faults, names that lead nowhere, files nobody reads.

Nothing is changed, and nothing is worked out: no artwork is opened, no color predicted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from inksim.artwork import NOT_PRINTED
from inksim.calibration import PrintRow, history_file, reading_of, rows_kept
from inksim.common import PREVIOUS, InputError, ShopFaults, counted, cut, toml_of
from inksim.drawdowns import CHARTS
from inksim.ledger.decided import FILE as DECIDED, last_decision
from inksim.ledger.kept_job import (
    FILE as JOB_FILE,
    JOBS,
    LOCK,
    PROOFS,
    KeptJob,
    kept_keys,
    open_job,
)
from inksim.ledger.promises import missing_numbers, promises_file, sealed_proofs
from inksim.ledger.uses import names_of
from inksim.shop import (
    FILES,
    LAMPS,
    PRESS_HISTORY,
    Shop,
    archived,
    is_demo,
    lamp_files,
    load_shop,
    versions,
)

NAMED = 5
"""How many of a kind are named; the rest are counted."""
OF_THE_DEMO = {"artwork", "readings", "invented-record.csv"}
BESIDE = ("-wal", "-shm")
"""What sqlite keeps beside its file while it works."""


@dataclass(frozen=True, kw_only=True)
class ShopCheck:
    """What a look through a shop found. faults: to be mended; notes: to know of."""

    faults: tuple[str, ...]
    notes: tuple[str, ...]


def check_shop(folder: Path) -> ShopCheck:
    """Look through a shop's folder.

    Raises
    ------
    InputError : there is no such folder, or it may not be read.
    """
    faults: list[str] = []
    shop = None
    try:
        shop = load_shop(folder)
    except ShopFaults as error:
        faults += error.faults
    faults += [*_press(folder), *_jobs(folder, shop), *_readings(folder, shop), *_proofs(folder)]
    notes = [*_unread(folder), *_lots(folder, shop), *(_cloths(shop) if shop else ())]
    if shop is None:
        notes.append(
            "names in jobs and readings are looked up once the shop's own faults are mended"
        )
    return ShopCheck(faults=tuple(map(cut, faults)), notes=tuple(map(cut, notes)))


def _said(where: str, look: Callable[[], object]) -> Iterator[str]:
    """Yield the refusal where looking at something is refused."""
    try:
        look()
    except InputError as error:
        yield f"{where}: {error}"


def _press(folder: Path) -> Iterator[str]:
    """Versions of the press, and versions kept for undoing, that cannot be brought back."""
    yield from _said("press-history", lambda: versions(folder))
    homes = [folder, *(path for path in (folder / JOBS).glob("*") if path.is_dir())]
    kept = [path for home in homes for path in (home / PREVIOUS).glob("**/*.toml*")]
    for path in sorted([*(path for path, *_ in archived(folder)), *kept]):
        try:
            toml_of(path.read_bytes())
        except (OSError, InputError) as error:
            yield f"{path.relative_to(folder)}: cannot be brought back, as it is {error}"


def _jobs(folder: Path, shop: Shop | None) -> Iterator[str]:
    keys = kept_keys(folder)
    for key in keys:
        where = f"{JOBS}/{key}"
        try:
            kept = open_job(folder, key)
        except ShopFaults as error:
            yield from (f"{where}: {fault}" for fault in error.faults)
            continue
        except InputError as error:
            yield f"{where}: {error}"
            continue
        if kept.artwork is not None and not kept.artwork.is_file():
            yield f"{where}: its artwork '{kept.artwork.name}' is not there"
        if kept.entry.again_of and kept.entry.again_of not in keys:
            yield f"{where}: it is 'again_of' the job '{kept.entry.again_of}', which is not there"
        yield from _said(where, lambda kept=kept: last_decision(kept))  # type: ignore[misc]
        if shop is not None:
            yield from _names(kept, shop, where)


def _names(kept: KeptJob, shop: Shop, where: str) -> Iterator[str]:
    """Names of a job that the shop does not have."""
    for kind, find in (
        ("garment", shop.garment), ("ink", shop.ink), ("target", shop.target),
    ):  # fmt: skip
        for name in dict.fromkeys(names_of(kept.entry, kind)):
            if name.lower() != NOT_PRINTED:
                yield from _said(where, lambda find=find, name=name: find(name))  # type: ignore[misc]


def _readings(folder: Path, shop: Shop | None) -> Iterator[str]:
    """Readings that are damaged, or of what the shop no longer has."""
    lost: dict[str, list[int]] = {}
    try:
        kept = rows_kept(folder, faulty=True)
    except InputError as error:
        yield str(error)
        return
    for each in kept:
        if each.fault:
            yield f"{history_file(folder).name}, reading {each.number}: it {each.fault}"
        elif shop is not None:
            try:
                reading_of(each.row, shop=shop)
            except InputError as error:
                lost.setdefault(str(error), []).append(each.number)
    for why, numbers in lost.items():
        which = f"{counted(len(numbers), 'reading')} ({_some(map(str, numbers))})"
        yield f"{history_file(folder).name}, {which}: {why}"


def _proofs(folder: Path) -> Iterator[str]:
    name = promises_file(folder).name
    try:
        for proof in sealed_proofs(folder):
            if proof.altered:
                yield f"{name}, proof {proof.number}: {proof.altered}"
        if gone := missing_numbers(folder):
            yield f"{name}: {counted(len(gone), 'proof')} no longer there, {_some(map(str, gone))}"
    except InputError as error:
        yield str(error)


def _lots(folder: Path, shop: Shop | None) -> Iterator[str]:
    """Lots that no usable reading is of: the press knows nothing of them."""
    known: set[str] = set()
    all_: dict[str, None] = {}
    try:
        kept = rows_kept(folder, faulty=True)
    except InputError:
        return  # told as a fault
    for each in kept:
        row = each.row
        base = row.base[0] if row.base else ""
        lots = {
            f"lot '{lot}' of {what}": None
            for lot, what in (
                (row.garment_lot, row.garment), (row.ink_lot, row.ink), (row.base_lot, base),
            )
            if lot
        }  # fmt: skip
        all_ |= lots
        if not each.fault and _usable(row, shop):
            known |= set(lots)
    if alone := [lot for lot in all_ if lot not in known]:
        yield f"no reading that can be used: {_some(alone)}"
    if shop is not None and kept:
        read = {name for each in kept for name in (each.row.ink, (each.row.base or ("",))[0])}
        if unread := [ink for ink in shop.inks if ink not in read]:
            yield f"no reading of a print is kept of {counted(len(unread), 'ink')}: {_some(unread)}"


def _usable(row: PrintRow, shop: Shop | None) -> bool:
    return shop is None or not any(_said("", lambda: reading_of(row, shop=shop)))


def _cloths(shop: Shop) -> Iterator[str]:
    """Names in the shop's files that nothing leads to, or that lead nowhere."""
    assert shop.folder is not None
    garments = toml_of((shop.folder / "garments.toml").read_bytes())
    used = {
        each.get(use) for each in garments.get("garment", []) for use in ("undyed", "discharged")
    }
    unused = [each["name"] for each in garments.get("cloth", []) if each["name"] not in used]
    if unused:
        yield f"garments.toml: no garment names {_many('cloth', unused)}"
    press = toml_of((shop.folder / "press.toml").read_bytes()).get("calibration", {})
    lost = [each["name"] for each in press.get("ink", []) if each["name"] not in shop.inks]
    if lost:
        yield f"press.toml: calibrated strengths of what the shop has no more, {_many('ink', lost)}"


def _unread(folder: Path) -> Iterator[str]:
    """Files that inksim reads on no occasion."""
    own = {*FILES, JOBS, LAMPS, PREVIOUS, PRESS_HISTORY, CHARTS, LOCK}
    own |= OF_THE_DEMO if is_demo(folder) else set()
    for path in (history_file(folder), promises_file(folder)):
        own |= {path.name, *(path.name + more for more in BESIDE)}
    found = [
        path for path in folder.iterdir() if path.name not in own and path.name[:7] != "format-"
    ]
    read = lamp_files(folder)
    found += [p for p in (folder / LAMPS).glob("*") if p not in read]
    of_press = {path for path, *_ in archived(folder)}
    found += [p for p in (folder / PRESS_HISTORY).glob("*") if p not in of_press]
    for job in (folder / JOBS).glob("*"):
        if not job.is_dir():
            found += [] if job.suffix == ".toml" else [job]
        elif not (job / JOB_FILE).is_file():
            found.append(job)
        else:
            found += _beside(job)
    if names := sorted(str(path.relative_to(folder)) for path in found):
        yield f"inksim reads none of these, which are yours to keep or to delete: {_some(names)}"


def _beside(job: Path) -> Iterable[Path]:
    """What is in a job's folder and is none of it."""
    try:
        artwork = open_job(job.parent.parent, job.name).entry.artwork
    except InputError:
        return []
    own = {JOB_FILE, DECIDED, PROOFS, PREVIOUS, LOCK, artwork.file if artwork else JOB_FILE}
    return [path for path in job.iterdir() if path.name not in own]


def _many(what: str, names: list[str]) -> str:
    return f"{counted(len(names), what)}: {_some(names)}"


def _some(names: Iterable[str]) -> str:
    """A few names, and how many more there are."""
    listed = list(names)
    more = len(listed) - NAMED
    return ", ".join(listed[:NAMED]) + (f" and {more} more" if more > 0 else "")
