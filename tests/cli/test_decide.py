"""`inksim advise JOB.toml`: text, JSON, chart, exit codes, one sentence for what is wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from inksim.cli.commands import main
from inksim.shop.load import demo_shop_folder

JOBS = demo_shop_folder() / "jobs"
HEAD = 'name = "any"\ngarments = ["Coal Black"]\nquantity = 10\n'


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["advise", *map(str, words)])


@pytest.fixture(scope="module")
def bakery() -> dict[str, Any]:
    result = run(JOBS / "bakery.toml", "--json")
    assert result.exit_code == 0, result.stderr
    return dict(json.loads(result.stdout))


def test_the_document_holds_the_whole_answer(bakery: dict[str, Any]) -> None:
    assert bakery["nominal"] is True
    assert [g["garment"] for g in bakery["garments"]] == ["Slate Gray", "Mist Gray"]
    for garment in bakery["garments"]:
        chosen = garment["ways"][garment["chosen"]]
        assert set(chosen["verdict"]) == {
            "word", "chance", "median_de00", "low", "high", "would_help"
        }  # fmt: skip
        assert 0 < chosen["verdict"]["chance"] < 1
        assert chosen["weakest"] in ("Oven Red", "Oatcake")
        assert chosen["data"] == "invented"
        assert chosen["stations"] <= 6
        assert chosen["film_g_m2"] > 0
        assert {"total", "per_print", "items", "missing"} <= set(chosen["cost"])
        assert all(i["g_run"] > i["g_per_print"] for i in chosen["inks"])
        for colour in chosen["colors"]:
            assert colour["nominal"] is (colour["margin"] >= 0)
            assert chosen["verdict"]["chance"] <= colour["verdict"]["chance"]
            assert colour["interval_90"]["ciede2000"][0] < colour["interval_90"]["ciede2000"][1]
        assert [r["color"] for r in garment["reasons"]] == ["Oven Red", "Oatcake"]
        assert all(len(r["reasons"]) == 2 for r in garment["reasons"])


def test_the_text_says_the_same_with_units(bakery: dict[str, Any]) -> None:
    result = run(JOBS / "bakery.toml")
    assert result.exit_code == 0
    text = result.stdout
    for garment in bakery["garments"]:
        best = garment["ways"][garment["chosen"]]
        said = best["verdict"]
        assert f"{garment['garment']}, " in text
        assert f"{said['word']} — {int(100 * said['chance'])}% chance that both colors come" in text
        assert f"the weakest is {best['weakest']}" in text
        assert f"{best['film_g_m2']:.1f} g/m²" in text
        assert f"{best['cost']['total']:.2f} USD" in text
        assert f"of {6} stations" in text
    for unit in ("kg", "g water a print", "kJ", "kWh", "°F", "°C", "%"):
        assert unit in text
    assert "the whole film at 320 °F (160 °C) for 90 s" in text
    assert "invented" in text
    assert "the first print on the real garment decides" in text


def test_a_chart_for_each_garment(tmp_path: Path) -> None:
    result = run(JOBS / "bakery.toml", "--chart", tmp_path / "ways.png")
    assert result.exit_code == 0
    files = sorted(p.name for p in tmp_path.iterdir())
    assert files == ["ways-mist-gray.png", "ways.png"]
    for name in files:
        assert str(tmp_path / name) in result.stdout
        picture = np.asarray(Image.open(tmp_path / name))
        assert picture.shape[2] == 3
        assert len(np.unique(picture.reshape(-1, 3), axis=0)) > 10
        assert np.all(
            picture.max(axis=2) - picture.min(axis=2) <= 12
        )  # gray: no color but swatches


def test_a_miss_exits_with_1_and_says_what_would_help(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        HEAD + '[press]\nstations = 1\n[[color]]\ntarget = "Regatta Orange"\nink = '
        '"Lantern Orange"\narea_cm2 = 50\n',
        encoding="utf-8",
    )
    result = run(job)
    assert result.exit_code == 1
    assert "cannot promise" in result.stdout
    assert "To bring it into reach" in result.stdout
    assert json.loads(run(job, "--json").stdout)["nominal"] is False


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere.toml"], "there is no file 'nowhere.toml'"),
        ([JOBS / "choir.toml", "--ink", "Kiln Red"], "leave out --ink"),
        ([JOBS / "choir.toml", "--tolerance", "3"], "leave out --tolerance"),
        ([], "missing: --garment, --ink, --target"),
        (["--garment", "Coal Black"], "missing: --ink, --target"),
        (
            ["--garment", "Coal Black", "--ink", "Kiln Red", "--target", "Oven Red",
             "--chart", "a.png"],
            "--chart draws the ways of a job",
        ),
        ([JOBS.parent / "inks.toml"], "the job has"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence_and_exit_code_2(words: list[Any], said: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
    assert "Traceback" not in result.stderr


ANSWER = {
    "target", "garment", "ink", "route", "build", "ciede2000", "median_de00", "chance", "verdict",
    "recipe",
}  # fmt: skip


def test_the_answers_stand_at_the_top_one_a_color_and_garment(bakery: dict[str, Any]) -> None:
    answers = bakery["answers"]
    assert [(a["garment"], a["target"]) for a in answers] == [
        (g, t) for g in ("Slate Gray", "Mist Gray") for t in ("Oven Red", "Oatcake")
    ]
    assert all(set(answer) == ANSWER for answer in answers)
    colours = [c for g in bakery["garments"] for c in g["ways"][g["chosen"]]["colors"]]
    for answer, colour in zip(answers, colours, strict=True):
        assert answer["ink"] == colour["ink"]
        assert answer["route"] == colour["route"]
        assert answer["ciede2000"] == pytest.approx(colour["delta_e"]["ciede2000"], abs=6e-4)
        assert answer["verdict"] == colour["verdict"]
        assert answer["recipe"] is None


def test_the_screens_in_print_order_are_those_counted(bakery: dict[str, Any]) -> None:
    for way in (way for garment in bakery["garments"] for way in garment["ways"]):
        order = way["print_order"]
        assert [s["number"] for s in order] == list(range(1, way["screens"] + 1))
        assert sum(sum(s["goes"]) for s in order) == way["strokes"]
        assert sum(bool(s["flash"]) for s in order) == way["flashes"]
        shown = sorted(at for s in order for at in s["shows"])
        assert shown == [at for at, c in enumerate(way["colors"]) if c["ink"] is not None]


def test_a_color_left_bare_and_one_quantity_a_garment(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "logo"\ngarments = ["Flour White", "Brick Red"]\n'
        'quantity = { "Flour White" = 24, "Brick Red" = 60 }\n'
        '[[color]]\nhex = "#ffffff"\narea_cm2 = 50\n[[color]]\nhex = "#e8622c"\narea_cm2 = 50\n',
        encoding="utf-8",
    )
    made = json.loads(run(job, "--json").stdout)
    by = {(a["garment"], a["target"]): a for a in made["answers"]}
    bare = by["Flour White", "#ffffff"]
    assert (bare["ink"], bare["route"], bare["build"]) == (None, "bare", "bare cloth")
    # a white logo on a red shirt is printed with the white (common practice, no source)
    assert by["Brick Red", "#ffffff"]["ink"] == "Chalk White Base"
    assert [g["quantity"] for g in made["garments"]] == [24, 60]
    assert made["quantity"] == 84
    text = run(job).stdout
    assert "#ffffff is left bare: the cloth itself is the color." in text
    assert "Prints by garment: Flour White 24, Brick Red 60." in text
    assert f"{made['cost']['total']:.2f} USD" in text


def colours_of(*pairs: tuple[str, str]) -> str:
    return "".join(f'[[color]]\ntarget = "{t}"\nink = "{i}"\narea_cm2 = 50\n' for t, i in pairs)


def test_too_many_colors_for_one_run_are_printed_in_two(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    colours = colours_of(("Oven Red", "Kiln Red"), ("Oatcake", "Barley Yellow"))
    job.write_text(HEAD + "[press]\nstations = 1\n" + colours, encoding="utf-8")
    result = run(job)
    assert result.exit_code == 1
    assert (
        "In 2 runs, because the press has too few stations or flash units for one" in result.stdout
    )
    assert "run 2 of 2, 2. " in result.stdout
    (garment,) = json.loads(run(job, "--json").stdout)["garments"]
    assert garment["ways"][garment["chosen"]]["runs"] == 2


def test_a_press_with_too_few_stations_says_what_would_help(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    colours = colours_of(
        ("Oven Red", "Kiln Red"), ("Oatcake", "Barley Yellow"), ("River Teal", "Weir Teal")
    )
    job.write_text(HEAD + "merge = false\n[press]\nstations = 1\n" + colours, encoding="utf-8")
    result = run(job)
    assert result.exit_code == 1
    assert "Coal Black: cannot be printed. The press has 1 station" in result.stdout
    assert "let colors be merged, leave some out, or use a press with more" in result.stdout
    assert json.loads(run(job, "--json").stdout)["answers"] == []


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("tolerance_de00", "1e9"),
        ("cloth_m2_per_garment", "1e6"),
        ("base_choke_mm", "400"),
        ("prints_per_hour", "1e9"),
    ],
)
def test_a_number_in_another_unit_is_refused(tmp_path: Path, field: str, value: str) -> None:
    # Sums of 10^12 kW and tolerances above any ΔE00 there is are slips, not jobs.
    job = tmp_path / "job.toml"
    colour = '[[color]]\ntarget = "Regatta Orange"\narea_cm2 = 50\n'
    job.write_text(f"{HEAD}{field} = {value}\n{colour}", encoding="utf-8")
    result = run(job)
    assert result.exit_code == 2
    assert f"{field}: must be at most" in result.stderr


@pytest.mark.parametrize("area", ["1e12", "1e-12"])
def test_an_area_nobody_prints_is_refused(tmp_path: Path, area: str) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        f'{HEAD}[[color]]\ntarget = "Regatta Orange"\narea_cm2 = {area}\n', encoding="utf-8"
    )
    result = run(job)
    assert result.exit_code == 2
    assert "area_cm2: must be" in result.stderr


def test_ways_without_prices_are_told_as_work_not_money(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    shutil.copytree(demo_shop_folder(), folder)
    (folder / "costs.toml").write_text("", encoding="utf-8")
    inks = folder / "inks.toml"
    kept = [line for line in inks.read_text("utf-8").splitlines() if "price_per_kg" not in line]
    inks.write_text("\n".join(kept), encoding="utf-8")
    words = (JOBS / "choir.toml", "--shop", folder)
    assert "ranked by work" in run(*words).stdout
    assert "/print" not in run(*words).stdout
    assert "USD/print" in run(JOBS / "choir.toml").stdout


@pytest.mark.parametrize("line", ["labor_per_hour = 1e300", "waste_share = 0.9999999"])
def test_costs_that_only_a_slip_gives_are_refused(tmp_path: Path, line: str) -> None:
    # 1e300 an hour overflowed to NaN in the sums.
    folder = tmp_path / "shop"
    shutil.copytree(demo_shop_folder(), folder)
    (folder / "costs.toml").write_text(line, encoding="utf-8")
    result = run(JOBS / "choir.toml", "--shop", folder)
    assert result.exit_code == 2
    assert "costs.toml" in result.stderr
    assert "must be at most" in result.stderr


def test_a_chart_that_would_be_misnamed_is_refused_before_the_work(tmp_path: Path) -> None:
    result = run(JOBS / "choir.toml", "--chart", tmp_path / "ways.jpg")
    assert result.exit_code == 2
    assert "does not end in .png" in result.stderr
    assert not list(tmp_path.iterdir())
