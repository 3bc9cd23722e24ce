"""Commands `preview` and `demo`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import click

from inksim.cli.opened import TO_PRINT, opened
from inksim.cli.options import (
    CHOKE_AND_TRAP,
    JSON_OPTION,
    SHOP_OPTION,
    VIEWING_OPTIONS,
    Light,
    load,
    out_folder,
    plainly,
    say,
    viewing_of,
)
from inksim.cli.values import Number
from inksim.common import InputError, tell

OUT_OPTION = click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("previews"),
    show_default=True,
    help="Folder for the pictures.",
)


@click.command("preview")
@TO_PRINT
@OUT_OPTION
@click.option("--register", type=Number(), default=0.0, show_default=True,
              help="Show the plates off register by so many mm.")  # fmt: skip
@CHOKE_AND_TRAP
@click.option("--on", "places", multiple=True, type=click.Choice(["front", "back", "sleeve"]),
              help="Draw it on that part of a shirt too.")  # fmt: skip
@click.option("--print-width", type=Number(), default=None, metavar="MM",
              help="Width on the shirt; its own, or what fits, if not given.")  # fmt: skip
@click.option("--print-top", type=Number(), default=None, metavar="MM",
              help="Below the collar, or above the hem of the sleeve.")  # fmt: skip
@click.option("--beyond-screen", is_flag=True, help="Map where no screen shows its colors.")
@VIEWING_OPTIONS
@plainly
def preview_command(
    *, artwork: Path, garment: str | None, out: Path, mapping: Path | None, background: str | None,
    register: float, choke: float, trap: float, places: tuple[str, ...], print_width: float | None,
    print_top: float | None, beyond_screen: bool, light: Light, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Draw an artwork, or a job's, as it is decided to print, and by each route, and a sheet.

    A job is drawn on each of its garments, at its width, and on its place of the shirt.

    \b
    inksim preview logo.jpg --garment "Coal Black" --background auto
    inksim preview mill-logo --shop my-shop
    """
    from inksim.artwork import printed_at
    from inksim.preview import Views, check_views, preview_job
    from inksim.reports import emit_json, preview_document, preview_text
    from inksim.separation import Misfit

    if not places and (print_width, print_top) != (None, None):
        raise InputError(
            "--print-width and --print-top say how a print lies on a shirt; say where with --on."
        )
    shop, folder = load(shop_folder), out_folder(out)
    say(f"reading {artwork.name}")
    ask = opened(
        artwork, shop=shop, garment=garment, mapping=mapping, background=background,
        choke_mm=choke or None,
    )  # fmt: skip
    views = Views(
        misfit=Misfit(register_mm=register, choke_mm=choke, trap_mm=trap),
        beyond_screen=beyond_screen,
        places=places,  # type: ignore[arg-type]
        width_mm=print_width,
        top_mm=print_top,
    )
    placed = ask.drawn.entry.artwork
    if ask.by_job and placed and not places:
        on_place = replace(
            views, places=(placed.place,), width_mm=ask.artwork.width_mm, top_mm=placed.top_mm
        )
        try:
            check_views(on_place, artwork=ask.artwork, dpi=printed_at(ask.artwork)[0])
        except InputError:  # the job's notes say why; it is drawn all the same, as on its ticket
            say("note: drawn without a shirt, which does not hold it.")
        else:
            views = on_place
    results = [
        preview_job(
            ask.drawn,
            shop=shop,
            garment=each,
            out=folder,
            solids=mapping is not None,
            viewing=viewing_of(light, observer),
            views=views,
            progress=say,
        )
        for each in ask.garments
    ]
    if not as_json:
        tell("\n\n".join(map(preview_text, results)))
    elif ask.by_job:
        made = [preview_document(result) for result in results]
        answers = [answer for each in made for answer in each["answers"]]
        emit_json({"answers": answers, "job": ask.drawn.job.name, "previews": made})
    else:
        emit_json(preview_document(results[0]))


@click.command("demo")
@OUT_OPTION
@SHOP_OPTION
@JSON_OPTION
@plainly
def demo_command(out: Path, shop_folder: Path | None, as_json: bool) -> None:
    """Run the whole job on the demo shop: decisions, previews, and where to go next."""
    from inksim.preview import run_demo
    from inksim.reports import demo_document, demo_text, emit_json

    shop = load(shop_folder)
    result = run_demo(shop, out=out_folder(out), progress=say)
    if as_json:
        emit_json(demo_document(result))
    else:
        tell(demo_text(result))


COMMANDS: Sequence[click.Command] = (preview_command, demo_command)
