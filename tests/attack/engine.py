"""Run cases in children forked from one warmed parent, with limits of time and memory.

A child runs some cases one after the other and tells each result through a pipe. Where it dies or
hangs, the case it was at is at fault, and another child goes on behind it.
"""

from __future__ import annotations

import faulthandler
import gc
import json
import os
import re
import resource
import select
import shutil
import signal
import tempfile
import time
import traceback
import unicodedata
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from inksim.common import InputError
from inksim.common.outward import terminal

LONGEST_FAULT = 300
"""Characters of a message for each fault it tells."""
CPU_S, WALL_S = 10.0, 60.0
ROOT = Path(__file__).parents[2]
PYTHONS_WORDS = re.compile(
    r"Traceback|object has no attribute|codec can't (?:de|en)code|NoneType|<class '|object at 0x"
    r"|invalid literal for|could not convert string|unpack requires|index out of range|Errno"
    r"|out of bounds for axis|must be str|bytes-like|positional argument|not subscriptable"
    r"|not supported between|unsupported operand|surrogates not allowed|cannot unpack|\bKeyError"
    r"|\b\w+Error:|maximum recursion|object is not|integer division|int too large|OverflowError"
)
_TURNS_TEXT = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u2028\u2029")


class Broken(Exception):
    """A promise that a case found broken."""


@dataclass(frozen=True, kw_only=True)
class Result:
    """How a case ended. fault: '' if well; where: what tells it from other faults."""

    at: int
    fault: str = ""
    where: str = ""
    cpu_s: float = 0.0
    grown_mb: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Suite:
    """Cases of one kind, counted from 0.

    attempt : one case, in a folder of its own; raises InputError, or nothing, where all is well.
    content : the file that a case is about, to be written out where it fails; None without one.
    attempt_with : the case with another content, for a smaller one that fails too.
    weight : its cases for each 1000 of all. most: of them at all, None without end.
    batch : cases that one child runs. quiet: whether nothing may be written to stderr.
    """

    name: str
    attempt: Callable[[int, Path], object]
    content: Callable[[int], bytes] | None = None
    attempt_with: Callable[[int, bytes, Path], object] | None = None
    suffix: str = ""
    weight: float
    memory_mb: float = 500.0
    cpu_s: float = CPU_S
    batch: int = 80
    quiet: bool = True
    covers: tuple[str, ...] = field(default=())


def message_fault(text: str, *, scratch: str = "", longest: int = LONGEST_FAULT) -> str:
    """What is wrong with the words of a message; '' if nothing. longest: characters of a fault."""
    for line in text.split("\n"):
        if len(line) > longest + len("inksim: "):
            return f"message of {len(line)} characters"
    for char in text:
        if char in _TURNS_TEXT or (unicodedata.category(char) in ("Cc", "Cs") and char != "\n"):
            return f"message holds {unicodedata.name(char, f'U+{ord(char):04X}')}"
    if found := PYTHONS_WORDS.search(text):
        return f"message holds Python's '{found[0]}'"
    if scratch and scratch in text:
        return "message names a temporary file"
    return ""


def _place_of(error: BaseException) -> str:
    """Where inksim was when the error came up."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if f"{os.sep}inksim{os.sep}" in f.filename] or frames
    if not own:
        return "?"
    last = own[-1]
    with suppress(ValueError):
        return f"{Path(last.filename).relative_to(ROOT)}:{last.lineno}"
    return f"{Path(last.filename).name}:{last.lineno}"


def _without_numbers(text: str) -> str:
    return re.sub(r"[0-9A-F]*\d[0-9A-F]*", "N", text)


def judged(action: Callable[[], object], *, scratch: str = "") -> tuple[str, str]:
    """Run a case: what is wrong with it ('' if nothing), and what tells that from other faults."""
    fault = where = ""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        warnings.filterwarnings("ignore", "unclosed", ResourceWarning)
        try:
            action()
        except InputError as error:
            # as it leaves: what a name in it hides is shown by whoever prints it
            if bad := message_fault(terminal(str(error)), scratch=scratch):
                kind = _without_numbers(bad)
                fault, where = f"{bad}: {str(error)[:600]!r}", f"{kind} at {_place_of(error)}"
        except Broken as error:
            fault, where = str(error), _without_numbers(str(error).split(":")[0])
        except BaseException as error:  # a reader that ends its program is at fault as well
            said = "".join(traceback.format_exception(error))[-3000:]
            fault, where = said, f"{type(error).__name__} at {_place_of(error)}"
    if caught and not fault:
        one = caught[0]
        fault = f"warning {one.category.__name__}: {one.message} ({one.filename}:{one.lineno})"
        where = f"{one.category.__name__} {Path(one.filename).name}:{one.lineno}"
    return fault, where


def _peak_mb() -> float:
    with Path("/proc/self/status").open(encoding="ascii") as status:
        for line in status:
            if line.startswith("VmHWM"):
                return int(line.split()[1]) / 1024
    return 0.0


def _cpu_s() -> float:
    used = [resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def _limit(memory_mb: float) -> None:
    """Let this process grow by so much more, with what a library may ask for and never use."""
    now = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (now + int((memory_mb + 1500) * 2**20), hard))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _child(pipe: int, suite: Suite, indices: Sequence[int], folder: Path) -> None:
    os.dup2(os.open(os.devnull, os.O_RDWR), 1)
    os.dup2(os.open(folder / "stderr", os.O_RDWR | os.O_CREAT | os.O_APPEND), 2)
    faulthandler.disable()
    os.setpgid(0, 0)
    scratch = folder / "scratch"
    scratch.mkdir()
    tempfile.tempdir = str(scratch)
    _limit(suite.memory_mb)
    for at in indices:
        os.chdir(folder)
        os.write(pipe, f"{at}\n".encode())
        own = folder / f"case-{at}"
        own.mkdir()
        os.chdir(own)  # where a path that a case makes up begins
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
        peak, cpu = _peak_mb(), _cpu_s()
        signal.setitimer(signal.ITIMER_PROF, suite.cpu_s)
        fault, where = judged(lambda at=at, own=own: suite.attempt(at, own), scratch=str(scratch))  # type: ignore[misc]
        signal.setitimer(signal.ITIMER_PROF, 0)
        used, grown = _cpu_s() - cpu, _peak_mb() - peak
        if not fault and suite.quiet and os.fstat(2).st_size:
            said = (folder / "stderr").read_text("utf-8", "replace")[:1000]
            fault, where = f"writes to stderr: {said}", f"stderr: {_without_numbers(said)[:60]}"
        os.ftruncate(2, 0)
        if not fault and used > suite.cpu_s:
            fault = where = f"takes more than {suite.cpu_s:g} s"
        if not fault and grown > suite.memory_mb:
            fault = where = f"takes more than {suite.memory_mb:g} MB"
        told = {"at": at, "fault": fault, "where": where, "cpu_s": used, "grown_mb": grown}
        os.write(pipe, json.dumps(told).encode() + b"\n")
        shutil.rmtree(own, ignore_errors=True)


@dataclass(kw_only=True)
class _Running:
    """A child at work. left: the cases that it has not told of."""

    pid: int
    pipe: int
    suite: Suite
    left: list[int]
    folder: Path
    heard: float
    rest: bytes = b""


def _start(suite: Suite, indices: list[int], home: Path) -> _Running:
    folder = Path(tempfile.mkdtemp(dir=home))
    reads, writes = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.close(reads)
            _child(writes, suite, indices, folder)
        finally:
            os._exit(0)
    os.close(writes)
    return _Running(
        pid=pid, pipe=reads, suite=suite, left=list(indices), folder=folder,
        heard=time.monotonic(),
    )  # fmt: skip


def _hear(child: _Running) -> list[Result] | None:
    """Results that a child has told since; None when it has ended."""
    data = os.read(child.pipe, 65536)
    if not data:
        return None
    child.heard = time.monotonic()
    *lines, child.rest = (child.rest + data).split(b"\n")
    told = [Result(**json.loads(line)) for line in lines if line.startswith(b"{")]
    for result in told:
        child.left.remove(result.at)
    return told


def _ended(child: _Running, *, hung: bool) -> Result | None:
    """Clear up behind a child; the result of the case that it died of, if it did."""
    os.close(child.pipe)
    with suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)
    _, status = os.waitpid(child.pid, 0)
    shutil.rmtree(child.folder, ignore_errors=True)
    if not child.left:
        return None
    code = os.waitstatus_to_exitcode(status)
    if hung:
        fault = f"hangs for {WALL_S:g} s"
    elif code == -signal.SIGPROF:
        fault = f"takes more than {child.suite.cpu_s:g} s"
    else:
        fault = f"its process ends with {code}"
    return Result(at=child.left.pop(0), fault=fault, where=fault)


def results(
    work: Iterable[tuple[Suite, Sequence[int]]], *, home: Path, processes: int
) -> Iterator[tuple[Suite, Result]]:
    """Run batches of cases, some processes at a time, and tell the results as they come."""
    todo = ((suite, list(indices)) for suite, indices in work)
    again: list[tuple[Suite, list[int]]] = []
    running: list[_Running] = []
    gc.collect()
    gc.freeze()  # what the parent holds is not written to by a child's collector
    while True:
        while len(running) < processes:
            batch = again.pop() if again else next(todo, None)
            if batch is None:
                break
            running.append(_start(batch[0], batch[1], home))
        if not running:
            return
        ready, _, _ = select.select([child.pipe for child in running], [], [], 1.0)
        for child in list(running):
            told: list[Result] | None = []
            if child.pipe in ready:
                told = _hear(child)
            hung = time.monotonic() - child.heard > WALL_S
            for result in told or ():
                yield child.suite, result
            if told is None or hung:
                running.remove(child)
                if died := _ended(child, hung=hung):
                    yield child.suite, died
                if child.left:
                    again.append((child.suite, child.left))


def of_children(
    suite: Suite, indices: Sequence[int], *, home: Path, run: Callable[[int, Path], object]
) -> dict[int, Result]:
    """Results of other cases under a suite's limits, in as few children as go through."""
    other = replace(suite, attempt=run)
    return {at.at: at for _, at in results([(other, indices)], home=home, processes=1)}
