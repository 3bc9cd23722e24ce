"""The errors inksim raises. Every message is one sentence a shop can act on."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable
from itertools import accumulate

from inksim.common.wording import counted

LONGEST, HEAD, TAIL, HIDDEN = 300, 190, 100, 10
"""Characters of one fault in words, of a longer one's beginning and end; and how many a character
that cannot be printed takes, at most, where its code is shown."""
_LONG_WORD = re.compile(r"(?<=\S{40})\S{20,}(?=\S{9})")


class InksimError(Exception):
    """Base of all errors that inksim raises itself; what is said of a fault stays readable."""

    def __init__(self, words: str = "") -> None:
        super().__init__(cut(words))


def cut(words: str) -> str:
    """Words of which each line is no longer than `LONGEST`: a long value is cut.

    What is wrong stands before the value or at the beginning of it, what to do next at the end:
    the middle is left out.
    """
    return "\n".join(map(_cut, words.split("\n")))


def _cut(line: str) -> str:
    if _width(line) > LONGEST:
        line = _LONG_WORD.sub("…", line)
    if _width(line) > LONGEST:
        widths = [_width(sign) for sign in line]
        head = bisect_right(list(accumulate(widths)), HEAD)
        tail = bisect_right(list(accumulate(reversed(widths))), TAIL)
        line = f"{line[:head].rstrip()} … {line[len(line) - tail :].lstrip()}"
    return line


def _width(line: str) -> int:
    if line.isprintable():
        return len(line)
    return sum(1 if sign.isprintable() else HIDDEN for sign in line)


class InputError(InksimError):
    """The input is wrong: the message says what, where, the value, what is allowed, what next.

    A message is a sentence or more for a person to read; `str(error)` is it. Each fault stands in
    a line of its own, of at most `LONGEST` characters, however long what it quotes is.
    """


class ShopFaults(InputError):
    """A shop folder, or what else `what` says, has faults: all at once, as 'file, entry: fault'."""

    def __init__(self, faults: Iterable[str], *, what: str = "the shop") -> None:
        self.faults: tuple[str, ...] = tuple(map(cut, faults))
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
    import difflib

    names = list(dict.fromkeys(known))
    lowered = {n.lower(): n for n in names}
    near = difflib.get_close_matches(name.lower(), list(lowered), n=1, cutoff=0.5)
    head = f"there is no {what} '{shortened(name)}' {where}"
    if near:
        return InputError(f"{head}; did you mean '{lowered[near[0]]}'?")
    return InputError(f"{head}; it has: {', '.join(names) if names else 'none'}.")
