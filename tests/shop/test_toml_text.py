"""Entries of a TOML file: what is meant changes, everything else and every comment stays."""

from __future__ import annotations

import difflib
import re
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from inksim.common.errors import InputError
from inksim.shop.load import demo_shop_folder
from inksim.shop.toml_text import (
    add_entry,
    find_entry,
    remove_entry,
    replace_entry,
    rounded,
    set_values,
)

FILE = """\
# Cloths and garments of the shop.
# Two lines at the top.

# cloths come first
[[cloth]]
name = "plain"  # as bought
hex = "#ffffff"
# a note inside the entry

# --- garments ---
[[garment]]
name = "One"
hex = "#000000"
fibers = { cotton = 1.0 }

# the second is new
[[garment]]
name = "Two"
hex = "#111111"
fibers = { cotton = 0.5, polyester = 0.5 }  # from the label
# end of the file
"""
NEW = {"name": "Three", "hex": "#222222", "fibers": {"cotton": 1.0}}


def comments(text: str) -> list[str]:
    return sorted(re.findall(r"#[^\n\"]*$", re.sub(r'"[^"\n]*"', '""', text), re.MULTILINE))


def lines_taken(before: str, after: str) -> list[str]:
    return [
        line[2:]
        for line in difflib.ndiff(before.splitlines(), after.splitlines())
        if line.startswith("- ")
    ]


def test_an_added_entry_takes_nothing_away() -> None:
    after = add_entry(FILE, "garment", NEW, file="garments.toml")
    assert lines_taken(FILE, after) == []
    assert tomllib.loads(after)["garment"][2] == NEW
    assert after.endswith(
        '# end of the file\n\n[[garment]]\nname = "Three"\nhex = "#222222"\n'
        "fibers = {cotton = 1.0}\n\n"
    )


def test_an_entry_goes_before_the_heading_of_what_follows() -> None:
    after = add_entry(FILE, "cloth", {"name": "gray", "hex": "#999999"}, file="garments.toml")
    assert lines_taken(FILE, after) == []
    assert '[[cloth]]\nname = "gray"\nhex = "#999999"\n\n# --- garments ---\n[[garment]]' in after


@pytest.mark.parametrize("text", ["", "# nothing yet\n", "[[other]]\nname = 'x'\n"])
def test_a_file_may_have_none_of_its_kind(text: str) -> None:
    after = add_entry(text, "target", {"name": "T", "hex": "#123456"}, file="targets.toml")
    assert after.startswith(text)
    assert tomllib.loads(after)["target"] == [{"name": "T", "hex": "#123456"}]


def test_a_removed_entry_leaves_the_others_and_what_introduces_them() -> None:
    after = remove_entry(FILE, "garment", "one", file="garments.toml")
    assert [g["name"] for g in tomllib.loads(after)["garment"]] == ["Two"]
    assert "# --- garments ---" in after
    after = remove_entry(FILE, "garment", "Two", file="garments.toml")
    assert tomllib.loads(after)["garment"][0]["name"] == "One"
    assert "# the second is new" in after  # it introduced Two, but speaks outside of it
    after = remove_entry(FILE, "cloth", "plain", file="garments.toml")
    assert "cloth" not in tomllib.loads(after)


def test_a_replaced_entry_keeps_comments_and_the_look_of_what_stays() -> None:
    changed = {"name": "Two", "hex": "#333333", "fibers": {"cotton": 0.5, "polyester": 0.5}}
    after = replace_entry(FILE, "garment", "two", changed, file="garments.toml")
    assert lines_taken(FILE, after) == ['hex = "#111111"']
    assert comments(after) == comments(FILE)


def test_fields_left_out_go_and_new_ones_come() -> None:
    after = replace_entry(
        FILE, "garment", "One", {**NEW, "name": "Uno", "hex": None, "lab": [1.0, 2, 3]}, file="g"
    )
    first = tomllib.loads(after)["garment"][0]
    assert first == {"name": "Uno", "fibers": {"cotton": 1.0}, "lab": [1.0, 2.0, 3.0]}


def test_a_name_is_taken_whatever_its_capitals() -> None:
    with pytest.raises(InputError, match=r"g\.toml already has the garment 'ONE'"):
        add_entry(FILE, "garment", {**NEW, "name": "ONE"}, file="g.toml")
    with pytest.raises(InputError, match="already has the garment 'Two'"):
        replace_entry(FILE, "garment", "One", {**NEW, "name": "Two"}, file="g.toml")


@pytest.mark.parametrize("change", [remove_entry, find_entry])
def test_an_entry_that_is_not_there_gets_the_near_name(change: Any) -> None:
    with pytest.raises(InputError, match="did you mean 'One'"):
        change(FILE, "garment", "Onee", file="g.toml")


@pytest.mark.parametrize(
    ("text", "words"), [("a = ", "not TOML"), ("garment = [{name = 'x'}]", "in one line")]
)
def test_what_cannot_be_edited_is_said(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        add_entry(text, "garment", NEW, file="g.toml")


def test_spectra_stand_ten_a_line_with_six_figures() -> None:
    entry = {"name": "S", "reflectance": [0.123456789 + band / 100 for band in range(31)]}
    after = add_entry("", "cloth", entry, file="g.toml")
    rows = re.findall(r"^  [\d., ]+$", after, re.MULTILINE)
    assert [row.count(".") for row in rows] == [10, 10, 10, 1]
    assert tomllib.loads(after)["cloth"][0]["reflectance"][0] == 0.123457
    assert rounded({"a": 0.1 + 0.2, "b": None, "c": True, "d": 3}) == {"a": 0.3, "c": True, "d": 3}


def test_a_value_that_stays_is_not_rounded_again() -> None:
    text = '[[target]]\nname = "x"\nlab = [12.3456789, 1, 2]\n'
    entry = find_entry(text, "target", "x", file="t")
    after = replace_entry(text, "target", "x", {**entry, "note": "new"}, file="t")
    assert "12.3456789" in after


def test_line_ends_of_windows_stay() -> None:
    text = FILE.replace("\n", "\r\n")
    after = add_entry(text, "garment", {**NEW, "reflectance": [0.5] * 31}, file="g.toml")
    assert "\n" not in after.replace("\r\n", "")


DEMO = (demo_shop_folder() / "garments.toml").read_text(encoding="utf-8")
step = st.tuples(st.sampled_from(["add", "remove", "replace"]), st.integers(0, 30))


@given(steps=st.lists(step, min_size=1, max_size=4))
@settings(max_examples=12)
def test_any_row_of_changes_to_the_demo_shop_does_what_a_list_would(
    steps: list[tuple[str, int]],
) -> None:
    text, names = DEMO, [g["name"] for g in tomllib.loads(DEMO)["garment"]]
    for number, (what, at) in enumerate(steps):
        fresh = {**NEW, "name": f"New {number}"}
        if what == "add" or not names:
            text = add_entry(text, "garment", fresh, file="g")
            names.append(fresh["name"])
        elif what == "remove":
            text = remove_entry(text, "garment", names.pop(at % len(names)), file="g")
        else:
            text = replace_entry(text, "garment", names[at % len(names)], fresh, file="g")
            names[at % len(names)] = fresh["name"]
    after = tomllib.loads(text)
    assert [g["name"] for g in after.get("garment", [])] == names
    assert after["cloth"] == tomllib.loads(DEMO)["cloth"]
    assert text.startswith(DEMO.partition("[[")[0])


NUMBERS = """# what it costs
labor = 28.0   # an hour
[parameters]
release = { value = 0.6, sd = 0.1 }   # share
# what it usually does
[habits]
passes = 2
"""


def test_values_are_set_where_they_stand() -> None:
    after = set_values(
        NUMBERS,
        {"labor": 30.0, "parameters.release": {"value": 0.5}, "parameters.soak": {"value": 0.2}},
        file="n",
    )
    assert "labor = 30.0   # an hour" in after
    assert "release = { value = 0.5, sd = 0.1 }   # share" in after
    # what speaks of the next table stays above it
    assert after.index("soak") < after.index("# what it usually does") < after.index("[habits]")


def test_a_value_is_taken_out_and_a_table_made() -> None:
    after = set_values(NUMBERS, {"labor": None, "more.deep": "x", "gone.too": None}, file="n")
    read = tomllib.loads(after)
    assert "labor" not in read
    assert "gone" not in read
    assert read["more"] == {"deep": "x"}
    assert read["habits"] == {"passes": 2}


def test_a_list_of_tables_is_written_a_line_each() -> None:
    colours = [{"hex": "#aa2211", "area_cm2": 20.0}, {"target": "Rust", "area_cm2": 1 / 3}]
    after = set_values("", {"color": colours}, file="n")
    assert tomllib.loads(after)["color"] == [colours[0], {"target": "Rust", "area_cm2": 0.333333}]
    assert len(after.splitlines()) == 4


def test_a_value_that_is_there_changes_nothing() -> None:
    assert set_values(NUMBERS, {"labor": 28.0, "habits.passes": 2}, file="n") == NUMBERS
    windows = NUMBERS.replace("\n", "\r\n")
    assert "\n" not in set_values(windows, {"habits.x": 1}, file="n").replace("\r\n", "")
