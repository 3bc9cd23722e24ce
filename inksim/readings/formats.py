"""The formats of reading files: one table for the reader, the file pickers, the help and messages.

To add a format, add its row here and the module that reads it.
"""

from __future__ import annotations

import pkgutil
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from inksim.readings.record import Parsed


class ReadingFormat(NamedTuple):
    """A format of reading files.

    name, standard : as a message says it, and as the documentation does.
    suffixes : of its files, in lower case and with the dot; offered by file pickers.
    known_by : what every such file holds. A pattern of bytes is looked for in the file's bytes, a
        pattern of text in its text; the reader is given the same.
    reader : ``module:function``, imported when the first file is read, for its libraries are slow:
        ``function(content, *, file)``, with the file's name for messages. Text has \\n line ends.
    """

    name: str
    standard: str
    suffixes: tuple[str, ...]
    known_by: re.Pattern[bytes] | re.Pattern[str]
    reader: str

    @property
    def is_binary(self) -> bool:
        """Whether the reader takes bytes rather than text."""
        return isinstance(self.known_by.pattern, bytes)

    @property
    def read(self) -> Callable[..., Parsed]:
        """The reader, imported now."""
        found: Callable[..., Parsed] = pkgutil.resolve_name(self.reader)
        return found


FORMATS: list[ReadingFormat] = [
    ReadingFormat(
        name="CSV",
        standard="CSV",
        suffixes=(".csv", ".txt", ".tsv"),
        known_by=re.compile(""),
        reader="inksim.readings.csv:read_csv",
    ),
    ReadingFormat(
        name="CGATS",
        standard="CGATS.17 / ISO 28178 text",
        suffixes=(".cgats", ".ti3", ".it8"),
        known_by=re.compile(r"^[ \t]*BEGIN_DATA(?:_FORMAT)?\b", re.MULTILINE | re.IGNORECASE),
        reader="inksim.readings.cgats:read_cgats",
    ),
    ReadingFormat(
        name="CxF",
        standard="CxF3 (ISO 17972-1, and the spot inks of -4)",
        suffixes=(".cxf", ".xml"),
        known_by=re.compile(rb"\A(?:(?:\xef\xbb\xbf)?\s*<|\xff\xfe<\x00|\xfe\xff\x00<)"),
        reader="inksim.readings.cxf:read_cxf",
    ),
]
"""In the order they are named. A file is tried from the last to the first: CSV is any text."""


def split_reference(reference: str) -> tuple[Path, str | None]:
    """Split ``FILE#sample``; a file whose own name holds a # is recognized by being there."""
    if "#" not in reference or Path(reference).is_file():
        return Path(reference), None
    file, _, sample = reference.rpartition("#")
    return Path(file), sample.strip()


def reading_suffixes() -> tuple[str, ...]:
    """Suffixes of all reading files, in lower case and with the dot."""
    return tuple(suffix for each in FORMATS for suffix in each.suffixes)


def format_names() -> str:
    """The formats in words: 'CSV, CGATS or CxF'."""
    *first, last = (each.name for each in FORMATS)
    return f"{', '.join(first)} or {last}"
