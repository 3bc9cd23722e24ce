"""Commands that change a shop: what is written, what is refused, and what stays untouched."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import WAVELENGTHS_NM
from inksim.colour.viewing import Viewing, lab
from inksim.shop.load import demo_shop_folder, load_shop

CLOTH = 0.10 + 0.30 / (1.0 + np.exp(-(WAVELENGTHS_NM - 560.0) / 25.0))


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def done(*words: object) -> Result:
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    return result


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "own"
    done("new", folder, "--name", "Mill Lane")
    return folder


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "cloths.csv"
    names = ",".join(f"{nm:.0f}" for nm in WAVELENGTHS_NM)
    rows = [("dyed", CLOTH), ("raw", np.full(31, 0.7)), ("bleached", np.full(31, 0.55))]
    body = [f"{n},45:0," + ",".join(f"{v:.5f}" for v in r) for n, r in rows]
    path.write_text(f"name,geometry,{names}\n" + "\n".join(body))
    return path


def entries(shop: Path, file: str, key: str) -> dict[str, Any]:
    document = tomllib.loads((shop / file).read_text(encoding="utf-8"))
    return {entry["name"]: entry for entry in document[key]}


def test_a_garment_from_readings_is_ready_for_every_route(shop: Path, sheet: Path) -> None:
    result = done(
        "add", "garment", "--name", "Fern Tee", "--from", f"{sheet}#dyed",
        "--fibers", "cotton=0.9,elastane=0.1", "--undyed", f"{sheet}#raw",
        "--discharged", f"{sheet}#bleached", "--weight", 190, "--note", "lot 7", "--shop", shop,
    )  # fmt: skip
    assert "Added garment 'Fern Tee'" in result.stdout
    assert "measured: cloths.csv, line 2, dyed (45:0)" in result.stdout
    garment = load_shop(shop).garment("fern tee")
    np.testing.assert_allclose(garment.reflectance, CLOTH, atol=1e-5)
    assert garment.data == "measured"
    assert garment.fibers == {"cotton": 0.9, "elastane": 0.1}
    assert garment.discharged is not None
    assert garment.discharged[0] == pytest.approx(0.55)
    assert entries(shop, "garments.toml", "cloth").keys() >= {
        "Fern Tee, undyed", "Fern Tee, discharged",
    }  # fmt: skip
    predicted = json.loads(
        done(
            "predict", "--garment", "Fern Tee", "--ink", "Kiln Red", "--shop", shop, "--json"
        ).stdout
    )
    assert len(predicted["predictions"]) == 3


def test_an_entry_of_hex_and_of_lab_and_of_xyz(shop: Path) -> None:
    done("add", "garment", "--name", "H", "--hex", "#345", "--fibers", "cotton", "--undyed",
         "bleached cotton", "--discharge-grade", 4, "--shop", shop)  # fmt: skip
    done("add", "cloth", "--name", "C", "--lab", "80,2,5", "--shop", shop)
    done("add", "target", "--name", "T", "--xyz", "20 18 6", "--light", "D65", "--observer", "10",
         "--shop", shop)  # fmt: skip
    done("add", "target", "--name", "P", "--lab", "50;10;10", "--palette", "--shop", shop)
    loaded = load_shop(shop)
    assert loaded.garment("H").data == "recovered"
    assert entries(shop, "garments.toml", "cloth")["C"]["lab"] == [80.0, 2.0, 5.0]
    target = entries(shop, "targets.toml", "target")["T"]
    assert target["data"] == "recovered"
    assert "XYZ 20 18 6 (D65/10°)" in target["source"]
    assert entries(shop, "palette.toml", "target")["P"]["data"] == "measured"


def test_a_lab_of_another_light_looks_as_stated_under_it(shop: Path) -> None:
    done("add", "target", "--name", "T", "--lab", "47,-22,-31", "--light", "D65",
         "--observer", "10", "--shop", shop)  # fmt: skip
    target = load_shop(shop).target("T")
    assert delta_e_2000((47, -22, -31), target.lab(Viewing("D65", 10))) < 0.1


def test_lights_in_any_case_of_letters(shop: Path) -> None:
    assert run("add", "target", "--name", "T", "--lab", "50,0,0", "--light", "d65", "--shop",
               shop).exit_code == 0  # fmt: skip
    assert "D65/2°" in tomllib.loads((shop / "targets.toml").read_text())["target"][-1]["source"]


def test_an_ink_of_its_look(shop: Path) -> None:
    done("add", "ink", "--name", "Look", "--hex", "#c0392b", "--solids", 0.34, "--film", 8,
         "--finest", 280, "--shop", shop)  # fmt: skip
    ink = load_shop(shop).ink("Look")
    assert (ink.kind, ink.data, ink.finest_threads_per_inch) == ("color", "recovered", 280)


def test_what_a_mix_may_hold_of_an_ink_is_saved(shop: Path) -> None:
    done("add", "ink", "--name", "Strong Rose", "--hex", "#c02060", "--most-in-mix", 0.12,
         "--fades-in-discharge", "--shop", shop)  # fmt: skip
    rose = load_shop(shop).ink("Strong Rose")
    assert (rose.most_in_mix, rose.stands_discharge) == (0.12, False)
    assert load_shop(shop).ink("Kiln Red").stands_discharge


def test_what_an_ink_leaves_open_is_said_and_saved(shop: Path) -> None:
    done("add", "ink", "--name", "Blocking", "--hex", "#f4f4f0", "--kind", "white-base",
         "--blocks-dye", "--cure", 125, "--cure-time", 80, "--additive", 0.02,
         "--additive-price", 55, "--pot-life", 10, "--shop", shop)  # fmt: skip
    white = load_shop(shop).ink("Blocking")
    assert (white.blocks_dye, white.cure_celsius, white.cure_seconds) == (True, 125.0, 80.0)
    assert (white.additive_share, white.additive_price_per_kg, white.pot_life_hours) == (
        0.02, 55.0, 10.0,
    )  # fmt: skip
    bare = done("add", "ink", "--name", "Rose", "--hex", "#d8345f", "--shop", shop)
    assert "note: opacity assumed by kind; say it with --over-black" in bare.stderr
    assert "note: solids of 35% assumed by kind" in bare.stderr
    assert "note: a film of 6 µm assumed for its look" in bare.stderr
    listed = done("shop", "--shop", shop).stdout
    assert "* Rose: opacity assumed by kind; a film of 6 µm assumed for its look; solids" in listed
    predicted = done("predict", "--garment", "Coal Black", "--ink", "Rose", "--shop", shop)
    assert predicted.stderr.count("note: Rose: opacity assumed by kind") == 1
    ways = {
        "Word": ("--covers", "half"),
        "Sheet": ("--contrast-ratio", 0.4, "--contrast-film", 20),
        "Hex": ("--over-black", "#301018"),
        "Lab": ("--over-black", "14,20,6"),
    }
    for name, opacity in ways.items():
        said = done("add", "ink", "--name", name, "--hex", "#d8345f", *opacity, "--film", 6,
                    "--solids", 0.34, "--shop", shop, "--json")  # fmt: skip
        assert json.loads(said.stdout)["notes"] == []
    inks = load_shop(shop).inks
    sds = {name: inks[name].error.total()[1][22] for name in ("Rose", *ways)}
    assert min(sds, key=sds.get) == "Lab"  # what was read is surer than what was seen
    assert sds["Sheet"] < sds["Word"] < sds["Rose"]
    assert entries(shop, "inks.toml", "ink")["Lab"]["over_black"] == {"lab": [14.0, 20.0, 6.0]}


def test_an_ink_by_the_weight_of_its_solids(shop: Path) -> None:
    done("add", "ink", "--name", "Heavy", "--hex", "#d8345f", "--solids-by-weight", 0.4,
         "--density", 1.2, "--shop", shop)  # fmt: skip
    # 100 g are 83.3 cm³; 60 g of water are 60 cm³ of it
    assert load_shop(shop).ink("Heavy").solids_by_volume == pytest.approx(23.333 / 83.333, rel=1e-4)
    done("add", "ink", "--name", "Heavy", "--hex", "#d8345f", "--solids", 0.3, "--covers", "black",
         "--replace", "--shop", shop)  # fmt: skip
    done("add", "ink", "--name", "Heavy", "--lab", "50,50,20", "--contrast-ratio", 0.5,
         "--replace", "--shop", shop)  # fmt: skip
    entry = entries(shop, "inks.toml", "ink")["Heavy"]
    assert entry["solids_by_volume"] == 0.3
    assert entry["contrast_ratio"] == 0.5
    assert not {"solids_by_weight", "covers", "hex"} & set(entry)


def test_repeats_are_averaged_and_warned_of(shop: Path, sheet: Path) -> None:
    result = done("add", "target", "--name", "Mean", "--from", f"{sheet}#raw",
                  "--from", f"{sheet}#bleached", "--shop", shop)  # fmt: skip
    assert "warning: the 2 readings" in result.stderr
    reading = entries(shop, "targets.toml", "target")["Mean"]
    assert reading["reflectance"][0] == pytest.approx(0.625)
    assert "mean of 2" in reading["source"]


def test_json_has_the_entry_as_written(shop: Path) -> None:
    document = json.loads(
        done("add", "target", "--name", "T", "--hex", "#abc", "--shop", shop, "--json").stdout
    )
    assert document["entry"] == entries(shop, "targets.toml", "target")["T"]
    assert document["kind"] == "target"


def test_replace_gives_a_new_color_and_keeps_the_rest(shop: Path, sheet: Path) -> None:
    before = load_shop(shop).garment("Coal Black")
    done("add", "garment", "--name", "coal black", "--from", f"{sheet}#dyed", "--replace",
         "--shop", shop)  # fmt: skip
    after = load_shop(shop).garment("Coal Black")
    assert after.data == "measured"
    np.testing.assert_allclose(after.reflectance, CLOTH, atol=1e-5)
    assert after.fibers == before.fibers
    assert after.discharge_grade == before.discharge_grade
    assert lab(after.reflectance, Viewing())[0] > lab(before.reflectance, Viewing())[0]


def test_remove_and_undo(shop: Path) -> None:
    before = (shop / "inks.toml").read_bytes()
    done("remove", "ink", "kiln red", "--shop", shop)
    assert "Kiln Red" not in load_shop(shop).inks
    done("undo", "inks.toml", "--shop", shop)
    assert (shop / "inks.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["target", "--name", "T"], "give the color once"),
        (["target", "--name", "T", "--hex", "#123", "--lab", "1,2,3"], "there are 2"),
        (["target", "--name", "T", "--hex", "#12"], "not a color code"),
        (["target", "--name", "T", "--lab", "1,2"], "three numbers"),
        (["target", "--name", "T", "--lab", "120,0,0"], "'T': Lab 120, 0, 0 is out of range"),
        (["target", "--name", "T", "--lab", "50,0,0", "--light", "D51"], "no light 'D51'"),
        (["target", "--name", "oven red", "--hex", "#123"], "already has the target 'oven red'"),
        (["target", "--name", "T", "--hex", "#123", "--replace"], "no target 'T'"),
        (["garment", "--name", "G", "--hex", "#123"], "needs its fibers"),
        (["garment", "--name", "G", "--hex", "#123", "--fibers", "cotton=0.4"], "sum to 0.4"),
        (["garment", "--name", "G", "--hex", "#123", "--fibers", "wol"], "'wol'; known: cotton"),
        (
            ["garment", "--name", "G", "--hex", "#123", "--fibers", "cotton", "--undyed", "raw"],
            "no cloth 'raw'",
        ),
        (
            ["ink", "--name", "I", "--hex", "#123", "--solids", "0.3", "--solids-by-weight", "0.4"],
            "give solids_by_volume or solids_by_weight",
        ),
        (
            ["ink", "--name", "I", "--hex", "#123", "--covers", "half", "--contrast-ratio", "0.4"],
            "give its opacity once",
        ),
        (["ink", "--name", "I", "--hex", "#123", "--solids", "34"], "must be at most 1 "),
        (
            ["ink", "--name", "I", "--hex", "#123", "--solids", "nan"],
            "not a number to reckon with",
        ),
        (["target", "--name", "T", "--from", "none.csv"], "none.csv cannot be read"),
        (["target", "--name", "T\udcff", "--hex", "#123"], "a byte that is no UTF-8"),
        (
            ["target", "--name", "T\x1b[31m", "--hex", "#123"],
            "a name has no line breaks or control",
        ),
        (["target", "--name", "T", "--from", "/dev/zero"], "may have at most 5 MB"),
    ],
)
def test_bad_input_is_one_message_and_changes_nothing(
    shop: Path, words: list[str], message: str
) -> None:
    before = {p.name: p.read_bytes() for p in shop.glob("*.toml")}
    result = run("add", *words, "--shop", shop)
    assert result.exit_code == 2
    assert result.stderr.startswith(("inksim: ", "Usage: "))  # the latter where it is given
    assert message in result.stderr
    assert {p.name: p.read_bytes() for p in shop.glob("*.toml")} == before


def test_the_list_of_commands_costs_no_library() -> None:
    """`inksim --help` may take 4 times as long as importing numpy; it imports click alone."""
    code = "import sys; from inksim.cli import main; print('click' in sys.modules, *sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    click, *loaded = run.stdout.split()
    assert click == "True"  # the room is lazy: its commands are read when `main` is fetched
    assert {"numpy", "pydantic", "tomlkit"} & set(loaded) == set()


@pytest.mark.parametrize(
    "words",
    [
        ["add", "target", "--name", "T", "--hex", "#123"],
        ["remove", "ink", "Kiln Red"],
        ["undo"],
    ],
)
def test_the_demo_shop_is_left_alone(words: list[str]) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert "'inksim new DIR'" in result.stderr


def test_the_demo_shop_of_a_checkout_by_name_is_pointed_out(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inksim.shop import edit

    monkeypatch.setattr(edit, "demo_shop_folder", lambda: shop)
    result = done("add", "target", "--name", "T", "--hex", "#123", "--shop", shop)
    assert "note: this is the demo shop" in result.stderr
    assert demo_shop_folder() != shop
