"""Issue a proof: its promises sealed, its number on the sheet and with the prints' readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from inksim.ledger import issue_proof, proof_of_print, sealed_proofs
from inksim.reports.proof_parts import BaseProof, title_of
from inksim.reports.ticket import BaseTicket, Ticket
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


def proof_of_ticket(ticket: BaseTicket, shop: Shop, *, job: str = "") -> tuple[int | None, str]:
    """Number of the proof that promised a ticket's prints, which readings of them score.

    Of a picture in halftones no single color is promised. Also what to say where the latest proof
    of the job promised another print. job: key of the kept job.
    """
    if not isinstance(ticket, Ticket) or shop.folder is None:
        return None, ""
    builds = [plan.build for plan in ticket.chosen.printed]
    number, last = proof_of_print(sealed_proofs(shop.folder), builds, job=job)
    if not job or not last or number == last:
        return number, ""
    return number, (
        f"proof no. {last}, the job's latest, promised another print on "
        f"{ticket.found.garment.name} than this ticket; issue it anew."
    )
