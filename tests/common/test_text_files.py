"""Files of text that ask for much: bounded before Python's readers see them."""

from __future__ import annotations

import pytest

from inksim.common import InputError
from inksim.common.text_files import MOST_NAMES, MOST_TEXT, toml_of


@pytest.mark.parametrize("text", ["{} = 1", "[{}]", "x = {{{} = 1}}\n{} = 2"])
def test_a_key_of_more_names_than_anybody_means_is_not_read(text: str) -> None:
    """40 000 names take tomllib minutes: each step copies the names before it."""
    with pytest.raises(InputError, match="anybody can mean"):
        toml_of(text.format(".".join(["a"] * 40_000), ".".join(["b"] * 40_000)))


def test_many_numbers_and_quoted_dots_are_no_long_key() -> None:
    numbers = ", ".join(["0.25"] * 5 * MOST_NAMES)
    found = toml_of(f'x = [\n[{numbers}],\n{numbers},\n]\n"{"." * 5 * MOST_NAMES}" = "a=b"')
    assert len(found["x"]) == 1 + 5 * MOST_NAMES


def test_a_text_too_long_to_be_a_shops_is_refused() -> None:
    with pytest.raises(InputError, match="at most"):
        toml_of(f'name = "{"b" * MOST_TEXT}"')
