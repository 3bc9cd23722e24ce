"""What an undo brings back, in a user's words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from inksim.common import InputError, counted, listed, text_of, toml_of
from inksim.shop.changes import Change
from inksim.shop.settings import SETTINGS, Setting

KINDS = {"target": "color", "palette": "color"}
_ENTRY = re.compile(r"(added|changed|removed) (\w+) '(.*)'", re.DOTALL)


def what_undo_brings(change: Change, *, money: str = "") -> str:
    """What undoing a change does: 'bring back screen 305', 'Labor 28 USD/h again'.

    An undo is a change too: undone, what was taken back is there again. money: the currency.
    """
    if not change.also:
        return _of_file(change, money=money)
    return "; ".join(
        f"{each.file.removesuffix('.toml')} as before"
        if (said := _of_file(each, money=money)).endswith(" again")
        else said
        for each in (change, *change.also)
    )


def _of_file(change: Change, *, money: str) -> str:
    taken, brought = "took back: ", "brought back: "
    back = change.what.startswith(taken)
    what = change.what.removeprefix(taken).removeprefix(brought)
    if what.startswith("set "):
        return _values(what.removeprefix("set ").split(", "), change, money=money)
    if what.startswith(("calibrated the press", "went back to version")):
        return "the press as it was"
    said = [_entry(each, back=back) for each in what.split("; ")]
    if not all(said):
        return f"{'do again' if back else 'take back'}: {what}"
    return _joined(said)


def _entry(what: str, *, back: bool) -> str:
    """Words of one entry added, changed or removed; '' of anything else."""
    found = _ENTRY.fullmatch(what)
    if found is None:
        return ""
    verb, kind, name = found.groups()
    of = f"{KINDS.get(kind, kind)} {name}"
    if verb == "changed":
        return f"{of} as it was"
    return f"bring back {of}" if (verb == "removed") != back else f"take out {of}"


def _joined(said: list[str]) -> str:
    """'take out ink Ember and ink Chalk', 'take out 4 screens': a verb said once."""
    first, *rest = said
    for verb in ("take out ", "bring back "):
        if all(each.startswith(verb) for each in said):
            kinds = {each.removeprefix(verb).split()[0] for each in said}
            if len(said) > 2 and len(kinds) == 1:
                return f"{verb}{counted(len(said), kinds.pop())}"
        if first.startswith(verb):
            rest = [each.removeprefix(verb) for each in rest]
    return listed([first, *rest])


def _values(fields: list[str], change: Change, *, money: str) -> str:
    """The values that were there before, by their words; the first two of many."""
    try:
        before = toml_of(text_of(change.before))
    except InputError:
        return f"{change.file} as it was"
    named = [said for field in fields if (said := _value(field, change.file, before, money))]
    if not named:
        return f"{change.file} as it was"
    more = len(fields) - 2
    rest = [f"{counted(more, 'more value')}"] if more > 0 else []
    return f"{', '.join([*named[:2], *rest])} again"


def _value(field: str, file: str, before: dict[str, Any], money: str) -> str:
    setting = next(_settings(file, field), None)
    if setting is None:
        return ""
    value: Any = before
    for step in field.split("."):
        value = value.get(step) if isinstance(value, dict) else None
    if setting.pair and isinstance(value, dict):
        value = value.get("value")
    if value is None:
        value = None if setting.pair else setting.usual
    if isinstance(value, list):
        shown = ", ".join(map(str, value)) or "none"
    elif isinstance(value, bool):
        shown = "yes" if value else "no"
    elif isinstance(value, int | float):
        times = 100.0 if setting.unit == "%" else 1.0
        shown = f"{times * value:g} {setting.unit.replace('money', money)}".strip()
    else:
        shown = "not known" if value is None else str(value)
    return f"{setting.what}: {shown}"


def _settings(file: str, field: str) -> Iterator[Setting]:
    return (s for s in SETTINGS.values() if s.file == file and s.field == field)
