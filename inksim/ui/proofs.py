"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from inksim.common import is_read_only
from inksim.ledger import Issued
from inksim.reports import BaseProof, OfJob, issued, said_of
from inksim.ui.current_job import CurrentJob

P = TypeVar("P", bound=BaseProof)


def whose(job: CurrentJob) -> OfJob:
    """What a kept job says on its proof, as the command has it."""
    return said_of(job.entry) if job.kept else {"client": job.entry.client}


def issued_here(proof: P, job: CurrentJob | None = None) -> P:
    """The proof with its number, of the kept job; without one on a page for reading only."""
    if is_read_only():
        return replace(proof, issued=Issued(why="this page is for reading only"))
    return issued(proof, job=job.key if job else "")
