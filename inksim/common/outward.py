"""Text on its way out, by the kind of sink: what others wrote is never read as code there.

A name, a file, a profile or an echoed argument may hold escape sequences, marks that turn the
direction of writing, formulas or markup. Every sink has one function here; a test walks the source
and lets none go past it.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import secrets
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import chain
from typing import Any, TextIO

from inksim.common.errors import InputError
from inksim.common.wording import VERSION

JOINERS = "\u200c\u200d"
"""Letters of Persian and Indic scripts join, or do not, by these; they reorder nothing."""
_MARK = secrets.token_hex(4)
"""Tells our own patches of color: nobody outside this run knows it."""
_PATCH = re.compile("\x1b([0-9a-f]{8})([0-9a-f]{6})")
_UNSAFE_JSON = re.compile("[\x7f-\x9f\xad\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff"
                          "\ufff9-\ufffb\U000e0000-\U000e007f\ud800-\udfff]")  # fmt: skip
_FORMULA = re.compile(r"(^|;)(\s*)('*)(?=[=+\-@＝＋－＠])")
_QUOTED_FORMULA = re.compile(r"(^|;)(\s*)'('*)(?=[=+\-@＝＋－＠])")
_PARTED_FORMULA = re.compile(r"([,;][\s\"]*)(?=[=+\-@＝＋－＠])")
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?(e[-+]?\d+)?", re.IGNORECASE)
_ADDRESS = re.compile(r"www(?=\.)|https?(?=://)|@", re.IGNORECASE)
MADE_BY = "inksim"
"""Column of a table: the version of inksim that wrote the row."""
LONGEST_PART = 60
"""Letters of a part of a file's name, and at most thrice as many bytes."""


class Markup(str):
    """HTML of our own, shown as it is; any other text is escaped where HTML is made of it."""

    __slots__ = ()


def visible(text: str, *, keep: str = "") -> str:
    """Text in which nothing is hidden: '\\x1b' for the character of that code, a blank for a gap.

    Control characters, marks of direction, lone surrogates and the like become their codes; other
    kinds of blank become one. keep: characters that stay.
    """
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() or c in JOINERS or c in keep else _coded(c) for c in str(text)
    )


def _coded(sign: str) -> str:
    if unicodedata.category(sign) in ("Zs", "Zl", "Zp") or sign in "\t\n\r\v\f":
        return " "
    return sign.encode("unicode_escape").decode("ascii")


# --- terminal ------------------------------------------------------------------------------------


def patch(code: str) -> str:
    """A color patch for a color terminal, drawn by `tell`; empty elsewhere."""
    return f"\x1b{_MARK}{code[1:].lower()}" if sys.stdout and sys.stdout.isatty() else ""


def width(text: str) -> int:
    """Columns of a text with patches on the terminal."""
    return len(text) - 10 * len(_patches(text))


def _patches(text: str) -> list[re.Match[str]]:
    return [found for found in _PATCH.finditer(text) if found[1] == _MARK]


def terminal(text: str) -> str:
    """Text for a terminal, lines kept: of escape sequences, only our own patches."""
    out, at = "", 0
    for found in _patches(text):
        red, green, blue = bytes.fromhex(found[2])
        out += visible(text[at : found.start()], keep="\n")
        out += f"\x1b[48;2;{red};{green};{blue}m    \x1b[0m "
        at = found.end()
    return out + visible(text[at:], keep="\n")


def tell(text: str, *, err: bool = False) -> None:
    """Print a line or more; err: on stderr, where a full disk or a closed reader stops nothing."""
    if not err:
        _print(sys.stdout, terminal(text))
        return
    try:
        _print(sys.stderr, terminal(text))
    except OSError:
        drop(2)


def _print(stream: TextIO | None, text: str) -> None:
    """Write a line at once. click would write UTF-8 to a stream that says it is ASCII."""
    if stream is not None:
        stream.write(f"{text}\n")
        stream.flush()


def tell_bytes(data: bytes) -> None:
    """Write a whole file to standard output."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()


def drop(handle: int) -> None:
    """Let standard output (1) or error (2) go nowhere: Python would try again to flush it."""
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, handle)
        os.close(nowhere)


def settle_streams() -> None:
    """Write what is left of standard output and error; where it cannot be, let it go nowhere.

    Python itself would end with 120.
    """
    for handle, stream in ((1, sys.stdout), (2, sys.stderr)):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            drop(handle)


def forgive_encodings() -> None:
    """Let a stream that cannot take a character, as in an ASCII locale, write '?' for it."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


# --- files of text -------------------------------------------------------------------------------


def json_text(value: Any, *, indent: int | None = 2, ascii_only: bool = False) -> str:
    """A JSON document that says the same and hides nothing: what is invisible is a \\u escape.

    Raises
    ------
    ValueError : NaN or infinity.
    """
    text = json.dumps(value, indent=indent, ensure_ascii=ascii_only, allow_nan=False)
    return _UNSAFE_JSON.sub(lambda found: json.dumps(found[0])[1:-1], text)


def tell_json(value: Any) -> None:
    """Print a JSON document, in ASCII where standard output takes no more."""
    text = json_text(value)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:
        text = json_text(value, ascii_only=True)
    _print(sys.stdout, text)


def cell(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula: an apostrophe stands before it.

    So is what comes after a semicolon, at which a spreadsheet may part the cells. `from_cell` takes
    the apostrophe off again.
    """
    shown = visible(text).strip()
    return shown if _NUMBER.fullmatch(shown) else _FORMULA.sub(r"\1\2'\3", shown)


def from_cell(text: str) -> str:
    """The text of which `cell` made this."""
    return _QUOTED_FORMULA.sub(r"\1\2\3", text)


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Any]], *, first: str = "") -> str:
    """A table as CSV: see `csv_lines`."""
    return "".join(csv_lines(head, rows, first=first))


def csv_lines(
    head: Sequence[str], rows: Iterable[Sequence[Any]], *, first: str = ""
) -> Iterator[str]:
    """The lines of a table as CSV, its texts as `cell` makes them.

    Its last column is the program's version: CSV (RFC 4180) has no comments, and rows of several
    files may be put together. first: a line of its own before the head.
    """
    if first:
        yield _PARTED_FORMULA.sub(r"\1'", visible(first)) + "\n"  # a shop's name is in it
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in chain([(*head, MADE_BY)], ((*row, VERSION) for row in rows)):
        writer.writerow([cell(each) if isinstance(each, str) else each for each in row])
        yield out.getvalue()
        out.seek(0)
        out.truncate()


# --- pages ---------------------------------------------------------------------------------------


def escape(text: str) -> Markup:
    """Text inside HTML or an attribute; markup of our own stays."""
    import html  # its table of entities is large, and commands show no pages

    return text if isinstance(text, Markup) else Markup(html.escape(visible(text)))


def markdown(text: str) -> str:
    """Text inside Markdown: every sign of punctuation stands for itself, and nothing is a link.

    What looks like an address is made a link even where its signs are escaped; a word joiner, which
    takes no place, keeps it text.
    """
    apart = _ADDRESS.sub("\\g<0>\u2060", visible(text))
    return "".join(f"\\{c}" if c in "\\`*_{}[]<>()#+!|$:~-&" else c for c in apart)


# --- names of files ------------------------------------------------------------------------------


def slug(name: str) -> str:
    """Part of a file's name: 'Coal Black' → 'coal-black'; letters of any script stay.

    Marks belong to their letters (Unicode's categories M). At most `LONGEST_PART` characters.
    """
    letters = unicodedata.normalize("NFC", name).lower()
    kept = "".join(c if c.isalnum() or unicodedata.category(c)[0] == "M" else "-" for c in letters)
    part = re.sub("-+", "-", kept).strip("-")[:LONGEST_PART]
    return part.encode()[: 3 * LONGEST_PART].decode(errors="ignore").strip("-") or "unnamed"


def file_name(name: str) -> str:
    """A file's name that any folder takes, of one that somebody else gave: its ending stays."""
    stem, dot, ending = name.replace("\\", "/").rpartition("/")[2].rpartition(".")
    if not stem:
        return slug(ending)
    kept = "".join(c for c in ending.lower() if c.isascii() and c.isalnum())[:8]
    return f"{slug(stem)}{dot}{kept}" if kept else slug(stem)


def check_file_names(files: Mapping[str, str]) -> None:
    """Refuse two names (keys) that become one file's name (values), before either is made.

    Raises
    ------
    InputError : the two names and the file.
    """
    taken: dict[str, str] = {}
    for name, file in files.items():
        other = taken.setdefault(file.casefold(), name)
        if other != name:
            raise InputError(
                f"'{other}' and '{name}' would both be written to '{file}'; rename one of them, or "
                "ask for one at a time."
            )
