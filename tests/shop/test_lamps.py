"""A shop's own lamp: a file in its folder, named by commands, pages, proofs and recipes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import colour
import numpy as np
import pytest
from click.testing import CliRunner
from scipy.interpolate import CubicSpline

from inksim.cli.commands import main
from inksim.colour.grid import WAVELENGTHS_NM
from inksim.colour.lights import Lamp
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError, ShopFaults
from inksim.ledger.promises import issue_proof, sealed_proofs
from inksim.mixing.bucket_file import read_bucket
from inksim.readings.lamp import read_lamp
from inksim.shop.load import load_shop
from tests.ledger.test_promises import DAY, promised
from tests.small_shop import few_inks

SODIUM = colour.SDS_ILLUMINANTS["HP1"]  # a CIE lamp of lines, 380-780 nm at 5 nm (CIE 15:2018)
NM = np.arange(380, 781, 5)
POWER = np.interp(NM, SODIUM.wavelengths, SODIUM.values)
ROWS = "".join(f"{nm},{power!r}\n" for nm, power in zip(NM.tolist(), POWER.tolist(), strict=True))
PRINT = ["--garment", "Coal Black", "--ink", "Kiln Red", "--route", "white-base"]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = few_inks(tmp_path / "shop", "Kiln Red", "Chalk White Base")
    (folder / "lamps").mkdir()
    (folder / "lamps" / "Booth north.csv").write_text(f"# read today\nwavelength,power\n{ROWS}")
    return folder


def answer(*words: object) -> Any:
    result = CliRunner().invoke(main, [*map(str, words), "--json"])
    assert result.exit_code in (0, 1), result.stderr  # 1: done, and nothing lands
    return json.loads(result.stdout)


def test_a_command_names_a_lamp_of_the_shop_or_a_file(shop: Path) -> None:
    """The print's Lab is colour-science's for its own reflectance: SPD × R × observer at 1 nm."""
    named = answer("predict", *PRINT, "--light", "booth NORTH", "--observer", 10, "--shop", shop)
    file = shop / "lamps" / "Booth north.csv"
    by_file = answer("predict", *PRINT, "--light", file, "--observer", 10, "--shop", shop)
    assert named == by_file
    assert named["conditions"]["light"]["name"] == "Booth north"
    (found,) = named["predictions"]
    fine = colour.SpectralShape(360, 830, 1)
    nm = fine.wavelengths
    inside = np.clip(nm, 400, 700)
    light = colour.SpectralDistribution(np.interp(nm, NM, POWER), nm)
    matching = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(fine)
    white, seen = (
        colour.sd_to_XYZ(
            colour.SpectralDistribution(CubicSpline(WAVELENGTHS_NM, R)(inside), nm),
            matching, light,
            method="Integration",
        ) / 100.0
        for R in (np.ones(31), found["reflectance"])
    )  # fmt: skip
    expected = colour.XYZ_to_Lab(seen, colour.XYZ_to_xy(white))
    np.testing.assert_allclose(found["lab"], expected, atol=0.05)  # a spline between bands


def test_lights_compares_with_a_lamp_of_the_shop(shop: Path) -> None:
    said = answer("lights", *PRINT, "--also", "Booth north", "--shop", shop)
    (each,) = said["prints"]
    lamps = [row["light"] for row in each["lights"] if isinstance(row["light"], dict)]
    assert [lamp["name"] for lamp in lamps] == ["Booth north"] * 2


@pytest.mark.parametrize(
    ("light", "said"),
    [
        ("Booth south", "no light 'Booth south'; choose one of Booth north, D50"),
        ("none.csv", "cannot be read"),
    ],
)
def test_a_light_that_is_none_ends_with_2(light: str, said: str, shop: Path) -> None:
    result = CliRunner().invoke(main, ["predict", *PRINT, "--light", light, "--shop", str(shop)])
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())


def test_every_fault_of_lamps_is_told_with_the_shop_s_others(shop: Path) -> None:
    for name, text in {
        "Dark.csv": "nm,power\n" + "".join(f"{nm},0\n" for nm in NM),
        "D50.csv": f"nm,power\n{ROWS}",
        "BOOTH NORTH.csv": f"nm,power\n{ROWS}",
        "Two.csv": "nm,a,b\n400,1,1\n700,1,1\n",
    }.items():
        (shop / "lamps" / name).write_text(text)
    (shop / "lamps" / "read me.pdf").write_text("not one of inksim's")
    (shop / "screens.toml").write_text('[[screen]]\nname = ""\n')
    with pytest.raises(ShopFaults) as fault:
        load_shop(shop)
    for words in (
        "lamps/Dark.csv: Dark.csv: lamp 'Dark' gives no light",
        "lamps/D50.csv: D50.csv: a lamp cannot be called 'D50'",
        "used twice",
        "Two.csv has 2 spectra",
        "screens.toml",
    ):
        assert words in str(fault.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"wavelength,power\n400,1\n", "read from 400 to 400 nm"),
        (b"nm,power\n400,x\n", "line 2"),
        (b"L,a,b\n50,1,1\n", "has 0 spectra"),
        (b"", "empty"),
    ],
)
def test_a_file_that_is_no_lamp_is_refused_in_a_sentence(text: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said) as fault:
        read_lamp(text, name="booth.csv")
    assert len(str(fault.value)) <= 300


def test_a_proof_keeps_the_lamp_that_it_was_made_under(shop: Path) -> None:
    """Whatever becomes of the file: the spectrum is in the seal."""
    lamp = load_shop(shop).lamps["Booth north"]
    viewing = Viewing(lamp, 10)
    issue_proof(load_shop(shop), promised(), design="any", viewing=viewing, day=DAY)
    (shop / "lamps" / "Booth north.csv").unlink()
    (proof,) = sealed_proofs(shop)
    assert (proof.viewing, proof.altered) == (viewing, "")


def test_a_recipe_keeps_the_lamp_that_it_was_looked_for_under(shop: Path, tmp_path: Path) -> None:
    file = tmp_path / "mix.json"
    said = answer(
        "mix", "--target", "#8a3030", "--garment", "Flour White", "--route", "straight",
        "--light", "Booth north", "--shop", shop,
    )  # fmt: skip
    file.write_text(json.dumps(said))
    _, viewing = read_bucket(file, load_shop(shop))
    assert viewing == Viewing(load_shop(shop).lamps["Booth north"], 2)
    said["conditions"]["light"]["power"][0] = "much"
    file.write_text(json.dumps(said))
    with pytest.raises(InputError, match="power are not all numbers"):
        read_bucket(file, load_shop(shop))


def test_equal_files_are_one_lamp(shop: Path) -> None:
    again = read_lamp(shop / "lamps" / "Booth north.csv")
    assert again == load_shop(shop).lamps["Booth north"]
    assert again == Lamp(name="Booth north", wavelengths_nm=NM.tolist(), power=POWER.tolist())
