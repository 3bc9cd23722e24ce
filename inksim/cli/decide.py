"""Commands `advise`, for one ink or a whole job, and `ticket`."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.options import (
    BAD_INPUT,
    MISSES_TOLERANCE,
    TARGET_HELP,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    load,
    plainly,
    say,
    told_assumed,
    viewing_of,
)
from inksim.common import InputError, slug

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.job import GarmentAnswer, JobAnswer
    from inksim.reports import Ticket
    from inksim.shop import Shop


@click.command("advise")
@click.argument("job", type=click.Path(path_type=Path), required=False, metavar="[JOB.toml]")
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
    tolerance: float | None, chart: Path | None, light: str, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Decide whether a base is needed, and which, and why: for one ink, or for a whole job.

    One ink: --garment, --ink and --target. A job: its file, with colors, garments, quantity, press
    and costs; all colors are decided together, under the stations of the press.
    """
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
        _advise_job(shop, job, chart=chart, viewing=viewing, as_json=as_json)
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
    from inksim.decision import advise as run
    from inksim.printing import honest_words
    from inksim.reports import advice_text, emit_json
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
    if as_json:
        emit_json(advice)
    else:
        click.echo(advice_text(advice))
        click.echo(f"\n{honest_words(advice.best.data, calibrated=shop.press.calibrated)}")
    if not advice.nominal:
        sys.exit(MISSES_TOLERANCE)


def _decide(
    shop: Shop, job: Path, *, viewing: Viewing, reasons: bool = True
) -> tuple[JobAnswer, dict[str, Any]]:
    """Decide a job and, if asked, explain it, garment by garment."""
    from inksim.job import decide_job, load_job, reasons_for

    answer = decide_job(load_job(job, shop=shop), shop=shop, viewing=viewing)
    explained = answer.garments if reasons else ()
    return answer, {g.garment.name: reasons_for(shop, answer, g) for g in explained}


def _advise_job(
    shop: Shop, job: Path, *, chart: Path | None, viewing: Viewing, as_json: bool
) -> None:
    from inksim.reports import emit_json, job_document, job_text

    answer, said = _decide(shop, job, viewing=viewing)
    files = _charts(shop, answer, chart) if chart is not None else []
    if as_json:
        emit_json({**job_document(answer, said), "charts": files})
    else:
        click.echo(job_text(answer, said, shop=shop))
        for file in files:
            click.echo(f"chart: {file}")
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
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB.toml")
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
    *, job: Path, out: Path, garment: str | None, way: int | None, light: str, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the press ticket of a job, PDF and plain text: screens, ink, checks, first reading.

    With it comes a CSV table of what is printed, L, a, b to be filled in, for 'inksim calibrate'.
    """
    from inksim.reports import emit_json

    shop = load(shop_folder)
    answer, _ = _decide(shop, job, viewing=viewing_of(light, observer), reasons=False)
    chosen = answer.garments
    if garment is not None:
        name = shop.garment(garment).name
        chosen = tuple(g for g in chosen if g.garment.name == name)
        if not chosen:
            raise InputError(f"the job does not print on '{name}'.")
    kind = out.suffix.lower()
    single = kind in (".pdf", ".txt", ".csv")
    if len(chosen) > 1 and (single or way is not None):
        raise InputError(
            f"the job prints on {len(chosen)} garments; name one with --garment, or give a folder "
            "and no --way."
        )
    tickets, refused = _tickets(shop, job, answer, chosen, way=way)
    if refused and not tickets:
        raise refused[0]
    written = [file for ticket in tickets for file in _write(ticket, out, single=single)]
    if as_json:
        emit_json({"tickets": written})
    else:
        for ticket in tickets:
            click.echo("\n".join([ticket.outcome, *ticket.told]))
        for file in written:
            click.echo(f"written: {file}")
    if refused:
        for error in refused:
            click.echo(f"inksim: {error}", err=True)
        sys.exit(BAD_INPUT)


def _write(ticket: Ticket, out: Path, *, single: bool) -> list[Path]:
    """Write a ticket as PDF, text and table of readings into a folder, or as one file."""
    from inksim.common import write_whole
    from inksim.reports import readings_table, ticket_pdf, ticket_text

    stem = slug(ticket.title)
    names = (f"{stem}.pdf", f"{stem}.txt", f"{stem}-readings.csv")
    files = [out] if single else [out / name for name in names]
    for file in files:
        suffix = file.suffix.lower()
        if suffix == ".pdf":
            data = ticket_pdf(ticket)
        else:
            data = (readings_table if suffix == ".csv" else ticket_text)(ticket).encode()
        file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(file, data)
    return files


def _tickets(
    shop: Shop,
    job: Path,
    answer: JobAnswer,
    chosen: Sequence[GarmentAnswer],
    *,
    way: int | None,
) -> tuple[list[Ticket], list[InputError]]:
    """The tickets of some garments, and why others can have none."""
    from datetime import date

    from inksim.job import job_artwork
    from inksim.preview import prepare_artwork
    from inksim.reports import headline, make_ticket, placed_print

    drawn = job_artwork(job)
    ready = prepare_artwork(drawn) if drawn else None
    tickets, refused = [], []
    for found in chosen:
        if found.best is not None and not found.best.screens:
            say(headline(found))
            continue
        try:
            ticket = make_ticket(
                answer, shop=shop, garment=found.garment, made=date.today(), way=way
            )
        except InputError as error:
            refused.append(error)
            continue
        if ready is not None:
            placed = placed_print(
                ready, ticket.chosen, shop=shop, garment=found.garment, viewing=answer.viewing
            )
            ticket = replace(ticket, placed=placed)
        tickets.append(ticket)
    return tickets, refused


COMMANDS: Sequence[click.Command] = (advise_command, ticket_command)
