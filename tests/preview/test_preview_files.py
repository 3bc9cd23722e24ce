"""What `preview` and `separate` write of flat artwork: the one decision, its plates, its limits."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageDraw

from inksim.artwork.read import read_artwork
from inksim.cli.commands import main
from inksim.colour.viewing import Viewing
from inksim.preview.prepare import prepare_artwork
from inksim.shop.load import demo_shop_folder, load_shop
from tests.artwork_results import artwork_result

DPI = 150


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def report(*words: str | Path) -> Any:
    done = run(*words, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def bars(path: Path, *codes: str) -> Path:
    """Bars 80 pixels wide on transparent, 20 between them."""
    image = Image.new("RGBA", (20 + 100 * len(codes), 140), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at, code in enumerate(codes):
        draw.rectangle((20 + 100 * at, 20, 99 + 100 * at, 119), fill=code)
    image.save(path, dpi=(DPI, DPI))
    return path


@pytest.fixture
def three(tmp_path: Path) -> Path:
    return bars(tmp_path / "three.png", "#ffffff", "#e8622c", "#111111")


@pytest.mark.parametrize("garment", ["Coal Black", "Flour White"])
def test_preview_page_and_plates_give_one_answer(three: Path, tmp_path: Path, garment: str) -> None:
    shop = load_shop()
    found = artwork_result(
        prepare_artwork(read_artwork(three)), shop=shop, garment=shop.garment(garment),
        viewing=Viewing(), tolerance=shop.habits.tolerance_de00,
    )  # fmt: skip
    wanted = {
        answer.target.name: (answer.ink and answer.ink.name, answer.route, answer.delta_e_2000)
        for answer in found.answer.answers
    }
    assert set(wanted) == {"#ffffff", "#e8622c", "#111111"}
    for command in ("preview", "separate"):
        made = report(command, three, "--garment", garment, "--out", tmp_path / command)
        told = {
            each["target"]: (each["ink"], each["route"], pytest.approx(each["ciede2000"]))
            for each in made["answers"]
        }
        assert told == wanted, command


def test_the_first_picture_is_the_decided_print(three: Path, tmp_path: Path) -> None:
    made = report("preview", three, "--garment", "Flour White", "--out", tmp_path / "out")
    first, *others = made["routes"]
    assert first["route"] == "decided"
    assert first["file"].endswith("three--flour-white--decided.png")
    assert "decided" not in [route["route"] for route in others]
    assert [colour["ink"] for colour in made["colors"] if colour["hex"] == "#ffffff"] == [None]
    with Image.open(first["file"]) as image:
        shot = np.asarray(image.convert("RGB")).astype(float)
    # what is left bare is the cloth that lies beside it
    assert shot[30:110, 30:90].mean() == pytest.approx(shot[122:138, 30:90].mean(), abs=2.0)
    assert "#ffffff is left bare: the cloth itself is the color." in made["notes"]


def test_an_ink_by_hand_and_a_color_left_out_keep_their_say(three: Path, tmp_path: Path) -> None:
    mapping = tmp_path / "inks.toml"
    mapping.write_text('"#e8622c" = "Kiln Red"\n"#111111" = "none"\n', encoding="utf-8")
    made = report(
        "preview", three, "--garment", "Coal Black", "--mapping", mapping, "--out", tmp_path / "o"
    )
    colours = {each["hex"]: (each["ink"], each["chosen_by"]) for each in made["colors"]}
    assert colours["#e8622c"] == ("Kiln Red", "mapping")
    assert colours["#111111"] == (None, "mapping")
    assert colours["#ffffff"] == ("Chalk White Base", "decision")
    assert [each["target"] for each in made["answers"]] == ["#e8622c", "#ffffff"]


def test_plates_of_flat_art_are_solid_and_those_of_the_screens(three: Path, tmp_path: Path) -> None:
    made = report("separate", three, "--garment", "Coal Black", "--out", tmp_path / "out")
    assert made["route"] == "decided"
    assert made["tonal"] is None
    films = []
    for file in made["files"]:
        with Image.open(file["path"]) as image:
            films.append(np.asarray(image))
    assert [file["ink"] for file in made["files"]] == [plate["ink"] for plate in made["plates"]]
    assert all(set(np.unique(film)) <= {0, 255} for film in films)
    inside = {"#ffffff": 60, "#e8622c": 160, "#111111": 260}
    for plate, film in zip(made["plates"], films, strict=True):
        on = {code for code, column in inside.items() if film[70, column] == 0}
        if plate["base"]:  # common practice, no source: no white under black
            assert on == {"#ffffff", "#e8622c"}
        else:
            assert len(on) == 1
    named = report(
        "separate", three, "--garment", "Coal Black", "--ink", "Lantern Orange", "--out",
        tmp_path / "halftones",
    )  # fmt: skip
    assert named["tonal"] is not None, "who names inks gets halftones"


def test_a_press_that_cannot_print_it_is_said_and_nothing_is_written(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    for file in demo_shop_folder().glob("*.toml"):
        text = file.read_text("utf-8")
        if file.name == "press.toml":
            text = re.sub(r"^stations = \d+", "stations = 1", text, flags=re.M)
        (shop / file.name).write_text(text, encoding="utf-8")
    art = bars(tmp_path / "two.png", "#ffffff", "#c8102e")
    words = ("--garment", "Coal Black", "--shop", shop, "--out", tmp_path / "out")
    done = run("preview", art, *words)
    if done.exit_code == 0:  # merged or in two runs: then it is said
        assert "runs" in done.stdout or "no screen for" in done.stdout
    else:
        assert "too few" in done.stderr
        assert not (tmp_path / "out").exists()


def test_a_hairline_is_told_with_its_width(tmp_path: Path) -> None:
    """One pixel at 300 dpi is 25.4 mm / 300 = 0.085 mm; jersey holds 0.3 mm (common practice)."""
    image = Image.new("RGBA", (400, 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((40, 40, 360, 200), fill="#e8622c")
    draw.line((40, 250, 360, 250), fill="#e8622c", width=1)
    image.save(tmp_path / "fine.png", dpi=(300, 300))
    words = ("preview", tmp_path / "fine.png", "--garment", "Flour White", "--out")
    made = report(*words, tmp_path / "out")
    (said,) = [note for note in made["notes"] if "mm lines of" in note]
    assert said.startswith("0.085 mm lines of #e8622c print nowhere through")
    image.paste((0, 0, 0, 0), (0, 240, 400, 260))
    image.save(tmp_path / "fine.png", dpi=(300, 300))
    made = report(*words, tmp_path / "again")
    assert not [note for note in made["notes"] if "mm lines of" in note]


def test_the_ink_of_a_route_that_prints_another_than_is_decided_is_named(tmp_path: Path) -> None:
    art = bars(tmp_path / "yellow.png", "#f3b632")
    words = ("preview", art, "--garment", "Coal Black", "--out", tmp_path / "out")
    decided, *others = report(*words)["routes"]
    (own,) = decided["predictions"]
    named = [each["predictions"][0]["ink"] for each in others]
    assert set(named) - {own["ink"]}, "no route of this artwork prints another ink"
    (row,) = [line for line in run(*words).stdout.splitlines() if "decision" in line]
    cells = re.split(r" {2,}", row.strip())[-len(others) :]
    for ink, cell in zip(named, cells, strict=True):
        assert cell.endswith("invented" if ink == own["ink"] else f"invented, {ink}")
