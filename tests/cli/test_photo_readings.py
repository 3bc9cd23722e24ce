"""Readings by photo by command: CSV to garment and ink, to the press, to a prediction."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from inksim.stock.lab_noise import LabNoise

HEAD = "name,L,a,b,light,observer,read_by,sd_de00,shared_de00,picture\n"
CHART = (
    f"{HEAD}shirt,42,10,-22,D50,2,photo,1.3,0.9,3f2a\n"
    "over white,28.3,57.3,34.3,D50,2,photo,1.2,0.9,3f2a\n"
    "over black,11,16.2,5.3,D50,2,photo,1.5,0.9,3f2a\n"
    "again,48,52,28,D50,2,photo,1.2,0.9,3f2a\n"
    "again,48.6,52,28,D50,2,photo,1.2,0.9,77b0\n"
    "too deep,30,80,45,D50,2,photo,4,1,3f2a\n"
)


def done(*words: object, code: int = 0) -> Result:
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == code, result.stderr
    return result


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "shop")


@pytest.fixture
def chart(tmp_path: Path) -> Path:
    file = tmp_path / "photo.csv"
    file.write_text(CHART, encoding="utf-8")
    return file


def test_from_a_photo_to_a_prediction(shop: Path, chart: Path) -> None:
    done("add", "garment", "--name", "Fern", "--from", f"{chart}#shirt", "--fibers", "cotton=1",
         "--shop", shop)  # fmt: skip
    done("add", "ink", "--name", "Brick", "--from", f"{chart}#over white", "--over-black",
         f"{chart}#over black", "--film", 6, "--solids", 0.3, "--shop", shop)  # fmt: skip
    loaded = load_shop(shop)
    garment, ink = loaded.garment("Fern"), loaded.ink("Brick")
    assert (garment.data, garment.noise) == ("photo", LabNoise(1.3, 0.9, "3f2a"))
    assert (ink.data, ink.assumed) == ("photo", ())
    text = (shop / "inks.toml").read_text("utf-8")
    assert 'data = "photo"' in text
    assert "sd_de00 = 1.5" in text  # of the look over black
    prints = chart.with_name("prints.csv")
    prints.write_text(
        "garment,ink,route," + HEAD
        + "Fern,Brick,straight,one,38,20,-5,D50,2,photo,1.2,0.9,3f2a\n"
        + "Fern,Brick,white-base,two,45,48,22,D50,2,photo,1.2,0.9,3f2a\n"
        + "Flour White,Brick,straight,three,52,48,24,D50,2,photo,1.2,0.9,3f2a\n",
        encoding="utf-8",
    )  # fmt: skip
    found = json.loads(done("calibrate", prints, "--shop", shop, "--json").stdout)
    assert [each["picture"] for each in found["readings"]] == ["3f2a"] * 3
    plain = done("predict", "--garment", "Fern", "--ink", "Brick", "--shop", shop).stdout
    assert re.search(r"^straight .* photo$", plain, re.MULTILINE)


def test_one_look_alone_is_recovered_with_its_noise(shop: Path, chart: Path) -> None:
    done("add", "ink", "--name", "Brick", "--from", f"{chart}#over white", "--shop", shop)
    ink = load_shop(shop).ink("Brick")
    assert ink.data == "recovered"
    assert "opacity assumed by kind" in ink.assumed


def test_repeats_of_two_pictures_keep_both(shop: Path, chart: Path) -> None:
    done("add", "garment", "--name", "Fern", "--from", f"{chart}#again", "--fibers", "cotton=1",
         "--shop", shop)  # fmt: skip
    noise = load_shop(shop).garment("Fern").noise
    assert noise is not None
    assert noise == pytest.approx((0.849, 0.636, "3f2a + 77b0"), abs=1e-3)


def test_noise_beyond_every_surface_is_taken_paler_and_told(shop: Path, chart: Path) -> None:
    told = done("add", "garment", "--name", "Fern", "--from", f"{chart}#too deep", "--fibers",
                "cotton=1", "--shop", shop)  # fmt: skip
    assert "no surface has this color: taken" in told.stdout + told.stderr
    assert load_shop(shop).garment("Fern").data == "photo"


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ('lab = [50, 0, 0]\ndata = "photo"', "sd_de00 belong together"),
        ('hex = "#808080"\ndata = "photo"', "belong together"),
        ('lab = [50, 0, 0]\nsd_de00 = 1.0\ndata = "recovered"', "belong together"),
        ('lab = [50, 0, 0]\nsd_de00 = -1.0\ndata = "photo"', "sd_de00"),
        ('lab = [50, 0, 0]\nsd_de00 = 1.0\npicture = "p"\ndata = "photo"', "no shared_de00"),
    ],
)
def test_a_files_nonsense_is_a_fault(shop: Path, entry: str, said: str) -> None:
    file = shop / "garments.toml"
    added = f'\n[[garment]]\nname = "Fern"\nfibers = {{cotton = 1.0}}\n{entry}\n'
    file.write_text(file.read_text("utf-8") + added, encoding="utf-8")
    told = done("shop", "--shop", shop, code=2)
    assert said in told.stderr
    assert "Fern" in told.stderr
