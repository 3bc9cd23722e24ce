"""A kept tonal job: its inks by hand stay in it, and its proof is the command's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from inksim.launch import SHOP_VARIABLE
from inksim.ledger.kept_job import new_job, open_job
from inksim.ui.pages import client_tonal
from tests.cli.test_doors_agree import run
from tests.small_shop import FOR_PICTURES, few_inks
from tests.ui.conftest import open_page, words
from tests.ui.test_client import tonal_art


def test_inks_by_hand_are_kept_and_the_proof_has_every_garment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = few_inks(tmp_path / "few", *FOR_PICTURES)
    (tmp_path / "sweep.png").write_bytes(tonal_art())
    new_job(
        shop, name="Sweep", artwork=tmp_path / "sweep.png",
        garments={"Coal Black": 40, "Flour White": 20},
        fields={"artwork.halftone_inks": ["Barley Yellow", "Cornflower Blue"]},
    )  # fmt: skip
    monkeypatch.setenv(SHOP_VARIABLE, str(shop))
    offered: dict[str, Any] = {}
    monkeypatch.setattr(
        client_tonal, "offer", lambda label, made, **more: offered.update({label: made})
    )
    page = open_page("client", job="sweep")
    assert not page.exception
    said = words(page)
    assert "halftones of Barley Yellow, Cornflower Blue at" in said
    assert "Sweep kept 81 × 61 mm, front · Coal Black × 40, Flour White × 20 Coal Black: " in said
    proof = offered["Proof of all garments to sign (PDF)"]()
    (file,) = open_job(shop, "sweep").proofs
    assert file.name == "proof-sweep-1.pdf"
    assert file.read_bytes() == proof
    told = run("proof", "sweep", "--shop", shop)
    assert {Path(each["proof"]) for each in told["proofs"]} == {file}
    assert file.read_bytes() == proof
    inks = page.multiselect(key="job-halftone-inks")
    inks.set_value(["Barley Yellow"]).run()
    entry = open_job(shop, "sweep").entry
    assert entry.artwork is not None
    assert entry.artwork.halftone_inks == ["Barley Yellow"]
    assert "halftones of Barley Yellow at" in words(page)
