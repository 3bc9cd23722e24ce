"""Proofs issued from a page, but where a host lets nothing change."""

from __future__ import annotations

import pytest

from inksim.common.read_only import READ_ONLY_VARIABLE
from inksim.ledger.promises import promises_file
from inksim.reports.proof import Proof
from inksim.ui.proofs import issued_here
from tests.reports.test_proof import proof
from tests.reports.test_proof_issue import own

__all__ = ["own", "proof"]  # the fixtures


def test_a_page_for_reading_only_seals_nothing(own: Proof, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(READ_ONLY_VARIABLE, "1")
    assert issued_here([own])[0].reference == "No proof number: this page is for reading only"
    assert not promises_file(own.shop.folder).exists()
    monkeypatch.delenv(READ_ONLY_VARIABLE)
    assert issued_here([own])[0].reference.startswith("Proof no. 1, seal ")
