"""Issue a proof: what it promises is sealed, and its number goes on the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from inksim.ledger import issue_proof
from inksim.reports.proof_parts import BaseProof, title_of

P = TypeVar("P", bound=BaseProof)


def issued_together(proofs: Sequence[P], *, job: str = "") -> list[P]:
    """The proofs of one design with one number, sealed before a sheet is made: see `issue_proof`.

    proofs: one for each garment, in order. job: key of the kept job.
    """
    first = proofs[0]
    art = first.ready
    where = f", {first.place}" if first.place else ""
    seal = issue_proof(
        first.shop,
        [answer for proof in proofs for answer in proof.answers],
        design=f"{title_of(proofs)}, {art.width_mm:.1f} × {art.height_mm:.1f} mm{where}, "
        f"{art.sha256}",
        viewing=first.viewing,
        day=first.made,
        job=job,
    )
    return [replace(proof, issued=seal) for proof in proofs]
