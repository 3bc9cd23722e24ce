"""Command `proof`: the sheet that a client signs."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from inksim.cli.opened import BACKGROUND_OPTION, JOB_OR_ARTWORK, Opened, opened
from inksim.cli.options import (
    BAD_INPUT,
    MISSES_TOLERANCE,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    load,
    out_folder,
    plainly,
    say,
    viewing_of,
)
from inksim.cli.values import Number
from inksim.common import InputError, check_may_change, sentence, slug, tell

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.decision import Answer
    from inksim.ledger import Issued
    from inksim.preview import PreparedArtwork
    from inksim.shop import Shop
    from inksim.stock import Garment


@click.command("proof")
@click.argument("artwork", type=click.Path(path_type=Path), metavar=JOB_OR_ARTWORK)
@click.option("--garment", default=None, help="A garment of the shop; all of a job if not given.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=None,
    help="Folder for the sheets; 'proofs' if not given, for a kept job the one in its folder.",
)
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help='TOML lines "#rrggbb" = "Ink Name" (or "none"), of flat artwork.',
)
@BACKGROUND_OPTION
@click.option("--print-width", type=Number(), default=None, metavar="MM",
              help="Width of the print; the artwork's own if not given.")  # fmt: skip
@click.option("--client", default="", help="Whom it is for.")
@TOLERANCE_OPTION
@VIEWING_OPTIONS
@plainly
def proof_command(
    *, artwork: Path, garment: str | None, out: Path | None, mapping: Path | None,
    background: str | None, print_width: float | None, client: str, tolerance: float | None,
    light: str, observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the proof of an artwork, or of a job, as it is decided: a PDF for the client to sign.

    Of a job, one file for each of its garments. What the press cannot print has no proof: exit code
    2, and why. Exit code 1 if a color is not nominally inside the tolerance by any way. Where the
    cloth itself is every color, nothing is written.

    \b
    inksim proof logo.jpg --garment "Coal Black" --print-width 280 --background auto
    inksim proof mill-logo --shop my-shop
    """
    from inksim.preview import prepare_artwork
    from inksim.reports import emit_json

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    ask = opened(
        artwork,
        shop=shop,
        garment=garment,
        mapping=mapping,
        background=background,
        width_mm=print_width,
        tolerance=tolerance,
        client=client,
    )
    if out is None and ask.kept:
        check_may_change(f"job '{ask.kept.key}'", instead="name another folder with --out")
    folder = out_folder(out or (ask.kept.folder if ask.kept else Path()) / "proofs")
    ready = prepare_artwork(ask.artwork, ask.flats)
    made, refused = [], []
    for cloth in ask.garments:
        try:
            made.append(_written(Asked(ask, ready, shop, viewing, cloth), folder))
        except InputError as error:
            refused.append(error)
    if not made:
        raise refused[0]
    if not as_json:
        for each in made:
            tell("\n".join(each.lines))
    elif ask.by_job:
        answers = [answer for each in made for answer in each.document["answers"]]
        sheets = [each.document for each in made]
        emit_json({"answers": answers, "job": ask.drawn.job.name, "proofs": sheets})
    else:
        emit_json(made[0].document)
    for fault in refused:
        say(f"inksim: {fault}")
    if refused:
        sys.exit(BAD_INPUT)
    if not all(each.document["nominal"] for each in made):
        sys.exit(MISSES_TOLERANCE)


class Written(NamedTuple):
    """One sheet as it is told: in lines, and for machines."""

    lines: list[str]
    document: dict[str, Any]


def _written(ask: Asked, folder: Path) -> Written:
    """Write the proof of one garment."""
    job, cloth = ask.job.drawn.job, ask.garment
    made = (_tonal if ask.ready.flats.tonal else _flat)(ask)
    lines, file = list(made.said), None
    flats = ask.ready.flats
    # what is said of a picture in flat colors is not true of its halftones
    notes = [note for note in job.notes if not (flats.tonal and note in flats.notes)]
    if made.pdf is not None and made.issued is not None:
        from inksim.common import write_whole
        from inksim.shop import is_demo

        number = f"-{made.issued.number}" if made.issued.number else ""
        file = folder / f"proof-{slug(job.name)}-{slug(cloth.name)}{number}.pdf"
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(file, made.pdf)
        lines += [sentence(made.issued.words), f"written: {file}"]
        if is_demo(ask.shop.folder):
            say("a shop of your own, made with 'inksim new DIR', numbers and keeps its proofs.")
    return Written(
        [*lines, *(f"note: {note}" for note in notes)],
        {
            "answers": made.answers,
            "artwork": ask.ready.name,
            "garment": cloth,
            "tolerance": job.colours[0].tolerance,
            "nominal": made.nominal,
            "said": made.said,
            "notes": notes,
            "proof": file,
            "issued": made.issued,
        },
    )


class Asked(NamedTuple):
    """What a proof is asked of."""

    job: Opened
    ready: PreparedArtwork
    shop: Shop
    viewing: Viewing
    garment: Garment

    @property
    def client(self) -> str:
        """Whom it is for, and the client's own reference."""
        job = self.job.drawn.job
        return ", ".join(each for each in (job.client, job.reference) if each)

    @property
    def key(self) -> str:
        """The name of the kept job; '' without."""
        return self.job.kept.key if self.job.kept else ""


class Made(NamedTuple):
    """The sheet and its seal, None where nothing is printed; what it says first; its answers."""

    pdf: bytes | None
    said: list[str]
    answers: Sequence[Answer]
    nominal: bool
    issued: Issued | None = None


def _flat(ask: Asked) -> Made:
    """The proof of flat artwork, of the print that is decided."""
    from datetime import date

    from inksim.job import told
    from inksim.preview import result_of_job
    from inksim.reports import Proof, headline, issued, proof_pdf

    result = result_of_job(
        ask.job.drawn.job, ask.ready.flats, garment=ask.garment, shop=ask.shop,
        viewing=ask.viewing,
    )  # fmt: skip
    found = result.decided.found
    if found.best is None:
        raise InputError(f"there is no proof to sign. {headline(found)}")
    said = [headline(found), *told(found, found.best)]
    if not found.best.printed:
        return Made(pdf=None, said=said, answers=found.answers, nominal=found.nominal)
    proof = issued(
        Proof(
            ready=ask.ready, answer=result, shop=ask.shop, viewing=ask.viewing,
            made=date.today(), client=ask.client,
        ),
        job=ask.key,
    )  # fmt: skip
    return Made(
        pdf=proof_pdf(proof),
        said=said,
        answers=found.answers,
        nominal=found.nominal,
        issued=proof.issued,
    )


def _tonal(ask: Asked) -> Made:
    """The proof of a tonal artwork: no color of it has an answer by itself."""
    from datetime import date

    from inksim.preview import tonal_result, tonal_run, tonal_verdict
    from inksim.reports import TonalProof, issued, tonal_proof_pdf

    if ask.job.drawn.entry.artwork and ask.job.drawn.entry.artwork.inks:
        raise InputError(f"'{ask.ready.name}' is tonal: inks by hand are those of flat colors.")
    own = ask.job.drawn.job.on(ask.garment)
    shown = tonal_result(
        ask.ready,
        shop=ask.shop,
        garment=ask.garment,
        viewing=ask.viewing,
        tolerance=own.colours[0].tolerance,
        press=own.press,
        step=lambda words, _: say(words),
    )
    run = tonal_run(
        ask.ready, shown, shop=ask.shop, viewing=ask.viewing, quantity=own.quantity,
        press=own.press, choke_mm=own.base_choke_mm,
    )  # fmt: skip
    if run.barrier:
        raise InputError(f"there is no proof to sign: on {ask.garment.name} {run.barrier}.")
    proof = issued(
        TonalProof(
            ready=ask.ready, shown=shown, shop=ask.shop, viewing=ask.viewing, made=date.today(),
            client=ask.client,
        ),
        job=ask.key,
    )  # fmt: skip
    said = tonal_verdict(shown, calibrated=ask.shop.press.calibrated)
    return Made(
        pdf=tonal_proof_pdf(proof), said=list(said), answers=(), nominal=shown.best.reach.nominal,
        issued=proof.issued,
    )  # fmt: skip


COMMANDS: Sequence[click.Command] = (proof_command,)
