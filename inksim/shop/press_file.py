"""Write a calibrated press to press.toml, and keep every earlier version.

Versions are numbered: 0 is the press as it was before any calibration. Before press.toml is
rewritten, the file as it stands is kept, byte for byte, in the folder press-history under its
number and the day; `go_back` brings a version back the same way, so nothing is ever lost.
Comments and habits in press.toml stay.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from inksim.common import InputError, make_folder, text_of, toml_of, write_whole
from inksim.shop.edit import Draft, editable_folder, open_draft, save
from inksim.shop.press_schema import PRESS_FORMAT
from inksim.shop.toml_text import parsed, rounded
from inksim.stock import Parameter, Press, PressValues

FILE, PRESS_HISTORY = "press.toml", "press-history"
_KEPT = re.compile(r"press-(\d{4,})-(\d{4}-\d\d-\d\d)(?:-(\d+))?\.toml")
_DIGITS = 4  # of a correlation


@dataclass(frozen=True, kw_only=True)
class Version:
    """One version of the press. current: press.toml as it stands; file: where it is.

    day: when it was made, or archived where the file does not say it. readings: it was made of.
    """

    number: int
    day: str
    readings: int
    source: str
    file: Path
    current: bool = False


def versions(shop: Path) -> tuple[Version, ...]:
    """List all versions by number; of several files of one number, the last.

    Raises
    ------
    InputError : press.toml cannot be read. A kept file that cannot is left out.
    """
    found: dict[int, Version] = {}
    for path, number, day in archived(shop):
        text = _text(path)
        if text is not None:
            found[number] = _version(text, path, number=number, day=day)
    now = _current(shop)
    found[now.number] = now
    return tuple(found[number] for number in sorted(found))


def save_press(
    shop: Path, press: Press, *, day: str, readings: int, draft: Draft | None = None
) -> Version:
    """Save a calibrated press as the next version.

    Parameters
    ----------
    day : YYYY-MM-DD. readings : how many it was made of.
    draft : press.toml as it was when the press was worked out, so that a change since is noticed.

    Raises
    ------
    InputError : the shop is the demo shop, cannot be written to or is being changed by somebody
        else; press.toml stays as it was then.
    """
    folder = editable_folder(shop)
    draft = draft or open_draft(folder, FILE)
    number = max(version.number for version in versions(shop)) + 1
    text = press_text(draft.text, press, version=number, day=day, readings=readings)
    _replace(draft, text, day=day, what=f"calibrated the press, version {number}")
    return _current(shop)


def go_back(shop: Path, *, day: str, number: int | None = None) -> Version:
    """Restore a version by number; None: the one before the current.

    Raises
    ------
    InputError : there is no such version, or what `save_press` raises.
    """
    draft = open_draft(editable_folder(shop), FILE)
    known = {version.number: version for version in versions(shop)}
    current = _current(shop).number
    if number is None:
        earlier = [each for each in known if each < current]
        if not earlier:
            raise InputError(f"press.toml of '{shop}' is version {current}; there is none before.")
        number = max(earlier)
    if number not in known:
        listed = ", ".join(map(str, known))
        raise InputError(f"there is no version {number} of this press; there are {listed}.")
    if number != current:
        _replace(draft, known[number].file.read_bytes().decode("utf-8-sig"), day=day,
                 what=f"went back to version {number} of the press")  # fmt: skip
    return _current(shop)


def press_text(text: str, press: Press, *, version: int, day: str, readings: int) -> str:
    """Write a press into the text of press.toml; comments, name and habits stay.

    Raises
    ------
    InputError : the text is not TOML.
    """
    import tomlkit

    document: Any = parsed(text, file=FILE)
    document["format"] = PRESS_FORMAT
    document["calibrated"] = press.calibrated
    document["source"] = press.source
    parameters = document.setdefault("parameters", tomlkit.table())
    for name in PressValues._fields:
        value, sd = _plain(getattr(press, name))
        if name in parameters:
            parameters[name]["value"], parameters[name]["sd"] = value, sd
        elif getattr(press, name) != getattr(Press, name):
            parameters[name] = _inline({"value": value, "sd": sd})
    calibration = _calibration(press, version=version, day=day, readings=readings)
    if "calibration" in document:
        del document["calibration"]
    document["calibration"] = calibration
    return str(document.as_string())


def _calibration(press: Press, *, version: int, day: str, readings: int) -> Any:
    """Make the calibration table beside the parameters."""
    import tomlkit

    table = tomlkit.table()
    table.comment("written by 'inksim calibrate'; 'inksim press --back' undoes it")
    table["version"], table["date"], table["readings"] = version, day, readings
    table["model_sd"] = rounded(press.model_sd)
    table["ink_sd_factor"] = rounded(press.ink_sd_factor)
    if press.correlation is not None:
        rows = tomlkit.array()
        for row in press.correlation:
            rows.add_line([round(each, _DIGITS) + 0.0 for each in row], indent="  ")
        rows.add_line(indent="")
        table["correlation"] = rows
    prior = tomlkit.table()
    for name in PressValues._fields:
        prior[name] = _inline(_named(getattr(press.before, name)))
    table["prior"] = prior
    entries = tomlkit.aot()
    for strength in press.strengths:
        entry = tomlkit.table()
        entry["name"], entry["mark"] = strength.ink, strength.mark
        entry["K"], entry["S"] = (_inline(_named(p)) for p in (strength.K, strength.S))
        if strength.shapes:
            entry["shapes"] = [list(_plain(place)) for place in strength.shapes]
        entries.append(entry)
    if press.strengths:
        table["ink"] = entries
    return table


def _named(parameter: Parameter) -> dict[str, float]:
    value, sd = _plain(parameter)
    return {"value": value, "sd": sd}


def _plain(parameter: Parameter) -> tuple[float, float]:
    return rounded(float(parameter.value)), rounded(float(parameter.sd))


def _inline(fields: Mapping[str, float]) -> Any:
    import tomlkit

    table = tomlkit.inline_table()
    table.update(fields)
    return table


def _replace(draft: Draft, text: str, *, day: str, what: str) -> None:
    """Archive press.toml, then save the new text; undo the archiving if that fails."""
    before = (draft.before or b"").decode("utf-8-sig")
    number = _number(before)
    copy = _archive(draft.folder, draft.before or b"", number=number, day=day)
    try:
        save(replace(draft, text=text, did=(what,)))
    except BaseException:
        if copy is not None:
            copy.unlink(missing_ok=True)
        raise


def _archive(shop: Path, data: bytes, *, number: int, day: str) -> Path | None:
    """Archive a version's file; None if the same bytes are there already."""
    same = [path for path, kept, _ in archived(shop) if kept == number]
    if any(path.read_bytes() == data for path in same):
        return None
    folder = shop / PRESS_HISTORY
    make_folder(folder)
    name, more = f"press-{number:04d}-{day}", 1
    while (path := folder / (f"{name}.toml" if more == 1 else f"{name}-{more}.toml")).exists():
        more += 1
    write_whole(path, data)
    return path


def archived(shop: Path) -> list[tuple[Path, int, str]]:
    """Archived files with number and day, in order of archiving."""
    found = []
    for path in (shop / PRESS_HISTORY).glob("press-*.toml"):
        if match := _KEPT.fullmatch(path.name):
            found.append((int(match[1]), match[2], int(match[3] or 1), path))
    return [(path, number, day) for number, day, _, path in sorted(found)]


def _current(shop: Path) -> Version:
    path = shop / FILE
    text = _text(path)
    if text is None:
        kept = archived(shop)
        back = f", or copy '{kept[-1][0]}' over it, which was kept last" if kept else ""
        raise InputError(f"'{path}' cannot be read, or is not TOML in UTF-8; mend it{back}.")
    return replace(_version(text, path, number=_number(text), day=""), current=True)


def _text(path: Path) -> str | None:
    try:
        text = text_of(path.read_bytes())
        toml_of(text)
    except (OSError, InputError):
        return None
    return text


def _table(text: str) -> Mapping[str, Any]:
    table = toml_of(text).get("calibration", {})
    return table if isinstance(table, dict) else {}


def _number(text: str) -> int:
    """Version of a press file; 0 where no calibration wrote it, 1 where it lost its number."""
    table = _table(text)
    return _count(table.get("version")) or int(bool(table))


def _count(value: object) -> int:
    """A whole number from 0; 0 for what a hand has made of it."""
    return value if isinstance(value, int) and not isinstance(value, bool) and value > 0 else 0


def _version(text: str, path: Path, *, number: int, day: str) -> Version:
    table = _table(text)
    return Version(
        number=number,
        day=str(table.get("date", "") or day),
        readings=_count(table.get("readings")),
        source=str(toml_of(text).get("source", "")),
        file=path,
    )
