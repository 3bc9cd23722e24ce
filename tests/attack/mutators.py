"""Seeded mutators: bytes of a sound file to those of a spoiled one, by the kind of the file."""

from __future__ import annotations

import json
import random
import re
import sqlite3
import struct
import tempfile
import zlib
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

Mutator = Callable[[random.Random, bytes], bytes]

HOSTILE_WORDS: tuple[str, ...] = (
    "", " ", "'", '"', "''", "\\", "/", "..", "../../x", "a/b", "a\nb", "a\rb", "\x00", "\x07",
    "\x1b[31mred\x1b[0m", "\x9b31m", "\x7f", "\u202eabc", "\u2066abc", "\u2028", "\u200b", "\ufeff",
    "\u0130", "\u00df", "\ufb01", "\U0001f600" * 40, "e\u0301" * 30, "%s%n%d", "{0}", "{name}",
    "$HOME", "`id`", "<b>x</b>", "<script>", "&amp;", "&#0;", "]]>", "=1+1", "@sum", "-", "--help",
    "none", "None", "null", "nan", "inf", "true", "CON", "#", "#ffffff", "#12345", "ink: ",
    "x" * 299, "x" * 5000, " " * 3000, "'" * 500, "1" * 400, "((((" * 200, "0" * 5000, ",;" * 300,
    "\u0663", "\uff11\uff12", "\u00b2", "a" * 60 + "\n" + "b" * 400,
)  # fmt: skip
"""Names and words that somebody may give a thing, or a file may hold."""
HOSTILE_NUMBERS: tuple[str, ...] = (
    "0", "-0", "1", "-1", "0.0", "-0.0", "1e-320", "5e-324", "1e-9", "1e308", "-1e308", "1e309",
    "1e400", "nan", "-nan", "inf", "-inf", "NaN", "Infinity", "9" * 30, "9" * 400, "9" * 5000,
    "1" + "0" * 310, "0x10", "1_000", "1,5", "1.5.5", "1e", "e5", "+", "--1", "1e1e1", "\uff11",
    "2147483648", "-2147483649", "4294967296", "9223372036854775808", "18446744073709551616", "1e5",
    "100", "101", "255", "256", "1e-5", "0.999999999", "1.0000001", "3.5e2",
)  # fmt: skip
_WHOLE = (0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_#][\w#.-]*")


def word(rng: random.Random) -> bytes:
    """A hostile word, as bytes that may be no UTF-8."""
    if rng.random() < 0.1:
        return rng.randbytes(rng.randint(1, 12))
    return rng.choice(HOSTILE_WORDS).encode()


def _span(rng: random.Random, data: bytes, most: int = 64) -> tuple[int, int]:
    """A piece of the data, often near its head, where a format says what the rest is."""
    if not data:
        return 0, 0
    most_at = len(data) - 1
    start = rng.randint(0, min(most_at, 300) if rng.random() < 0.5 else most_at)
    return start, min(len(data), start + rng.randint(1, most))


# -- bytes of any kind


def flipped(rng: random.Random, data: bytes) -> bytes:
    """A few bits turned."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        if out:
            start, _end = _span(rng, data)
            out[start] ^= 1 << rng.randrange(8)
    return bytes(out)


def cut(rng: random.Random, data: bytes) -> bytes:
    """Ended early."""
    return data[: rng.randint(0, len(data))]


def without(rng: random.Random, data: bytes) -> bytes:
    """A piece taken out."""
    start, end = _span(rng, data, 200)
    return data[:start] + data[end:]


def doubled(rng: random.Random, data: bytes) -> bytes:
    """A piece repeated, now and then very often."""
    start, end = _span(rng, data, 200)
    return data[:end] + data[start:end] * rng.choice((1, 1, 2, 100, 2000)) + data[end:]


def inserted(rng: random.Random, data: bytes) -> bytes:
    """Bytes put in."""
    at, _ = _span(rng, data)
    return (
        data[:at]
        + (rng.randbytes(rng.randint(1, 40)) if rng.random() < 0.5 else word(rng))
        + (data[at:])
    )


def numbered(rng: random.Random, data: bytes) -> bytes:
    """A whole number of 1, 2 or 4 bytes written over."""
    at, _ = _span(rng, data)
    size = rng.choice("BHHII")
    value = rng.choice(_WHOLE) & (2 ** (8 * struct.calcsize(size)) - 1)
    new = struct.pack(rng.choice("<>") + size, value)
    return data[:at] + new + data[at + len(new) :]


def swapped(rng: random.Random, data: bytes) -> bytes:
    """Two pieces in each other's place."""
    one, two = sorted((_span(rng, data), _span(rng, data)))
    if one[1] > two[0]:
        return data
    return (
        data[: one[0]]
        + data[slice(*two)]
        + data[one[1] : two[0]]
        + data[slice(*one)]
        + (data[two[1] :])
    )


BYTES: tuple[Mutator, ...] = (flipped, cut, without, doubled, inserted, numbered, swapped)


# -- text


def _replaced(
    rng: random.Random, data: bytes, pattern: re.Pattern[bytes], new: Callable[[], bytes]
) -> bytes:
    found = list(pattern.finditer(data))
    if not found:
        return data
    for match in sorted(rng.sample(found, min(len(found), rng.choice((1, 1, 1, 3)))),
                        key=lambda m: -m.start()):  # fmt: skip
        data = data[: match.start()] + new() + data[match.end() :]
    return data


def other_numbers(rng: random.Random, data: bytes) -> bytes:
    """Numbers replaced by hostile ones."""
    return _replaced(rng, data, _NUMBER, lambda: rng.choice(HOSTILE_NUMBERS).encode())


def other_words(rng: random.Random, data: bytes) -> bytes:
    """Words replaced by hostile ones, or by others of the file."""
    words = _WORD.findall(data)
    return _replaced(
        rng, data, _WORD, lambda: rng.choice(words) if rng.random() < 0.3 else word(rng)
    )


def other_lines(rng: random.Random, data: bytes) -> bytes:
    """Lines taken out, repeated, moved, emptied, or joined."""
    lines = data.split(b"\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    act = rng.randrange(6)
    if act == 0:
        del lines[at : at + rng.choice((1, 1, 5))]
    elif act == 1:
        lines[at:at] = [lines[to]] * rng.choice((1, 1, 3, 300))
    elif act == 2:
        lines[at], lines[to] = lines[to], lines[at]
    elif act == 3:
        lines[at] = b""
    elif act == 4:
        lines[at] = lines[at] + lines[to]
    else:
        lines[at] = word(rng)
    return b"\n".join(lines)


def other_cells(rng: random.Random, data: bytes) -> bytes:
    """Cells of a table's row emptied, moved, added or taken out; or another mark between them."""
    mark = max((b",", b";", b"\t", b" "), key=data.count)
    lines = data.split(b"\n")
    at = rng.randrange(len(lines))
    cells = lines[at].split(mark)
    act = rng.randrange(5)
    where = rng.randrange(len(cells))
    if act == 0:
        cells[where] = word(rng)
    elif act == 1:
        del cells[where]
    elif act == 2:
        cells.insert(where, rng.choice((b"", word(rng), rng.choice(HOSTILE_NUMBERS).encode())))
    elif act == 3:
        return data.replace(mark, rng.choice((b",", b";", b"\t", b" ", b"|", b" , ")))
    else:
        cells *= rng.choice((2, 50))
    lines[at] = mark.join(cells)
    return b"\n".join(lines)


def other_encoding(rng: random.Random, data: bytes) -> bytes:
    """The text in another encoding, or with other line ends."""
    text = data.decode("utf-8", "replace")
    act = rng.randrange(7)
    if act < 4:
        codec = ("utf-16", "utf-16-be", "latin-1", "utf-32")[act]
        return text.encode(codec, "replace")
    return (b"\xef\xbb\xbf" + data, data.replace(b"\n", b"\r"), data.replace(b"\n", b"\r\n\r\n"))[
        act - 4
    ]


TEXT: tuple[Mutator, ...] = (
    other_numbers, other_numbers, other_words, other_words, other_lines, other_lines,
    other_encoding, *BYTES,
)  # fmt: skip
TABLE: tuple[Mutator, ...] = (other_cells, other_cells, *TEXT)


# -- TOML and JSON: whole values

_TOML_VALUE = re.compile(rb"(?m)^(\s*[\w\"'.#-]+\s*=\s*)(.*)$")
_TOML_VALUES: tuple[str, ...] = (
    "true", "0", "-1", "1e308", "nan", "inf", "-inf", "[]", "{}", '""', '"x"', "[1]", "[[]]",
    "[nan]", "[1, 2, 3]", "{a = 1}", "2026-01-01", "2026-01-01T00:00:00Z", "07:30:00", "[[1], [2]]",
    "9223372036854775808", "9" * 400, "0x7fffffffffffffff", "[" * 80 + "]" * 80, '["x"]',
    "1_000", "'''\n'''", '"\\u0000"', '"\\u001b[31m"', '"\\u202e"', '"#12345"', '"a\\nb"',
    '"' + "x" * 4000 + '"', "[" + "0.5, " * 40 + "]", "[" + ", ".join(["-0.1"] * 31) + "]",
    "{" + ", ".join(f"k{i} = {i}" for i in range(30)) + "}",
)  # fmt: skip
_TOML_HEADS: tuple[str, ...] = (
    "[x]", "[[ink]]", "[ink]", "[[x.y]]", "[calibration]", "[parameters]", "[quantity]", "x = 1",
    "[artwork]", "[artwork.inks]", "[[color]]", "[press]", "[costs]", "[[calibration.ink]]",
    "[habits]", "format = 99", "format = 0", "format = -1", "format = 1", "name = 3",
)  # fmt: skip


def other_values(rng: random.Random, data: bytes) -> bytes:
    """Values of keys replaced by some of another kind, or by a hostile text."""

    def new(match: re.Match[bytes]) -> bytes:
        if rng.random() < 0.5:
            return match[1] + rng.choice(_TOML_VALUES).encode()
        return match[1] + json.dumps(rng.choice(HOSTILE_WORDS)).encode()

    found = list(_TOML_VALUE.finditer(data))
    for match in sorted(
        rng.sample(found, min(len(found), rng.choice((1, 1, 2, 5)))), key=lambda m: -m.start()
    ):
        data = data[: match.start()] + new(match) + data[match.end() :]
    return data


def other_tables(rng: random.Random, data: bytes) -> bytes:
    """A line of a table that is none, or is there already, put in."""
    lines = data.split(b"\n")
    lines.insert(rng.randrange(len(lines) + 1), rng.choice(_TOML_HEADS).encode())
    return b"\n".join(lines)


TOML: tuple[Mutator, ...] = (other_values, other_values, other_values, other_tables, *TEXT)

_JSON_VALUES: tuple[Any, ...] = (
    None, True, 0, -1, 1e308, float("nan"), float("inf"), 10**400, "", "x", [], {}, [1], {"a": 1},
    [[]], [None], *HOSTILE_WORDS[:20],
)  # fmt: skip


def _places(node: Any) -> list[tuple[Any, Any]]:
    """All containers in a document, with each key or index."""
    keys: list[Any] = list(node) if isinstance(node, dict) else []
    if isinstance(node, list):
        keys = list(range(len(node)))
    return [(node, key) for key in keys] + [p for key in keys for p in _places(node[key])]


def other_json(rng: random.Random, data: bytes) -> bytes:
    """A value anywhere inside a JSON document replaced, or taken out."""
    try:
        whole = {"": json.loads(data)}
        inside, key = rng.choice(_places(whole)[:500])
        if key != "" and rng.random() < 0.3:
            del inside[key]
        else:
            inside[key] = rng.choice(_JSON_VALUES)
        return json.dumps(whole[""]).encode()
    except (RecursionError, ValueError):
        return flipped(rng, data)


JSON: tuple[Mutator, ...] = (other_json, other_json, other_json, *TEXT)


# -- XML

_XML_TAG = re.compile(rb"<[^>]*>")
_XML_PUT: tuple[bytes, ...] = (
    b"<!DOCTYPE x [<!ENTITY e 'e'>]>", b"&e;", b"<x>", b"</x>", b"<!-- -->", b"<![CDATA[x]]>",
    b"<a>" * 200, b'<use href="#a"/>', b'<image href="file:///x"/>', b"&#x1F600;", b"&#0;",
    b'<g id="a"><use href="#a"/></g>', b'<svg width="1e9" height="1e9"/>',
    b'<filter id="f"><feGaussianBlur stdDeviation="1e6"/></filter>', b'<text>x</text>',
)  # fmt: skip


def other_tags(rng: random.Random, data: bytes) -> bytes:
    """Tags taken out, repeated, moved, or others put in."""
    found = list(_XML_TAG.finditer(data))
    if not found:
        return data
    at, to = rng.choice(found), rng.choice(found)
    new = (b"", at[0] * 2, to[0], at[0] + rng.choice(_XML_PUT), rng.choice(_XML_PUT))[
        rng.randrange(5)
    ]
    return data[: at.start()] + new + data[at.end() :]


XML: tuple[Mutator, ...] = (other_tags, other_tags, other_tags, *TEXT)


# -- PNG: chunks with sound checksums


def _chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], 8
    while at + 12 <= len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        found.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + size]))
        at += 12 + size
    return found


def _as_png(chunks: Sequence[tuple[bytes, bytes]]) -> bytes:
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + tag + body + struct.pack(">I", zlib.crc32(tag + body))
        for tag, body in chunks
    )


_PNG_TAGS = (b"IHDR", b"PLTE", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"pHYs", b"tEXt",
             b"zTXt", b"iTXt", b"eXIf", b"acTL", b"fcTL", b"fdAT", b"bKGD", b"sBIT")  # fmt: skip


def other_chunks(rng: random.Random, data: bytes) -> bytes:
    """Chunks spoiled inside, taken out, repeated, moved or put in, each with its checksum."""
    chunks = _chunks(data)
    if not chunks:
        return flipped(rng, data)
    at = rng.randrange(len(chunks))
    tag, body = chunks[at]
    act = rng.randrange(6)
    if act <= 1:
        chunks[at] = (tag, rng.choice(BYTES)(rng, body))
    elif act == 2:
        del chunks[at]
    elif act == 3:
        chunks.insert(rng.randrange(len(chunks)), (tag, body))
    elif act == 4:
        new = rng.choice(_PNG_TAGS)
        held = rng.randbytes(rng.choice((0, 1, 4, 8, 9, 32))) if rng.random() < 0.7 else body
        chunks.insert(rng.randrange(1, len(chunks) + 1), (new, held))
    elif tag == b"IHDR" and len(body) == 13:
        sides = (0, 1, 3, 24, 1000, 70000, 0x7FFFFFFF, 0xFFFFFFFF)
        shape = struct.pack(">II", rng.choice(sides), rng.choice(sides))
        kind = bytes([rng.choice((1, 2, 4, 8, 16, 3)), rng.choice((0, 2, 3, 4, 6, 1))])
        chunks[at] = (tag, shape + kind + body[10:])
    return _as_png(chunks)


PNG: tuple[Mutator, ...] = (other_chunks, other_chunks, *BYTES)


# -- sqlite: cells and tables by sqlite itself


def other_rows(rng: random.Random, data: bytes) -> bytes:
    """Cells of a database spoiled by sqlite itself, its checks off; tables and versions too."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x"
        path.write_bytes(data)
        try:
            with closing(sqlite3.connect(path, isolation_level=None)) as base:
                _spoil(rng, base)
        except (sqlite3.Error, OverflowError, UnicodeError):
            return flipped(rng, data)
        return path.read_bytes()


def _spoil(rng: random.Random, base: sqlite3.Connection) -> None:
    base.execute("PRAGMA journal_mode = DELETE")
    base.execute("PRAGMA ignore_check_constraints = ON")
    for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        base.execute(f'DROP TRIGGER "{name}"')
    tables = [
        name
        for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        if not name.startswith("sqlite_")
    ]
    if not tables:
        return
    table = rng.choice(tables)
    columns = [each[1] for each in base.execute(f'PRAGMA table_info("{table}")')]
    act = rng.randrange(10)
    if act == 0:
        base.execute(f"PRAGMA user_version = {rng.choice((0, 1, 2, 3, 4, 99, -1))}")
    elif act == 1:
        base.execute(f'DROP TABLE "{table}"')
    elif act == 2:
        base.execute(f'ALTER TABLE "{table}" DROP COLUMN "{rng.choice(columns)}"')
    elif act == 3:
        base.execute(f'DELETE FROM "{table}" WHERE rowid = (SELECT max(rowid) FROM "{table}")')
    else:
        if rng.random() < 0.4:  # without the types of its columns
            loose = ", ".join(f'"{c}"' for c in columns)
            base.execute(f"CREATE TABLE loose ({loose})")
            base.execute(f'INSERT INTO loose SELECT * FROM "{table}"')
            base.execute(f'DROP TABLE "{table}"')
            base.execute(f'ALTER TABLE loose RENAME TO "{table}"')
        column = rng.choice(columns)
        held = base.execute(f'SELECT "{column}" FROM "{table}" LIMIT 1').fetchone()
        new: Any = rng.choice(
            (None, 0, -1, 2**63 - 1, 1e308, float("inf"), b"\xff\x00", "2026-02-31", "[1]",
             *HOSTILE_WORDS)
        )  # fmt: skip
        if held and isinstance(held[0], str) and held[0][:1] in "[{" and rng.random() < 0.7:
            new = other_json(rng, held[0].encode()).decode("utf-8", "replace")
        base.execute(f'UPDATE "{table}" SET "{column}" = ?', (new,))


SQLITE: tuple[Mutator, ...] = (other_rows, other_rows, other_rows, *BYTES)


def spoiled(rng: random.Random, data: bytes, mutators: Sequence[Mutator]) -> bytes:
    """The data after one, two or now and then six mutations."""
    for _ in range(rng.choice((1, 1, 1, 2, 2, 6))):
        data = rng.choice(mutators)(rng, data)
    return data
