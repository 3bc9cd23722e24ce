"""Issue a proof: its promises sealed, its number on the sheet and with the prints' readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from inksim.common import slug
from inksim.ledger import issue_proof, proof_of_print, sealed_proofs
from inksim.reports.proof_parts import BaseProof, title_of
from inksim.reports.ticket import Ticket
from inksim.shop import Shop

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


def proof_file(proofs: Sequence[BaseProof], *, name: str) -> str:
    """Name of a document's file: 'proof-mill-logo-coal-black-12.pdf'.

    name: of the job. The garment stands in it where it is one alone, the number where it has one.
    """
    garment = [proofs[0].garment.name] if len(proofs) == 1 else []
    seal = proofs[0].issued
    number = [str(seal.number)] if seal and seal.number else []
    return f"proof-{'-'.join([*map(slug, [name, *garment]), *number])}.pdf"


def proof_of_ticket(ticket: Ticket, *, shop: Shop, job: str) -> tuple[int | None, int | None]:
    """The proof that promised a ticket's prints, and the job's latest; job: its key."""
    builds = [plan.build for plan in ticket.chosen.printed]
    return proof_of_print(sealed_proofs(shop.folder), builds, job=job)
