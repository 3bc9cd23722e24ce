"""Command `record`, from a proof through its readings to what is said of them."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from inksim.cli.commands import main
from inksim.ledger.promises import sealed_proofs
from inksim.shop.load import demo_shop_folder
from tests.small_shop import few_inks

INKS = ("Kiln Red", "Weir Teal", "Chalk White Base")


def run(*words: object, code: int = 0) -> str:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == code, done.stderr
    return done.stdout


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return few_inks(tmp_path / "shop", *INKS)


@pytest.fixture
def art(tmp_path: Path) -> Path:
    pixels = np.zeros((40, 60, 4), dtype=np.uint8)
    pixels[5:35, 5:55] = (0xC9, 0x34, 0x2F, 255)
    Image.fromarray(pixels).save(tmp_path / "oars.png", dpi=(150, 150))
    return tmp_path / "oars.png"


def proof(art: Path, shop: Path | None, *, garment: str = "Coal Black") -> dict[str, Any]:
    own = () if shop is None else ("--shop", shop)
    where = ("--garment", garment, "--tolerance", "12", "--out", art.parent / "out")
    found: dict[str, Any] = json.loads(run("proof", art, *where, *own, "--json"))
    return found


def test_a_proof_is_sealed_and_its_print_scores_it(art: Path, shop: Path, tmp_path: Path) -> None:
    assert "No proof has been issued yet" in run("record", "--shop", shop)
    made = proof(art, shop)
    assert made["issued"]["number"] == 1
    assert proof(art, shop, garment="Flour White")["issued"]["number"] == 2
    said = run("record", "--shop", shop)
    assert said.startswith("2 proofs issued, 2 colors promised, 0 prints read.")
    (colour,) = sealed_proofs(shop)[0].colours
    base, top = colour.layers
    table = tmp_path / "prints.csv"
    lab = [round(value, 2) for value in (colour.lab[0] + 1, *colour.lab[1:])]
    table.write_text(
        "name,garment,ink,route,screen,passes,base_screen,base_passes,flash,date,proof,L,a,b\n"
        f"one,Coal Black,{top.ink},{colour.route},{top.screen},{top.passes},{base.screen},"
        f"{base.passes},{'yes' if base.flash else 'no'},{date.today()},1,"
        f"{','.join(map(str, lab))}\n",
        encoding="utf-8",
    )
    run("calibrate", table, "--shop", shop)
    out = tmp_path / "record.csv"
    record = json.loads(run("record", "--shop", shop, "--json", "--csv", out))
    assert (record["proofs"], record["colors"], record["prints"]) == (2, 2, 1)
    (scored,) = [each for each in record["outcomes"] if each["found_de00"] is not None]
    answer = made["answers"][0]
    assert scored["median_de00"] == pytest.approx(answer["median_de00"], abs=5e-4)
    assert scored["chance"] == pytest.approx(answer["chance"], abs=5e-5)
    assert (scored["dL"], scored["da"], scored["db"]) == pytest.approx((1, 0, 0), abs=0.01)
    assert "oars" not in out.read_text("utf-8")
    assert "Too few prints to judge" in record["said"][0]
    tomorrow = date.today() + timedelta(days=1)
    assert json.loads(run("record", "--shop", shop, "--since", tomorrow, "--json"))["proofs"] == 0


def test_the_demo_shop_gives_no_number_and_says_why(art: Path) -> None:
    made = proof(art, None)
    assert made["issued"]["number"] is None
    assert "the demo shop keeps no record" in made["issued"]["why"]
    assert not (demo_shop_folder() / "promises.sqlite").exists()


def test_the_record_of_the_demo_is_marked(tmp_path: Path) -> None:
    plot = tmp_path / "plot.png"
    said = run("record", "--png", plot)
    assert said.startswith("INVENTED")
    with Image.open(plot) as picture:
        assert picture.size == (1260, 560)
        colours = picture.convert("RGB").getcolors(maxcolors=100_000)
        assert colours is not None
        assert len(colours) > 3
    assert json.loads(run("record", "--json"))["invented"] is True


def test_a_plot_without_a_print_says_so(shop: Path, tmp_path: Path) -> None:
    plot = tmp_path / "plot.png"
    run("record", "--shop", shop, "--png", plot)
    assert plot.exists()
