"""Issue a proof: what it promises is sealed, and its number goes on the sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from inksim.ledger import issue_proof
from inksim.reports.proof_parts import BaseProof

P = TypeVar("P", bound=BaseProof)


def issued(proof: P, *, job: str = "") -> P:
    """The proof with its number, sealed before a sheet of it is made; see `issue_proof`.

    job : key of the kept job.
    """
    art = proof.ready
    seal = issue_proof(
        proof.shop,
        proof.answers,
        design=f"{proof.title}, {art.width_mm:.1f} × {art.height_mm:.1f} mm, {art.sha256}",
        viewing=proof.viewing,
        day=proof.made,
        job=job,
    )
    return replace(proof, issued=seal)
