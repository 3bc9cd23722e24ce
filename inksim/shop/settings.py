"""The numbers of a shop outside of its entries, by the names that 'inksim set' takes.

``costs.labor_per_hour``, ``rules.most_lines_per_inch``, ``habits.straight_passes``,
``press.stations``, ``press.release`` and ``shop.name``: each is one value of one file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inksim.common import InputError, unknown
from inksim.shop.edit import Draft, check, open_draft
from inksim.shop.schema import CostsEntry, Entry, HabitsEntry, RulesEntry, StationsEntry
from inksim.shop.shop import Shop
from inksim.shop.words import numbers_asked
from inksim.stock import MEANINGS

LISTS = {
    "not_kept": ("Rules that this shop does not keep", ""),
    "bucket_g": ("Sizes that ink is bought in", "g"),
}
"""What lists are, and their unit; separated by commas."""
YES, NO = ("yes", "true", "on"), ("no", "false", "off")


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One value: its file, its dotted name there, what it is, its unit and its usual value.

    source: dotted name of where it comes from; '' where that is not kept. pair: a value with its
    standard deviation.
    """

    file: str
    field: str
    what: str
    unit: str = ""
    usual: Any = None
    source: str = ""
    pair: bool = False


def _of(entry: type[Entry], file: str, *, table: str = "") -> dict[str, Setting]:
    """Settings of a file or of one table of it."""
    words = numbers_asked(entry)
    return {
        name: Setting(
            file=file,
            field=f"{table}{name}",
            what=words[name].what if name in words else LISTS[name][0],
            unit=words[name].unit if name in words else LISTS[name][1],
            usual=field.get_default(),
            source=f"{table}source",
        )
        for name, field in entry.model_fields.items()
        if name != "source"
    }


def _named(head: str, settings: Mapping[str, Setting]) -> dict[str, Setting]:
    return {f"{head}.{name}": setting for name, setting in settings.items()}


_PARAMETERS = {
    name: Setting(
        file="press.toml", field=f"parameters.{name}", what=meaning.words, unit=meaning.unit,
        source="source", pair=True,
    )
    for name, meaning in MEANINGS.items()
}  # fmt: skip
SETTINGS: Mapping[str, Setting] = {
    "shop.name": Setting(file="shop.toml", field="name", what="Name of the shop", usual=""),
    "shop.scenario": Setting(file="shop.toml", field="scenario", what="About the shop", usual=""),
    "press.name": Setting(file="press.toml", field="name", what="Name of the press", usual=""),
    **_named("press", _of(StationsEntry, "press.toml", table="stations.")),
    **_named("press", _PARAMETERS),
    **_named("habits", _of(HabitsEntry, "press.toml", table="habits.")),
    **_named("rules", _of(RulesEntry, "rules.toml")),
    **_named("costs", _of(CostsEntry, "costs.toml")),
}
"""Every value that can be set, by its name."""


def settings_drafted(
    folder: Path, texts: Sequence[str], *, shop: Shop, said: str
) -> tuple[Draft, ...]:
    """Drafts of the files in which 'NAME=VALUE' texts set values, each checked, none saved.

    An empty value is taken out: what is not known, or as usual. said: where the values come from.

    Raises
    ------
    InputError : no such name, a value that is none, or one that would be a fault of the shop.
    """
    values: dict[str, dict[str, Any]] = {}
    for text in texts:
        name, mark, value = text.partition("=")
        name = name.strip()
        if not mark:
            raise InputError(
                f"'{text}' sets nothing; write NAME=VALUE, such as costs.labor_per_hour=25."
            )
        setting = _found(name)
        if setting.pair and shop.press.calibrated:
            raise InputError(
                f"{name} comes from readings of prints and hangs together with the others; go back "
                "with 'inksim press --to 0', set it, and calibrate again."
            )
        own = values.setdefault(setting.file, {})
        own[setting.field] = _read(name, setting, value.strip())
        if setting.source:
            own[setting.source] = said
    drafts = tuple(open_draft(folder, file).set(own) for file, own in values.items())
    for draft in drafts:
        check(draft)
    return drafts


def settings_listed(shop: Shop) -> dict[str, dict[str, Any]]:
    """What each setting is in a shop: 'value', 'unit', 'what', by the name that sets it."""
    held = {"costs": shop.costs, "rules": shop.rules, "habits": shop.habits}
    listed = {}
    for name, setting in SETTINGS.items():
        head, _, field = name.partition(".")
        if head in held:
            value = getattr(held[head], field)
        elif setting.pair:
            value = list(getattr(shop.press, field))
        elif setting.field.startswith("stations."):
            value = getattr(shop.stations, field)
        else:
            continue  # the names of shop and press stand over the list
        unit = setting.unit.replace("money", shop.costs.currency).replace("%", "share")
        listed[name] = {"value": value, "unit": unit, "what": setting.what}
    return listed


def _found(name: str) -> Setting:
    if name in SETTINGS:
        return SETTINGS[name]
    same = [each for each in SETTINGS if each.partition(".")[2] == name]
    if len(same) == 1:
        return SETTINGS[same[0]]
    where = "; 'inksim shop' lists them"
    error = unknown(name, SETTINGS, what="value", where="to set")
    if "did you mean" in str(error):
        raise error
    raise InputError(f"there is no value '{name}' to set{where}.")


def _read(name: str, setting: Setting, text: str) -> Any:
    """A value as it goes into the file; None to take it out."""
    if not text:
        return None
    if setting.pair:
        value, _, sd = text.replace("±", ",").partition(",")
        if not sd.strip():
            raise InputError(f"{name}: give the value and its standard deviation, as 0.62,0.1.")
        return {"value": _number(name, value), "sd": _number(name, sd)}
    if isinstance(setting.usual, bool):
        if text.lower() not in (*YES, *NO):
            raise InputError(f"{name} is '{text}'; write yes or no.")
        return text.lower() in YES
    if isinstance(setting.usual, list):
        parts = [part.strip() for part in text.split(",") if part.strip()]
        return parts if name == "rules.not_kept" else [_number(name, part) for part in parts]
    if isinstance(setting.usual, str):
        return text
    number = _number(name, text)
    whole = isinstance(setting.usual, int) and number == int(number)
    return int(number) if whole else number


def _number(name: str, text: str) -> float:
    percent = text.strip().endswith("%")
    try:
        value = float(text.strip().removesuffix("%"))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{name} is '{text}'; give a number.")
    return value / 100.0 if percent else value
