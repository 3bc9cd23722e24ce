"""Words for the numbers in a shop's files, as a page asks for them."""

from __future__ import annotations

from typing import Any, NamedTuple

from pydantic import BaseModel, Field


class Asked(NamedTuple):
    """What a number is, as a page asks for it; in its unit 'money' stands for the currency.

    optional: whether it may be left unknown. least: smallest value of a count.
    """

    what: str
    unit: str
    optional: bool
    least: int = 1

    @property
    def times(self) -> float:
        """What is shown over what is filed."""
        return 100.0 if self.unit == "%" else 1.0


def asked(default: Any, what: str, unit: str = "") -> Any:
    """Return the field of a number with its words."""
    return Field(default, title=what, json_schema_extra={"unit": unit})


def numbers_asked(entry: type[BaseModel]) -> dict[str, Asked]:
    """Return the words of each number of an entry that has them, in order."""
    return {
        name: Asked(
            field.title,
            str(field.json_schema_extra["unit"]),
            field.default is None,
            next((limit.ge for limit in field.metadata if hasattr(limit, "ge")), 1),
        )
        for name, field in entry.model_fields.items()
        if field.title and isinstance(field.json_schema_extra, dict)
    }
