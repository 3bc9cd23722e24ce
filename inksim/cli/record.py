"""Command `record`: what proofs said against what happened."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from inksim.cli.options import JSON_OPTION, SHOP_OPTION, aside, load, plainly, say
from inksim.cli.values import DAY
from inksim.common import tell


@click.command("record")
@click.option("--since", type=DAY, default="", metavar="DAY", help="Proofs from this day on.")
@click.option(
    "--csv", "table", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Write every promise and its prints, without names of clients and jobs.",
)  # fmt: skip
@click.option(
    "--png", "plot", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Draw stated chances against what landed, and prints against promises by month.",
)  # fmt: skip
@SHOP_OPTION
@JSON_OPTION
@plainly
def record_command(
    *, since: str, table: Path | None, plot: Path | None, shop_folder: Path | None, as_json: bool
) -> None:
    """Show what this shop's proofs said against what its prints were.

    Each proof seals its promises before anything is printed. A reading kept by 'inksim calibrate'
    scores them: of the proof whose number stands in its column 'proof', else of the latest proof of
    that print before its day. The demo shop shows an invented record.

    Example: inksim record --since 2026-01-01 --png record.png
    """
    from inksim.common import write_whole
    from inksim.ledger import outcomes_csv, record_of_shop
    from inksim.preview import png_bytes
    from inksim.reports import INVENTED_RECORD, draw_record, emit_json, record_text

    to_stderr = aside(table, plot, as_json=as_json)
    record = record_of_shop(load(shop_folder), since=since)
    if table is not None:
        write_whole(table, outcomes_csv(record.listed, invented=record.invented).encode())
    if plot is not None:
        about = INVENTED_RECORD if record.invented else f"Record of {record.name} by inksim."
        write_whole(plot, png_bytes(draw_record(record), about=about))
    if as_json:
        emit_json(record)
    else:
        tell(record_text(record), err=to_stderr)
    for file in (table, plot):
        if file is not None:
            say(f"written: {file}")


COMMANDS: Sequence[click.Command] = (record_command,)
