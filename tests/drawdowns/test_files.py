"""Recipes as a shop writes them, and drawdowns out of files of readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest

from inksim.common.errors import InputError
from inksim.drawdowns.files import Drawdowns, read_drawdowns
from inksim.drawdowns.recipe import is_card, recipe_from

NM = list(range(400, 701, 10))


def rows(head: Sequence[str], body: Sequence[tuple[Sequence[str], float]]) -> str:
    lines = [",".join([*head, *map(str, NM)])]
    lines += [",".join([*cells, *([f"{level:.4f}"] * len(NM))]) for cells, level in body]
    return "\n".join(lines)


HEAD = ("name", "ink", "backing", "thickness_um", "geometry")
BODY = [
    (("card", "", "black", "", "45:0"), 0.012),
    (("card", "", "white", "", "45:0"), 0.812),
    (("a", "Kiln Red", "black", "12", "45:0"), 0.1),
    (("b", "Kiln Red", "white", "12", "45:0"), 0.3),
    (("c", "Kiln Red 10 % + Chalk White 90 %", "black", "", "45:0"), 0.4),
]


def read(tmp_path: Path, text: str, **words: object) -> Drawdowns:
    path = tmp_path / "sheet.csv"
    path.write_text(text)
    return read_drawdowns([path], **words)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Kiln Red", {"Kiln Red": 1.0}),
        ("Ink 7", {"Ink 7": 1.0}),
        ("Kiln Red 100 %", {"Kiln Red": 1.0}),
        ("Red 10 % + White 90 %", {"Red": 0.1, "White": 0.9}),
        ("Red 0.1 + White 0.9", {"Red": 0.1, "White": 0.9}),
        ("Red: 1; White: 9", {"Red": 0.1, "White": 0.9}),
        ("10% Kiln Red + 90% Chalk White", {"Kiln Red": 0.1, "Chalk White": 0.9}),
        ("Red = 0,1 + White = 0,9", {"Red": 0.1, "White": 0.9}),
        ("Ink 7 1 + Ink 8 3", {"Ink 7": 0.25, "Ink 8": 0.75}),
        ("Red 1 + White 0", {"Red": 1.0}),
    ],
)
def test_recipes_in_many_hands(text: str, parts: Mapping[str, float]) -> None:
    recipe = recipe_from(text, where="x")
    assert dict(recipe.parts) == pytest.approx(parts)
    assert not recipe.by_mass


def test_grams_are_mass() -> None:
    recipe = recipe_from("5 g Red + 45 grams White", where="x")
    assert dict(recipe.parts) == pytest.approx({"Red": 0.1, "White": 0.9})
    assert recipe.by_mass
    assert recipe.words == "Red 10 % + White 90 %"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Red + White 3", "x: 'Red' in the recipe has no amount"),
        ("Red 1 + Red 2", "'Red' stands twice"),
        ("Red 5 g + White 45", "mixes grams with parts"),
        ("Red 0 + White 0", "must be above 0"),
    ],
)
def test_a_recipe_that_cannot_be_meant_is_refused(text: str, fault: str) -> None:
    with pytest.raises(InputError, match=fault):
        recipe_from(text, where="x")


@pytest.mark.parametrize("word", ["", " - ", "Card", "none", "bare card"])
def test_words_for_a_bare_card(word: str) -> None:
    assert is_card(word)
    assert not is_card("Cardinal Red")


def test_a_sheet_of_drawdowns(tmp_path: Path) -> None:
    found = read(tmp_path, rows(HEAD, BODY))
    assert found.inks == ("Kiln Red", "Chalk White")
    assert found.geometry == "45:0"
    assert [f.thickness_um for f in found.films] == [12.0, 12.0, None]
    assert [float(f.card[0]) for f in found.films] == [0.012, 0.812, 0.012]
    assert found.films[0].source == "sheet.csv, line 4"
    assert found.sources == ("sheet.csv",)
    np.testing.assert_allclose(found.films[2].reading, 0.4)
    assert set(found.cards) == {"black", "white"}


def test_rows_may_say_that_they_are_one_film(tmp_path: Path) -> None:
    head, body = (*HEAD, "film"), [((*cells, "7" if cells[1] else ""), r) for cells, r in BODY]
    assert [f.film for f in read(tmp_path, rows(head, body)).films] == ["7", "7", "7"]
    assert [f.film for f in read(tmp_path, rows(HEAD, BODY)).films] == [None, None, None]


def test_a_column_for_each_ink(tmp_path: Path) -> None:
    head = ("name", "ink: Kiln Red", "ink: Chalk White", "backing")
    body = [
        (("card", "0", "", "black"), 0.012),
        (("a", "1", "9", "black"), 0.4),
        (("b", "100", "", "black"), 0.1),
    ]
    found = read(tmp_path, rows(head, body))
    assert dict(found.films[0].recipe.parts) == pytest.approx({"Kiln Red": 0.1, "Chalk White": 0.9})
    assert dict(found.films[1].recipe.parts) == {"Kiln Red": 1.0}
    mass = rows(tuple(h.replace("ink:", "mass:") for h in head), body)
    assert read(tmp_path, mass).films[0].recipe.by_mass


def test_a_sheet_of_one_ink_takes_its_name_from_outside(tmp_path: Path) -> None:
    head = ("name", "backing")
    body = [(("card black", "black"), 0.02), (("1", "black"), 0.2), (("2", "white"), 0.5)]
    found = read(tmp_path, rows(head, body), ink="Ember")
    assert found.inks == ("Ember",)
    assert len(found.films) == 2
    # the standard's card stands in for the one that was not read, and that is said
    assert any("no reading of the bare white card: 0.8 assumed" in note for note in found.notes)
    with pytest.raises(InputError, match="no drawdown; name each row's ink"):
        read(tmp_path, rows(head, body))


def test_repeated_cards_are_averaged_and_a_poor_one_is_warned_of(tmp_path: Path) -> None:
    body = [*BODY, (("card", "card", "white", "", "45:0"), 0.75)]
    found = read(tmp_path, rows(HEAD, body))
    assert found.cards["white"][0] == pytest.approx(0.781)
    assert "bare white card" in found.warnings[0]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ([*BODY, (("d", "Kiln Red", "", "", "45:0"), 0.2)], "line 7.*backing is not stated"),
        (
            [*BODY, (("d", "Kiln Red", "gray", "", "45:0"), 0.2)],
            "line 7, sample 'd': there is no reading of the bare card 'gray'",
        ),
        ([*BODY, (("d", "Kiln Red", "black", "", "SCI"), 0.2)], "read 45:0 and .* d:8-sci"),
        ([*BODY, (("d", "Red 1 + White", "black", "", ""), 0.2)], "line 7.*'White' .* no amount"),
        (BODY[:2], "there is no drawdown"),
        (
            [(("c", "", "black", "", ""), 0.8), (("d", "", "white", "", ""), 0.01), *BODY[2:]],
            "line 2, sample 'c': the bare black card reads 0.80 .* the white one 0.01; they are "
            "swapped",
        ),
        (
            [*BODY[:2], (("a", "Red", "white", "", ""), 0.3), (("b", "Red", "black", "", ""), 0.4)],
            "line 4, sample 'a': the film reads darker over the white card than over the black one "
            r"\(sheet.csv, line 5\)",
        ),
    ],
)
def test_a_faulty_sheet_names_the_row(
    tmp_path: Path, body: list[tuple[Sequence[str], float]], fault: str
) -> None:
    with pytest.raises(InputError, match=fault):
        read(tmp_path, rows(HEAD, body))


def test_capitals_do_not_tell_inks_apart(tmp_path: Path) -> None:
    body = [*BODY, (("d", "KILN RED 1 + Chalk white 3", "white", "", "45:0"), 0.5)]
    found = read(tmp_path, rows(HEAD, body))
    assert found.inks == ("Kiln Red", "Chalk White")
    assert dict(found.films[-1].recipe.parts) == {"Kiln Red": 0.25, "Chalk White": 0.75}
    assert sum("capitals do not tell inks apart" in note for note in found.notes) == 2


def test_a_color_is_no_drawdown(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a drawdown needs a spectrum"):
        read(tmp_path, "name,ink,backing,L,a,b\na,Kiln Red,black,40,20,10\n")


def test_a_spot_ink_characterization_is_solids_over_cards(tmp_path: Path) -> None:
    """ISO 17972-4: 100 % over substrate and over black, 0 % are the bare ones, tints are left."""
    from tests.reading_files import SPOT, cxf, spot_objects

    path = tmp_path / "spot.cxf"
    path.write_text(cxf(spot_objects(), custom=SPOT))
    found = read_drawdowns([path])
    assert found.inks == ("Ember",)
    assert [f.backing for f in found.films] == ["substrate", "black"]
    assert set(found.cards) == {"substrate", "black"}
    assert any("1 tint between 0 and 100 % left out" in note for note in found.notes)
    assert any("belong to no spot ink: s100, extra" in note for note in found.notes)
