"""A recipe instead of a stock ink: only where it does better; palette, job, gamut and mix agree."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from click.testing import CliRunner

import inksim
from inksim.cli.commands import main
from inksim.colour import Viewing
from inksim.decision import Answer, gamut, palette_on_stock
from inksim.mixing import Instead, find_recipes, palette_instead, recipes_instead

SHOP = inksim.load_shop()
BLACK, WHITE = SHOP.garment("Coal Black"), SHOP.garment("Flour White")
CLAY, GREEN = "#b5651d", "#00ff00"


def run(*words: str) -> dict[str, Any]:
    return dict(json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout))


@cache
def answer(target: str, *, tolerance: float = 3.0) -> Answer:
    [[cell]] = palette_on_stock(
        SHOP, targets=[SHOP.target(target)], garments=[BLACK], tolerance=tolerance
    )
    return cell


@cache
def instead(target: str) -> Instead:
    found = recipes_instead(SHOP, answer(target), viewing=Viewing())
    assert found is not None
    return found


def test_no_recipe_is_looked_for_where_a_stock_ink_lands_or_nothing_is_printed() -> None:
    own = SHOP.target("#d9664f")
    sure = answer("#d9664f", tolerance=20.0)
    assert sure.verdict.word == "lands"
    assert recipes_instead(SHOP, sure, viewing=Viewing()) is None
    [[bare]] = palette_on_stock(
        SHOP, targets=[replace(own, lab_d50=inksim.Target.lab(own, Viewing()) * 0 + [17, 0, 0])],
        garments=[BLACK], tolerance=6.0,
    )  # fmt: skip
    assert bare.build.bare
    assert recipes_instead(SHOP, bare, viewing=Viewing()) is None


def test_where_a_mix_cannot_be_printed_either_none_is_told() -> None:
    # A white base under a white shirt is no build; a job may still ask for one by hand.
    [[cell]] = palette_on_stock(SHOP, targets=[SHOP.target(CLAY)], garments=[WHITE], tolerance=0.5)
    assert cell.verdict.word != "lands"
    assert recipes_instead(SHOP, cell, viewing=Viewing(), routes=["white-base"]) is None


def test_a_recipe_is_told_only_where_it_is_worth_mixing() -> None:
    best = instead(CLAY).best
    assert best is not None
    assert len(best.parts) > 1
    assert best.chance >= answer(CLAY).chance + SHOP.rules.least_chance_gain
    never = replace(SHOP, rules=SHOP.rules.model_copy(update={"least_chance_gain": 1.0}))
    inside = recipes_instead(never, replace(answer(CLAY), nominal=True), viewing=Viewing())
    assert inside is not None
    assert inside.best is None


def test_out_of_reach_is_said_only_where_no_mix_reaches() -> None:
    for name in (CLAY, GREEN):
        found = instead(name)
        nearest = min(each.delta_e_2000 for each in find_recipes(
            SHOP, target=SHOP.target(name), garment=BLACK))  # fmt: skip
        assert found.mix_reaches == (nearest <= 3.0)
        # The hull of prints, tints and mixtures of two is another way to ask, by other mixtures.
        hull = gamut(SHOP, garment=BLACK)
        assert (float(hull.outside(SHOP.target(name).lab(Viewing()))) < 3.0) == found.mix_reaches
    assert instead(CLAY).mix_reaches
    assert not instead(GREEN).mix_reaches


def test_a_palette_asks_on_other_garments_until_a_mix_reaches() -> None:
    targets = [SHOP.target(CLAY), SHOP.target(GREEN)]
    columns = palette_on_stock(SHOP, targets=targets, garments=[WHITE, BLACK])
    found = {each.answer.target.name: each for each in
             palette_instead(SHOP, columns, viewing=Viewing())}  # fmt: skip
    assert not found[GREEN].mix_reaches
    if CLAY in found:
        assert found[CLAY].mix_reaches


def test_palette_job_advice_and_mix_tell_one_recipe(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "any"\ngarments = ["Coal Black"]\nquantity = 100\n'
        f'[[color]]\nname = "clay"\ntarget = "{CLAY}"\narea_cm2 = 150\n',
        encoding="utf-8",
    )
    stock = answer(CLAY)
    assert stock.ink is not None
    [garment] = run("advise", str(job))["garments"]
    of_job = garment["reasons"][0]["recipe"]
    of_palette = run("palette", "--palette", CLAY, "--garments", "Coal Black")["mixed"][0]["recipe"]
    of_mix = run("mix", "--target", CLAY, "--garment", "Coal Black")
    assert of_job == of_palette
    assert of_job["parts"] in [each["parts"] for each in of_mix["recipes"]]
    assert of_job["chance"] == of_job["verdict"]["chance"] > stock.chance
    assert of_job["cost_per_kg"] > 0
    said = CliRunner().invoke(main, ["advise", str(job)]).stdout
    assert f"{of_job['cost_per_kg']:.2f} USD/kg" in said
    for part in of_job["parts"]:
        assert f"{part['grams']:.1f} g {part['ink']}" in said


def test_what_no_mix_reaches_either_is_said_so_by_palette_and_job(tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["palette", "--palette", GREEN, "--garments", "Coal Black"])
    assert done.exit_code == 1
    assert f"In reach on none: {GREEN}." in done.stdout
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "any"\ngarments = ["Coal Black"]\nquantity = 100\n'
        f'[[color]]\nname = "green"\ntarget = "{GREEN}"\narea_cm2 = 150\n',
        encoding="utf-8",
    )
    said = CliRunner().invoke(main, ["advise", str(job)]).stdout
    off = instead(GREEN).found.nearest.delta_e_2000
    assert f"No mix of stock inks reaches it either: the nearest is ΔE00 {off:.1f} off." in said
