"""Command `batch`: many jobs at once."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.options import VIEWING_OPTIONS, Light, load, out_folder, plainly, say, viewing_of
from inksim.common import InputError, counted, tell

if TYPE_CHECKING:
    from inksim.batch import BatchResult, Pool, Progress

SOME_FAILED = 1
EVERY_S = 5.0


@click.command("batch")
@click.argument("jobs", type=click.Path(path_type=Path), metavar="FOLDER|TABLE.csv")
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, metavar="DIR",
    help="Folder for the manifest, the report and all that is made.",
)  # fmt: skip
@click.option("--pictures", is_flag=True, help="Draw each job on each of its garments.")
@click.option("--proofs", is_flag=True, help="Write each job's proof, numbered for a kept job.")
@click.option("--workers", type=click.IntRange(1, 1024), default=None,
              help="Processes on this machine; one a core if not given.")  # fmt: skip
@click.option("--shard", default="1/1", metavar="I/N", help="Do the I-th of N parts of the list.")
@click.option("--retry", is_flag=True, help="Work once more what failed.")
@click.option("--cluster", default=None, metavar="ADDRESS",
              help="Work on the workers of a dask scheduler that is there already.")  # fmt: skip
@click.option(
    "--through", type=click.Path(path_type=Path), default=None, metavar="DIR",
    help="With --cluster: a folder all machines see, for artworks and results.",
)  # fmt: skip
@VIEWING_OPTIONS
@plainly
def batch_command(
    *, jobs: Path, out: Path, pictures: bool, proofs: bool, workers: int | None, shard: str,
    retry: bool, cluster: str | None, through: Path | None, light: Light, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Work many jobs: a folder of jobs, or a table with columns artwork and garment.

    Started again it does only what is left. What is wrong with one job stops no other; exit code 1
    if any failed. See docs/batch.md.

    \b
    inksim batch orders.csv --pictures --out week-12 --shop my-shop
    inksim batch my-shop/jobs --proofs --out proofs --shop my-shop
    """
    from inksim.batch import Shard, Wanted, cluster_pool, process_pool, run_batch

    part = Shard.parsed(shard)
    if cluster is None and through is not None:
        raise InputError("--through is for a cluster; name its scheduler with --cluster.")
    if cluster is not None and workers is not None:
        raise InputError("--workers are of this machine; a cluster has its own.")
    folder, shop = out_folder(out), load(shop_folder)
    pool: Pool = (
        process_pool(workers) if cluster is None else cluster_pool(cluster, through=through)
    )
    result = run_batch(
        jobs,
        shop=shop,
        out=folder,
        wanted=Wanted(viewing=viewing_of(light, observer), pictures=pictures, proofs=proofs),
        pool=pool,
        shard=part,
        again=retry,
        progress=_teller(),
    )
    if as_json:
        from inksim.reports import emit_json

        emit_json(
            {
                "total": result.total, "done": result.done, "failed": result.failed,
                "worked": result.worked, "report": result.reports.table,
                "document": result.reports.document, "sheets": result.reports.sheets,
            }
        )  # fmt: skip
    else:
        tell("\n".join(_lines(result)))
    if result.failed:
        sys.exit(SOME_FAILED)


def _lines(result: BatchResult) -> list[str]:
    reports = result.reports
    lines = [
        f"{counted(result.total, 'job')}: {result.done} done, {result.failed} failed; "
        f"{result.worked} worked in this run.",
        f"report: {reports.table}",
        f"report: {reports.document}",
        *(f"sheet: {sheet}" for sheet in reports.sheets),
    ]
    if reports.not_shown:
        lines.append(f"note: {counted(reports.not_shown, 'picture')} more are on no sheet.")
    if result.failed:
        lines.append("note: why each failed is in the report; --retry works those once more.")
    return lines


def _teller() -> Callable[[Progress], None]:
    """Say on stderr how far it is, every few seconds."""
    last = -EVERY_S

    def told(at: Progress) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last < EVERY_S and at.done < at.total:
            return
        last = now
        failed = f", {at.failed} failed" if at.failed else ""
        left = "" if at.left_s is None or at.done == at.total else f", {_span(at.left_s)} left"
        say(f"{at.done} of {at.total}{failed}{left}")

    return told


def _span(seconds: float) -> str:
    """Format a time left: 'about 3 min'."""
    for size, name in ((86400, "days"), (3600, "h"), (60, "min")):
        if seconds >= 2 * size:
            return f"about {seconds / size:.0f} {name}"
    return f"about {max(1, round(seconds))} s"


COMMANDS: Sequence[click.Command] = (batch_command,)
