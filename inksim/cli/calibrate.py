"""Commands `calibrate`, `press` and `history`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.options import (
    JSON_OPTION,
    SHOP_OPTION,
    aside,
    load,
    plainly,
    say,
    today,
    told_next,
)
from inksim.cli.values import DAY, Number
from inksim.common import InputError, counted, tell

if TYPE_CHECKING:
    from inksim.calibration import PrintFile, PrintRow
    from inksim.shop import Shop


def _say_unread(read: PrintFile) -> None:
    if read.unread:
        tell(f"Passed over, no reading filled in: {', '.join(read.unread)}.", err=True)


def _keep_for_scoring(shop: Shop, rows: Sequence[PrintRow], *, day: str) -> None:
    """Keep what no press could be fitted to, of the rows that name a proof: it is still scored."""
    from inksim.calibration import add_rows, proof_and_note

    named = [replace(row, scores_only=True) for row in rows if proof_and_note(row.note)[0]]
    if not named:
        return
    add_rows(shop.folder, named, date=day)
    say(
        f"note: {counted(len(named), 'reading')} with a proof's number kept to score it, and not "
        "to fit the press; mend the table and give it again, or take one out with 'inksim history "
        "--remove'."
    )


def _write_table(path: Path, shop: Shop, *, as_json: bool) -> None:
    from inksim.calibration import table_to_fill_in
    from inksim.common import write_whole
    from inksim.reports import emit_json

    to_stderr = aside(path, as_json=as_json)
    if path.exists():
        raise InputError(
            f"'{path}' is there already, and may have readings filled in; give another name, or "
            "move it away."
        )
    tell("Choosing the prints that would tell most; this takes some seconds …", err=True)
    write_whole(path, table_to_fill_in(shop).encode())
    if as_json:
        emit_json({"written": path})
        return
    tell(f"{path}: print these as you always do, read them, and fill in L, a and b.", err=to_stderr)


@click.command("calibrate")
@click.argument("readings", type=click.Path(path_type=Path), required=False)
@click.option("--dry-run", is_flag=True, help="Only show; write nothing.")
@click.option(
    "--to-read",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write a table of the six prints that would tell most, to print, read and fill in.",
)
@click.option("--only", is_flag=True, help="These readings alone, without those kept from before.")
@click.option(
    "--since", type=DAY, default="", metavar="DAY", help="Kept readings from this day on."
)
@click.option("--keep-all", is_flag=True, help="Use readings that look wrong, too.")
@click.option(
    "--read-by",
    default="instrument",
    metavar="WORD",
    help="What rows were read with that do not say it: instrument, camera, eye, or another word.",
)
@click.option(
    "--sd",
    "sd_de00",
    type=Number(min=0, min_open=True),
    metavar="ΔE00",
    help="How far these readings are off on average; as --read-by lets expect, if not given.",
)
@click.option("--note", default="", help="To remember with the readings.")
@click.option(
    "--scale",
    type=click.Choice(["percent", "factor"]),
    default=None,
    help="Scale of spectra that could be either.",
)
@SHOP_OPTION
@JSON_OPTION
@plainly
def calibrate_command(
    *, readings: Path | None, dry_run: bool, to_read: Path | None, only: bool, since: str,
    keep_all: bool, read_by: str, sd_de00: float | None, note: str, scale: str | None,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Fit the press to readings of its own prints, and keep the result as its next version.

    READINGS is a file of readings with the columns garment, ink, route, screen, passes,
    base_screen and flash beside the spectrum or L,a,b; what a row leaves out is as the shop
    usually prints. Columns read_by and sd_de00 say how sure a reading is, garment_lot, ink_lot and
    base_lot what it is of. Readings kept from before take part. 'inksim press --back' undoes it.
    Without READINGS, --to-read writes a table of the prints to make and read first.
    """
    from inksim.calibration import calibrate_shop, keep, read_print_rows
    from inksim.reports import calibration_document, calibration_text, emit_json
    from inksim.shop import editable_folder

    if to_read is not None:
        words = {"READINGS": readings, "--dry-run": dry_run}
        if clash := [word for word, given in words.items() if given]:
            raise InputError(f"--to-read only writes a table; leave out {', '.join(clash)}.")
        _write_table(to_read, load(shop_folder), as_json=as_json)
        return
    if readings is None:
        raise InputError("give a file of readings; '--to-read FILE' writes a table to fill in.")
    if not dry_run:
        editable_folder(shop_folder)
    shop = load(shop_folder)
    read = read_print_rows(readings, shop=shop, read_by=read_by, sd_de00=sd_de00, scale=scale)
    _say_unread(read)
    rows = [replace(r, note=r.note or note) for r in read.rows]
    day = today()
    try:
        found = calibrate_shop(
            shop, rows, notes=read.notes, only=only, since=since, keep_all=keep_all, day=day
        )
    except InputError:
        if not dry_run:
            _keep_for_scoring(shop, rows, day=day)
        raise
    if not dry_run:
        found = keep(shop_folder, found, rows, day=day)
    if as_json:
        emit_json(calibration_document(found))
    else:
        tell(calibration_text(found, press=shop.press.name, folder=shop_folder))


@click.command("press")
@click.option("--list", "listed", is_flag=True, help="List the versions (as without options).")
@click.option("--back", is_flag=True, help="Bring back the version before the current one.")
@click.option("--to", "number", type=click.IntRange(0), default=None, help="Bring back this one.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def press_command(
    *, listed: bool, back: bool, number: int | None, shop_folder: Path | None, as_json: bool
) -> None:
    """List the versions of the shop's press, or go back to one. None is ever lost."""
    from inksim.reports import emit_json, versions_text
    from inksim.shop import demo_shop_folder, editable_folder, go_back, versions

    changes = back or number is not None
    if listed + back + (number is not None) > 1:
        raise InputError("give one of --list, --back and --to.")
    folder = editable_folder(shop_folder) if changes else shop_folder or demo_shop_folder()
    if changes:
        now = go_back(folder, day=today(), number=number)
        tell(f"press.toml is version {now.number} now.", err=True)
    found = versions(folder)
    told_next(folder)
    if as_json:
        emit_json({"versions": found})
    else:
        tell(versions_text(found))


@click.command("history")
@click.option(
    "--csv",
    "out",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Write all readings to a CSV file, with all digits.",
)
@click.option(
    "--from",
    "source",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Add the readings of a file, such as one written by --csv.",
)
@click.option(
    "--remove", "number", type=int, default=None, help="Take the reading of this no. out."
)
@SHOP_OPTION
@JSON_OPTION
@plainly
def history_command(
    *, out: Path | None, source: Path | None, number: int | None, shop_folder: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """List the kept readings of the shop's prints; write them to CSV, add or remove some."""
    from inksim.calibration import add_rows, read_print_rows, remove_row, rows_kept, to_csv
    from inksim.common import write_whole
    from inksim.reports import emit_json, history_text
    from inksim.shop import demo_shop_folder, editable_folder

    aside(out, as_json=as_json)
    changes = source is not None or number is not None
    folder = editable_folder(shop_folder) if changes else shop_folder or demo_shop_folder()
    if source is not None:
        read = read_print_rows(source, shop=load(folder))
        _say_unread(read)
        added = add_rows(folder, read.rows, date=today())
        tell(
            f"{added} of {counted(len(read.rows), 'reading')} {'is' if added == 1 else 'are'} new.",
            err=True,
        )
    if number is not None:
        gone = remove_row(folder, number)
        tell(f"Removed reading {number}, '{gone.name}'.", err=True)
    kept = rows_kept(folder, faulty=True)
    told_next(folder)
    sound = [each.row for each in kept if not each.fault]
    for each in kept:
        if each.fault:
            tell(f"note: reading {each.number} {each.fault}; it is not used.", err=True)
    if out is not None:
        write_whole(out, to_csv(sound).encode())
        tell(f"Wrote {counted(len(sound), 'reading')} to {out}.", err=True)
    if as_json:
        emit_json({"readings": kept, "written": out})
    elif out is None:
        tell(history_text(kept))


COMMANDS = (calibrate_command, press_command, history_command)
