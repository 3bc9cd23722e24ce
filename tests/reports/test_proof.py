"""The proof sheet, opened by independent software (Poppler): its words, pictures and swatches."""

from __future__ import annotations

import re
import shutil
import subprocess
from colorsys import hsv_to_rgb
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from inksim.colour.srgb import rgb8_from_hex
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.common.fonts import spelled
from inksim.preview.prepare import artwork_on, prepare_artwork, print_on
from inksim.reports.cautions import CANNOT_SHOW, CAUTIONS, MIGRATION
from inksim.reports.pdf import Sheet
from inksim.reports.press_words import screen_lines
from inksim.reports.proof import Proof, proof_picture
from inksim.reports.proof_sheet import proof_pdf
from inksim.reports.ticket import make_ticket
from inksim.shop.load import load_shop
from inksim.shop.schema import StationsEntry
from tests.artwork_results import artwork_result
from tests.pictures import artwork

poppler = pytest.mark.skipif(
    shutil.which("pdftotext") is None or shutil.which("pdfimages") is None,
    reason="Poppler is not installed (Debian: apt-get install poppler-utils)",
)


@pytest.fixture(scope="module")
def proof() -> Proof:
    image = Image.new("RGBA", (420, 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((20, 20, 200, 280), fill=(232, 98, 44, 255))
    draw.ellipse((220, 40, 400, 220), fill=(15, 92, 99, 255))
    shop, viewing = load_shop(), Viewing()
    ready = prepare_artwork(artwork(image, dpi=100.0))
    found = artwork_result(
        ready, shop=shop, garment=shop.garment("Coal Black"), viewing=viewing, tolerance=3.0
    )
    return Proof(
        ready=ready,
        answer=found,
        shop=shop,
        viewing=viewing,
        made=date(2026, 3, 2),
    )


@pytest.fixture(scope="module")
def file(proof: Proof, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("proof") / "proof.pdf"
    path.write_bytes(proof_pdf(proof))
    return path


def words_of(path: Path) -> str:
    run = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
    )
    return re.sub(r"\s+", " ", run.stdout)


@poppler
def test_it_says_what_a_client_signs(proof: Proof, file: Path) -> None:
    said = words_of(file)
    assert "test art on Coal Black" in said
    assert "4.2 × 3.0 in (107 × 76 mm)" in said
    assert "Made March 2, 2026" in said
    assert "Valid until April 1, 2026" in said
    for plan in proof.plans:
        assert plan.build.colour.ink.name in said
        assert f"expect about {plan.verdict.expected}, {plan.verdict.percent} chance" in said
        assert plan.verdict.mark in said
        assert f"{plan.prediction.data} data" in said
    assert proof.chosen.verdict is not None
    assert f"{proof.chosen.verdict.percent} chance that both colors come within" in said
    for line in (*CAUTIONS, *CANNOT_SHOW, *screen_lines(proof.chosen.found, proof.way)):
        assert line in said
    assert "Compared" in said or "compared under D50/2°" in said
    for label in ("For the client: name", "For the shop: name", "signature", "date"):
        assert label in said


@poppler
def test_its_meshes_are_those_of_the_ticket(proof: Proof, file: Path) -> None:
    # One decision: what the client signs is what the press gets.
    said = words_of(file)
    ticket = make_ticket(
        proof.answer.answer, shop=proof.shop, garment=proof.garment, made=proof.made
    )
    for screen in ticket.screens:
        mesh = re.escape(screen.screen.words)
        assert re.search(rf"{screen.number}\. {screen.ink.name}: {mesh}, ×{screen.goes[0]}", said)
    assert said.count(" threads/in") == len(ticket.screens)


def test_what_the_press_cannot_print_has_no_proof(proof: Proof) -> None:
    image = Image.new("RGBA", (420, 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at, colour in enumerate(((232, 98, 44, 255), (15, 92, 99, 255), (242, 194, 48, 255))):
        draw.rectangle((20 + 130 * at, 20, 130 + 130 * at, 280), fill=colour)
    ready = prepare_artwork(artwork(image, dpi=100.0))
    shop = replace(proof.shop, stations=StationsEntry(stations=1, flashes=0))
    found = artwork_result(
        ready, shop=shop, garment=proof.garment, viewing=proof.viewing, tolerance=3.0, merge=False
    )
    with pytest.raises(InputError, match=r"no proof to sign\. Coal Black: cannot be printed") as no:
        proof_pdf(replace(proof, ready=ready, answer=found, shop=shop))
    assert "use a press with more stations" in str(no.value)


@poppler
def test_polyester_is_warned_of_and_gets_a_base_that_blocks_dye(
    proof: Proof, tmp_path: Path
) -> None:
    # Common practice, no source.
    sport = proof.shop.garment("Anvil Black Sport")
    found = artwork_result(
        proof.ready, shop=proof.shop, garment=sport, viewing=proof.viewing, tolerance=3.0
    )
    path = tmp_path / "proof.pdf"
    path.write_bytes(proof_pdf(replace(proof, answer=found)))
    assert MIGRATION in words_of(path)
    assert found.decided.way is not None
    whites = [s.ink for s in found.decided.way.screens if s.ink.kind == "white-base"]
    assert whites
    assert all(ink.blocks_dye for ink in whites)


@poppler
def test_its_pictures_are_lossless(proof: Proof, file: Path, tmp_path: Path) -> None:
    subprocess.run(["pdfimages", "-png", str(file), str(tmp_path / "p")], check=True)
    found = [np.array(Image.open(path).convert("RGB")) for path in sorted(tmp_path.glob("*.png"))]
    drawn = artwork_on(proof.ready.large, proof.answer.garment, proof.viewing)
    printed = print_on(proof.ready.large, proof.chosen.look)
    assert len(found) == 2
    assert np.array_equal(found[0], drawn)
    assert np.array_equal(found[1], printed)


@poppler
def test_its_swatches_are_exactly_the_predicted_colors(
    proof: Proof, file: Path, tmp_path: Path
) -> None:
    subprocess.run(
        ["pdftoppm", "-r", "100", "-png", "-aa", "no", "-aaVector", "no", str(file),
         str(tmp_path / "page")],
        check=True,
    )  # fmt: skip
    pages = [np.array(Image.open(p).convert("RGB")) for p in sorted(tmp_path.glob("*.png"))]
    patch = (8 / 25.4 * 100) * (7 / 25.4 * 100)  # the smallest swatch, pixels
    for plan in proof.plans:
        asked = plan.colour.target.hex(proof.viewing)[0]
        for code in (asked, plan.prediction.hex, *plan.interval.hexes):
            count = sum(int(np.all(page == rgb8_from_hex(code), axis=-1).sum()) for page in pages)
            assert count > 0.9 * patch, code


def test_it_declares_an_archive_file_in_srgb(file: Path) -> None:
    # ISO 19005-2: part and conformance in the metadata, an output intent with its profile
    data = file.read_bytes()
    assert re.search(rb"<pdfaid:part>2</pdfaid:part>", data)
    assert re.search(rb"<pdfaid:conformance>B</pdfaid:conformance>", data)
    assert b"/GTS_PDFA1" in data
    assert b"/DestOutputProfile" in data
    assert b"/DCTDecode" not in data  # no JPEG


def test_the_picture_shows_the_same_colors(proof: Proof) -> None:
    shot = proof_picture(proof, width_px=1400)
    assert shot.dtype == np.uint8
    assert shot.shape[1] == 1400
    for plan in proof.plans:
        for code in (plan.colour.target.hex(proof.viewing)[0], plan.prediction.hex):
            assert np.all(shot == rgb8_from_hex(code), axis=-1).sum() > 800


def test_a_sign_the_fonts_lack_is_a_question_mark() -> None:
    assert spelled("ΔE00 ≤ 3 µm → čaj") == "ΔE00 ≤ 3 µm → čaj"
    assert spelled("茶 tea") == "? tea"


@poppler
def test_many_colors_leave_no_page_nearly_empty(proof: Proof, tmp_path: Path) -> None:
    image = Image.new("RGBA", (600, 450), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at in range(12):
        code = tuple(int(255 * v) for v in hsv_to_rgb(at / 12, 0.75, 0.85 if at % 2 else 0.6))
        left, top = 10 + at % 4 * 150, 10 + at // 4 * 150
        draw.rectangle((left, top, left + 120, top + 120), fill=(*code, 255))
    ready = prepare_artwork(artwork(image, dpi=100.0))
    found = artwork_result(
        ready, shop=proof.shop, garment=proof.garment, viewing=proof.viewing, tolerance=3.0
    )
    path = tmp_path / "proof.pdf"
    path.write_bytes(proof_pdf(replace(proof, ready=ready, answer=found)))
    run = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True)
    pages = run.stdout.rstrip("\f").split("\f")
    assert all(len(page.split()) > 60 for page in pages)
    assert "In 2 runs" in words_of(path) or "printed as" in words_of(path)


def test_a_heading_never_stands_alone_at_the_foot_of_a_page() -> None:
    sheet = Sheet(title="x", made=datetime(2026, 1, 1, tzinfo=UTC))
    sheet.y = 250.0
    sheet.heading("Agreed")
    assert sheet.pdf.page_no() == 2
