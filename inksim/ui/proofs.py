"""Proofs issued from a page: sealed as the command does, but where a host lets nothing change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, TypeVar

from inksim.colour import Viewing
from inksim.common import is_read_only, now, sentence, write_whole
from inksim.job import JobAnswer
from inksim.ledger import PROOFS, Issued
from inksim.preview import result_of_garment
from inksim.reports import (
    BaseProof,
    Proof,
    headline,
    issued_together,
    keep_decided,
    no_proof,
    proof_file,
    proof_pdf,
    said_of,
)
from inksim.ui.current_job import CurrentJob

P = TypeVar("P", bound=BaseProof)


def proof_fields(job: CurrentJob, *, viewing: Viewing) -> dict[str, Any]:
    """What a proof of a job says whatever the garment, as the command has it."""
    return {
        "ready": job.art.ready,
        "shop": job.shop,
        "viewing": viewing,
        "made": date.today(),
        **(said_of(job.entry) if job.kept else {}),
    }


def issued_here(proofs: Sequence[P], *, job: str = "") -> list[P]:
    """The proofs with their one number; without one on a page for reading only."""
    if is_read_only():
        why = Issued(why="this page is for reading only")
        return [replace(proof, issued=why) for proof in proofs]
    return issued_together(proofs, job=job)


def sheet(
    job: CurrentJob,
    proofs: Sequence[BaseProof],
    *,
    decided: JobAnswer | None = None,
    left_out: Sequence[str] = (),
) -> bytes:
    """A document that is issued now; of a kept job it stays in its folder, as the command's.

    decided: kept there with it, of flat artwork. left_out: why garments of the job are not on it.
    """
    sealed = issued_here(proofs, job=job.key)
    data = proof_pdf(*sealed, left_out=left_out)
    seal = sealed[0].issued
    if job.kept and seal and seal.number and not job.locked:
        folder = job.kept.folder / PROOFS
        folder.mkdir(exist_ok=True)
        write_whole(folder / proof_name(job, sealed), data)
        if decided is not None:
            keep_decided(job.kept, decided, shop=job.shop, made=now())
    return data


def proof_name(job: CurrentJob, proofs: Sequence[BaseProof]) -> str:
    """Name of the document's file."""
    return proof_file(proofs, name=job.entry.name)


def proofs_of(
    job: CurrentJob, answer: JobAnswer, *, viewing: Viewing
) -> tuple[list[Proof], list[str]]:
    """One proof for each garment of a job of flat colors, and why others have none."""
    fields = proof_fields(job, viewing=viewing)
    made, bare, refused = [], [], []
    for found in answer.garments:
        if found.best is None:
            refused.append(sentence(no_proof(found).rstrip(".")))
        elif not found.best.printed:
            bare.append(headline(found))
        else:
            result = result_of_garment(answer, found, job.art.ready.flats, shop=job.shop)
            made.append(Proof(answer=result, **fields))
    return made, [*bare, *refused]
