"""Every door gives the same answer: palette, job, preview, proof and ticket, by their own commands.

Colors are drawn at random once; what is compared was worked out by each command on its own. PDFs
are read back with pdftotext, the pages in tests/ui/test_doors_agree.py.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw

from inksim.cli.commands import main

GARMENTS = ("Coal Black", "Brick Red", "Flour White")
DRAWN = np.random.default_rng(13).integers(0, 256, (7, 3)).tolist()
COLOURS = (*(f"#{r:02x}{g:02x}{b:02x}" for r, g, b in DRAWN), "#ffffff", "#17365d")
SAME = ("target", "garment", "ink", "route", "build")
NUMBERS = ("ciede2000", "median_de00", "chance")


def run(*words: str | Path) -> dict[str, Any]:
    result = CliRunner().invoke(main, [*map(str, words), "--json"])
    assert result.exit_code in (0, 1), result.stderr
    return dict(json.loads(result.stdout))


def answers(*words: str | Path) -> list[dict[str, Any]]:
    found = run(*words)["answers"]
    assert found
    return list(found)


def assert_alike(one: dict[str, Any], two: dict[str, Any]) -> None:
    assert {k: one[k] for k in SAME} == {k: two[k] for k in SAME}
    assert [one[k] for k in NUMBERS] == pytest.approx([two[k] for k in NUMBERS], abs=1e-9)
    assert one["verdict"]["word"] == two["verdict"]["word"]
    assert one["recipe"] is two["recipe"] is None


def picture(path: Path, *codes: str) -> Path:
    """Bars of flat colors on transparent ground."""
    image = Image.new("RGBA", (40 + 60 * len(codes), 80), (0, 0, 0, 0))
    for at, code in enumerate(codes):
        ImageDraw.Draw(image).rectangle((20 + 60 * at, 20, 60 + 60 * at, 60), fill=code)
    image.save(path, dpi=(50, 50))
    return path


def test_a_color_gets_one_answer_by_every_command(tmp_path: Path) -> None:
    of_palette = answers("palette", "--palette", "; ".join(COLOURS), "--garments",
                         ",".join(GARMENTS))  # fmt: skip
    by_colour = {(a["target"], a["garment"]): a for a in of_palette}
    assert len(by_colour) == len(COLOURS) * len(GARMENTS)
    for at, code in enumerate(COLOURS):
        garment = GARMENTS[at % 3]
        job = tmp_path / f"job-{at}.toml"
        job.write_text(
            f'name = "one"\ngarments = ["{garment}"]\nquantity = {7 * at + 1}\n'
            f'[[color]]\ntarget = "{code}"\narea_cm2 = {11 + at}\n',
            encoding="utf-8",
        )
        (of_job,) = answers("advise", job)
        assert_alike(by_colour[code, garment], of_job)
        art = picture(tmp_path / f"art-{at}.png", code)
        if at % 2 == 0:
            (of_proof,) = answers("proof", art, "--garment", garment, "--out", tmp_path)
            assert_alike(by_colour[code, garment], of_proof)
        else:
            (of_preview,) = answers("preview", art, "--garment", garment, "--out", tmp_path)
            assert_alike(by_colour[code, garment], of_preview)


def text_of(pdf: Path) -> str:
    """What a PDF says, in the order of reading, blanks and line breaks alike."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) reads the sheets back")
    raw = subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], check=True, capture_output=True, text=True
    ).stdout
    return " ".join(raw.split())


@pytest.mark.parametrize(
    ("codes", "garment"),
    [
        (("#ffffff", "#e8622c"), "Brick Red"),
        (("#17365d", "#ffd400"), "Coal Black"),
        (("#ffffff", "#c0392b", "#17365d"), "Flour White"),
    ],
    ids=["white and orange on red", "navy and yellow on black", "white, red, navy on white"],
)
def test_an_artwork_gets_one_answer_by_every_door(
    codes: tuple[str, ...], garment: str, tmp_path: Path
) -> None:
    art = picture(tmp_path / "art.png", *codes)
    job = tmp_path / "job.toml"
    job.write_text(
        f'name = "bars"\ngarments = ["{garment}"]\nquantity = 50\n'
        f'[artwork]\nfile = "art.png"\nwidth_mm = 100\n',
        encoding="utf-8",
    )
    advice = run("advise", job)
    of_job = {a["target"]: a for a in advice["answers"]}
    of_preview = answers("preview", art, "--garment", garment, "--out", tmp_path)
    proof = run("proof", art, "--garment", garment, "--out", tmp_path)
    for found in (of_preview, proof["answers"]):
        assert {a["target"] for a in found} == set(of_job) == set(codes)
        for each in found:
            assert_alike(of_job[each["target"]], each)
    # the screens of the sheets are those of the answers: ink, mesh, in every sheet alike
    way = advice["garments"][0]
    chosen = way["ways"][way["chosen"]]
    ticket = run("ticket", job, "--out", tmp_path)
    sheets = [Path(p) for p in ticket["tickets"] if str(p).endswith(".pdf")]
    sheets += list(tmp_path.glob("proof*.pdf"))
    assert len(sheets) == 2
    for sheet in sheets:
        said = text_of(sheet)
        for screen in chosen["print_order"]:
            assert screen["ink"] in said, sheet
            assert f" {screen['screen']} " in said.replace("/", " "), sheet
        assert " ".join(chosen["verdict"]["word"].split()) in said
        for answer in of_job.values():
            if answer["ink"] is None:
                assert "bare" in said
