"""Command `proof`: the sheet that a client signs."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from inksim.cli.options import (
    MISSES_TOLERANCE,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    load,
    out_folder,
    plainly,
    say,
    viewing_of,
)
from inksim.common import InputError, sentence, slug

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.decision import Answer
    from inksim.ledger import Issued
    from inksim.preview import PreparedArtwork
    from inksim.shop import Shop
    from inksim.stock import Garment


@click.command("proof")
@click.argument("artwork", type=click.Path(path_type=Path))
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("proofs"),
    show_default=True,
    help="Folder for the sheet.",
)
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help='TOML lines "#rrggbb" = "Ink Name" (or "none"), of flat artwork.',
)
@click.option("--print-width", type=float, default=None, metavar="MM",
              help="Width of the print; the artwork's own if not given.")  # fmt: skip
@click.option("--client", default="", help="Whom it is for.")
@TOLERANCE_OPTION
@VIEWING_OPTIONS
@plainly
def proof_command(
    *, artwork: Path, garment: str, out: Path, mapping: Path | None, print_width: float | None,
    client: str, tolerance: float | None, light: str, observer: str, shop_folder: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Write the proof of an artwork on a garment as it is decided: a PDF for the client to sign.

    What the press cannot print has no proof: exit code 2, and why. Exit code 1 if a color is not
    nominally inside the tolerance by any way. Where the cloth itself is every color, nothing is
    written.
    """
    from inksim.artwork import at_width, read_artwork
    from inksim.preview import prepare_artwork
    from inksim.reports import emit_json

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    cloth, folder = shop.garment(garment), out_folder(out)
    wanted = shop.habits.tolerance_de00 if tolerance is None else tolerance
    drawn = read_artwork(artwork)
    ready = prepare_artwork(drawn if print_width is None else at_width(drawn, print_width))
    ask = Asked(ready, shop, cloth, viewing, wanted, client)
    made = _tonal(ask, mapping) if ready.flats.tonal else _flat(ask, mapping)
    file: Path | None = None
    if made.pdf is not None:
        from inksim.common import write_whole

        file = folder / f"proof-{slug(artwork.stem)}-{slug(cloth.name)}.pdf"
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(file, made.pdf)
    if as_json:
        emit_json(
            {
                "answers": made.answers,
                "artwork": ready.name,
                "garment": cloth,
                "tolerance": wanted,
                "nominal": made.nominal,
                "said": made.said,
                "proof": file,
                "issued": made.issued,
            }
        )
    else:
        click.echo("\n".join(made.said))
        if file is not None and made.issued is not None:
            click.echo(sentence(made.issued.words))
            click.echo(f"written: {file}")
    if not made.nominal:
        sys.exit(MISSES_TOLERANCE)


class Asked(NamedTuple):
    """What a proof is asked of."""

    ready: PreparedArtwork
    shop: Shop
    garment: Garment
    viewing: Viewing
    tolerance: float
    client: str


class Made(NamedTuple):
    """The sheet and its seal, None where nothing is printed; what it says first; its answers."""

    pdf: bytes | None
    said: list[str]
    answers: Sequence[Answer]
    nominal: bool
    issued: Issued | None = None


def _flat(ask: Asked, mapping: Path | None) -> Made:
    """The proof of flat artwork, of the print that is decided."""
    from datetime import date

    from inksim.artwork import read_mapping
    from inksim.job import told
    from inksim.ledger import issue_proof
    from inksim.preview import artwork_result
    from inksim.reports import Proof, headline, proof_pdf

    result = artwork_result(
        ask.ready,
        shop=ask.shop,
        garment=ask.garment,
        viewing=ask.viewing,
        tolerance=ask.tolerance,
        inks=read_mapping(mapping) if mapping else None,
    )
    found = result.decided.found
    if found.best is None:
        raise InputError(f"there is no proof to sign. {headline(found)}")
    said, day = [headline(found), *told(found, found.best)], date.today()
    if not found.best.printed:
        return Made(pdf=None, said=said, answers=found.answers, nominal=found.nominal)
    issued = issue_proof(ask.shop, found.answers, viewing=ask.viewing, day=day)
    proof = Proof(
        ready=ask.ready, answer=result, shop=ask.shop, viewing=ask.viewing, made=day,
        client=ask.client, issued=issued,
    )  # fmt: skip
    return Made(
        pdf=proof_pdf(proof),
        said=said,
        answers=found.answers,
        nominal=found.nominal,
        issued=issued,
    )


def _tonal(ask: Asked, mapping: Path | None) -> Made:
    """The proof of a tonal artwork: no color of it has an answer by itself."""
    from datetime import date

    from inksim.ledger import issue_proof
    from inksim.preview import tonal_result, tonal_run, tonal_verdict
    from inksim.reports import TonalProof, tonal_proof_pdf

    if mapping is not None:
        raise InputError(f"'{ask.ready.name}' is tonal: --mapping names inks of flat colors.")
    shown = tonal_result(
        ask.ready,
        shop=ask.shop,
        garment=ask.garment,
        viewing=ask.viewing,
        tolerance=ask.tolerance,
        step=lambda words, _: say(words),
    )
    run = tonal_run(ask.ready, shown, shop=ask.shop, viewing=ask.viewing)
    if run.barrier:
        raise InputError(f"there is no proof to sign: on {ask.garment.name} {run.barrier}.")
    day = date.today()
    issued = issue_proof(ask.shop, (), viewing=ask.viewing, day=day)
    proof = TonalProof(
        ready=ask.ready, shown=shown, shop=ask.shop, viewing=ask.viewing, made=day,
        client=ask.client, issued=issued,
    )  # fmt: skip
    said = tonal_verdict(shown, calibrated=ask.shop.press.calibrated)
    return Made(
        pdf=tonal_proof_pdf(proof), said=list(said), answers=(), nominal=shown.best.reach.nominal,
        issued=issued,
    )  # fmt: skip


COMMANDS: Sequence[click.Command] = (proof_command,)
