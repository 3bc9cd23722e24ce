"""A fault is a line a person can read, however long what it quotes is."""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from inksim.common.errors import LONGEST, InputError, ShopFaults


@pytest.mark.parametrize("word", ["x" * 5000, "many words " * 500, "/a/folder" * 90])
def test_a_long_word_is_cut_and_both_ends_of_the_sentence_stay(word: str) -> None:
    said = str(InputError(f"there is no ink '{word}' in this shop; it has: Ember, Chalk."))
    assert len(said) <= LONGEST
    assert said.startswith(f"there is no ink '{word[:20]}")
    assert said.endswith("in this shop; it has: Ember, Chalk.")
    assert "…" in said


def test_what_is_short_enough_stays_as_it_is() -> None:
    text = "x" * LONGEST + "\n" + "a b " * (LONGEST // 4)
    assert str(InputError(text)) == text


@given(st.lists(st.text(max_size=600), min_size=1, max_size=4))
def test_no_line_is_longer(faults: list[str]) -> None:
    error = ShopFaults(faults)
    assert all(len(line) <= LONGEST for line in str(error).split("\n"))
    assert len(error.faults) == len(faults)
