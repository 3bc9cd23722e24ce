"""The proof of one garment of a job, flat or tonal, or why there is none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inksim.colour import Viewing
from inksim.common import InputError
from inksim.decision import Answer
from inksim.job import GarmentAnswer, Job, JobAnswer, told
from inksim.preview import (
    PreparedArtwork,
    TonalResult,
    result_of_garment,
    tonal_run,
    tonal_verdict,
)
from inksim.reports.job_report import headline
from inksim.reports.proof import Proof, TonalProof, no_picture_proof, no_proof
from inksim.reports.proof_parts import BaseProof, OfJob
from inksim.shop import Shop
from inksim.stock import Garment


@dataclass(frozen=True, kw_only=True, eq=False)
class ProofAsked:
    """What every garment's proof says alike: see `BaseProof`. said: of the job."""

    ready: PreparedArtwork
    shop: Shop
    viewing: Viewing
    made: date
    said: OfJob


@dataclass(frozen=True, kw_only=True, eq=False)
class ProofMade:
    """One garment's proof, None where nothing is printed; what is said of it; its answers."""

    garment: Garment
    proof: BaseProof | None
    said: list[str]
    answers: Sequence[Answer]
    nominal: bool


def flat_proof(ask: ProofAsked, answer: JobAnswer, found: GarmentAnswer) -> ProofMade:
    """The proof of flat artwork, of the print that is decided.

    Raises
    ------
    InputError : it cannot be printed.
    """
    if found.best is None:
        raise InputError(no_proof(found))
    proof = None
    if found.best.printed:
        proof = Proof(
            answer=result_of_garment(answer, found, ask.ready.flats, shop=ask.shop),
            ready=ask.ready, shop=ask.shop, viewing=ask.viewing, made=ask.made, **ask.said,
        )  # fmt: skip
    return ProofMade(
        garment=found.garment,
        proof=proof,
        said=[headline(found), *told(found, found.best)],
        answers=found.answers,
        nominal=found.nominal,
    )


def picture_proof(ask: ProofAsked, job: Job, shown: TonalResult) -> ProofMade:
    """The proof of tonal artwork: no color of it has an answer by itself.

    job: the part of it on the garment shown.

    Raises
    ------
    InputError : the press cannot print it.
    """
    shop, garment = ask.shop, shown.garment
    run = tonal_run(
        ask.ready, shown, shop=shop, quantity=job.quantity, press=job.press,
        choke_mm=job.base_choke_mm,
    )  # fmt: skip
    if run.barrier:
        raise InputError(f"{no_picture_proof(garment.name, run.barrier)}.")
    return ProofMade(
        garment=garment,
        proof=TonalProof(
            shown=shown, ready=ask.ready, shop=shop, viewing=ask.viewing, made=ask.made, **ask.said
        ),
        said=list(tonal_verdict(shown, calibrated=shop.press.calibrated)),
        answers=(),
        nominal=shown.best.reach.nominal,
    )
