"""What of a proof is on its first page, of one garment and of several; read by Poppler."""

from __future__ import annotations

import subprocess
from colorsys import hsv_to_rgb
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from inksim.job.decide import decide_job
from inksim.job.from_artwork import job_of_artwork
from inksim.preview.flat_routes import result_of_garment
from inksim.preview.prepare import PreparedArtwork, prepare_artwork
from inksim.reports.press_words import screen_lines
from inksim.reports.proof import Proof
from inksim.reports.proof_sheet import proof_pdf
from tests.pictures import artwork
from tests.reports.test_proof import poppler, proof

__all__ = ["proof"]  # the fixture

SIGNED = ("For the client: name", "For the shop: name", "signature", "Print as predicted")


def page_of(path: Path, number: int) -> str:
    """The words of one page, in the order of reading."""
    run = subprocess.run(
        ["pdftotext", "-f", str(number), "-l", str(number), str(path), "-"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return " ".join(run.stdout.split())


def pages_of(path: Path) -> list[str]:
    info = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True)
    (pages,) = [line.split()[1] for line in info.stdout.splitlines() if line.startswith("Pages:")]
    return [page_of(path, number) for number in range(1, int(pages) + 1)]


def pictures_on(path: Path, number: int) -> int:
    listed = subprocess.run(
        ["pdfimages", "-list", "-f", str(number), "-l", str(number), str(path)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return len(listed.stdout.splitlines()) - 2


def drawn(colours: int) -> PreparedArtwork:
    """Squares of so many colors on transparent ground."""
    image = Image.new("RGBA", (400, 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at in range(colours):
        code = tuple(int(255 * v) for v in hsv_to_rgb(at / colours, 0.75, 0.85 if at % 2 else 0.6))
        left, top = 5 + at % 4 * 100, 5 + at // 4 * 100
        draw.rectangle((left, top, left + 80, top + 80), fill=(*code, 255))
    return prepare_artwork(artwork(image, dpi=100.0))


def proofs_on(proof: Proof, ready: PreparedArtwork, *garments: str) -> list[Proof]:
    """The proofs of one job on some garments of a shop."""
    shop = proof.shop
    job = job_of_artwork(
        ready.name, ready.flats, width_px=ready.width_px, width_mm=ready.width_mm, shop=shop,
        garments=[shop.garment(name) for name in garments], tolerance=3.0,
    )  # fmt: skip
    answer = decide_job(job, shop=shop, viewing=proof.viewing)
    return [
        replace(proof, ready=ready, answer=result_of_garment(answer, each, ready.flats, shop=shop))
        for each in answer.garments
    ]


def signed_wholly(page: str, proof: Proof) -> None:
    """Recipe, colors and lines to sign are on the page."""
    for words in (*SIGNED, *screen_lines(proof.chosen.found, proof.way)):
        assert words in page
    for plan in proof.plans:
        assert f"{plan.called}: {plan.verdict.mark}" in page
        assert f"expect about {plan.verdict.expected}, {plan.verdict.percent} chance" in page


@poppler
def test_up_to_eight_colors_are_signed_on_the_first_page(proof: Proof, tmp_path: Path) -> None:
    path = tmp_path / "proof.pdf"
    (found,) = proofs_on(proof, drawn(8), "Coal Black")
    assert len(found.plans) == 8
    path.write_bytes(proof_pdf(replace(found, client="Weir Mill", order="PO 12")))
    first = page_of(path, 1)
    signed_wholly(first, found)
    assert "Coal Black, 100% cotton" in first
    assert pictures_on(path, 1) == 2


@poppler
def test_more_colors_follow_and_the_signature_says_so(proof: Proof, tmp_path: Path) -> None:
    path = tmp_path / "proof.pdf"
    (found,) = proofs_on(proof, drawn(12), "Coal Black")
    path.write_bytes(proof_pdf(found))
    first, *others = pages_of(path)
    for words in (*SIGNED, "Colors and recipe stand on the next pages"):
        assert words in first
    assert pictures_on(path, 1) == 2
    assert all(plan.called in " ".join(others) for plan in found.plans)


@pytest.fixture(scope="module")
def several(proof: Proof) -> list[Proof]:
    return proofs_on(proof, proof.ready, "Coal Black", "Flour White", "Mist Gray")


@poppler
@pytest.mark.parametrize("count", [2, 3])
def test_one_document_shows_every_garment_and_is_signed_once(
    several: list[Proof], count: int, tmp_path: Path
) -> None:
    path, chosen = tmp_path / "proof.pdf", several[:count]
    path.write_bytes(proof_pdf(*chosen, left_out=["Anvil Black Sport: cannot be printed."]))
    pages = pages_of(path)
    for words in (*SIGNED, "Anvil Black Sport: cannot be printed."):
        assert words in pages[0]
    assert pictures_on(path, 1) == count + 1  # the artwork, and the print on each
    for each in chosen:
        assert f"{each.garment.name}: {each.way.verdict.mark}" in pages[0]
        signed = [page for page in pages if f"{each.garment.name}: color by color" in page]
        assert len(signed) == 1
        for plan in each.plans:
            assert f"{plan.called}: " in signed[0]
        for line in screen_lines(each.chosen.found, each.way):
            assert line in signed[0]
    assert " ".join(pages).count("For the client: name") == 1


@poppler
def test_every_page_says_what_it_is_of_however_long_its_names(
    several: list[Proof], tmp_path: Path
) -> None:
    path = tmp_path / "proof.pdf"
    design = "Летняя регата у старой мельницы — " + "ο νερόμυλος του χωριού"
    long = [
        replace(each, design=design, client="Мельница " * 20, order="Заказ № 12 / Παραγγελία " * 8)
        for each in several
    ]
    path.write_bytes(proof_pdf(*long))
    pages = pages_of(path)
    assert all(words in pages[0] for words in SIGNED)
    assert "Мельница Мельница" in pages[0]
    for number, page in enumerate(pages, start=1):
        assert "Летняя регата у старой мельницы" in page
        assert page.endswith(f"page {number} of {len(pages)}")


def test_headline_and_rows_call_a_color_alike(proof: Proof) -> None:
    assert proof.way.weakest.called in proof.part.said[0]
    for plan, row in zip(proof.plans, proof.part.colours.rows, strict=True):
        ink = plan.build.ink
        assert ink is not None
        assert plan.called == f"{ink.name} {plan.colour.name}"
        assert row.headline.startswith(f"{plan.called}: ")
        assert row.words.count(".") - row.words.count(". ") >= 1  # one sentence, ended
        assert ". " not in row.words
