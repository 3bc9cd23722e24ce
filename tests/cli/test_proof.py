"""`inksim proof`: the sheet of what is decided and its answers; none where nothing is to sign."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageDraw

from inksim.cli.commands import main
from inksim.ledger.promises import sealed_proofs
from tests.cli.test_decide import ANSWER
from tests.reports.test_proof import poppler, words_of
from tests.reports.test_proof_pages import page_of
from tests.small_shop import FOR_PICTURES, few_inks
from tests.ui.test_client import flat_art, tonal_art


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["proof", *map(str, words)])


def drawn(path: Path, *colours: str) -> Path:
    """A picture of rectangles, 3 × 2 inches at 100 dpi on transparent ground."""
    image = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    wide = 280 // len(colours)
    for at, colour in enumerate(colours):
        left = 10 + at * wide
        ImageDraw.Draw(image).rectangle((left, 20, left + wide - 8, 180), fill=colour)
    image.save(path, dpi=(100, 100))
    return path


@poppler
def test_it_writes_the_sheet_of_the_answers_it_gives(tmp_path: Path) -> None:
    art = tmp_path / "logo.png"
    art.write_bytes(flat_art())
    result = run(art, "--garment", "Coal Black", "--out", tmp_path / "new", "--json")
    made = json.loads(result.stdout)
    assert result.exit_code == (0 if made["nominal"] else 1)
    assert [a["target"] for a in made["answers"]] == ["#e8622c", "#0f5c63"]
    assert all(set(answer) == ANSWER for answer in made["answers"])
    assert made["proof"] == str(tmp_path / "new" / "proof-logo-coal-black.pdf")
    said = words_of(Path(made["proof"]))
    for answer in made["answers"]:
        assert f"{answer['ink']}: " in said
        verdict = answer["verdict"]
        assert f"about ΔE00 {verdict['median_de00']:.1f}" in said
        for ink, mesh in re.findall(r"(?:^|; )(.+?) through (\d+)", answer["build"]):
            assert f"{ink}: {mesh} threads/in" in said
    assert made["said"][0] in said


def test_where_nothing_is_printed_there_is_no_sheet(tmp_path: Path) -> None:
    art = drawn(tmp_path / "white.png", "#ffffff")
    result = run(art, "--garment", "Flour White", "--out", tmp_path / "new")
    assert result.exit_code == 0
    assert "Flour White: nothing is printed; the cloth itself is every color." in result.stdout
    assert not (tmp_path / "new").exists()


def test_what_the_press_cannot_print_has_no_proof(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    CliRunner().invoke(main, ["new", str(shop)])
    press = shop / "press.toml"
    text = press.read_text("utf-8")
    for field, value in (("stations", 1), ("flashes", 0)):
        text, found = re.subn(rf"(?m)^{field} = \d+", f"{field} = {value}", text)
        assert found == 1
    press.write_text(text, encoding="utf-8")
    art = drawn(tmp_path / "three.png", "#c9342f", "#0f5c63", "#f2c230")
    inks = tmp_path / "inks.toml"
    inks.write_text(
        '"#c9342f" = "Kiln Red"\n"#0f5c63" = "Weir Teal"\n"#f2c230" = "Chalk White Base"\n',
        encoding="utf-8",
    )
    words = ("--garment", "Anvil Black Sport", "--shop", shop, "--out", tmp_path / "new")
    result = run(art, *words, "--mapping", inks)
    assert result.exit_code == 2
    assert "there is no proof to sign. Anvil Black Sport: cannot be printed." in result.stderr
    assert not (tmp_path / "new").exists()


@poppler
def test_its_width_can_be_given(tmp_path: Path) -> None:
    art = drawn(tmp_path / "logo.png", "#e8622c")
    run(art, "--garment", "Flour White", "--out", tmp_path, "--print-width", "254")
    assert "10.0 × 6.7 in (254 × 169 mm)" in words_of(tmp_path / "proof-logo-flour-white.pdf")
    result = run(art, "--garment", "Flour White", "--out", tmp_path, "--print-width", "0")
    assert result.exit_code == 2
    assert "width_mm: must be at least 1" in result.stderr


@poppler
def test_a_photograph_has_a_proof_too(tmp_path: Path) -> None:
    art = tmp_path / "sweep.png"
    art.write_bytes(tonal_art())
    shop = few_inks(tmp_path / "few", *FOR_PICTURES)
    result = run(art, "--garment", "Flour White", "--out", tmp_path, "--shop", shop, "--json")
    assert result.exit_code in (0, 1), result.stderr
    made = json.loads(result.stdout)
    assert made["answers"] == []  # its colors are halftones of several inks
    assert "Typical colors of the picture" in words_of(Path(made["proof"]))


def test_a_photographs_proof_is_decided_on_the_jobs_own_press(tmp_path: Path) -> None:
    """As its ticket and its preview are: not on the shop's, which could print what this cannot."""
    (tmp_path / "sweep.png").write_bytes(tonal_art())
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "Sweep"\ngarments = ["Anvil Black Sport"]\nquantity = 40\n'
        "[press]\nstations = 4\nflashes = 0\n"
        '[artwork]\nfile = "sweep.png"\n',
        encoding="utf-8",
    )
    shop = few_inks(tmp_path / "few", *FOR_PICTURES)
    out = ("--out", str(tmp_path), "--shop", str(shop))
    done = run(job, *out, "--json")
    assert done.exit_code in (0, 1), done.stderr
    ticket = CliRunner().invoke(main, ["ticket", str(job), *out])
    assert ticket.exit_code in (0, 1), ticket.stderr
    headline = json.loads(done.stdout)["proofs"][0]["said"][0]
    way = next(w for w in ("straight", "over a discharge base") if w in headline)
    assert f"halftones {way}" in ticket.stdout
    seen = CliRunner().invoke(main, ["preview", str(job), *out, "--json"])
    assert seen.exit_code == 0, seen.stderr
    routes = [each["route"] for each in json.loads(seen.stdout)["previews"][0]["routes"]]
    assert "white-base" not in routes  # nothing can be flashed
    assert {"straight": "straight", "over a discharge base": "discharge-base"}[way] in routes


@poppler
def test_a_job_on_several_garments_has_one_document_and_one_number(tmp_path: Path) -> None:
    """What one garment cannot be printed on is said in it, and the rest is proofed: exit code 2."""
    shop = tmp_path / "shop"
    CliRunner().invoke(main, ["new", str(shop)])
    drawn(tmp_path / "logo.png", "#c9342f")
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "Mill logo"\nclient = "Weir Mill"\nreference = "PO 12"\nquantity = 40\n'
        'garments = ["Coal Black", "Estuary Navy", "Anvil Black Sport"]\n'
        '[artwork]\nfile = "logo.png"\nplace = "back"\nroutes = {"#c9342f" = "discharge-base"}\n',
        encoding="utf-8",
    )
    result = run(job, "--shop", shop, "--out", tmp_path / "new", "--json")
    assert result.exit_code == 2
    assert "Anvil Black Sport: cannot be printed." in result.stderr
    signed = json.loads(result.stdout)["proofs"]
    assert [each["garment"] for each in signed] == ["Coal Black", "Estuary Navy"]
    (file,) = (tmp_path / "new").iterdir()
    assert file.name == "proof-mill-logo-1.pdf"
    assert {each["proof"] for each in signed} == {str(file)}
    (sealed,) = sealed_proofs(shop)
    assert [(c.garment, c.chance) for c in sealed.colours] == [
        (each["garment"], pytest.approx(each["answers"][0]["verdict"]["chance"], abs=5e-4))
        for each in signed
    ]
    said = page_of(file, 1)
    assert "Mill logo on Coal Black and Estuary Navy" in said
    assert "on the back, the usual 75 mm below the collar" in said
    assert "Anvil Black Sport: cannot be printed." in said
    for line in ("For Weir Mill", "Your reference: PO 12", "Mill logo, PO 12, Proof no. 1, seal "):
        assert line in said
    one = run(job, "--shop", shop, "--out", tmp_path / "new", "--garment", "Estuary Navy")
    assert one.exit_code in (0, 1)
    assert "proof-mill-logo-estuary-navy-2.pdf" in one.stdout
    again = run(job, "--shop", shop, "--out", tmp_path / "new")
    assert "Proof no. 1, seal" in again.stdout  # the same promise


def test_names_that_the_sheet_cannot_write_are_said(tmp_path: Path) -> None:
    art = drawn(tmp_path / "logo.png", "#e8622c")
    words = (art, "--garment", "Flour White", "--out", tmp_path, "--client")
    assert "The sheet's font has no 東京: '?'" in run(*words, "Łódź Принт 東京").stdout
    assert "font" not in run(*words, "Łódź Принт").stdout
