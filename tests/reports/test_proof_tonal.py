"""The proof sheet of a tonal artwork, opened by independent software (Poppler)."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inksim.colour.srgb import rgb8_from_hex
from inksim.colour.viewing import Viewing
from inksim.preview.prepare import prepare_artwork
from inksim.preview.tonal_routes import area_colours, tonal_result, tonal_verdict
from inksim.reports.cautions import CAUTIONS
from inksim.reports.proof import TonalProof
from inksim.reports.proof_sheet import proof_pdf
from inksim.shop.load import load_shop
from tests.pictures import artwork
from tests.reports.test_proof import poppler, words_of
from tests.reports.test_proof_pages import pages_of, pictures_on


@pytest.fixture(scope="module")
def proof() -> TonalProof:
    y, x = np.mgrid[0:240, 0:320] / 320.0
    rgb = np.stack([x, y, 1.0 - (x + y) / 2.0], axis=-1)
    image = Image.fromarray(np.rint(255 * rgb).astype(np.uint8)).convert("RGBA")
    shop, viewing = load_shop(), Viewing()
    ready = prepare_artwork(artwork(image, dpi=100.0))
    shown = tonal_result(
        ready,
        shop=shop,
        garment=shop.garment("Flour White"),
        viewing=viewing,
        tolerance=3.0,
        inks=[shop.ink(name) for name in ("Barley Yellow", "Kiln Red", "Cornflower Blue")],
    )
    return TonalProof(ready=ready, shown=shown, shop=shop, viewing=viewing, made=date(2026, 3, 2))


@pytest.fixture(scope="module")
def file(proof: TonalProof, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("proof") / "proof.pdf"
    path.write_bytes(proof_pdf(proof))
    return path


@poppler
def test_it_says_what_a_client_signs(proof: TonalProof, file: Path) -> None:
    said = words_of(file)
    assert "test art on Flour White" in said
    assert "3.2 × 2.4 in (81 × 61 mm)" in said
    assert "Valid until April 1, 2026" in said
    assert tonal_verdict(proof.shown, calibrated=False)[0] in said
    for line in (*CAUTIONS, *proof.shown.best.screens):
        assert line in said
    assert "For the client: name" in said


@poppler
def test_its_pictures_are_lossless_and_its_swatches_exact(
    proof: TonalProof, file: Path, tmp_path: Path
) -> None:
    listed = subprocess.run(
        ["pdfimages", "-list", str(file)], capture_output=True, text=True, check=True
    ).stdout.splitlines()[2:]
    assert len(listed) == 2
    assert all(" image " in line and " jpeg " not in line for line in listed)
    subprocess.run(["pdfimages", "-png", str(file), str(tmp_path / "p")], check=True)
    second = np.array(Image.open(sorted(tmp_path.glob("p*.png"))[1]).convert("RGB"))
    assert np.array_equal(second, proof.shown.best.picture[..., :3])
    assert shutil.which("pdftoppm")
    subprocess.run(["pdftoppm", "-r", "72", "-png", str(file), str(tmp_path / "page")], check=True)
    page = np.concatenate(
        [
            np.array(Image.open(path).convert("RGB")).reshape(-1, 3)
            for path in sorted(tmp_path.glob("page*.png"))
        ]
    )
    colours = area_colours(proof.ready, proof.shown, proof.shown.best, proof.viewing)
    assert len(colours) >= 3
    for colour in colours:
        for code in (colour.asked, colour.printed):
            assert np.mean(np.all(page == rgb8_from_hex(code), axis=-1)) > 0.0005


@poppler
def test_one_document_has_all_garments_of_a_picture(proof: TonalProof, tmp_path: Path) -> None:
    grey = replace(proof, shown=replace(proof.shown, garment=proof.shop.garment("Mist Gray")))
    path = tmp_path / "proof.pdf"
    path.write_bytes(proof_pdf(proof, grey))
    first, *others = pages_of(path)
    assert pictures_on(path, 1) == 3  # the artwork, and the print on each
    for words in ("test art on Flour White and Mist Gray", "For the client: name", "halftones of"):
        assert words in first
    said = " ".join([first, *others])
    for garment in ("Flour White", "Mist Gray"):
        assert f"{garment}: typical colors of the picture" in said


def test_the_typical_colors_are_means_of_their_areas(proof: TonalProof) -> None:
    """Weighted by area, the means of all areas are the mean of the picture: in linear light."""
    ready, best = proof.ready, proof.shown.best
    colours = area_colours(ready, proof.shown, best, proof.viewing, most=99)
    assert sum(colour.share for colour in colours) == pytest.approx(1.0, abs=0.01)

    def light(values: np.ndarray) -> np.ndarray:  # IEC 61966-2-1
        v = values / 255.0
        return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)

    mean = light(best.picture[..., :3].astype(float)).mean(axis=(0, 1))
    summed = sum(
        colour.share * light(rgb8_from_hex(colour.printed).astype(float)) for colour in colours
    )
    assert np.allclose(summed, mean, atol=0.01)
