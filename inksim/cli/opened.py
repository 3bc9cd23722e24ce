"""What a command is given to print: a kept job, a job's file, or an artwork by itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from inksim.cli.options import say, together
from inksim.cli.values import BACKGROUND
from inksim.common import InputError, check_file_names, now, slug

if TYPE_CHECKING:
    from inksim.artwork import Artwork, Flats
    from inksim.job import DrawnJob, JobAnswer
    from inksim.ledger import KeptJob
    from inksim.shop import Shop
    from inksim.stock import Garment

JOB_OR_ARTWORK = "ARTWORK|JOB"
TO_PRINT = together(
    click.argument("artwork", type=click.Path(path_type=Path), metavar=JOB_OR_ARTWORK),
    click.option(
        "--garment", default=None, help="A garment of the shop; all of a job if not given."
    ),
    click.option(
        "--mapping", type=click.Path(path_type=Path), default=None, metavar="FILE",
        help='TOML lines "#rrggbb" = "Ink Name" (or "none"), of flat artwork.',
    ),
    click.option(
        "--background", type=BACKGROUND, default=None, metavar="auto|keep|#rrggbb",
        help="Of an artwork: leave out the background found, none (keep, if not given), or that "
        "of a color.",
    ),
)  # fmt: skip
"""What `opened` takes: the argument `artwork`, and what is said of an artwork by itself."""

TONAL = "the artwork is a picture, which proof, ticket, preview and batch print in halftones"
"""What flat colors' commands say of it, and whose numbers count."""


def decision_kept(kept: KeptJob | None, answer: JobAnswer, *, shop: Shop) -> Path | None:
    """Keep what was decided in the folder of a kept job; None of a job that is not kept."""
    from inksim.reports import keep_decided

    if kept is None:
        return None
    try:
        return keep_decided(kept, answer, shop=shop, made=now())
    except InputError as error:  # a shop that one may only look at
        say(f"note: what was decided is not kept: {error}")
        return None


class Opened(NamedTuple):
    """A job with its artwork, and its garments that are asked for.

    by_job: whether a job's file says what to print. kept: the job that is kept of it, if one is.
    """

    drawn: DrawnJob
    artwork: Artwork
    flats: Flats
    garments: tuple[Garment, ...]
    by_job: bool
    kept: KeptJob | None


def opened(
    word: Path,
    *,
    shop: Shop,
    garment: str | None,
    mapping: Path | None = None,
    background: str | None = None,
    width_mm: float | None = None,
    tolerance: float | None = None,
    client: str = "",
    choke_mm: float | None = None,
) -> Opened:
    """Open what is to be printed; an artwork by itself is a job in memory, of one garment.

    Raises
    ------
    InputError : neither a picture nor a job, a job without an artwork or not on that garment, or
        options that a job answers itself, or two garments whose files would have one name.
    """
    from inksim.artwork import read_mapping
    from inksim.job import job_in_memory, load_drawn_job
    from inksim.ledger import job_file, kept_at

    cloth = None if garment is None else shop.garment(garment)
    if word.is_file() and word.suffix.lower() != ".toml":
        if cloth is None:
            raise InputError("name what it is printed on with --garment, or give a job.")
        drawn = job_in_memory(
            word,
            shop=shop,
            garments=[cloth],
            width_mm=width_mm,
            background=background or "keep",
            inks=read_mapping(mapping) if mapping else None,
            tolerance=tolerance,
            client=client,
            choke_mm=choke_mm,
        )
        assert drawn.artwork is not None  # it was made of one
        assert drawn.flats is not None
        return Opened(drawn, drawn.artwork, drawn.flats, (cloth,), by_job=False, kept=None)
    file = job_file(word, shop.folder)
    given = {
        "--mapping": mapping, "--background": background, "--print-width": width_mm,
        "--tolerance": tolerance, "--client": client or None,
    }  # fmt: skip
    clash = [option for option, value in given.items() if value is not None]
    if clash:
        raise InputError(
            f"a job says itself what {', '.join(clash)} would; change the job with 'inksim job "
            "set', or its file."
        )
    drawn = load_drawn_job(file, shop=shop)
    if drawn.artwork is None or drawn.flats is None:
        raise InputError(
            f"job '{drawn.job.name}' is a list of colors; a job with an artwork is drawn."
        )
    garments = tuple(each for each in drawn.job.garments if cloth in (None, each))
    if not garments:
        raise InputError(f"the job does not print on '{garment}'.")
    check_file_names({each.name: slug(each.name) for each in garments})
    kept = kept_at(file, shop.folder)
    return Opened(drawn, drawn.artwork, drawn.flats, garments, by_job=True, kept=kept)
