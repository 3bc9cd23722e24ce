"""A proof that is issued: its number and seal on every page, and the promises behind them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.ledger.promises import promises_file, sealed_proofs
from inksim.reports.proof import Proof
from inksim.reports.proof_issue import issued_together
from inksim.reports.proof_sheet import proof_pdf
from inksim.shop.load import demo_shop_folder, load_shop
from tests.reports.test_proof import poppler, proof, words_of

__all__ = ["proof"]  # the fixture


def issued(proof: Proof, *, job: str = "") -> Proof:
    return issued_together([proof], job=job)[0]


@pytest.fixture
def own(proof: Proof, tmp_path: Path) -> Proof:
    """The proof in a shop of one's own, a copy of the demo's."""
    folder = tmp_path / "shop"
    folder.mkdir()
    for file in demo_shop_folder().glob("*.toml"):
        (folder / file.name).write_bytes(file.read_bytes())
    return replace(proof, shop=load_shop(folder))


@poppler
def test_every_page_says_its_number_seal_and_job(own: Proof, tmp_path: Path) -> None:
    made = issued(own, job="harvest-tour")
    assert made.issued is not None
    sheet = tmp_path / "proof.pdf"
    sheet.write_bytes(proof_pdf(made))
    said = words_of(sheet)
    seal = made.issued.mark[:12]
    pages = said.count("page 1 of") + said.count("page 2 of")
    assert pages == 2
    assert said.count(f"Proof no. 1, seal {seal}, job harvest-tour, inksim ") == pages


def test_what_is_sealed_is_what_the_sheet_promises(own: Proof) -> None:
    issued(own, job="harvest-tour")
    (sealed,) = sealed_proofs(own.shop.folder)
    assert sealed.job == "harvest-tour"
    assert sealed.day == own.made.isoformat()
    assert sealed.design.startswith(own.title)
    assert [(c.target, c.chance, c.median) for c in sealed.colours] == [
        (plan.colour.name, plan.verdict.chance, plan.verdict.median_de00)
        for plan in own.plans
    ]  # fmt: skip


def test_another_width_or_file_is_another_proof(own: Proof) -> None:
    wider = replace(own, ready=replace(own.ready, dpi=own.ready.dpi / 1.1))
    other = replace(own, ready=replace(own.ready, sha256="0" * 64))
    numbers = [issued(each).issued for each in (own, own, wider, other)]
    assert [each.number for each in numbers if each] == [1, 1, 2, 3]


def test_what_cannot_be_printed_is_neither_sealed_nor_drawn(own: Proof) -> None:
    found = replace(own.answer.decided.found, alternatives=(), barrier="no ink")
    none = replace(own, answer=replace(own.answer, decided=replace(own.chosen, found=found)))
    with pytest.raises(InputError, match="no proof to sign"):
        issued(none)
    assert not promises_file(own.shop.folder).exists()
