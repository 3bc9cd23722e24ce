"""Command `mix`: recipes of stock inks for a color on a garment."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.mix_bucket import (
    BUCKET_OPTIONS,
    correct_bucket,
    note_left,
    store_mix,
)
from inksim.cli.options import (
    MISSES_TOLERANCE,
    TARGET_HELP,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    Light,
    against,
    load,
    plainly,
    say,
    viewing_of,
)
from inksim.cli.values import Number
from inksim.common import InputError, tell

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.mixing import FoundRecipes
    from inksim.shop import Shop

CARDS = (".pdf", ".txt")


@click.command("mix")
@click.option("--target", default=None, help=TARGET_HELP)
@click.option("--garment", default=None, help="A garment of the shop.")
@click.option(
    "--route",
    type=click.Choice(["straight", "white-base", "discharge-base", "all"]),
    default="all",
    show_default=True,
    help="What lies under the color.",
)
@click.option(
    "--max-inks",
    type=click.IntRange(1, 6),
    default=None,
    help="Most inks in a mix; the shop's rule if not given.",
)
@click.option(
    "--grams",
    type=Number(min=1, max=250_000),
    default=500.0,
    show_default=True,
    help="Wet ink in the bucket.",
)
@click.option(
    "--job",
    type=click.Path(path_type=Path),
    default=None,
    metavar="JOB",
    help="A job that prints the color on the garment: also the grams for its run.",
)
@click.option(
    "--card",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    metavar="FILE.pdf|FILE.txt",
    help="Write a card of the recipe to hang by the scale: parts as weighed, what a gram does.",
)
@click.option(
    "--recipe",
    type=click.IntRange(min=1),
    default=1,
    show_default=True,
    help="Whose card, or which of the file --of, by its number.",
)
@BUCKET_OPTIONS
@TOLERANCE_OPTION
@VIEWING_OPTIONS
@plainly
def mix_command(
    *, target: str | None, garment: str | None, route: str, max_inks: int | None, grams: float,
    job: Path | None, card: Path | None, recipe: int, tolerance: float | None, light: Light,
    observer: str, shop_folder: Path | None, as_json: bool, **bucket: Any,
) -> None:  # fmt: skip
    """Find recipes: the mixes of stock inks whose print on a garment comes closest to a color.

    The print model itself is inverted, over every route, mesh and number of passes that the rules
    allow. Best chance first; chances within 5 points count as equal, and then the cheaper comes
    first. Exit code 1 if no recipe is nominally inside the tolerance.

    \b
    inksim mix --target "#8a3f5a" --garment "Coal Black" --grams 500
    inksim mix --correct 41.0,30.2,1.5 --of mix.json
    """
    from inksim.job import load_job, recipe_run_g
    from inksim.ledger import job_file
    from inksim.mixing import asked_document, find_recipes, use_leftover
    from inksim.printing import ROUTES, honest_words
    from inksim.reports import emit_json, recipes_document, recipes_text
    from inksim.shop import target_of
    from inksim.stock import least_sure

    if card is not None and card.suffix.lower() not in CARDS:
        raise InputError(f"--card writes {' or '.join(CARDS)}, and '{card.name}' ends in neither.")
    store, left, leftover = bucket.pop("store"), bucket["left"], bucket.pop("leftover")
    if store and target is None and garment is None:
        note_left(store, left=left, shop_folder=shop_folder)
        return
    asks = [bucket[name] for name in ("readings", "bucket_file", "drawn_on", "film_um")]
    if any(asks) or (left is not None and not store):
        correct_bucket(
            **bucket,
            target=target,
            garment=garment,
            route=route,
            number=recipe,
            tolerance=tolerance,
            shop_folder=shop_folder,
            as_json=as_json,
        )
        return
    if target is None or garment is None:
        raise InputError("give a --target and a --garment to find recipes for.")
    shop, viewing = load(shop_folder), viewing_of(light, observer)
    aim, cloth = target_of(shop, target), shop.garment(garment)
    wanted = shop.habits.tolerance_de00 if tolerance is None else tolerance
    run_of = None if job is None else load_job(job_file(job, shop_folder), shop=shop)
    asked: dict[str, Any] = {
        "target": aim,
        "garment": cloth,
        "routes": [each for each in ROUTES if route in (each, "all")],
        "most_inks": max_inks,
        "grams": grams,
        "viewing": viewing,
        "tolerance": wanted,
    }
    found = (
        find_recipes(shop, **asked)
        if leftover is None
        else use_leftover(shop, shop.ink(leftover), **asked)
    )
    runs = [
        recipe_run_g(each.recipe, each.build, job=run_of, target=aim, press=shop.press.values)
        for each in found
        if run_of is not None
    ]
    if card is not None:
        _write_card(card, found, at=recipe, shop=shop, viewing=viewing, tolerance=wanted)
    if store:
        store_mix(store, found, at=recipe, left=left, shop_folder=shop_folder)
    if as_json:
        emit_json(
            {
                **recipes_document(found, runs=runs),
                "asked": asked_document(aim, cloth.name),
                "conditions": viewing,
            }
        )
    else:
        tell(f"Recipes on {cloth.name}, {viewing}{against(aim)}, {grams:g} g\n")
        text = recipes_text(found, tolerance=wanted, currency=shop.costs.currency, runs=runs)
        tell(text)
        data = least_sure(*(each.answer.data for each in found))
        tell(f"\n{honest_words(data, calibrated=shop.press.calibrated)}")
    if found.nearest.delta_e_2000 > wanted:
        sys.exit(MISSES_TOLERANCE)


def _write_card(
    file: Path, found: FoundRecipes, *, at: int, shop: Shop, viewing: Viewing, tolerance: float
) -> None:
    """Write the card of one recipe, by its number."""
    from datetime import date

    from inksim.common import write_whole
    from inksim.reports import RecipeCard, card_pdf, card_text

    if at > len(found):
        raise InputError(f"--recipe {at}: {len(found)} are found; give 1 to {len(found)}.")
    card = RecipeCard(
        found=found[at - 1], shop=shop, viewing=viewing, tolerance=tolerance, made=date.today()
    )
    pdf = file.suffix.lower() == ".pdf"
    write_whole(file, card_pdf(card) if pdf else card_text(card).encode())
    say(f"written: {file}")


COMMANDS: Sequence[click.Command] = (mix_command,)
