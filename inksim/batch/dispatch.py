"""Hand chunks to workers, a few at a time, and go on whatever happens to one of them."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    wait,
)
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from functools import cache

from inksim.batch.chunks import Chunk
from inksim.batch.pool import Pool
from inksim.batch.task import ItemOutcome, TaskOutcome
from inksim.batch.work import work
from inksim.common import InputError, cut

TASKS_EACH = 2
"""Tasks that wait or work, for each worker: more would only take memory."""
MOST_DEATHS = 2
"""Workers that a job may take with it, alone, before it is left."""
MOST_BREAKS = 20
"""Pools that may break one after another with nothing done between."""
TICK_S = 7.5

Opened = Callable[[], Executor]
"""The executor of a pool, opened when it is first asked for."""


@dataclass(kw_only=True, eq=False)
class Dispatch:
    """Chunks on their way to workers and back.

    finished: takes what became of a chunk. tick: is called every few seconds. suspects: chunks of
    one job whose worker died, or whose pool broke: nobody knows whose fault it was, so that each is
    tried with nothing beside it. left: what workers handed back unworked.
    """

    pool: Pool
    finished: Callable[[Chunk, TaskOutcome], None]
    tick: Callable[[], None]
    breaks: int = 0
    suspects: deque[Chunk] = field(default_factory=deque)
    left: deque[Chunk] = field(default_factory=deque)
    working: dict[Future[TaskOutcome], Chunk] = field(default_factory=dict)
    _chunks: Iterator[Chunk | None] = iter(())
    _more: bool = False

    def work(self, chunks: Iterator[Chunk | None]) -> None:
        """Work all chunks; None among them: wait until some task is back before the next.

        Raises
        ------
        InputError : a task got lost, or pools break again and again.
        """
        self._chunks, self._more = chunks, True
        while self._unsubmitted:
            with _opening(self.pool) as opened:
                whole = True
                while whole and (self._unsubmitted or self.working):
                    whole = self._submit_all(opened) and self._collect()

    @property
    def window(self) -> int:
        """Most tasks that are submitted at a time."""
        return TASKS_EACH * self.pool.width

    @property
    def _unsubmitted(self) -> bool:
        return self._more or bool(self.suspects or self.left)

    def _submit_all(self, opened: Opened) -> bool:
        """Submit what may be submitted; return whether the pool is whole."""
        while (chunk := self._next()) is not None:
            try:
                self.working[opened().submit(work, chunk.task)] = chunk
            except BrokenExecutor:
                self.suspects.extend(chunk.single())
                self._broke()
                return False
        return True

    def _next(self) -> Chunk | None:
        """What may be submitted now: a suspect alone, or a chunk while there is room."""
        if self.suspects:
            return None if self.working else self.suspects.popleft()
        if len(self.working) >= self.window:
            return None
        if self.left:
            return self.left.popleft()
        if not self._more:
            return None
        try:
            return next(self._chunks)
        except StopIteration:
            self._more = False
            return None

    def _collect(self) -> bool:
        """Wait for some task and take its result; return whether the pool is whole."""
        done, _ = wait(self.working, timeout=TICK_S, return_when=FIRST_COMPLETED)
        self.tick()
        taken = {future: self.working.pop(future) for future in done}
        alone = len(taken) == 1 and not self.working
        whole = [self._take(future, chunk, alone=alone) for future, chunk in taken.items()]
        if all(whole):
            return True
        self._broke()
        return False

    def _take(self, future: Future[TaskOutcome], chunk: Chunk, *, alone: bool) -> bool:
        """Take a task's result, or note its worker's death; return whether the pool is whole."""
        error = CancelledError() if future.cancelled() else future.exception()
        if error is None:
            self.breaks = 0
            self.finished(chunk, outcome := future.result())
            if left := chunk.left_by(outcome):
                self.left.append(left)
        elif isinstance(error, self.pool.deadly):
            self._died(chunk, alone=alone)
        else:  # `work` itself lets nothing out
            raise InputError(
                cut(
                    "a task got lost on its way to a worker or back "
                    f"({type(error).__name__}: {error}); what is done is kept, run it again."
                )
            )
        return not isinstance(error, BrokenExecutor)

    def _died(self, chunk: Chunk, *, alone: bool) -> None:
        """A worker died at a chunk: its jobs are tried alone, one that was alone only so often."""
        if not (alone and len(chunk.task.items) == 1):
            self.suspects.extend(chunk.single())
            return
        deaths = chunk.deaths + 1
        if deaths < MOST_DEATHS:
            self.suspects.append(replace(chunk, deaths=deaths))
            return
        why = (
            f"the worker died of it {deaths} times, perhaps for want of memory; make the picture "
            "smaller and run again with --retry."
        )
        lost = ItemOutcome(key=chunk.task.items[0].key, fault=why)
        self.finished(chunk, TaskOutcome(items=[lost]))

    def _broke(self) -> None:
        """The pool broke: whatever it had is suspect."""
        for chunk in self.working.values():
            self.suspects.extend(chunk.single())
        self.working.clear()
        self.breaks += 1
        if self.breaks >= MOST_BREAKS:
            raise InputError(
                f"workers died {self.breaks} times with nothing done between; what is done is "
                "kept. Give fewer --workers, or look at the machine's memory."
            )


@contextmanager
def _opening(pool: Pool) -> Iterator[Opened]:
    """A pool that is opened when its executor is first asked for, and closed after."""
    with ExitStack() as stack:
        yield cache(lambda: stack.enter_context(pool.open()))
