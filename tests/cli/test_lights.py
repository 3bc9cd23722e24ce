"""The same print under other lights, and how inks cover: modules and commands."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.colour.cielab import cielab_from_xyz, delta_e_2000
from inksim.colour.grid import WAVELENGTHS_NM
from inksim.colour.viewing import Viewing, lab
from inksim.printing.many_lights import USUAL_LIGHTS, under_lights
from inksim.stock.target import target_from_hex, target_from_reflectance

PRINT = ["--garment", "Coal Black", "--ink", "Kiln Red"]


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def answer(*words: object) -> Any:
    result = run(*words, "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


@pytest.fixture
def metamers(check_values: dict[str, Any]) -> tuple[np.ndarray, np.ndarray]:
    """Two spectra computed elsewhere to match under D65/10°."""
    pair = check_values["metamer"]
    return np.array(pair["R1"]), np.array(pair["R2"])


def test_a_metamer_matches_under_its_light_and_parts_under_others(
    metamers: tuple[np.ndarray, np.ndarray], check_values: dict[str, Any]
) -> None:
    standard, trial = metamers
    target = target_from_reflectance(standard, name="R1")
    seen = under_lights(trial, target=target, reference_light="D65", observers=(10,))
    by_light = {s.viewing.light: s for s in seen}
    assert by_light["D65"].delta_e_2000 == pytest.approx(0.0, abs=1e-4)
    assert by_light["D65"].metamerism == pytest.approx(0.0, abs=1e-9)
    for light, listed in (("A", "A"), ("F2", "FL2"), ("F11", "FL11")):
        stated = check_values["metamer"]["results"][listed]
        pair = [cielab_from_xyz(stated[k], white=stated["white"]) for k in ("XYZ1", "XYZ2")]
        expected = float(delta_e_2000(*pair))
        # 2e-3: the check took illuminant A from its table, this project from its equation
        assert by_light[light].delta_e_2000 == pytest.approx(expected, abs=2e-3)
        # the pair matches under D65, so all of its difference is metamerism
        assert by_light[light].metamerism == pytest.approx(expected, abs=2e-3)
        assert expected > 0.5


def test_every_light_and_both_observers_are_looked_under(
    metamers: tuple[np.ndarray, np.ndarray],
) -> None:
    seen = under_lights(metamers[1])
    assert [(s.viewing.light, s.viewing.observer) for s in seen] == [
        (light, observer) for observer in (2, 10) for light in USUAL_LIGHTS
    ]
    assert set(USUAL_LIGHTS) == {"D50", "D65", "A", "F2", "F11", "LED-B3"}
    for each in seen:
        np.testing.assert_allclose(each.lab, lab(metamers[1], each.viewing))
        assert each.delta_e_2000 is None
        assert each.metamerism is None


def test_a_gray_stays_gray_on_the_screen_and_constant_in_every_light() -> None:
    """The perfect gray is the same share of every white: no light moves it."""
    for each in under_lights(np.full(31, 0.4)):
        assert len(set(bytes.fromhex(each.hex[1:]))) == 1
        assert each.inconstancy == pytest.approx(0.0, abs=1e-9)


def test_a_hex_target_has_no_metamerism_to_tell() -> None:
    seen = under_lights(np.full(31, 0.4), target=target_from_hex("#888888"))
    assert {each.metamerism for each in seen} == {None}
    # its Lab is carried from light to light, so a gray print stays as far from it
    assert np.ptp([each.delta_e_2000 or 0.0 for each in seen]) < 1e-6


# -- commands


def test_lights_of_a_reading(tmp_path: Path) -> None:
    brick = 0.05 + 0.4 / (1 + np.exp(-(WAVELENGTHS_NM - 590) / 15))
    path = tmp_path / "t.csv"
    path.write_text(
        "name,geometry," + ",".join(f"{nm:.0f}" for nm in WAVELENGTHS_NM) + "\nbrick,45:0,"
        + ",".join(f"{v:.5f}" for v in brick)
    )  # fmt: skip
    document = answer("lights", *PRINT, "--target", f"{path}#brick", "--also", "F7")
    assert [p["route"] for p in document["prints"]] == ["straight", "discharge-base", "white-base"]
    rows = document["prints"][2]["lights"]
    assert len(rows) == 14
    seen = {(r["light"], r["observer"]): r for r in rows}
    assert seen["D50", 2]["metamerism_index"] == 0.0
    assert seen["A", 10]["metamerism_index"] > 0.1
    # its Lab is what the spectrum of the target and of the prediction give under that light
    predicted = answer(
        "predict", *PRINT, "--route", "white-base", "--target", f"{path}#brick", "--light", "A",
        "--observer", 10,
    )["predictions"][0]  # fmt: skip
    assert seen["A", 10]["lab"] == pytest.approx(predicted["lab"], abs=1e-3)
    assert seen["A", 10]["delta_e"]["ciede2000"] == pytest.approx(
        predicted["delta_e"]["ciede2000"], abs=2e-3
    )
    assert seen["A", 10]["delta_e"]["ciede2000"] == pytest.approx(
        float(delta_e_2000(lab(brick, Viewing("A", 10)), seen["A", 10]["lab"])), abs=1e-2
    )


def test_lights_in_words() -> None:
    result = run("lights", *PRINT, "--route", "straight", "--target", "Oven Red")
    assert result.exit_code == 0
    assert "LED-B3/10°" in result.stdout
    assert "no metamerism can be told" in result.stdout
    assert "invented" in result.stdout


def test_opacity_with_ones_own_card() -> None:
    usual = answer("opacity", "--ink", "Chalk White Base")
    own = answer(
        "opacity", "--ink", "Chalk White Base", "--card-black", "4.5", "--card-white", "90"
    )
    assert usual["card"] == {"y_black": 1.0, "y_white": 80.0}
    assert own["card"] == {"y_black": 4.5, "y_white": 90.0}
    films = [d["inks"][0]["films"][0] for d in (usual, own)]
    assert films[0]["film_um"] == films[1]["film_um"]
    assert films[0]["contrast_ratio"] != films[1]["contrast_ratio"]
    assert usual["inks"][0]["covers_um"] > films[0]["film_um"]


def test_opacity_in_words() -> None:
    result = run("opacity", "--ink", "Kiln Red", "--ratio", "0.9999999")
    assert result.exit_code == 0
    assert "Card: Y 1.0 and 80.0 (D50/2°)" in result.stdout
    assert "160 ×2" in result.stdout


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["lights", *PRINT, "--reference", "D51"], "no light 'D51'"),
        (["lights", *PRINT, "--target", "nope"], "no target color 'nope'"),
        (["opacity", "--card-white", "120"], "the card's Y is 120"),
        (["opacity", "--card-white", "none.csv"], "none.csv cannot be read"),
        (["opacity", "--ink", "Kiln Blue"], "no ink 'Kiln Blue'"),
    ],
)
def test_bad_input_is_one_sentence(words: list[str], message: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert message in result.stderr
