"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from inksim.common import is_read_only, slug, write_whole
from inksim.ledger import PROOFS, Issued
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


def sheet(proof: P, job: CurrentJob, made: Callable[[P], bytes]) -> bytes:
    """The sheet of a proof that is issued now; of a kept job it stays in its folder, too."""
    sealed = issued_here(proof, job)
    data = made(sealed)
    if job.kept and sealed.issued and sealed.issued.number and not job.locked:
        name = f"proof-{slug(job.entry.name)}-{slug(proof.garment.name)}-{sealed.issued.number}.pdf"
        folder = job.kept.folder / PROOFS
        folder.mkdir(exist_ok=True)
        write_whole(folder / name, data)
    return data
