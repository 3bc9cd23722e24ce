"""Command `mix`: the documented JSON, the words, the grams for a run, exit codes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import inksim
from inksim.cli.commands import main

PLUM = ("--target", "#8a3f5a", "--garment", "Coal Black")


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["mix", *words])


def test_its_json_has_what_is_promised() -> None:
    done = run(*PLUM, "--grams", "200", "--max-inks", "3", "--json")
    document: dict[str, Any] = json.loads(done.stdout)
    assert done.exit_code == 0
    assert 1 < len(document["recipes"]) <= 6
    for one in document["recipes"]:
        assert set(one) >= {
            "parts", "route", "build", "lab", "ciede2000", "median_de00", "chance", "metamerism",
            "cost_per_kg",
        }  # fmt: skip
        assert all(set(part) == {"ink", "share", "grams"} for part in one["parts"])
        assert len(one["parts"]) <= 3
        assert sum(part["share"] for part in one["parts"]) == pytest.approx(1.0, abs=2e-4)
        assert sum(part["grams"] for part in one["parts"]) == pytest.approx(200.0, abs=0.3)
        assert one["verdict"]["chance"] == one["chance"]
    assert document["conditions"] == {"light": "D50", "observer": 2}


def test_its_words_name_parts_build_and_the_danger_of_a_discharge() -> None:
    done = run(*PLUM, "--route", "discharge-base")
    assert done.exit_code == 0
    assert "Quarry Discharge Base through" in done.stdout
    assert "Discharge activators give off formaldehyde" in done.stdout
    assert "good for ranking only" in done.stdout
    assert "formaldehyde" not in run(*PLUM, "--route", "straight").stdout


def test_nothing_in_reach_ends_with_1_and_says_what_would_help() -> None:
    done = run("--target", "#00ff40", "--garment", "Coal Black")
    assert done.exit_code == 1
    assert "No recipe is nominally inside the tolerance." in done.stdout
    assert "A cleaner green ink would help" in done.stdout


def test_a_job_gives_the_grams_of_its_run(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "any"\ngarments = ["Coal Black"]\nquantity = 100\n'
        '[[color]]\nname = "plum"\ntarget = "#8a3f5a"\narea_cm2 = 150\n',
        encoding="utf-8",
    )
    done = run(*PLUM, "--route", "white-base", "--job", str(job), "--json")
    assert done.exit_code == 0, done.stderr
    one = json.loads(done.stdout)["recipes"][0]
    shop = inksim.load_shop()
    # By hand: wet film × area × density, 100 prints, 5 % spoiled, 200 g to keep the screen flooded.
    wet_um = shop.screen(one["screen"]).volume_cm3_m2 * shop.press.values.release
    wet_um *= 1 + shop.press.values.pass_gain * (one["passes"] - 1)
    volumes = {p["ink"]: p["grams"] / shop.ink(p["ink"]).density_g_cm3 for p in one["parts"]}
    density = sum(p["grams"] for p in one["parts"]) / sum(volumes.values())
    wanted = wet_um * 1e-4 * 150 * density * 100 / 0.95 + 200
    assert sum(one["run_grams"].values()) == pytest.approx(wanted, rel=2e-3)
    told = run(*PLUM, "--route", "white-base", "--job", str(job))
    weighed = f"{min(one['run_grams'].values()):.1f} g"  # a small part is not told to the gram
    assert any(line.endswith(weighed) for line in told.stdout.splitlines())
    lost = run("--target", "#2050c0", "--garment", "Coal Black", "--job", str(job))
    assert lost.exit_code == 2
    assert "does not print the color '#2050c0'; its colors are plum" in lost.stderr


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("mixed") / "mix.json"
    file.write_text(run(*PLUM, "--max-inks", "2", "--route", "white-base", "--json").stdout)
    return file


def test_a_bucket_is_corrected_and_corrected_again(mixed: Path) -> None:
    first = json.loads(mixed.read_text())["recipes"][0]
    pale = ",".join(f"{v + more:.2f}" for v, more in zip(first["lab"], (3, 1, 1), strict=True))
    once = run("--correct", pale, "--of", str(mixed), "--json")
    said = json.loads(once.stdout)
    assert {each["ink"] for each in said["add"]} <= {each["ink"] for each in first["parts"]}
    assert all(each["per_kg"] > 0 for each in said["add"])
    expected = said["expected_ciede2000"]
    assert expected["new_mix"] - 0.2 < expected["corrected"] <= expected["as_it_is"]
    assert len(said["bucket"]["batches"]) == 1 + bool(said["add"])
    again = mixed.with_name("bucket.json")
    again.write_text(once.stdout)
    near = ",".join(f"{v + more / 2:.2f}" for v, more in zip(first["lab"], (3, 1, 1), strict=True))
    twice = run("--correct", near, "--correct", near, "--of", str(again), "--left", "300")
    assert twice.exit_code == 0, twice.stderr
    assert (
        "Bucket of 300 g, target #8a3f5a, on Coal Black: Chalk White Base through" in twice.stdout
    )
    assert "the next print is" in twice.stdout


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda said: said.pop("asked"), "no file of 'inksim mix --json'"),
        (lambda said: said["recipes"].clear(), "has 0, by their numbers"),
        (lambda said: said["recipes"][0]["parts"][0].update(ink="Gone"), "gone from the shop"),
        (lambda said: said["recipes"][0]["parts"][0].update(grams=-3.0), "-3 g of"),
        (lambda said: said["recipes"][0]["parts"][0].update(grams=1e9), "no amount to mix"),
        (lambda said: said["recipes"][0]["parts"][0].update(grams="much"), "must be a number"),
        (lambda said: said["recipes"][0].update(screen="9999"), "9999"),
        (lambda said: said["asked"].update(garment="Gone"), "Gone"),
        (lambda said: said["conditions"].update(light="moon"), "moon"),
    ],
)
def test_a_recipe_that_cannot_be_is_refused(change: Any, words: str, mixed: Path) -> None:
    said = json.loads(mixed.read_text())
    change(said)
    spoiled = mixed.with_name("spoiled.json")
    spoiled.write_text(json.dumps(said))
    done = run("--correct", "40,30,0", "--of", str(spoiled))
    assert done.exit_code == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--correct", "40,30,0"),
        ("--of", "no.json"),
        ("--correct", "40,30,0", "--of", "no.json"),
        ("--correct", "40,30,0", "--of", "no.json", *PLUM),
        (*PLUM, "--left", "3"),
        ("--correct", "40,30,0", "--of", "no.json", "--read-by", "moon"),
    ],
)
def test_a_correction_says_what_it_lacks(words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert done.stderr.startswith("inksim: ")
    assert done.stderr.count("\n") == 1
