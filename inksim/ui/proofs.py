"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import TypeVar

from inksim.ledger import Issued
from inksim.reports import BaseProof, issued
from inksim.ui.pages.shop_forms import READ_ONLY_VARIABLE

P = TypeVar("P", bound=BaseProof)


def issued_here(proof: P) -> P:
    """The proof with its number; without one where the page is for reading only."""
    if os.environ.get(READ_ONLY_VARIABLE):
        return replace(proof, issued=Issued(why="this page is for reading only"))
    return issued(proof)
