"""Programs killed while they write, and several that write at once.

After a kill every file is as it was before or after, databases are sound, and the next save works.
Of several writers each is told the truth: what it was told is saved is there.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import time
import tomllib
from collections.abc import Callable, Hashable
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from inksim.calibration import add_rows, calibrate_shop, keep, marks_ever, remove_row, rows_kept
from inksim.calibration.print_rows import PrintRow, read_print_rows
from inksim.colour import Viewing
from inksim.common import InputError
from inksim.drawdowns import fit_sheet, inks_drafted, read_drawdowns
from inksim.ledger import (
    change_job,
    copy_job,
    issue_proof,
    keep_decision,
    kept_keys,
    last_decision,
    new_job,
    open_job,
    undo_job,
)
from inksim.ledger.promises import missing_numbers, sealed_proofs
from inksim.shop import (
    go_back,
    last_change,
    load_shop,
    open_draft,
    save,
    settings_drafted,
    undo,
    versions,
)
from inksim.shop.load import FILES
from tests.attack.engine import Broken, Suite
from tests.attack.world import DAY, World
from tests.calibration.test_history import a_row

Op = Callable[[Path], object]
State = dict[str, Hashable]
TODAY = DAY.isoformat()


def operations(world: World) -> dict[str, Op]:
    """What writes in a shop's folder, by name; what it takes long to work out is worked out."""
    place, shop = world.place, world.shop
    promised = world.promised()
    sheet = read_drawdowns([place.drawdowns])
    fitted = fit_sheet(sheet, solids=dict.fromkeys(sheet.inks, 0.3))
    prints = [replace(r, name=f"{r.name} b", weight=2.0) for r in
              read_print_rows(place.readings, shop=shop).rows]  # fmt: skip
    found = calibrate_shop(shop, prints, keep_all=True, day=TODAY)
    fresh = [a_row(at) for at in range(3)]

    def characterised(folder: Path) -> None:
        named = {ink: f"{ink} of the sheet" for ink in sheet.inks}
        stated = {"solids_by_volume": dict.fromkeys(sheet.inks, 0.3)}
        save(inks_drafted(open_draft(folder, "ink"), fitted, named, sheet=sheet, shop=shop,
                          stated=stated, date=TODAY, anyway=True))  # fmt: skip

    def settings(folder: Path) -> None:
        texts = ["costs.labor_per_hour=25", "press.stations=9"]
        for draft in settings_drafted(folder, texts, shop=shop, said="any"):
            save(draft)

    def older(folder: Path) -> None:
        path = folder / "shop.toml"
        text = path.read_text("utf-8")
        if "format = 1\n" not in text:
            raise AssertionError("an operation on a shop of the format before")
        save(open_draft(folder, "garment").remove("garment", "Mist Gray"))

    def added(folder: Path) -> None:
        entry = {"name": "Fern", "hex": "#35523a"}
        save(open_draft(folder, "target").add("target", entry))

    kept: Callable[[Path], Any] = lambda folder: open_job(folder, "mill-logo")  # noqa: E731
    return {
        "save": added,
        "save an older shop": older,
        "settings": settings,
        "undo": lambda folder: undo(folder, "targets.toml", anyone=True),
        "import": lambda folder: add_rows(folder, fresh, date=TODAY),
        "remove a reading": lambda folder: remove_row(folder, 1),
        "characterize": characterised,
        "calibrate": lambda folder: keep(folder, found, prints, day=TODAY),
        "press back": lambda folder: go_back(folder, day=TODAY, number=0),
        "job new": lambda folder: new_job(
            folder, name="Another", artwork=place.art, garments={"Coal Black": 3}
        ),
        "job set": lambda folder: change_job(kept(folder), {"client": "Weir Mill"}),
        "job copy": lambda folder: copy_job(folder, kept(folder), name="Again"),
        "job undo": lambda folder: undo_job(kept(folder), anyone=True),
        "decision": lambda folder: keep_decision(
            kept(folder), load_shop(folder), {"any": 1}, made=TODAY, program="any"
        ),
        "proof": lambda folder: issue_proof(
            load_shop(folder), promised, design="another", viewing=Viewing(), day=DAY
        ),
    }


def state(folder: Path) -> State:
    """What a shop's folder says, by part; raises where a part cannot be read."""
    load_shop(folder)
    said: State = {
        file: repr(tomllib.loads((folder / file).read_text("utf-8"))) for file in FILES
        if (folder / file).exists()
    }  # fmt: skip
    said["readings"] = tuple(sorted(each.row.mark for each in rows_kept(folder)))
    said["readings ever"] = tuple(sorted(marks_ever(folder)))
    said["proofs"] = tuple((p.number, p.design, p.mark, p.altered) for p in sealed_proofs(folder))
    said["proofs missing"] = missing_numbers(folder)
    said["press"] = tuple((v.number, v.day, v.readings) for v in versions(folder))
    keys = kept_keys(folder)
    for key in sorted({*keys, "another", "again"}):
        job = open_job(folder, key) if key in keys else None
        said[f"job {key}"] = repr(job.entry) if job else None
        if job and job.artwork is not None:
            said[f"artwork {key}"] = job.artwork.read_bytes()
        decided = last_decision(job) if job else None
        said[f"decided {key}"] = decided.made if decided else None
        if job:
            str(job.last_change)
    for file in FILES:
        last_change(folder, file)
    return said


def _sound(folder: Path) -> None:
    for file in ("history.sqlite", "promises.sqlite"):
        with closing(sqlite3.connect(folder / file)) as base:
            said = base.execute("PRAGMA integrity_check").fetchone()[0]
        if said != "ok":
            raise Broken(f"integrity of {file}: {said}")


@dataclass
class _Counter:
    """Counts what a process does with files, and kills it at one of them."""

    count: int = 0
    at: int = 0
    on: bool = False

    def __call__(self, event: str, _: Any) -> None:
        if self.on and (
            event in ("open", "sqlite3.connect") or event.startswith(("os.", "shutil."))
        ):
            self.count += 1
            if self.count == self.at:
                os.kill(os.getpid(), signal.SIGKILL)


COUNTER = _Counter()


def _in_child(action: Callable[[], object]) -> int:
    """Run in a fork; return its exit code, 0 for done, 2 for an InputError."""
    pid = os.fork()
    if pid == 0:
        code = 3
        try:
            signal.setitimer(signal.ITIMER_PROF, 0)
            action()
            code = 0
        except InputError:
            code = 2
        finally:
            os._exit(code)
    return pid


def _wait(pid: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


@dataclass(frozen=True, kw_only=True)
class _Known:
    """An operation left alone: the states before and after, files touched, seconds."""

    before: State
    after: State
    touched: int
    seconds: float


def _prepared(world: World, name: str, folder: Path) -> Path:
    """A copy of the shop, of the older format where the operation is on one."""
    shop = folder / "shop"
    shutil.copytree(world.place.shop, shop)
    if name == "save an older shop":
        path = shop / "shop.toml"
        text = path.read_text("utf-8")
        path.write_text(text.replace("format = 2\n", "format = 1\n"), encoding="utf-8")
    return shop


def _known(world: World, name: str, act: Op, home: Path) -> _Known:
    folder = home / f"known-{name.replace(' ', '-')}"
    folder.mkdir()
    shop = _prepared(world, name, folder)
    before = state(shop)
    COUNTER.count, COUNTER.at, COUNTER.on = 0, 0, True
    start = time.perf_counter()
    try:
        act(shop)
    finally:
        COUNTER.on = False
    seconds = time.perf_counter() - start
    after = state(shop)
    if before == after:
        raise AssertionError(f"'{name}' changes nothing that is looked at")
    return _Known(before=before, after=after, touched=COUNTER.count, seconds=seconds)


def _killed(rng: random.Random, act: Op, known: _Known, shop: Path, *, timed: bool) -> None:
    """Run an operation and kill it: at a file it touches, or after a while."""

    def doomed() -> None:
        if not timed:
            COUNTER.count, COUNTER.at, COUNTER.on = 0, rng.randint(1, known.touched), True
        act(shop)

    pid = _in_child(doomed)
    if timed:
        time.sleep(rng.uniform(0, 1.3 * known.seconds))
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    _wait(pid)


def _check(known: _Known, shop: Path, *, what: str) -> State:
    try:
        now = state(shop)
    except Exception as error:
        raise Broken(f"{what}: unreadable afterwards: {type(error).__name__}: {error}") from error
    for part in {**known.before, **known.after}:
        if now.get(part) not in (known.before.get(part), known.after.get(part)):
            raise Broken(f"{what}: {part} is neither as before nor as after: {now.get(part)!r}")
    _sound(shop)
    return now


def _go_on(world: World, name: str, act: Op, shop: Path, *, done: bool) -> None:
    """What was killed is done again, unless it was done; and other saves work."""
    what = f"after a kill in {name}"
    try:
        act(shop)
    except InputError as error:
        if not done:
            raise Broken(f"{what}: cannot be done again: {error}") from error
    except AssertionError:
        if not done:
            raise
    try:
        save(open_draft(shop, "target").add("target", {"name": "Later", "hex": "#123456"}))
        add_rows(shop, [a_row(77)], date=TODAY)
        change_job(open_job(shop, "mill-logo"), {"reference": "later"})
        issue_proof(load_shop(shop), world.promised(), design="later", viewing=Viewing(), day=DAY)
    except InputError as error:
        raise Broken(f"{what}: the next save fails: {error}") from error
    last = state(shop)
    if "Later" not in str(last["targets.toml"]):
        raise Broken(f"{what}: the next save is not there")


# -- several at once


def _written(at: int, shop: Path, world: World, told: Path, row: Callable[[int], PrintRow]) -> None:
    """What one of several writers does; it notes what it was told is saved."""
    done: list[str] = []
    for n in range(2):
        name = f"w{at}-{n}"
        acts: dict[str, Callable[[], object]] = {
            f"target {name}": lambda name=name: save(  # type: ignore[misc]
                open_draft(shop, "target").add("target", {"name": name, "hex": "#123456"})
            ),
            f"row {name}": lambda n=n: add_rows(shop, [row(10 * at + n)], date=TODAY),  # type: ignore[misc]
            f"job {name}": lambda name=name: change_job(  # type: ignore[misc]
                open_job(shop, "mill-logo"), {"note": name}
            ),
            f"proof {name}": lambda name=name: issue_proof(  # type: ignore[misc]
                load_shop(shop), world.promised(), design=name, viewing=Viewing(), day=DAY
            ),
            f"new {n}": lambda n=n: new_job(  # type: ignore[misc]
                shop, name=f"new {n}", artwork=world.place.art, garments={"Coal Black": 1}
            ),
        }
        for what, act in acts.items():
            try:
                act()
                done.append(what)
            except InputError as error:
                if "target" not in what and "job" not in what and "new" not in what:
                    raise AssertionError(f"{what} was refused: {error}") from error
    told.write_text(json.dumps(done), encoding="utf-8")


def _together(rng: random.Random, world: World, folder: Path) -> None:
    shop = _prepared(world, "", folder)
    count = rng.choice((2, 4))
    files = [folder / f"told-{at}" for at in range(count)]
    pids = []
    for at, told in enumerate(files):
        pids.append(_in_child(lambda at=at, told=told: _written(at, shop, world, told, a_row)))  # type: ignore[misc]
        time.sleep(rng.choice((0, 0, 0.01)))
    codes = [_wait(pid) for pid in pids]
    if any(codes):
        raise Broken(f"{count} writers: one ends with {max(codes)}")
    said = [what for told in files for what in json.loads(told.read_text("utf-8"))]
    now = state(shop)
    _sound(shop)
    marks = {a_row(10 * at + n).mark for at in range(count) for n in range(2)}
    if not marks <= set(now["readings"]):  # type: ignore[arg-type]
        raise Broken(f"{count} writers: a reading is lost")
    proofs = {design for _, design, _, _ in now["proofs"]}  # type: ignore[attr-defined]
    notes = [what for what in said if what.startswith("job")]
    for what in said:
        kind, _, name = what.partition(" ")
        there = {
            "target": f"'{name}'" in str(now["targets.toml"]),
            "proof": name in proofs,
            "new": f"job new-{name}" in now,
            "job": any(note.removeprefix("job ") in str(now["job mill-logo"]) for note in notes),
        }.get(kind, True)
        if not there:
            raise Broken(f"{count} writers: {kind} that was saved is not there")
    for n in range(2):
        if sum(what == f"new {n}" for what in said) > 1:
            raise Broken(f"{count} writers: two made the same job")


def suites(world: World, *, seed: int) -> list[Suite]:
    """A suite of kills, one of writers."""
    acts = operations(world)
    sys.addaudithook(COUNTER)
    home = world.home / "known"
    home.mkdir()
    known = {name: _known(world, name, act, home) for name, act in acts.items()}
    names = list(acts)

    def killed(at: int, folder: Path) -> None:
        rng = random.Random(f"{seed} kill {at}")
        name = names[at % len(names)]
        shop = _prepared(world, name, folder)
        timed = rng.random() < (0.7 if name in ("import", "remove a reading", "proof") else 0.25)
        _killed(rng, acts[name], known[name], shop, timed=timed)
        now = _check(known[name], shop, what=f"kill in {name}")
        _go_on(world, name, acts[name], shop, done=now != known[name].before)

    def together(at: int, folder: Path) -> None:
        _together(random.Random(f"{seed} writers {at}"), world, folder)

    return [
        Suite(name="kills", weight=7, attempt=killed, batch=8, cpu_s=60, memory_mb=1500),
        Suite(name="writers at once", weight=1.2, attempt=together, batch=2, cpu_s=60,
              memory_mb=1500),
    ]  # fmt: skip
