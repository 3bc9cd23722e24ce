"""Commands `advise`, for one ink or a whole job, and `ticket`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.opened import TONAL, decision_kept
from inksim.cli.options import (
    BAD_INPUT,
    MISSES_TOLERANCE,
    TARGET_HELP,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    Light,
    load,
    out_folder,
    plainly,
    say,
    told_assumed,
    viewing_of,
)
from inksim.common import InputError, check_file_names, slug, tell

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.job import DrawnJob, JobAnswer, JobArtworkEntry
    from inksim.preview import PreparedArtwork
    from inksim.reports import BaseTicket, Ticket
    from inksim.shop import Shop
    from inksim.stock import Garment


@click.command("advise")
@click.argument("job", type=click.Path(path_type=Path), required=False, metavar="[JOB]")
@click.option("--garment", default=None, help="A garment of the shop, for one ink.")
@click.option("--ink", default=None, help="An ink of the shop, for one ink.")
@click.option("--target", default=None, help=f"{TARGET_HELP} For one ink.")
@TOLERANCE_OPTION
@click.option(
    "--chart",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE.png",
    help="For a job: draw cost against softness of every way; one file a garment.",
)
@VIEWING_OPTIONS
@plainly
def advise_command(
    *, job: Path | None, garment: str | None, ink: str | None, target: str | None,
    tolerance: float | None, chart: Path | None, light: Light, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Decide whether a base is needed, and which, and why: for one ink, or for a whole job.

    One ink: --garment, --ink and --target. A job: its file, or the name of a kept one, with colors,
    garments, quantity, press and costs; all colors are decided together, under the stations of the
    press. What was decided for a kept job is kept with it.

    \b
    inksim advise --garment "Coal Black" --ink "Kiln Red" --target "#c0392b"
    inksim advise mill-logo --shop my-shop
    """
    from inksim.ledger import job_file

    single = {"--garment": garment, "--ink": ink, "--target": target}
    given = [name for name, value in single.items() if value is not None]
    shop, viewing = load(shop_folder), viewing_of(light, observer)
    if job is not None:
        clash = [*given, *(["--tolerance"] if tolerance is not None else [])]
        if clash:
            raise InputError(
                f"a job says its own garments, inks and tolerance; leave out {', '.join(clash)}, "
                "or leave out the job's file."
            )
        if chart is not None and chart.suffix.lower() != ".png":
            raise InputError(f"--chart writes a PNG, and '{chart.name}' does not end in .png.")
        file = job_file(job, shop_folder)
        _advise_job(shop, file, chart=chart, viewing=viewing, as_json=as_json)
        return
    if len(given) < len(single):
        lacking = [name for name in single if name not in given]
        raise InputError(
            f"give a job's file, or for one ink --garment, --ink and --target; missing: "
            f"{', '.join(lacking)}."
        )
    if chart is not None:
        raise InputError("--chart draws the ways of a job; give a job's file.")
    _advise_ink(
        shop, garment=str(garment), ink=str(ink), target=str(target), tolerance=tolerance,
        viewing=viewing, as_json=as_json,
    )  # fmt: skip


def _advise_ink(
    shop: Shop, *, garment: str, ink: str, target: str, tolerance: float | None,
    viewing: Viewing, as_json: bool,
) -> None:  # fmt: skip
    from inksim.decision import advise as run, answer_of
    from inksim.mixing import recipes_instead
    from inksim.printing import honest_words
    from inksim.reports import advice_text, document, emit_json, instead_words
    from inksim.shop import target_of

    told_assumed([shop.ink(ink), *(each for each in shop.inks.values() if each.is_base)])
    advice = run(
        shop,
        garment=shop.garment(garment),
        ink=shop.ink(ink),
        target=target_of(shop, target),
        tolerance=shop.habits.tolerance_de00 if tolerance is None else tolerance,
        viewing=viewing,
    )
    answer = answer_of(
        advice.best,
        target=advice.target,
        nominal=advice.nominal,
        recipe=shop.recipe_of(shop.ink(ink)),
    )
    mixed = recipes_instead(shop, answer, viewing=viewing)
    best = mixed.best if mixed else None
    if as_json:
        emit_json({**document(advice), "recipe": best})
    else:
        tell(advice_text(advice))
        if best is not None:
            tell(f"\n{instead_words(best, currency=shop.costs.currency)}.")
        tell(f"\n{honest_words(advice.best.data, calibrated=shop.press.calibrated)}")
    if not advice.nominal:
        sys.exit(MISSES_TOLERANCE)


def _advise_job(
    shop: Shop, job: Path, *, chart: Path | None, viewing: Viewing, as_json: bool
) -> None:
    from inksim.job import decide_job, load_drawn_job, mixed_instead, reasons_for
    from inksim.ledger import kept_at
    from inksim.reports import emit_json, job_document, job_text

    drawn = load_drawn_job(job, shop=shop)
    loaded = drawn.job
    if drawn.tonal:
        say(f"note: {TONAL}: what follows is of its typical colors as flats, and is not kept.")
    if chart is not None:
        check_file_names({garment.name: slug(garment.name) for garment in loaded.garments})
    answer = decide_job(loaded, shop=shop, viewing=viewing)
    said = {
        g.garment.name: reasons_for(shop, answer, g, mixed=mixed_instead(shop, answer, g))
        for g in answer.garments
    }
    files = _charts(shop, answer, chart) if chart is not None else []
    kept = decision_kept(None if drawn.tonal else kept_at(job, shop.folder), answer, shop=shop)
    if as_json:
        emit_json({**job_document(answer, said), "charts": files, "kept": kept})
    else:
        tell(job_text(answer, said, shop=shop))
        for file in files:
            tell(f"chart: {file}")
        if kept:
            tell(f"kept: {kept}")
    if not answer.nominal:
        sys.exit(MISSES_TOLERANCE)


def _charts(shop: Shop, answer: JobAnswer, path: Path) -> list[str]:
    """Write one chart a garment; a second garment's file carries its name."""
    from inksim.artwork import save_png
    from inksim.printing import file_words, honest_words
    from inksim.reports import chart
    from inksim.stock import least_sure

    written = []
    for at, found in enumerate(answer.garments):
        own = f"{path.stem}-{slug(found.garment.name)}{path.suffix}"
        name = path if at == 0 else path.with_name(own)
        data = least_sure(found.garment.data, *(way.data for way in found.alternatives))
        calibrated = shop.press.calibrated
        drawn = chart(answer, found, note=honest_words(data, calibrated=calibrated))
        what = f"Ways to print {answer.job.name} on {found.garment.name}"
        about = file_words(what, data=data, calibrated=calibrated)
        written.append(str(save_png(name, drawn, dpi=96, about=about)))
    return written


@click.command("ticket")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("tickets"),
    show_default=True,
    help="Folder for the tickets, or a file that ends in .pdf, .txt or .csv.",
)
@click.option("--garment", default=None, help="One garment of the job; all if not given.")
@click.option(
    "--way",
    type=click.IntRange(min=1),
    default=None,
    help="Another way than the one to take, by its number in 'inksim advise'; needs --garment "
    "where the job has several.",
)
@VIEWING_OPTIONS
@plainly
def ticket_command(
    *, job: Path, out: Path, garment: str | None, way: int | None, light: Light, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the press ticket of a job, PDF and plain text: screens, ink, checks, first reading.

    With it comes a CSV table of what is printed, L, a, b to be filled in, for 'inksim calibrate'.

    \b
    inksim ticket mill-logo --out tickets --shop my-shop
    """
    from inksim.job import decide_job, load_drawn_job
    from inksim.ledger import job_file, kept_at
    from inksim.preview import prepare_artwork
    from inksim.reports import emit_json

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    name = None if garment is None else shop.garment(garment).name
    found = job_file(job, shop_folder)
    drawn, kept = load_drawn_job(found, shop=shop), kept_at(found, shop.folder)
    whole = drawn.job
    chosen = [each for each in whole.garments if name in (None, each.name)]
    if not chosen:
        raise InputError(f"the job does not print on '{name}'.")
    kind = out.suffix.lower()
    single = kind in (".pdf", ".txt", ".csv")
    _check_out(out, chosen, single=single, way=way)
    make: Callable[[Garment], BaseTicket | None]
    ready = prepare_artwork(drawn.artwork, drawn.flats) if drawn.artwork else None
    if ready is not None and ready.flats.tonal:
        if way is not None:
            raise InputError("--way names a way of flat colors; this artwork is tonal.")
        make = partial(_picture_ticket, shop, drawn, ready, viewing=viewing)
    else:
        answer = decide_job(whole, shop=shop, viewing=viewing)
        make = partial(_ticket, shop, answer, ready, place=drawn.entry.artwork, way=way)
    tickets, refused = _made(make, chosen)
    if refused and not tickets:
        raise refused[0]
    key = kept.key if kept else ""
    written = [
        file
        for ticket in tickets
        for file in _write(ticket, out, single=single, proof=_proof_of(shop, ticket, job=key))
    ]
    if as_json:
        emit_json({"tickets": written})
    else:
        for ticket in tickets:
            tell("\n".join([ticket.outcome, *ticket.told]))
        for file in written:
            tell(f"written: {file}")
    for error in refused:
        say(f"inksim: {error}")
    if refused:
        sys.exit(BAD_INPUT)


def _check_out(out: Path, chosen: Iterable[Garment], *, single: bool, way: int | None) -> None:
    """Refuse, before the work, where tickets cannot be written."""
    names = [each.name for each in chosen]
    if len(names) > 1 and (single or way is not None):
        raise InputError(
            f"the job prints on {len(names)} garments; name one with --garment, or give a folder "
            "and no --way."
        )
    if not single:
        out_folder(out)
        check_file_names({name: slug(name) for name in names})


def _made(
    make: Callable[[Garment], BaseTicket | None], garments: Iterable[Garment]
) -> tuple[list[BaseTicket], list[InputError]]:
    """The tickets of some garments, and why others can have none."""
    tickets: list[BaseTicket] = []
    refused: list[InputError] = []
    for garment in garments:
        try:
            made = make(garment)
        except InputError as error:
            refused.append(error)
        else:
            tickets += [made] if made else []
    return tickets, refused


def _proof_of(shop: Shop, ticket: BaseTicket, *, job: str) -> int | None:
    """The proof that promised a ticket's prints; says so where the job's latest promised others."""
    from inksim.reports import Ticket, proof_of_ticket

    if not isinstance(ticket, Ticket):
        return None  # of a picture in halftones no single color is promised
    number, last = proof_of_ticket(ticket, shop=shop, job=job)
    if job and last and number != last:
        say(
            f"note: proof no. {last}, the job's latest, promised another print on "
            f"{ticket.found.garment.name} than this ticket; issue it anew with 'inksim proof'."
        )
    return number


def _write(ticket: BaseTicket, out: Path, *, single: bool, proof: int | None) -> list[Path]:
    """Write a ticket as PDF, text and table of readings into a folder, or as one file.

    A picture in halftones has no such table: no patch of it is one build.
    """
    from inksim.common import write_whole
    from inksim.reports import Ticket, readings_table, ticket_pdf, ticket_text

    stem = slug(ticket.title)
    names = [f"{stem}.pdf", f"{stem}.txt"]
    names += [f"{stem}-readings.csv"] if isinstance(ticket, Ticket) else []
    files = [out] if single else [out / name for name in names]
    for file in files:
        suffix = file.suffix.lower()
        if suffix == ".pdf":
            data = ticket_pdf(ticket)
            if ticket.not_spelled:
                say(f"note: {ticket.not_spelled}")
        elif suffix == ".csv":
            if not isinstance(ticket, Ticket):
                raise InputError("a picture in halftones has no table of readings; write a .pdf.")
            data = readings_table(ticket, proof=proof).encode()
        else:
            data = ticket_text(ticket).encode()
        file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(file, data)
    return files


def _ticket(
    shop: Shop,
    answer: JobAnswer,
    ready: PreparedArtwork | None,
    garment: Garment,
    *,
    place: JobArtworkEntry | None,
    way: int | None,
) -> Ticket | None:
    """The ticket of one garment; None where the cloth itself is every color."""
    from datetime import date

    from inksim.reports import headline, make_ticket, with_artwork

    found = next(each for each in answer.garments if each.garment.name == garment.name)
    if found.best is not None and not found.best.screens:
        say(headline(found))
        return None
    ticket = make_ticket(answer, shop=shop, garment=garment, made=date.today(), way=way)
    if ready is None or place is None:
        return ticket
    return with_artwork(ticket, ready, shop=shop, place=place.place, top_mm=place.top_mm)


def _picture_ticket(
    shop: Shop, drawn: DrawnJob, ready: PreparedArtwork, garment: Garment, *, viewing: Viewing
) -> BaseTicket:
    """The ticket of a tonal artwork on one garment."""
    from datetime import date

    from inksim.preview import tonal_result, tonal_run
    from inksim.reports import make_picture_ticket

    own, lies = drawn.job.on(garment), drawn.entry.artwork
    shown = tonal_result(
        ready,
        shop=shop,
        garment=garment,
        viewing=viewing,
        tolerance=own.colours[0].tolerance,
        inks=own.halftone_inks,
        press=own.press,
        step=lambda words, _: say(words),
    )
    run = tonal_run(
        ready,
        shown,
        shop=shop,
        quantity=own.quantity,
        press=own.press,
        choke_mm=own.base_choke_mm,
    )
    return make_picture_ticket(
        run, name=own.name, ready=ready, shown=shown, shop=shop, viewing=viewing,
        made=date.today(), place=lies.place if lies else "front",
        top_mm=lies.top_mm if lies else None,
    )  # fmt: skip


COMMANDS: Sequence[click.Command] = (advise_command, ticket_command)
