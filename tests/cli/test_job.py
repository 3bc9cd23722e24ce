"""A customer's JPEG from mail to reorder, by command: kept, decided, ordered, drawn, signed."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageDraw

from inksim.cli.commands import main
from inksim.shop.load import load_shop
from tests.small_shop import few_inks

INKS = ("Kiln Red", "Weir Teal", "Chalk White Base", "Quarry Discharge Base")
RED, TEAL = (0xC9, 0x34, 0x2F), (0x0F, 0x5C, 0x63)


def run(*words: object, code: int | None = 0) -> Result:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert code is None or done.exit_code == code, (done.stdout, done.stderr)
    return done


def said(*words: object, code: int | None = None) -> Any:
    return json.loads(run(*words, "--json", code=code).stdout)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return few_inks(tmp_path_factory.mktemp("kept") / "shop", *INKS)


def logo(path: Path, width: int) -> Path:
    image = Image.new("RGB", (width, width * 2 // 3), "white")
    draw = ImageDraw.Draw(image)
    at = width / 90
    draw.ellipse((15 * at, 8 * at, 75 * at, 52 * at), fill=RED)
    draw.rectangle((35 * at, 22 * at, 55 * at, 38 * at), fill=TEAL)
    image.save(path, quality=85)
    return path


@pytest.fixture(scope="module")
def jpeg(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logo on white, as it comes by mail: no transparency, no resolution."""
    return logo(tmp_path_factory.mktemp("mail") / "logo.jpg", 900)


@pytest.fixture(scope="module")
def made(shop: Path, jpeg: Path) -> dict[str, Any]:
    made: dict[str, Any] = said(
        "job", "new", jpeg, "--name", "Mill logo", "--client", "Weir Mill", "--reference", "PO 12",
        "--garment", "coal black=40", "--garment", "Flour White=20", "--width", "150",
        "--place", "back", "--background", "auto", "--tolerance", "6", "--shop", shop, code=0,
    )  # fmt: skip
    return made


def colours(made: dict[str, Any]) -> list[str]:
    return [str(each) for each in made["colors"]]


def test_a_job_is_made_of_the_file_as_it_came(made: dict[str, Any], shop: Path, jpeg: Path) -> None:
    folder = shop / "jobs" / "mill-logo"
    assert (folder / "logo.jpg").read_bytes() == jpeg.read_bytes()
    assert made["garments"] == {"Coal Black": 40, "Flour White": 20}  # as the shop names them
    assert len(colours(made)) == 2  # white is left out
    shown = said("job", "show", "Mill logo", "--shop", shop, code=0)
    assert shown["says"]["artwork"] == {
        "file": "logo.jpg", "width_mm": 150, "place": "back", "background": "auto",
    }  # fmt: skip
    assert (shown["client"], shown["reference"]) == ("Weir Mill", "PO 12")
    (listed,) = [j for j in said("job", "list", "--shop", shop)["jobs"] if j["job"] == "mill-logo"]
    assert (listed["quantity"], listed["again_of"]) == (60, "")


def test_what_is_decided_is_kept_until_something_changes(
    made: dict[str, Any], shop: Path, tmp_path: Path, jpeg: Path
) -> None:
    run("job", "copy", "mill-logo", "--name", "Decided", "--shop", shop)
    assert "Nothing is decided yet" in run("job", "show", "decided", "--shop", shop).stdout
    advised = said("advise", "decided", "--shop", shop)
    shown = said("job", "show", "decided", "--shop", shop)
    assert shown["decided"]["answers"] == advised["answers"]
    assert shown["changed_since"] == []
    run("add", "garment", "--name", "Fern", "--hex", "#35523a", "--fibers", "cotton=1",
        "--shop", shop)  # fmt: skip
    told = run("job", "show", "decided", "--shop", shop).stdout
    assert "Since then changed: garments.toml" in told
    run("undo", "--shop", shop)
    assert "are as they were" in run("job", "show", "decided", "--shop", shop).stdout


def test_every_command_takes_the_job_and_gives_one_answer(
    made: dict[str, Any], shop: Path, tmp_path: Path
) -> None:
    file = shop / "jobs" / "mill-logo" / "job.toml"
    answers = said("advise", "mill-logo", "--shop", shop)["answers"]
    assert {each["garment"] for each in answers} == {"Coal Black", "Flour White"}
    for word in ("mill-logo", file, file.parent):
        assert said("advise", word, "--shop", shop)["answers"] == answers
    drawn = said("preview", "mill-logo", "--garment", "Flour White", "--out", tmp_path / "p",
                 "--shop", shop)  # fmt: skip
    assert drawn["answers"] == [each for each in answers if each["garment"] == "Flour White"]
    signed = said("proof", "mill-logo", "--out", tmp_path / "q", "--shop", shop)
    assert signed["answers"] == answers
    assert len(signed["proofs"]) == 2
    tickets = said("ticket", "mill-logo", "--out", tmp_path / "t", "--shop", shop)["tickets"]
    assert len([each for each in tickets if each.endswith(".pdf")]) == 2


def test_a_picture_by_itself_is_decided_as_the_job_is(
    made: dict[str, Any], shop: Path, jpeg: Path, tmp_path: Path
) -> None:
    """A job in memory goes through the same code."""
    alone = said(
        "proof", jpeg, "--garment", "Coal Black", "--background", "auto", "--print-width", "150",
        "--tolerance", "6", "--out", tmp_path, "--shop", shop,
    )  # fmt: skip
    kept = said("proof", "mill-logo", "--garment", "Coal Black", "--out", tmp_path, "--shop", shop)
    assert alone["answers"] == kept["answers"]
    kept_white = said("proof", jpeg, "--garment", "Coal Black", "--out", tmp_path, "--shop", shop)
    assert len(kept_white["answers"]) == 3
    assert any("can be left out with background 'auto'" in note for note in kept_white["notes"])


def test_the_preview_of_a_job_is_at_its_width_and_place(
    made: dict[str, Any], shop: Path, tmp_path: Path
) -> None:
    drawn = said("preview", "mill-logo", "--garment", "Flour White", "--out", tmp_path,
                 "--shop", shop)  # fmt: skip
    (only,) = drawn["previews"]
    assert {each["what"] for r in only["routes"] for each in r["views"]} == {
        "on the back, 150 mm wide"
    }
    with Image.open(only["routes"][0]["file"]) as picture:
        dpi = picture.info["dpi"][0]
    assert 900 / dpi * 25.4 == pytest.approx(150, rel=0.002)  # as a PNG rounds its pixels per m
    assert not any("Too small for its place" in note for note in only["notes"])


def test_a_picture_too_small_for_the_shirt_is_told(shop: Path, jpeg: Path, tmp_path: Path) -> None:
    """900 pixels over 76 mm at 300 dpi do; over 300 mm on the shirt they are 76 to the inch."""
    words = ("preview", jpeg, "--garment", "Flour White", "--out", tmp_path, "--shop", shop)
    told = said(*words, "--on", "front", "--print-width", "300")["notes"]
    assert any("900 pixels over 300 mm are 76 per inch" in note for note in told)
    assert any("300 dpi is assumed" in note for note in told)
    assert any("can be left out with background 'auto'" in note for note in told)


def test_a_proof_of_a_kept_job_is_kept_with_it(made: dict[str, Any], shop: Path) -> None:
    run("job", "copy", "mill-logo", "--name", "Signed", "--garment", "Flour White=5",
        "--shop", shop)  # fmt: skip
    sheets = said("proof", "signed", "--shop", shop)["proofs"]
    assert Path(sheets[0]["proof"]).parent == shop / "jobs" / "signed" / "proofs"
    shown = said("job", "show", "signed", "--shop", shop)
    assert shown["proofs"] == [Path(sheets[0]["proof"]).name]
    assert said("proof", "signed", "--shop", shop)["proofs"] == sheets  # no other promise
    run("job", "set", "signed", "tolerance_de00=9", "--shop", shop)
    again = said("proof", "signed", "--shop", shop)["proofs"]
    assert again[0]["proof"] != sheets[0]["proof"]  # what was signed is not written over
    assert len(said("job", "show", "signed", "--shop", shop)["proofs"]) == 2


def test_inks_routes_and_colors_left_out_by_hand_hold_everywhere(
    made: dict[str, Any], shop: Path, tmp_path: Path
) -> None:
    red, teal = colours(made)
    run("job", "copy", "mill-logo", "--name", "By hand", "--garment", "Coal Black=5",
        "--shop", shop)  # fmt: skip
    run("job", "set", "by-hand", f"artwork.inks.{teal}=none", f"artwork.routes.{red}=white-base",
        f"artwork.tolerances.{red}=9", "--shop", shop)  # fmt: skip
    for command in ("advise", "proof"):
        out = [] if command == "advise" else ["--out", tmp_path]
        (answer,) = said(command, "by-hand", *out, "--shop", shop)["answers"]
        assert (answer["target"], answer["route"]) == (red, "white-base")
    run("job", "set", "by-hand", f"artwork.routes.{red}=straight", "--shop", shop)
    (answer,) = said("advise", "by-hand", "--shop", shop)["answers"]
    assert answer["route"] == "straight"


def test_one_order_for_the_run(made: dict[str, Any], shop: Path) -> None:
    order = said("order", "mill-logo", "--shop", shop, code=0)
    said("advise", "mill-logo", "--shop", shop)
    ways = {
        each["garment"]: each["way"]
        for each in said("job", "show", "mill-logo", "--shop", shop)["decided"]["garments"]
    }
    named = {ink["ink"] for way in ways.values() for ink in way["inks"]}
    assert {line["ink"] for line in order["inks"]} == named
    for line in order["inks"]:
        assert sum(size * count for size, count in line["buckets"]) >= line["ink_g"]
    told = run("order", "mill-logo", "--shop", shop).stdout
    assert re.search(r"Kiln Red +\d+ +1 × 1 kg", told)
    costs = shop / "costs.toml"
    before = costs.read_text("utf-8")
    costs.write_text(before.replace("bucket_g = [1000, 5000]", "bucket_g = [250]"), "utf-8")
    try:
        assert "× 0.25 kg" in run("order", "mill-logo", "--shop", shop).stdout
    finally:
        costs.write_text(before, "utf-8")


def test_a_file_without_resolution_says_what_is_assumed(shop: Path, jpeg: Path) -> None:
    done = run("job", "new", jpeg, "--name", "Assumed", "--garment", "Coal Black=4", "--shop", shop)
    assert "300 dpi is assumed, a print 76.2 mm wide; say the width with --width" in done.stderr
    assert "can be left out with background 'auto'" in done.stderr
    wide = run("job", "set", "assumed", "artwork.width_mm=300", "--shop", shop)
    assert "Too small for its place: 900 pixels over 300 mm are 76 per inch" in wide.stderr
    undone = run("job", "undo", "assumed", "--shop", shop).stdout
    assert "artwork.width_mm: 76.2 → 300" in undone


def test_a_print_that_its_place_does_not_hold_is_told_before_it_is_signed(
    made: dict[str, Any], shop: Path
) -> None:
    """A sleeve laid flat is some 20 cm wide at its hem (common practice, no source)."""
    run(
        "job", "copy", "mill-logo", "--name", "Sleeve", "--garment", "Flour White=5", "--shop", shop
    )
    told = "A print 150 mm wide and 100 mm high, 25 mm above its hem, does not fit the sleeve"
    done = run(
        "job", "set", "sleeve", "artwork.place=sleeve", "artwork.width_mm=150", "--shop", shop
    )
    assert f"note: {told}" in done.stderr
    assert any(told in note for note in said("advise", "sleeve", "--shop", shop)["notes"])
    (sheet,) = said("proof", "sleeve", "--shop", shop)["proofs"]
    assert any(told in note for note in sheet["notes"])
    done = run("job", "set", "sleeve", "artwork.width_mm=80", "--shop", shop)
    assert "does not fit" not in done.stderr


def test_a_picture_has_no_second_answer_as_flats(shop: Path, tmp_path: Path) -> None:
    """Proof, ticket and batch answer for halftones: neither an order nor a decision for others."""
    y, x = np.mgrid[0:160, 0:200] / 200.0
    sweep = np.rint(255 * np.stack([x, y, 1 - (x + y) / 2], axis=-1)).astype(np.uint8)
    Image.fromarray(sweep).save(tmp_path / "sweep.png", dpi=(100, 100))
    made = run("job", "new", tmp_path / "sweep.png", "--name", "Sweep", "--garment",
               "Flour White=9", "--shop", shop)  # fmt: skip
    assert "The artwork is a picture, which proof" in made.stdout
    assert "posterized" not in made.stderr
    refused = run("order", "sweep", "--shop", shop, code=2)
    assert "print in halftones: 'inksim ticket' says" in refused.stderr
    told = run("advise", "sweep", "--shop", shop, code=None)
    assert "in halftones: what follows is of its typical colors as flats" in told.stderr
    assert not (shop / "jobs" / "sweep" / "decided.json").exists()


def test_what_is_text_in_a_job_is_set_as_typed(made: dict[str, Any], shop: Path) -> None:
    run("job", "copy", "mill-logo", "--name", "Typed", "--garment", "Flour White=5", "--shop", shop)
    run("job", "set", "typed", "reference=4711", "client=2026-11-29", "note=3,50", "--shop", shop)
    says = said("job", "show", "typed", "--shop", shop)["says"]
    assert (says["reference"], says["client"], says["note"]) == ("4711", "2026-11-29", "3,50")
    run("job", "set", "typed", "quantity=7", "--shop", shop)
    run("job", "set", "typed", 'quantity={"Flour White" = 9}', "--shop", shop)
    assert said("job", "show", "typed", "--shop", shop)["says"]["quantity"] == {"Flour White": 9}


@pytest.mark.parametrize(
    ("field", "told"),
    [
        ("garments.Brick Red=5", "'garments' is ['Flour White'], no table"),
        ("name.x=5", "'name' is 'Mill logo, refused', no table"),
        ("tolerance_de00=nan", "tolerance_de00: must be a number (it is 'nan')"),
        ("artwork.width_mm=2026-11-29", "must be a number (it is '2026-11-29')"),
    ],
)
def test_a_field_that_none_can_be_is_refused_in_a_sentence(
    made: dict[str, Any], shop: Path, field: str, told: str
) -> None:
    name = "Mill logo, refused"
    key = "mill-logo-refused"
    if not (shop / "jobs" / key).exists():
        run(
            "job", "copy", "mill-logo", "--name", name, "--garment", "Flour White=5", "--shop", shop
        )
    before = (shop / "jobs" / key / "job.toml").read_bytes()
    done = run("job", "set", key, field, "--shop", shop, code=2)
    assert told in done.stderr
    assert (shop / "jobs" / key / "job.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["job", "show", "mill"], "mill-logo"),
        (["proof", "mill-logo", "--tolerance", "3"], "a job says itself what --tolerance would"),
        (["preview", "mill-logo", "--background", "auto"], "a job says itself what --background"),
        (["preview", "mill-logo", "--garment", "Mist Gray"], "does not print on 'Mist Gray'"),
        (["job", "set", "mill-logo"], "give fields to change"),
        (["job", "set", "mill-logo", "artwork.place=sleve"], "place"),
        (["job", "set", "mill-logo", "artwork.background=#00ff00"], "no flat of the color"),
    ],
)
def test_what_a_job_cannot_mean_is_said_in_one_sentence(
    words: list[str], told: str, made: dict[str, Any], shop: Path
) -> None:
    done = run(*words, "--shop", shop, code=2)
    assert told in done.stderr
    assert done.stdout == ""


def test_a_job_that_cannot_be_read_hides_no_other(made: dict[str, Any], shop: Path) -> None:
    broken = shop / "jobs" / "broken"
    broken.mkdir()
    (broken / "job.toml").write_text("name = 3\n", "utf-8")
    listed = said("job", "list", "--shop", shop, code=0)
    assert "mill-logo" in {each["job"] for each in listed["jobs"]}
    (fault,) = listed["broken"]
    assert fault.startswith("broken: ")
    (broken / "job.toml").unlink()
    broken.rmdir()


def test_the_demo_shop_says_that_it_keeps_no_jobs() -> None:
    for command in ("advise", "order", "ticket", "preview", "proof"):
        assert "the demo shop keeps no jobs" in run(command, "mill-logo", code=2).stderr


def test_the_shop_still_loads_with_its_jobs(shop: Path) -> None:
    assert load_shop(shop).inks


def test_the_page_on_jobs_says_what_can_be_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every command of docs/jobs.md, in its order, on a logo of the colors named there."""
    page = (Path(__file__).parents[2] / "docs" / "jobs.md").read_text("utf-8")
    monkeypatch.chdir(tmp_path)
    few_inks(tmp_path / "mill-lane", *INKS)
    picture = logo(tmp_path / "logo.png", 300)  # its colors are exact, whatever it is called
    picture.rename(tmp_path / "logo.jpg")
    blocks = re.findall(r"```sh\n(.*?)```", page, re.S)
    lines = "".join(blocks).replace("\\\n", " ").splitlines()
    assert len(lines) > 10
    for line in lines:
        name, *words = shlex.split(line)
        assert name == "inksim"
        run(*words, code=None if words[0] in ("advise", "proof") else 0)
    (said_there,) = re.findall(r"```toml\n(.*?)```", page, re.S)
    (tmp_path / "mill-lane" / "jobs" / "mill-logo" / "job.toml").write_text(said_there, "utf-8")
    (answer, *_) = said("advise", "mill-logo", "--shop", "mill-lane")["answers"]
    assert (answer["target"], answer["route"]) == ("#c9342f", "white-base")
