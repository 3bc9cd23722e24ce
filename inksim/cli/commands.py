"""Group of all commands, and `app`."""

from __future__ import annotations

from pathlib import Path

import click

from inksim import __version__
from inksim.cli import (
    add,
    batch,
    calibrate,
    decide,
    drawdowns,
    job,
    mix,
    numbers,
    opacity,
    palette,
    photo,
    predict,
    preview,
    proof,
    record,
    separate,
    shop as shop_commands,
)
from inksim.cli.entry import Commands
from inksim.cli.options import SHOP_OPTION, load, plainly
from inksim.common import InputError, tell

TOPICS = (
    shop_commands,
    add,
    numbers,
    photo,
    calibrate,
    drawdowns,
    predict,
    opacity,
    job,
    decide,
    mix,
    palette,
    preview,
    proof,
    record,
    separate,
    batch,
)
"""Modules of commands, each with its COMMANDS."""


def _licenses(context: click.Context, _: click.Parameter, asked: bool) -> None:
    if asked:
        from inksim.reports import licenses_text

        tell(licenses_text())
        context.exit()


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="inksim")
@click.option("--licenses", is_flag=True, is_eager=True, expose_value=False, callback=_licenses,
              help="List every package inksim rests on, with its license, and exit.")  # fmt: skip
def main() -> None:
    """Predict what a semi-transparent ink will look like printed on a colored garment."""


@main.command()
@click.option("--port", type=click.IntRange(1024, 65535), default=8501, show_default=True)
@click.option("--browser/--no-browser", default=True, help="Open the page in your browser.")
@click.option("--host", "hosts", multiple=True, metavar="NAME",
              help="Also answer to this name, that of a proxy; again for each.")  # fmt: skip
@SHOP_OPTION
@plainly
def app(port: int, browser: bool, hosts: tuple[str, ...], shop_folder: Path | None) -> None:
    """Open the app in your browser, served on this machine only.

    \b
    inksim app --shop my-shop
    inksim app --no-browser --host inks.example --shop my-shop
    """
    from inksim.launch import serve

    load(shop_folder)  # faults are said here, not on a page
    if serve(port=port, browser=browser, shop_folder=shop_folder, hosts=hosts):
        raise InputError(f"the app could not be served on port {port}; try another with --port.")


for topic in TOPICS:
    for topical in topic.COMMANDS:
        main.add_command(topical)
