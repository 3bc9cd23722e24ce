"""Command `proof`: the sheet that a client signs."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from inksim.cli.opened import TO_PRINT, Opened, decision_kept, opened
from inksim.cli.options import (
    BAD_INPUT,
    MISSES_TOLERANCE,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    Light,
    load,
    out_folder,
    plainly,
    say,
    viewing_of,
)
from inksim.cli.values import Number
from inksim.common import InputError, check_may_change, sentence, tell

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.ledger import Issued
    from inksim.preview import PreparedArtwork
    from inksim.reports import ProofAsked, ProofMade
    from inksim.shop import Shop
    from inksim.stock import Garment


@click.command("proof")
@TO_PRINT
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=None,
    help="Folder for the sheets; 'proofs' if not given, for a kept job the one in its folder.",
)
@click.option("--print-width", type=Number(), default=None, metavar="MM",
              help="Width of the print; the artwork's own if not given.")  # fmt: skip
@click.option("--client", default="", help="Whom it is for.")
@TOLERANCE_OPTION
@VIEWING_OPTIONS
@plainly
def proof_command(
    *, artwork: Path, garment: str | None, out: Path | None, mapping: Path | None,
    background: str | None, print_width: float | None, client: str, tolerance: float | None,
    light: Light, observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the proof of an artwork, or of a job, as it is decided: a PDF for the client to sign.

    Of a job, one document with all its garments. What the press cannot print has no proof: the
    document says why, and so does exit code 2. Exit code 1 if a color is not nominally inside the
    tolerance by any way. Where the cloth itself is every color, nothing is written.

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
    asked = Asked(ask, prepare_artwork(ask.artwork, ask.flats), shop, viewing)
    made, refused = [], []
    for of_garment in (_tonal if ask.flats.tonal else _flat)(asked):
        try:
            made.append(of_garment())
        except InputError as error:
            refused.append(error)
    if not made:
        raise refused[0]
    written = _written(asked, made, refused, folder)
    if not as_json:
        lines = [*(line for each in made for line in each.said), *written.lines]
        tell(
            "\n".join(
                [*lines, *(f"note: {note}" for note in [*asked.job.drawn.notes, *written.notes])]
            )
        )
    elif ask.by_job:
        answers = [answer for each in made for answer in each.answers]
        sheets = [_document(asked, each, written) for each in made]
        emit_json({"answers": answers, "job": ask.drawn.job.name, "proofs": sheets})
    else:
        emit_json(_document(asked, made[0], written))
    for fault in refused:
        say(f"inksim: {fault}")
    if refused:
        sys.exit(BAD_INPUT)
    if not all(each.nominal for each in made):
        sys.exit(MISSES_TOLERANCE)


class Asked(NamedTuple):
    """What a proof is made of: the job with its artwork, the shop, and the viewing."""

    job: Opened
    ready: PreparedArtwork
    shop: Shop
    viewing: Viewing

    @property
    def of_all(self) -> ProofAsked:
        """Fields that the proofs of all garments have in common."""
        from datetime import date

        from inksim.reports import ProofAsked, said_of

        entry = self.job.drawn.entry
        return ProofAsked(
            ready=self.ready,
            shop=self.shop,
            viewing=self.viewing,
            made=date.today(),
            said=said_of(entry) if self.job.by_job else {"client": entry.client},
        )


class Written(NamedTuple):
    """The document and its seal, None where there is nothing to sign; what is said of them."""

    file: Path | None = None
    issued: Issued | None = None
    lines: Sequence[str] = ()
    notes: Sequence[str] = ()


def _written(
    ask: Asked, made: Sequence[ProofMade], refused: Sequence[InputError], folder: Path
) -> Written:
    """Seal and write one document of all garments that are printed."""
    from inksim.common import write_whole
    from inksim.reports import issued_together, proof_file, proof_pdf
    from inksim.shop import is_demo

    proofs = [each.proof for each in made if each.proof is not None]
    if not proofs:
        return Written()
    kept, job = ask.job.kept, ask.job.drawn.job
    proofs = issued_together(proofs, job=kept.key if kept else "")
    bare = [each.said[0] for each in made if each.proof is None]
    sheet = proof_pdf(*proofs, left_out=[*bare, *(sentence(str(e).rstrip(".")) for e in refused)])
    seal = proofs[0].issued
    assert seal is not None  # it was issued
    file = folder / proof_file(proofs, name=job.name)
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(file, sheet)
    if is_demo(ask.shop.folder):
        say("a shop of your own, made with 'inksim new DIR', numbers and keeps its proofs.")
    lost = dict.fromkeys(proof.not_spelled for proof in proofs if proof.not_spelled)
    return Written(file, seal, [sentence(seal.words), f"written: {file}"], list(lost))


def _document(ask: Asked, made: ProofMade, written: Written) -> dict[str, Any]:
    """One garment's proof for machines."""
    signed = made.proof is not None
    return {
        "answers": made.answers,
        "artwork": ask.ready.name,
        "garment": made.garment,
        "tolerance": ask.job.drawn.job.colours[0].tolerance,
        "nominal": made.nominal,
        "said": made.said,
        "notes": [*ask.job.drawn.notes, *written.notes],
        "proof": written.file if signed else None,
        "issued": written.issued if signed else None,
    }


def _flat(ask: Asked) -> Iterator[Callable[[], ProofMade]]:
    """The proofs of flat artwork, of the prints that are decided."""
    from inksim.job import decide_job
    from inksim.reports import flat_proof

    answer = decide_job(ask.job.drawn.job, shop=ask.shop, viewing=ask.viewing)
    decision_kept(ask.job.kept, answer, shop=ask.shop)
    of_all = ask.of_all
    for found in answer.garments:
        if found.garment.name in {each.name for each in ask.job.garments}:
            yield partial(flat_proof, of_all, answer, found)


def _tonal(ask: Asked) -> Iterator[Callable[[], ProofMade]]:
    """The proofs of a tonal artwork: no color of it has an answer by itself."""
    lies = ask.job.drawn.entry.artwork
    if lies and lies.inks:
        raise InputError(f"'{ask.ready.name}' is tonal: inks by hand are those of flat colors.")
    return (partial(_tonal_on, ask, garment) for garment in ask.job.garments)


def _tonal_on(ask: Asked, garment: Garment) -> ProofMade:
    from inksim.preview import tonal_result
    from inksim.reports import picture_proof

    own = ask.job.drawn.job.on(garment)
    shown = tonal_result(
        ask.ready,
        shop=ask.shop,
        garment=garment,
        viewing=ask.viewing,
        tolerance=own.colours[0].tolerance,
        inks=own.halftone_inks,
        press=own.press,
        step=lambda words, _: say(words),
    )
    return picture_proof(ask.of_all, own, shown)


COMMANDS: Sequence[click.Command] = (proof_command,)
