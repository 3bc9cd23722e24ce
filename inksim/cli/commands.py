"""The command line: read the words, call one thing, show it. Computes nothing.

Results go to stdout, messages to stderr. Exit code 0: done; 1: done, and no build meets the
tolerance; 2: bad input, in one sentence.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from inksim import __version__
from inksim.cli import (
    calibrate,
    decide,
    drawdowns,
    lights,
    palette,
    separate,
    shop as shop_commands,
)
from inksim.cli.options import (
    JSON_OPTION,
    LIGHT_OPTION,
    OBSERVER_OPTION,
    SHOP_OPTION,
    TARGET_HELP,
    load,
    out_folder,
    plainly,
    viewing_of,
)

TOPICS = (
    shop_commands,
    calibrate,
    drawdowns,
    lights,
    decide,
    palette,
    separate,
)
"""Modules of commands, each with its COMMANDS."""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="inksim")
def main() -> None:
    """Predict what a semi-transparent ink will look like printed on a colored garment."""


@main.command("shop")
@SHOP_OPTION
@JSON_OPTION
@plainly
def shop_command(shop_folder: Path | None, as_json: bool) -> None:
    """List the inks, garments and screens of a shop."""
    from inksim.reports import catalogue_text, emit_json
    from inksim.shop import catalogue

    shop = load(shop_folder)
    document = catalogue(shop)
    if as_json:
        emit_json(document)
    else:
        click.echo(catalogue_text(document))


@main.command()
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option("--ink", required=True, help="An ink of the shop.")
@click.option(
    "--route",
    type=click.Choice(["straight", "white-base", "discharge-base", "all"]),
    default="all",
    show_default=True,
    help="What lies under the color.",
)
@click.option("--screen", default=None, help="Screen of the color: its name or threads/inch.")
@click.option("--passes", type=click.IntRange(1, 4), default=None, help="Strokes of the color.")
@click.option("--base-screen", default=None, help="Screen of the base.")
@click.option("--flash/--no-flash", default=None, help="Dry the base before the color.")
@click.option("--target", default=None, help=TARGET_HELP)
@LIGHT_OPTION
@OBSERVER_OPTION
@SHOP_OPTION
@JSON_OPTION
@plainly
def predict(
    garment: str, ink: str, route: str, screen: str | None, passes: int | None,
    base_screen: str | None, flash: bool | None, target: str | None, light: str, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Predict one ink on one garment: color, distance from a target, what shows through."""
    from inksim.printing import ROUTES, honest_words, predict as run
    from inksim.reports import emit_json, prediction_document, predictions_text
    from inksim.shop import target_of, usable_routes, usual_build

    shop = load(shop_folder)
    cloth, color = shop.garment(garment), shop.ink(ink)
    viewing = viewing_of(light, observer)
    routes = [r for r in ROUTES if r == route] or usable_routes(cloth, shop=shop)
    builds = [
        usual_build(
            shop,
            garment=cloth,
            ink=color,
            route=each,
            screen=shop.screen(screen) if screen else None,
            passes=passes,
            base_screen=shop.screen(base_screen) if base_screen else None,
            flash=flash,
        )
        for each in routes
    ]
    aim = target_of(shop, target) if target is not None else None
    predictions = run(
        builds,
        press=shop.press,
        viewing=viewing,
        target=aim,
        tolerance=shop.habits.tolerance_de00,
    )
    if as_json:
        document = {
            "predictions": [prediction_document(p) for p in predictions],
            "conditions": {"light": viewing.light, "observer": viewing.observer},
        }
        emit_json(document)
        return
    against = f", target {' '.join(dict.fromkeys((aim.name, aim.hex()[0])))}" if aim else ""
    click.echo(f"{color.name} on {cloth.name}, {viewing}{against}\n")
    click.echo(predictions_text(predictions))
    click.echo(f"\n{honest_words(predictions[0].data, calibrated=shop.press.calibrated)}")


@main.command()
@click.argument("artwork", type=click.Path(path_type=Path))
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("previews"),
    show_default=True,
    help="Folder for the pictures.",
)
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help='TOML lines "#rrggbb" = "Ink Name" (or "none").',
)
@click.option("--register", default=0.0, show_default=True,
              help="Show the plates off register by so many mm.")  # fmt: skip
@click.option("--choke", default=0.0, show_default=True, help="Draw the base in by so many mm.")
@click.option("--trap", default=0.0, show_default=True, help="Spread colors under others by mm.")
@click.option("--on", "places", multiple=True, type=click.Choice(["front", "back", "sleeve"]),
              help="Draw it on that part of a shirt too.")  # fmt: skip
@click.option("--print-width", type=float, default=None, metavar="MM",
              help="Width on the shirt; its own, or what fits, if not given.")  # fmt: skip
@click.option("--print-top", type=float, default=None, metavar="MM",
              help="Below the collar, or above the hem of the sleeve.")  # fmt: skip
@click.option("--beyond-screen", is_flag=True, help="Map where no screen shows its colors.")
@LIGHT_OPTION
@OBSERVER_OPTION
@SHOP_OPTION
@JSON_OPTION
@plainly
def preview(
    *, artwork: Path, garment: str, out: Path, mapping: Path | None, register: float, choke: float,
    trap: float, places: tuple[str, ...], print_width: float | None, print_top: float | None,
    beyond_screen: bool, light: str, observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Draw an artwork as it would print on a garment by each route, and a sheet of them all."""
    from inksim.common import InputError
    from inksim.preview import Views, write_previews
    from inksim.reports import emit_json, preview_document, preview_text
    from inksim.separation import Misfit

    if not places and (print_width, print_top) != (None, None):
        raise InputError(
            "--print-width and --print-top say how a print lies on a shirt; say where with --on."
        )
    shop = load(shop_folder)
    views = Views(
        misfit=Misfit(register_mm=register, choke_mm=choke, trap_mm=trap),
        beyond_screen=beyond_screen,
        places=places,  # type: ignore[arg-type]
        width_mm=print_width,
        top_mm=print_top,
    )
    result = write_previews(
        artwork,
        shop=shop,
        garment=shop.garment(garment),
        out=out_folder(out),
        mapping=mapping,
        viewing=viewing_of(light, observer),
        views=views,
        progress=lambda words: click.echo(words, err=True),
    )
    if as_json:
        emit_json(preview_document(result))
    else:
        click.echo(preview_text(result))


@main.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("previews"),
    show_default=True,
    help="Folder for the pictures.",
)
@SHOP_OPTION
@JSON_OPTION
@plainly
def demo(out: Path, shop_folder: Path | None, as_json: bool) -> None:
    """Run the whole job on the demo shop: decisions, previews, and where to go next."""
    from inksim.preview import row_document, run_demo
    from inksim.reports import advice_document, demo_text, emit_json, preview_document

    shop = load(shop_folder)
    result = run_demo(shop, out=out_folder(out), progress=lambda words: click.echo(words, err=True))
    if as_json:
        emit_json(
            {
                "decisions": [row_document(row, advice_document) for row in result.rows],
                "previews": [preview_document(p) for p in result.previews],
            }
        )
    else:
        click.echo(demo_text(result))


@main.command()
@click.option("--port", type=click.IntRange(1024, 65535), default=8501, show_default=True)
@click.option("--browser/--no-browser", default=True, help="Open the page in your browser.")
@SHOP_OPTION
@plainly
def app(port: int, browser: bool, shop_folder: Path | None) -> None:
    """Open the app in your browser, served on this machine only."""
    from inksim.launch import serve

    load(shop_folder)  # faults are said here, not on a page
    sys.exit(serve(port=port, browser=browser, shop_folder=shop_folder))


for topic in TOPICS:
    for topical in topic.COMMANDS:
        main.add_command(topical)


if __name__ == "__main__":
    main()
