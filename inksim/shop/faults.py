"""Read and validate the text files of a shop or a job; put every fault in words.

Faults are told all at once, each as 'file, entry, field: fault', so that they are mended in one go.
What the files may hold is `shop.schema`'s and `job.schema`'s.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, time
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from inksim.colour import WAVELENGTHS_NM
from inksim.common import InputError, ShopFaults, toml_of

M = TypeVar("M", bound=BaseModel)
T = TypeVar("T")


class Faults(list[str]):
    """All faults of a shop, collected.

    broken: names of entries left out for their faults; what refers to one is not a second fault.
    """

    def __init__(self) -> None:
        super().__init__()
        self.broken: set[str] = set()

    def attempt(self, where: str, make: Callable[[], T]) -> T | None:
        """Run a constructor; its refusal becomes a fault."""
        try:
            return make()
        except InputError as error:
            self.append(f"{where}: {error}")
            return None


def _entry_label(document: Mapping[str, Any], location: tuple[Any, ...]) -> str:
    """Word a pydantic location: ('ink', 3, 'K', 12) → "ink 'ember', K at 520 nm"."""
    words: list[str] = []
    here: Any = document
    for step in location:
        if isinstance(step, int) and isinstance(here, list):
            inside = here[step] if step < len(here) else None
            if isinstance(inside, dict):
                words[-1] += f" '{inside['name']}'" if "name" in inside else f" no. {step + 1}"
            elif len(here) == len(WAVELENGTHS_NM):
                words[-1] += f" at {WAVELENGTHS_NM[step]:.0f} nm"
            else:
                words[-1] += f" value {step + 1}"
            here = inside
        else:
            words.append(str(step))
            here = here.get(step) if isinstance(here, dict) else None
    return ", ".join(words) or "file"


WORDS = {
    "extra_forbidden": "this field is not known; check its spelling",
    "missing": "this field is missing",
    "greater_than": "must be above {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be below {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "finite_number": "must be a finite number",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "too_short": "has {actual_length} values, and at least {min_length} belong here",
    "too_long": "has more than {max_length} values, the most that belong here",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "string_pattern_mismatch": "is not written as such a value is",
    "literal_error": "must be {expected}",
}
"""Of pydantic's kinds of faults; its own words are a programmer's."""
SAID_ALONE = {"extra_forbidden", "missing"}


def _word(fault: Mapping[str, Any]) -> str:
    """Say a pydantic fault in words of our own, with the value where it is short."""
    kind, value = fault["type"], fault.get("input")
    if kind == "value_error":
        message = str(fault["ctx"]["error"])
        # "K and S", not "k and S"
        first = message[0] if message[1:2] == " " else message[0].lower()
        return first + message[1:]
    words = WORDS.get(kind, "is not what belongs here").format(**fault.get("ctx", {}))
    if kind in SAID_ALONE or isinstance(value, dict | list):
        return words
    shown = str(value).lower() if isinstance(value, bool) else repr(value)
    if isinstance(value, date | time):  # written without quotes
        shown = str(value)
    return f"{words} (it is {shown})" if len(shown) <= 40 else words


def _parse(path: Path) -> dict[str, Any]:
    """Read one TOML file.

    Raises
    ------
    InputError : missing, unreadable, not UTF-8 or not TOML.
    """
    try:
        return toml_of(path.read_bytes())
    except FileNotFoundError:
        raise InputError(f"the file is missing from {path.parent}") from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}") from None


def read_file(folder: Path, file: str, model: type[M], faults: Faults, *, needed: bool) -> M | None:
    """Read and validate a file; collect its faults, keep its sound entries."""
    if not needed and not (folder / file).exists():
        return model()
    document = faults.attempt(file, lambda: _parse(folder / file))
    if document is None:
        return None
    try:
        return model.model_validate(document)
    except ValidationError as error:
        faults += faults_in_words(document, error, file=file)
        return _sound_entries(document, model, error, faults)


def faults_in_words(document: Mapping[str, Any], error: ValidationError, *, file: str) -> list[str]:
    """Say every fault that pydantic found as 'file, entry, field: fault'."""
    said = []
    for fault, more in _by_field(error):
        others = f", and so for {more} more values" if more else ""
        said.append(f"{file}, {_entry_label(document, fault['loc'])}: {_word(fault)}{others}")
    return said


def _by_field(error: ValidationError) -> list[tuple[Mapping[str, Any], int]]:
    """Group faults by field: the first of a spectrum, and how many more of its values have it."""
    groups: dict[tuple[Any, ...], list[Mapping[str, Any]]] = {}
    for fault in error.errors():
        loc = fault["loc"]
        field = loc[:-1] if len(loc) > 3 and isinstance(loc[-1], int) else loc
        groups.setdefault((*field, fault["type"]), []).append(fault)
    return [(faults[0], len(faults) - 1) for faults in groups.values()]


def read_checked(path: Path, model: type[M], *, what: str) -> M:
    """Read and validate a TOML file by itself, such as a job.

    Raises
    ------
    ShopFaults : unreadable, or every fault of it at once.
    """
    if not path.is_file():
        raise InputError(f"{what} cannot be read: there is no file '{path}'.")
    try:
        document = _parse(path)
    except InputError as error:
        raise InputError(f"{what} '{path}' is {error}.") from None
    return checked(document, model, file=path.name, what=what)


def checked(document: Mapping[str, Any], model: type[M], *, file: str, what: str) -> M:
    """Validate what a file says, or would say.

    Raises
    ------
    ShopFaults : every fault of it at once.
    """
    try:
        return model.model_validate(document)
    except ValidationError as error:
        raise ShopFaults(faults_in_words(document, error, file=file), what=what) from None


def _sound_entries(
    document: Mapping[str, Any], model: type[M], error: ValidationError, faults: Faults
) -> M | None:
    """Validate a file again without its faulty entries, so that the rest is checked too."""
    if any(field.default != [] for field in model.model_fields.values()):
        return None  # one table, not a list of entries
    faulty = {fault["loc"][:2] for fault in error.errors()}
    kept: dict[str, list[Any]] = {}
    for kind in model.model_fields:
        entries = document.get(kind, [])
        if not isinstance(entries, list):
            return None
        kept[kind] = [e for at, e in enumerate(entries) if (kind, at) not in faulty]
        faults.broken.update(
            str(e.get("name")) for e in entries if isinstance(e, dict) and e not in kept[kind]
        )
    return model.model_validate(kept)
