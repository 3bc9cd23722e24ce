"""The recipe card: what is weighed adds up, and a gram does what it is said to do."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from click.testing import CliRunner

import inksim
from inksim.cli.commands import main
from inksim.colour import Viewing, delta_e_2000, lab
from inksim.mixing.what_a_gram_does import share_curves
from inksim.printing import Route
from inksim.reports.pdf import INK
from inksim.reports.recipe_card import RecipeCard, card_text
from inksim.reports.recipe_chart import LOW, PANELS, TOP, share_chart
from inksim.reports.recipe_sheet import card_pdf
from inksim.stock import recipe_of, target_from_reflectance
from tests import reference

SHOP = inksim.load_shop()
CORAL = ("--target", "#d9664f", "--garment", "Coal Black", "--max-inks", "3")


@cache
def card(route: Route = "white-base") -> RecipeCard:
    found = inksim.find_recipes(
        SHOP, target=SHOP.target("#d9664f"), garment=SHOP.garment("Coal Black"), most_inks=3,
        routes=[route],
    )  # fmt: skip
    return RecipeCard(
        found=found[0], shop=SHOP, viewing=Viewing(), tolerance=3.0, made=date(2026, 1, 5)
    )


def test_the_scale_shows_the_running_total_and_the_price_is_that_of_the_parts() -> None:
    said = card()
    weighed = [part.grams for part in said.found.parts]
    assert weighed == sorted(weighed, reverse=True)
    shown = [float(row[3].removesuffix(" g")) for row in said.rows]
    assert shown == pytest.approx(np.cumsum(weighed), abs=0.05)
    paid = sum(p.exact_g * (p.ink.price_per_kg or 0.0) for p in said.found.parts)
    assert f"{paid / sum(p.exact_g for p in said.found.parts):.2f} USD/kg" in said.costs


def test_a_gram_moves_the_print_as_the_slow_twin_of_the_model_prints_it() -> None:
    found = card().found
    parts = found.recipe.parts

    def printed(more_g: float, at: int) -> np.ndarray:
        wet = np.array(
            [(p.grams + more_g * (n == at)) / p.ink.density_g_cm3 for n, p in enumerate(parts)]
        )
        ink = recipe_of([p.ink for p in parts], wet, grams=500.0, step_g=0.1).ink
        top = replace(found.build.colour, ink=ink)
        build = replace(found.build, layers=(*found.build.layers[:-1], top))
        return lab(np.array(reference.swatch(build, SHOP.press.values)), Viewing())

    for curve in card().curves:
        at = [part.ink.name for part in parts].index(curve.ink.name)
        # 10 g, for the twin's own steps of integration show at 1 g.
        moved = float(delta_e_2000(printed(0.0, at), printed(10.0, at)))
        assert curve.per_gram == pytest.approx(moved / 10.0, rel=0.15, abs=0.005)
    moves = [curve.per_gram for curve in card().curves]
    assert moves == sorted(moves, reverse=True)


def test_a_curve_goes_through_the_recipe_and_half_as_much_to_half_as_much_again() -> None:
    found = card().found
    for curve in card().curves:
        own = next(part.grams for part in found.parts if part.ink.name == curve.ink.name)
        assert curve.grams[[0, curve.at, -1]] == pytest.approx([own / 2, own, own * 1.5])
        assert curve.off[curve.at] == pytest.approx(found.delta_e_2000, abs=0.05)
        assert curve.share[curve.at] == pytest.approx(own / found.recipe.grams)
        assert curve.off[[0, -1]].min() > curve.off[curve.at]
    alone = recipe_of([found.parts[0].ink], np.ones(1), grams=100.0, step_g=0.1)
    target = found.answer.target
    assert not share_curves(
        alone, found.build, target=target, press=SHOP.press.values, viewing=Viewing()
    )


def test_the_recipe_is_a_dot_on_the_chart() -> None:
    curves = card().curves
    picture = share_chart(curves, tolerance=3.0)
    dark = tuple(int(INK[at : at + 2], 16) for at in (1, 3, 5))
    for curve, (left, right) in zip(curves, PANELS, strict=False):
        x = left + (right - left) * np.interp(
            curve.share[curve.at], curve.share[[0, -1]], [0.0, 1.0]
        )
        column = (picture[TOP:LOW, round(float(x))] == dark).all(axis=-1)
        assert column.sum() >= 8


def test_the_sheet_is_one_page_and_says_what_the_text_says() -> None:
    document = pypdfium2.PdfDocument(io.BytesIO(card_pdf(card())))
    assert len(document) == 1
    said = " ".join(document[0].get_textpage().get_text_range().split())
    text = card_text(card())
    for words in (
        *(cell for row in card().rows for cell in row[1:]), card().costs, "set it to zero",
        "safety data sheet", "lands", "how it looks under another light is not known",
    ):  # fmt: skip
        assert words in said
        assert words in text
    assert "formaldehyde" not in said
    document.close()


def test_a_discharge_is_cautioned_and_a_spectrum_is_seen_under_both_lights() -> None:
    under = card("discharge-base")
    assert "formaldehyde" in card_text(under)
    target = target_from_reflectance(np.linspace(0.1, 0.6, 31), name="a reading")
    answer = replace(under.found.answer, target=target)
    read = replace(under, found=replace(under.found, answer=answer))
    [(_, first), (asked, second)] = read.seen
    assert asked == target.hex(Viewing("A", 2))[0]
    assert second.viewing == Viewing("A", 2)
    expected = float(delta_e_2000(target.lab(Viewing("A", 2)), second.lab))
    assert f", {expected:.1f} under A/2°" in read.light_words
    assert first.hex != second.hex


def test_the_command_writes_it_and_refuses_what_it_cannot(tmp_path: Path) -> None:
    file = tmp_path / "card.txt"
    done = CliRunner().invoke(main, ["mix", *CORAL, "--card", str(file), "--recipe", "2"])
    assert done.exit_code == 0, done.output
    assert "Recipe: #d9664f on Coal Black" in file.read_text(encoding="utf-8")
    for words, why in (
        (["--card", str(tmp_path / "card.png")], "--card writes .pdf or .txt"),
        (["--card", str(file), "--recipe", "99"], "--recipe 99:"),
    ):
        done = CliRunner().invoke(main, ["mix", *CORAL, *words])
        assert done.exit_code == 2
        assert why in done.output
