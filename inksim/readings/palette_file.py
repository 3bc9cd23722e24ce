"""Parse a palette: pasted lines, a small table, or a file of readings.

A line is a color, with a name before it if there is one:

    Regatta Orange, #e8622c
    #0f5c63
    Oven Red: 46, 58, 39          (Lab under D50, 2° observer)

A table has a head of some of: name, color (or hex), L, a, b; each row fills in what it knows, so
that a row may give a hex code, the next one Lab, and one a mere name that whoever asks can look up.
All faulty lines are told at once, and no line is dropped in silence.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import replace

from inksim.common import InputError, from_cell
from inksim.readings.read import read_readings
from inksim.readings.selection import Picked, target_from_reading
from inksim.stock import Target, parse_target

MOST_COLOURS = 200
MOST_CHARACTERS = 100_000
MOST_LINES = 1_000
LONGEST_NAME = 200
LookUp = Callable[[str], Target]
"""Finds the target of a name, a hex code or Lab; raises InputError where there is none."""
_COLUMNS = {
    "name": "name", "sample": "name",
    "hex": "color", "color": "color", "colour": "color", "lab": "color",
    "l": "l", "l*": "l", "a": "a", "a*": "a", "b": "b", "b*": "b",
}  # fmt: skip
_BARE_HEX = re.compile(r"[0-9a-fA-F]{3}(?:[0-9a-fA-F]{3})?")
_NAMED = re.compile(r"(?P<name>[^,;:\t]++)(?:\s*+[,;:]|\t)\s*+(?P<color>\S.*)")
_MOST_LOOKED_UP = 60  # a longer line is no mere name, and is not looked up
_HEAD = re.compile(r"^[\"']?(name|colou?r|sample|hex|code|l\*?)[\"']?\s*([,;\t]|$)", re.IGNORECASE)
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_NUMBER_BACKWARDS = r"\d++(?:\.\d++)?[-+]?"
_COLOUR_BACKWARDS = re.compile(
    rf"(?P<color>[0-9a-f]++#|\)?{_NUMBER_BACKWARDS}[\s,;]++{_NUMBER_BACKWARDS}[\s,;]++{_NUMBER_BACKWARDS}\(?(?:\s*+bal)?)[\s,;:]*+",
    re.IGNORECASE,
)
"""The color at a line's end, both backwards: from its front it is looked for in every place."""

_QUOTED = re.compile(r'(?<![^\s,;])"((?:[^"]|"")*)"(?![^\s,;])')
_FURTHER = re.compile(rf"#[0-9a-fA-F]{{3,}}$|[,;\t][^\S\t]*{_NUMBER}$")


def _plain_target(text: str) -> Target:
    """Read a hex code or Lab; the look-up of those who know no names."""
    target = parse_target(text)
    if target is None:
        raise InputError(
            f"'{text[:60]}' is no color; write a name and #rrggbb, or a name and L, a, b."
        )
    return target


def parse_palette(text: str, *, look_up: LookUp = _plain_target) -> list[Target]:
    """Read a palette from lines of text, or of a table with a head.

    Parameters
    ----------
    text : lines; blank ones, and those that begin with // or "# ", are skipped.
    look_up : finds what a line means that is a mere name, such as `Shop.target`.

    Raises
    ------
    InputError : no color at all, more than `MOST_COLOURS`, a longer text than is read; or every
        line that is no color, that repeats a name, or whose numbers are out of range.
    """
    if len(text) > MOST_CHARACTERS:
        raise InputError(
            f"the palette has {len(text):,} characters, and at most {MOST_CHARACTERS:,} are read; "
            f"write one color a line, at most {MOST_COLOURS}."
        )
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise InputError(
            f"the palette has {len(lines):,} lines, and at most {MOST_LINES:,} are read, with "
            f"{MOST_COLOURS} colors; split it."
        )
    targets: dict[str, Target] = {}
    faults: list[str] = []
    head: list[str] | None = None
    mark = ","
    for number, line in enumerate(lines, start=1):
        content = line.strip().strip("\ufeff")
        if not content.strip(",; \t") or content.startswith(("//", "# ")):
            continue
        if number == 1 and _HEAD.match(content):
            mark = next((m for m in ";\t" if m in content), ",")
            head = _head(content, mark)
            continue
        try:
            target = _row(content, head, mark, look_up) if head else _line(content, look_up)
        except InputError as error:
            faults.append(f"line {number}: {error}")
            continue
        if len(target.name) > LONGEST_NAME:
            faults.append(
                f"line {number}: the name has {len(target.name):,} characters, and at most "
                f"{LONGEST_NAME} are kept; shorten it."
            )
        if target.name in targets:
            faults.append(f"line {number}: '{target.name}' is there already; give it another name.")
        targets[target.name] = target
    _raise(faults)
    return _checked(list(targets.values()))


def _head(content: str, mark: str) -> list[str] | None:
    """What each column of a table is, or None where one has no known meaning or comes twice."""
    columns = [_COLUMNS.get(cell.strip().lower(), "") for cell in _cells(content, mark)]
    if "l" in columns and "name" not in columns:  # what is called 'color' is its name
        columns = ["name" if column == "color" else column for column in columns]
    return columns if all(columns) and len(set(columns)) == len(columns) else None


def _cells(content: str, mark: str) -> list[str]:
    try:
        [cells] = csv.reader([content], delimiter=mark, skipinitialspace=True)
    except csv.Error as fault:
        raise InputError("the row cannot be read; check its quotation marks.") from fault
    while cells and not cells[-1].strip():
        cells.pop()
    return [from_cell(cell) for cell in cells]


def _row(content: str, head: Sequence[str], mark: str, look_up: LookUp) -> Target:
    """Parse one row of a table; one with more cells than the head is a line by itself."""
    cells = _cells(content, mark)
    if len(cells) > len(head):
        return _line(content, look_up)
    of = {column: cell.strip() for column, cell in zip(head, cells, strict=False) if cell.strip()}
    name, code = of.get("name"), of.get("color")
    numbers = [of[axis] for axis in "lab" if axis in of]
    if code and numbers:
        raise InputError(f"'{content[:60]}' gives a color and L, a, b; keep one of them.")
    if len(numbers) not in (0, 3) and not numbers[0].startswith("#"):
        raise InputError(f"L, a and b are three numbers; this row has '{', '.join(numbers)}'.")
    if mark != ",":
        numbers = [each.replace(",", ".") for each in numbers]
    colour = code or ", ".join(numbers)
    if not colour:
        return _line(name or content, look_up)
    target = look_up(f"#{colour}" if _BARE_HEX.fullmatch(colour) else colour)
    return replace(target, name=name) if name else target


def _line(content: str, look_up: LookUp) -> Target:
    """Parse one color and its name, which is its code where none is given."""
    plain = _unquoted(content)
    found = _split(plain)
    if found is None:
        return _named(plain, look_up)
    name, colour = found
    if _FURTHER.search(name):
        raise InputError(f"'{content[:60]}' holds more than one color; write one a line.")
    target = _plain_target(colour)
    return replace(target, name=name) if name else target


def _split(line: str) -> tuple[str, str] | None:
    """Name and color of a line that ends in one, or None."""
    found = _COLOUR_BACKWARDS.match(line[::-1])
    if found is None:
        return None
    colour = re.sub(r"^lab\s*", "", found["color"][::-1].strip(), flags=re.IGNORECASE)
    return line[: len(line) - found.end()].strip(" ,;:\t"), colour


def _named(plain: str, look_up: LookUp) -> Target:
    """Look up a mere name, or a name after the one it goes by here ('Club red, Oven Red')."""
    try:
        return look_up(plain)
    except InputError:
        found = _NAMED.match(plain)
        if found is None:
            raise
    return replace(look_up(found["color"]), name=found["name"].strip())


def _unquoted(line: str) -> str:
    """Remove the quotes around cells; a doubled quote in one is a quote [RFC 4180]."""
    return _QUOTED.sub(lambda cell: cell[1].replace('""', '"'), line)


def palette_from_file(data: bytes, *, name: str, look_up: LookUp = _plain_target) -> list[Target]:
    """Read a palette file: lines or a small table as `parse_palette`, else instrument readings.

    Parameters
    ----------
    data : what the file holds.
    name : the file's, which tells its kind.
    look_up : see `parse_palette`.

    Raises
    ------
    InputError : see `parse_palette`; a file that is neither is told as readings see it.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = ""
    if text and _looks_like_lines(text, look_up):
        return parse_palette(text, look_up=look_up)
    readings = read_readings(data, name=name)
    targets, faults = {}, []
    for reading in readings:
        if reading.name in targets:
            faults.append(f"{reading.source}: sample '{reading.name}' is there already.")
            continue
        targets[reading.name] = target_from_reading(
            Picked(reading=reading, sources=(reading.source,))
        )
    _raise(faults)
    return _checked(list(targets.values()))


def _looks_like_lines(text: str, look_up: LookUp) -> bool:
    """Whether it has a palette's head with a column of colors, or most lines are one color."""
    start = text[:MOST_CHARACTERS].splitlines()[:MOST_LINES]
    lines = [_unquoted(line.strip()) for line in start if line.strip()]
    head = lines[0] if lines and _HEAD.match(lines[0]) else ""
    mark = next((m for m in ";\t" if m in head), ",")
    if head and "color" in (_head(head, mark) or ()):
        return True
    colours = sum(
        not _FURTHER.search(found[0]) if (found := _split(line)) else _is_name(line, look_up)
        for line in lines
    )
    return colours > 0 and 2 * colours >= len(lines) - 1


def _is_name(line: str, look_up: LookUp) -> bool:
    if len(line) > _MOST_LOOKED_UP:
        return False
    try:
        _named(line, look_up)
    except InputError:
        return False
    return True


def _raise(faults: Sequence[str]) -> None:
    if len(faults) == 1:
        raise InputError(faults[0][0].upper() + faults[0][1:])
    if faults:
        shown = [*faults[:10], *([f"and {len(faults) - 10} more."] if len(faults) > 10 else [])]
        lines = "\n".join(f"  {each}" for each in shown)
        raise InputError(f"The palette has {len(faults)} faulty lines:\n{lines}")


def _checked(targets: list[Target]) -> list[Target]:
    if not targets:
        raise InputError("there is no color in this palette; write one a line, such as #e8622c.")
    if len(targets) > MOST_COLOURS:
        raise InputError(
            f"the palette has {len(targets)} colors, and at most {MOST_COLOURS} are compared at "
            "once; split it."
        )
    return targets
