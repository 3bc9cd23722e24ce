"""Add, replace and remove entries (``[[ink]]`` and the like) in TOML text, keeping its layout.

Every function returns the whole new text, comments and all, and checks that it holds exactly what
was meant. Numbers are written with six figures. No file is touched.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from inksim.common import InputError, toml_of, unknown
from inksim.shop.spelling import spelled

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import AoT, Table

FIGURES, A_LINE = 6, 10  # significant figures of a written number, values a line


class NameTaken(InputError):
    """An entry of this name is there already: `there` says where and which, without what to do."""

    def __init__(self, there: str) -> None:
        self.there = there
        super().__init__(f"{there}; give another name, or replace that one.")


def add_entry(text: str, key: str, entry: Mapping[str, Any], *, file: str) -> str:
    """Add an entry after the last of its kind.

    Raises
    ------
    NameTaken : capitals do not tell names apart.
    InputError : the text is not TOML.
    """
    document, entries = _parsed(text, key, file=file)
    name = str(entry["name"])
    if _index(entries, name) is not None:
        raise NameTaken(f"{file} already has the {key} '{name}'")
    fresh = rounded(entry)
    table = _table(fresh)
    if entries:
        _move_trailing(entries[-1], table)
    else:
        document[key] = entries
    entries.append(table)
    meant = tomllib.loads(text)
    meant.setdefault(key, []).append(fresh)
    return _checked(document, meant, file=file)


def replace_entry(text: str, key: str, name: str, entry: Mapping[str, Any], *, file: str) -> str:
    """Replace an entry's fields; those that do not change keep their layout.

    Raises
    ------
    InputError : no such entry, or its new name is another's.
    """
    document, entries = _parsed(text, key, file=file)
    at = _found(entries, key, name)
    if _index(entries, str(entry["name"])) not in (None, at):
        raise InputError(f"{file} already has the {key} '{entry['name']}'; give another name.")
    table = entries[at]
    old = table.unwrap()
    fresh = {
        field: old[field] if old.get(field) == value else rounded(value)
        for field, value in entry.items()
        if value is not None
    }
    for field in [field for field in old if field not in fresh]:
        del table[field]
    for field, value in fresh.items():
        if field not in old or old[field] != value:
            table[field] = _item(value)
    meant = tomllib.loads(text)
    meant[key][at] = fresh
    return _checked(document, meant, file=file)


def remove_entry(text: str, key: str, name: str, *, file: str) -> str:
    """Remove an entry and the comments inside it.

    Raises
    ------
    InputError : no such entry.
    """
    document, entries = _parsed(text, key, file=file)
    at = _found(entries, key, name)
    meant = tomllib.loads(text)
    del meant[key][at]
    if len(entries) == 1:
        del document[key], meant[key]
    else:
        # what follows the entry after a blank line speaks of the next one: it stays
        _move_trailing(entries[at], entries[at - 1] if at > 0 else None)
        del entries[at]
    return _checked(document, meant, file=file)


def find_entry(text: str, key: str, name: str, *, file: str) -> dict[str, Any]:
    """Return an entry's fields as plain values, spelled as they are written now.

    Raises
    ------
    InputError : no such entry.
    """
    _, entries = _parsed(text, key, file=file)
    fields: dict[str, Any] = spelled(entries[_found(entries, key, name)].unwrap())
    return fields


def set_values(text: str, values: Mapping[str, Any], *, file: str) -> str:
    """Set values outside of entries, by dotted name ("parameters.release"); None removes one.

    A table is merged, so that its other values stay. What does not change keeps its layout.

    Raises
    ------
    InputError : the text is not TOML, what is no table is asked for a field, or no finite number.
    """
    import tomlkit

    document, _ = _parsed(text, "", file=file)
    meant = tomllib.loads(text)
    for dotted, value in values.items():
        *tables, last = dotted.split(".")
        place: Any = document
        wanted: Any = meant
        for table in tables:
            if table not in place and value is not None:
                place[table], wanted[table] = tomlkit.table(), {}
            place, wanted = place.get(table, {}), wanted.get(table, {})
            if not isinstance(wanted, Mapping):
                raise InputError(
                    f"{file}: '{table}' is {wanted!r}, no table that has a '{last}'; give "
                    f"'{table}' as a whole."
                )
        fresh = rounded({dotted: value}).get(dotted)
        if fresh is None:
            wanted.pop(last, None)
            place.pop(last, None)
        elif isinstance(fresh, Mapping) and isinstance(wanted.get(last), Mapping):
            for field, each in fresh.items():
                if wanted[last].get(field) != each:
                    place[last][field] = wanted[last][field] = each
        elif wanted.get(last) != fresh:
            _put(place, last, _item(fresh))
            wanted[last] = fresh
    return _checked(document, meant, file=file)


def rounded(value: Any) -> Any:
    """Round values as they are written: numbers to six figures, None left out.

    Raises
    ------
    InputError : a number that is not finite.
    """
    if isinstance(value, Mapping):
        for field, each in value.items():
            if isinstance(each, float) and not math.isfinite(each):
                raise InputError(f"{field} is {each:g}; give a number that is finite.")
        return {k: rounded(v) for k, v in value.items() if v is not None}
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return float(f"{value:.{FIGURES}g}")
    whole = (str, list, Mapping)
    return [rounded(each if isinstance(each, whole) else float(each)) for each in value]


def parsed(text: str, *, file: str) -> TOMLDocument:
    """The document of a text, with its layout.

    Raises
    ------
    InputError : the text is not TOML.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        toml_of(text)
        return tomlkit.parse(text)
    except InputError as error:
        raise InputError(f"{file} is {error}; mend it first.") from None
    except (TOMLKitError, RecursionError):
        raise InputError(f"{file} cannot be changed from here; edit it by hand.") from None


def _parsed(text: str, key: str, *, file: str) -> tuple[TOMLDocument, AoT]:
    import tomlkit
    from tomlkit.items import AoT

    document = parsed(text, file=file)
    entries = document.get(key, tomlkit.aot())
    if not isinstance(entries, AoT):
        raise InputError(
            f"{file} writes its entries in one line ({key} = [...]); write each as [[{key}]] to "
            "change them from here."
        )
    return document, entries


def _index(entries: AoT, name: str) -> int | None:
    wanted = name.strip().lower()
    for at, entry in enumerate(entries):
        if str(entry.get("name", "")).lower() == wanted:
            return at
    return None


def _found(entries: AoT, key: str, name: str) -> int:
    at = _index(entries, name)
    if at is None:
        raise unknown(name, [str(entry.get("name", "")) for entry in entries], what=key)
    return at


def _item(value: Any) -> Any:
    """Make a TOML value; arrays as long as a spectrum get ten values a line."""
    import tomlkit

    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        for field, each in value.items():
            inline[field] = _item(each)
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        if value and isinstance(value[0], list | Mapping):  # spectra, or colors of a job
            for each in value:
                array.add_line(_item(each) if isinstance(each, Mapping) else each, indent="  ")
            array.add_line(indent="")
            return array
        if len(value) <= A_LINE:
            array.extend(value)
            return array
        for start in range(0, len(value), A_LINE):
            array.add_line(*value[start : start + A_LINE], indent="  ")
        array.add_line(indent="")
        return array
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    return tomlkit.item(value)


def _put(place: TOMLDocument | Table, field: str, item: Any) -> None:
    """Set a value, or add it after the last one; comments below belong to the next table."""
    from tomlkit.items import Table

    if field in place or not isinstance(place, Table):
        place[field] = item
        return
    body = place.value.body
    last = max((at for at, (key, _) in enumerate(body) if key is not None), default=-1)
    below: list[Any] = [each for _, each in body[last + 1 :]]
    del body[last + 1 :]
    place.add(field, item)
    for each in below:
        place.add(each)


def _table(fields: Mapping[str, Any]) -> Table:
    import tomlkit

    table = tomlkit.table()
    for field, value in fields.items():
        table.add(field, _item(value))
    table.add(tomlkit.nl())
    return table


def _move_trailing(giver: Table, taker: Table | None) -> None:
    """Move what follows a table's fields after a blank line; a blank line ends the table then."""
    import tomlkit
    from tomlkit.items import Comment, Whitespace

    body = giver.value.body
    last = max((at for at, (key, _) in enumerate(body) if key is not None), default=-1)
    blank = [at for at in range(last + 1, len(body)) if isinstance(body[at][1], Whitespace)]
    if not blank:
        giver.add(tomlkit.nl())
        return
    moved = [item for _, item in body[blank[0] + 1 :] if isinstance(item, Comment | Whitespace)]
    if taker is None or not any(isinstance(item, Comment) for item in moved):
        return
    del body[blank[0] + 1 :]
    for item in moved:
        taker.add(item)


def _checked(document: TOMLDocument, meant: Mapping[str, Any], *, file: str) -> str:
    """Return the text once it is checked to hold what was meant."""
    text = document.as_string()
    if "\r\n" in text:  # a file with the line ends of Windows keeps them throughout
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    if tomllib.loads(text) != meant:
        raise InputError(
            f"{file} cannot be changed from here without changing more than was asked; change it "
            "in a text editor."
        )
    return text
