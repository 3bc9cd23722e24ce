"""Where the jobs are worked: any executor of `concurrent.futures`; processes if nothing is said.

A process of the pool works with one thread, heeds no Ctrl-C of its own, and ends with the program
that began it, however that one ends.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

THREADS = (
    "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Pool:
    """How to open an executor, and what may be asked of it.

    open: a context that gives one, anew each time, and ends its work when it is left. width: how
    many workers it has. deadly: what a task raises whose worker died; a `BrokenExecutor` is of all
    its tasks. carry: whether artworks travel with their tasks; else workers read their files.
    through: a folder all see that they and their results go through instead.
    """

    open: Callable[[], AbstractContextManager[Executor]]
    width: int
    deadly: tuple[type[BaseException], ...] = (BrokenExecutor,)
    carry: bool = False
    through: Path | None = None


def process_pool(workers: int | None = None) -> Pool:
    """Processes on this machine, as many as it has cores for this program if not given."""
    width = workers or _cores()
    return Pool(open=lambda: _processes(width), width=width)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _processes(width: int) -> Iterator[Executor]:
    # a fork would copy threads that hold locks
    context = multiprocessing.get_context("spawn")
    theirs, ours = context.Pipe(duplex=False)
    with _one_thread():
        executor = ProcessPoolExecutor(
            width, mp_context=context, initializer=_begin, initargs=(theirs,)
        )
        try:
            yield executor
        except BaseException:
            ours.close()  # whoever works stops at once
            raise
        finally:
            executor.shutdown(cancel_futures=True)
            ours.close()
            theirs.close()


@contextmanager
def _one_thread() -> Iterator[None]:
    """Processes begun inside compute with one thread each."""
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _begin(parent: Connection) -> None:
    """Begin a worker: the pipe ends with the program that began it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def watch() -> None:
        parent.poll(None)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
