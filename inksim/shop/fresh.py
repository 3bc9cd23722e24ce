"""A new shop: a copy of the demo shop to change, or an empty one; and what a shop needs next."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from inksim.common import UNFINISHED, InputError, make_folder, sweep, write_whole
from inksim.shop.load import demo_shop_folder
from inksim.shop.migration import FORMAT
from inksim.shop.schema import CostsEntry, HabitsEntry, RulesEntry, StationsEntry
from inksim.shop.shop import Shop
from inksim.shop.toml_text import rounded
from inksim.shop.words import numbers_asked
from inksim.stock import MEANINGS, Press

NAME = "New shop"
GENERIC = "generic starting values, not calibrated to any press"
USUAL = "common practice, no source"


def new_shop(folder: Path, *, name: str | None = None, empty: bool = False) -> Path:
    """Make a new shop: a copy of the demo shop's text files, or one without entries, to fill.

    empty: no ink, garment, screen or target, a press of the model's starting values, usual habits
    and rules, and no costs.

    Raises
    ------
    InputError : the folder exists and is not empty, or cannot be made.
    """
    if name is not None and (not 0 < len(name) <= 60 or name != name.strip()):
        raise InputError("a shop's name has 1 to 60 characters, without spaces at its ends.")
    if name is not None and not name.isprintable():
        raise InputError("a shop's name has no line breaks or control characters.")
    files = _empty_files(name or NAME) if empty else _demo_files(name)
    if folder.exists() and not (folder.is_dir() and _is_vacant(folder, files)):
        raise InputError(f"'{folder}' is there already and not empty; name a new folder.")
    try:
        make_folder(folder)
    except OSError as error:
        raise InputError(f"'{folder}' cannot be made: {error.strerror}.") from None
    for file, data in files.items():
        if file != "shop.toml":
            write_whole(folder / file, data)
    write_whole(folder / "shop.toml", files["shop.toml"])  # last: with it the folder is a shop
    return folder


def _is_vacant(folder: Path, files: Mapping[str, bytes]) -> bool:
    """Whether a folder is empty, or a `new_shop` of these files was killed in it half way."""
    sweep(folder, UNFINISHED)
    return not (folder / "shop.toml").exists() and all(
        each.name in files and each.is_file() and each.read_bytes() == files[each.name]
        for each in folder.iterdir()
    )


def next_step(shop: Shop) -> str:
    """What a shop lacks that nothing can be predicted without, in a sentence; '' if nothing."""
    where = f" --shop {shop.folder}"
    if not shop.screens:
        lacks, how = "screens", "add screen --name 160 --threads 160 --thread-um 60"
    elif not shop.inks:
        lacks, how = "inks", 'add ink --name NAME --hex "#rrggbb"'
    elif not shop.garments:
        lacks, how = "garments", 'add garment --name NAME --hex "#rrggbb" --fibers cotton=1.0'
    else:
        return ""
    more = " (or 'inksim characterize' with drawdowns)" if lacks == "inks" else ""
    return f"{shop.name} has no {lacks} yet; add one with 'inksim {how}{where}'{more}."


def _demo_files(name: str | None) -> dict[str, bytes]:
    files = {path.name: path.read_bytes() for path in sorted(demo_shop_folder().glob("*.toml"))}
    if name is not None:
        import tomlkit

        about = tomlkit.parse(files["shop.toml"].decode("utf-8-sig"))
        about["name"] = name
        files["shop.toml"] = about.as_string().encode()
    return files


def _empty_files(name: str) -> dict[str, bytes]:
    """Files of a shop without entries; every number with what it is."""
    press = [f"{field} = {_pair(field)}  # {meaning.words}{_unit(meaning.unit)}"
             for field, meaning in MEANINGS.items() if getattr(Press, field).sd]  # fmt: skip
    texts = {
        "shop.toml": [f"name = {_quoted(name)}", f"format = {FORMAT}"],
        "inks.toml": ["# Inks: 'inksim add ink', or 'inksim characterize' with drawdowns."],
        "garments.toml": ["# The shop's garments and cloths: 'inksim add garment', 'add cloth'."],
        "screens.toml": ["# The shop's screens: 'inksim add screen'."],
        "targets.toml": ["# Colors that clients ask for: 'inksim add target'."],
        "palette.toml": ["# The shop's own palette: 'inksim add target --palette'."],
        "press.toml": [
            "# Each parameter has a value and a standard deviation (sd). 'inksim calibrate'",
            "# narrows them once the shop reads its own prints.",
            'name = "Press"', "calibrated = false", f"source = {_quoted(GENERIC)}",
            "", "[parameters]", *press,
            "", "[stations]", *_numbers(StationsEntry),
            "", f"# What this shop usually does ({USUAL}).", "[habits]", *_numbers(HabitsEntry),
        ],
        "rules.toml": [f"# Numbers in the trade's rules ({USUAL}).", *_numbers(RulesEntry)],
        "costs.toml": [
            "# What things cost here. What is not known is left out of the sum, and said.",
            *_numbers(CostsEntry),
        ],
    }  # fmt: skip
    return {file: ("\n".join(lines) + "\n").encode() for file, lines in texts.items()}


def _numbers(entry: type[BaseModel]) -> list[str]:
    """A line for each number of an entry: its usual value, or a comment where it has none."""
    lines = []
    for field, asked in numbers_asked(entry).items():
        value = entry.model_fields[field].default
        unit = "" if asked.unit in ("money", "%") else asked.unit
        said = f"{field} = " if value is None else f"{field} = {_toml(value)}  "
        lines.append(f"{'# ' if value is None else ''}{said}# {asked.what}{_unit(unit)}")
    return lines


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return _quoted(value) if isinstance(value, str) else f"{rounded(value)}"


def _pair(field: str) -> str:
    value, sd = getattr(Press, field)
    return f"{{ value = {value}, sd = {sd} }}"


def _unit(unit: str) -> str:
    return f", {unit}" if unit else ""


def _quoted(text: str) -> str:
    """A TOML string; JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False)
