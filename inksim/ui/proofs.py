"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from inksim.common import is_read_only
from inksim.ledger import Issued
from inksim.reports import BaseProof, issued
from inksim.ui.current_job import CurrentJob

P = TypeVar("P", bound=BaseProof)


def whose(job: CurrentJob) -> str:
    """Whom it is for, and the client's own reference, as the command has it."""
    return ", ".join(each for each in (job.entry.client, job.entry.reference) if each)


def issued_here(proof: P, job: CurrentJob | None = None) -> P:
    """The proof with its number, of the kept job; without one on a page for reading only."""
    if is_read_only():
        return replace(proof, issued=Issued(why="this page is for reading only"))
    return issued(proof, job=job.key if job else "")
