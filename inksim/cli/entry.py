"""The way in and out of the command line: streams, signals, and click's own messages."""

from __future__ import annotations

import gc
import io
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from types import FrameType
from typing import Any

import click

from inksim.cli.options import BAD_INPUT, STOPPED
from inksim.common import cut, forgive_encodings, settle_streams, tell

TERMINATED = 143
"""128 and the number of SIGTERM, as a shell has it."""

SELDOM = 100_000
"""New objects after which cycles are looked for. Most of a short command's time goes to imports,
which make many objects and hardly a cycle; after every 700 it would cost a twentieth more."""


class Commands(click.Group):
    """A group that ends as inksim's commands do, whoever finds the fault.

    click's own messages leave as all others do; a stream that is full or closed changes no exit
    code of bad input; SIGTERM unwinds, so that nothing unfinished stays.
    """

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """Run, and end the program with its exit code."""
        run = partial(super().main, args, prog_name, complete_var, False, **extra)
        if not standalone_mode:
            return run()
        own_process = args is None
        if own_process:
            gc.set_threshold(SELDOM)
        # Its plugins are looked for in the metadata of every package there is; inksim uses none.
        os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
        forgive_encodings()
        code: Any = None
        try:
            with _unwound_by_sigterm():
                code = run()
        except click.ClickException as error:
            words = io.StringIO()
            error.show(file=words)
            tell(cut(words.getvalue().rstrip("\n")), err=True)
            code = error.exit_code
        except click.Abort:
            tell("inksim: stopped.", err=True)
            code = STOPPED
        except OSError as error:  # of standard output
            tell(f"inksim: cannot write: {error.strerror}.", err=True)
            code = BAD_INPUT
        finally:
            settle_streams()
            if own_process:
                gc.freeze()  # Python looks for cycles once more as it ends, which frees nothing
        sys.exit(code if isinstance(code, int) else 0)


@contextmanager
def _unwound_by_sigterm() -> Iterator[None]:
    """SIGTERM raises SystemExit inside the block, as Ctrl-C raises KeyboardInterrupt."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: FrameType | None) -> None:
        raise SystemExit(TERMINATED)

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
