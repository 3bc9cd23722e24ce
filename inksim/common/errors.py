"""The errors inksim raises. Every message is one sentence a shop can act on."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

from inksim.common.wording import counted


class InksimError(Exception):
    """Base of all errors that inksim raises itself."""


LONGEST = 300
"""Characters of one fault: what is longer is cut in its middle."""
_LONG_WORD = re.compile(r"(?<=\S{40})\S{20,}(?=\S{9})")


class InputError(InksimError):
    """The input is wrong: the message says what, where, the value, what is allowed, what next.

    A message is a sentence or more for a person to read; `str(error)` is it. Each fault stands in
    a line of its own, of at most `LONGEST` characters, however long what it quotes is.
    """

    def __init__(self, message: str = "") -> None:
        super().__init__("\n".join(_cut(line) for line in message.split("\n")))


def _cut(line: str) -> str:
    if len(line) > LONGEST:
        line = _LONG_WORD.sub("…", line)
    if len(line) > LONGEST:
        line = f"{line[: LONGEST // 2 - 2].rstrip()} … {line[1 - LONGEST // 2 :].lstrip()}"
    return line


class ShopFaults(InputError):
    """A shop folder, or what else `what` says, has faults: all at once, as 'file, entry: fault'."""

    def __init__(self, faults: Iterable[str], *, what: str = "the shop") -> None:
        self.faults: tuple[str, ...] = tuple(_cut(fault) for fault in faults)
        super().__init__(
            f"{what} has {counted(len(self.faults), 'fault')}:\n"
            + "\n".join(f"  {f}" for f in self.faults)
        )


def shortened(text: str, most: int = 60) -> str:
    """A text for a message: cut to at most so many characters, and marked where it is."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def unknown(
    name: str, known: Iterable[str], *, what: str, where: str = "in this shop"
) -> InputError:
    """Error for an unknown name: suggests the nearest known one, else lists them all."""
    names = list(dict.fromkeys(known))
    lowered = {n.lower(): n for n in names}
    near = difflib.get_close_matches(name.lower(), list(lowered), n=1, cutoff=0.5)
    head = f"there is no {what} '{shortened(name)}' {where}"
    if near:
        return InputError(f"{head}; did you mean '{lowered[near[0]]}'?")
    return InputError(f"{head}; it has: {', '.join(names) if names else 'none'}.")
