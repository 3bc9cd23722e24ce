"""Parse a palette: pasted lines, a small table, or a file of readings.

A line is a color, with a name before it if there is one:

    Regatta Orange, #e8622c
    #0f5c63
    Oven Red: 46, 58, 39          (Lab under D50, 2° observer)

A table with a head (name, hex or name, L, a, b) is read the same way. All faulty lines are told at
once, and no line is dropped in silence.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from inksim.common import InputError
from inksim.readings.read import read_readings
from inksim.readings.selection import Picked, target_from_reading
from inksim.stock import Target, parse_target

MOST_COLORS = 200
_HEAD = re.compile(r"^[\"']?(name|colou?r|sample|hex|code|l\*?)[\"']?\s*([,;\t]|$)", re.IGNORECASE)
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_SPLIT = re.compile(
    rf"^(?P<name>.*?)[\s,;:\t]*(?P<color>#[0-9a-fA-F]+|(?:lab)?\s*\(?{_NUMBER}[\s,;]+{_NUMBER}"
    rf"[\s,;]+{_NUMBER}\)?)$",
    re.IGNORECASE,
)

_QUOTED = re.compile(r'(?<![^\s,;])"((?:[^"]|"")*)"(?![^\s,;])')
_FURTHER = re.compile(rf"#[0-9a-fA-F]{{3,}}$|[,;\t]\s*{_NUMBER}$")


def parse_palette(text: str) -> list[Target]:
    """Read a palette from lines of text.

    Raises
    ------
    InputError : no color at all, more than `MOST_COLORS`, or every line that is no color, that
        repeats a name, or whose numbers are out of range.
    """
    targets: dict[str, Target] = {}
    faults: list[str] = []
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.strip().strip("\ufeff")
        if (
            not content
            or content.startswith(("//", "# "))
            or (number == 1 and _HEAD.match(content))
        ):
            continue
        try:
            target = _line(content)
        except InputError as error:
            faults.append(f"line {number}: {error}")
            continue
        if target.name in targets:
            faults.append(f"line {number}: '{target.name}' is there already; give it another name.")
        targets[target.name] = target
    _raise(faults)
    return _checked(list(targets.values()))


def _line(content: str) -> Target:
    """Parse one color and its name, which is its code where none is given."""
    plain = _unquoted(content)
    found = _SPLIT.match(plain)
    name = found["name"].strip(" ,;:\t") if found else ""
    if _FURTHER.search(name):
        raise InputError(f"'{content[:60]}' holds more than one color; write one a line.")
    color = re.sub(r"^lab\s*", "", found["color"].strip(), flags=re.IGNORECASE) if found else plain
    target = parse_target(color)
    if target is None:
        raise InputError(
            f"'{content[:60]}' is no color; write a name and #rrggbb, or a name and L, a, b."
        )
    return replace(target, name=name) if name else target


def _unquoted(line: str) -> str:
    """Remove the quotes around cells; a doubled quote in one is a quote [RFC 4180]."""
    return _QUOTED.sub(lambda cell: cell[1].replace('""', '"'), line)


def palette_from_file(data: bytes, *, name: str) -> list[Target]:
    """Read a palette file: lines or a small table as `parse_palette`, else instrument readings.

    Raises
    ------
    InputError : see `parse_palette`; a file that is neither is told as readings see it.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = ""
    if text and _looks_like_lines(text):
        return parse_palette(text)
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


def _looks_like_lines(text: str) -> bool:
    """Whether most lines end in one color."""
    lines = [_unquoted(line.strip()) for line in text.splitlines() if line.strip()]
    matches = [_SPLIT.match(line) for line in lines]
    colors = sum(m is not None and not _FURTHER.search(m["name"].strip(" ,;:\t")) for m in matches)
    return colors > 0 and 2 * colors >= len(lines) - 1


def _raise(faults: Sequence[str]) -> None:
    if len(faults) == 1:
        raise InputError(faults[0][0].upper() + faults[0][1:])
    if faults:
        shown = [*faults[:10], *([f"and {len(faults) - 10} more."] if len(faults) > 10 else [])]
        raise InputError(f"The palette has {len(faults)} faulty lines: " + " ".join(shown))


def _checked(targets: list[Target]) -> list[Target]:
    if not targets:
        raise InputError("there is no color in this palette; write one a line, such as #e8622c.")
    if len(targets) > MOST_COLORS:
        raise InputError(
            f"the palette has {len(targets)} colors, and at most {MOST_COLORS} are compared at "
            "once; split it."
        )
    return targets
