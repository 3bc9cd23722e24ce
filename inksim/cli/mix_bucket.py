"""What `mix --correct` and `--store` do: a bucket that was read, and what is left of a mix."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from inksim.cli.options import MISSES_TOLERANCE, load, say, today, together, warned_of_demo
from inksim.cli.values import Number
from inksim.common import InputError, tell

if TYPE_CHECKING:
    from inksim.mixing import FoundRecipes

BUCKET_OPTIONS = together(
    click.option(
        "--correct", "readings", multiple=True, metavar="READING",
        help="Say what to add to a bucket of which this was read, L,a,b or FILE#SAMPLE, repeats "
        "in turn: its print as the recipe says. Needs --of.",
    ),
    click.option(
        "--of", "bucket_file", type=click.Path(path_type=Path), default=None, metavar="FILE.json",
        help="What 'mix --json' wrote of the recipe, or of the bucket when last corrected; or a "
        "stored mix by its name, with --target and --garment.",
    ),
    click.option(
        "--left", type=Number(min=0, max=250_000), default=None, metavar="GRAMS",
        help="What is left in the bucket, or of a stored mix; all of it, if not given.",
    ),
    click.option(
        "--drawn-on", default=None, metavar="CARD",
        help="The reading is of a drawdown on this card: white, black or its reading.",
    ),
    click.option(
        "--film-um", type=Number(min=0.5, max=500), default=None, help="Its dry film, µm.",
    ),
    click.option(
        "--leftover", default=None, metavar="NAME",
        help="A stored mix to use up as far as the color allows.",
    ),
    click.option(
        "--store", default=None, metavar="NAME",
        help="Keep the mix as an ink of the shop, of --recipe; without --target: note what is "
        "--left of one that is kept.",
    ),
    click.option(
        "--read-by", default="instrument", metavar="WORD",
        help="What it was read with: instrument, camera or eye.",
    ),
)  # fmt: skip


ANEW = ("leftover", "max_inks", "grams", "job", "card", "light", "observer")
"""Options that ask for a new recipe."""


def said_by_recipe(*names: str) -> None:
    """Refuse options that ask for a new recipe beside a bucket, whose file says all of that."""
    context = click.get_current_context()
    for name in names:
        if context.get_parameter_source(name) is not ParameterSource.DEFAULT:
            raise InputError(
                f"--{name.replace('_', '-')} is for a new recipe; of a bucket its file --of says "
                "it: leave it out."
            )


def store_mix(
    name: str, found: FoundRecipes, *, at: int, left: float | None, shop_folder: Path | None
) -> None:
    """Keep a recipe's mix as an ink of the shop."""
    from inksim.mixing import stored_entry
    from inksim.shop import editable_folder, open_draft, save

    if at > len(found):
        raise InputError(f"--recipe {at}: {len(found)} are found; give 1 to {len(found)}.")
    folder = warned_of_demo(editable_folder(shop_folder))
    entry = stored_entry(found[at - 1], name=name, left_g=left, date=today())
    path = save(open_draft(folder, "ink").add("ink", entry))
    say(f"Stored '{name}' in {path}, {entry['left_g']:g} g. 'inksim undo' takes it back.")


def note_left(name: str, *, left: float | None, shop_folder: Path | None) -> None:
    """Note what is left of a stored mix."""
    from inksim.mixing import with_left
    from inksim.shop import editable_folder, open_draft, save

    if left is None:
        raise InputError(
            "give a --target and a --garment to store a recipe for, or --left GRAMS of a mix that "
            "is stored."
        )
    folder = warned_of_demo(editable_folder(shop_folder))
    ink = load(folder).ink(name)
    path = save(with_left(open_draft(folder, "ink"), ink, left_g=left))
    say(f"Noted {left:g} g left of '{ink.name}' in {path}. 'inksim undo' takes it back.")


def correct_bucket(
    *, readings: tuple[str, ...], bucket_file: Path | None, target: str | None,
    garment: str | None, route: str, number: int, left: float | None, drawn_on: str | None,
    film_um: float | None, read_by: str, tolerance: float | None, shop_folder: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Say what to add to a bucket; exit code 1 if its next print is expected to miss."""
    from inksim.calibration import READ_BY
    from inksim.colour import Viewing
    from inksim.mixing import (
        asked_document,
        bucket_document,
        bucket_of_stored,
        correct,
        read_bucket,
        reading_of_bucket,
        stored_mix,
    )
    from inksim.printing import ROUTES, build_words
    from inksim.reports import correction_document, correction_text, emit_json
    from inksim.shop import target_of

    if bucket_file is None or not readings:
        raise InputError("--correct READING and --of RECIPE belong together; give both.")
    if read_by not in READ_BY:
        raise InputError(f"--read-by is '{read_by[:40]}'; give one of {', '.join(READ_BY)}.")
    shop = load(shop_folder)
    kept = None if bucket_file.is_file() else stored_mix(shop, str(bucket_file))
    if kept is None:
        said_by_recipe("target", "garment", "route", *ANEW)
        bucket, viewing = read_bucket(bucket_file, shop, number=number)
    else:
        said_by_recipe(*ANEW)
        if target is None or garment is None:
            raise InputError(
                f"the stored mix '{kept.name}' does not say what it is printed for; give --target "
                "and --garment, and --route unless it is printed straight."
            )
        bucket = bucket_of_stored(
            kept, shop, target=target_of(shop, target), garment=shop.garment(garment),
            route=next((each for each in ROUTES if each == route), ROUTES[0]),
        )  # fmt: skip
        viewing = Viewing()
    reading = reading_of_bucket(
        readings, after=len(bucket.batches), sure=READ_BY[read_by].of_mean, card=drawn_on,
        film_um=film_um,
    )  # fmt: skip
    if left is not None:
        bucket = bucket.with_left(left)
    found = correct(bucket.with_reading(reading), shop, viewing=viewing)
    wanted = shop.habits.tolerance_de00 if tolerance is None else tolerance
    if as_json:
        emit_json(
            {
                **correction_document(found),
                "asked": asked_document(bucket.target, bucket.build.garment.name),
                "bucket": bucket_document(found.after),
                "conditions": viewing,
            }
        )
    else:
        under = "".join(f"{words}; " for words in build_words(bucket.build).split("; ")[:-1])
        top = bucket.build.colour
        tell(
            f"Bucket of {bucket.grams:g} g, target {bucket.target.name}, on "
            f"{bucket.build.garment.name}: {under}this mix through "
            f"{top.screen.threads_per_inch:.0f} ×{top.passes}\n"
        )
        tell(correction_text(found, step_g=shop.rules.scale_step_g))
    if found.anew is not None or found.expected_de00 > wanted:
        sys.exit(MISSES_TOLERANCE)
