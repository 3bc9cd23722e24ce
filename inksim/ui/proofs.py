"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from inksim.common import is_read_only
from inksim.ledger import Issued
from inksim.reports import BaseProof, issued

P = TypeVar("P", bound=BaseProof)


def issued_here(proof: P) -> P:
    """The proof with its number; without one where the page is for reading only."""
    if is_read_only():
        return replace(proof, issued=Issued(why="this page is for reading only"))
    return issued(proof)
