"""Command `palette`: every color on every garment, and the gamut."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.options import (
    MISSES_TOLERANCE,
    TOLERANCE_OPTION,
    VIEWING_OPTIONS,
    Light,
    aside,
    load,
    plainly,
    viewing_of,
)
from inksim.common import InputError, counted, tell

if TYPE_CHECKING:
    from inksim.shop import Shop
    from inksim.stock import Garment, Target


@click.command("palette")
@click.option(
    "--palette",
    default=None,
    metavar="FILE|COLORS",
    help="A file of colors or readings, or colors separated by semicolons: names of the shop, "
    "#rrggbb, or L,a,b, in a file one a row; the shop's palette if not given.",
)
@click.option(
    "--garments",
    default=None,
    metavar="NAMES",
    help="Garments of the shop, separated by commas; all if not given.",
)
@TOLERANCE_OPTION
@click.option(
    "--gamut",
    "with_gamut",
    is_flag=True,
    help="Also what all mixtures of the shop's inks can reach on each garment.",
)
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Write a table for a spreadsheet.",
)
@click.option(
    "--png",
    "png_file",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Write a picture of true swatches.",
)
@click.option(
    "--pdf",
    "pdf_file",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Write the palette sheet (PDF/A-2B): every color on every garment, and the recipes.",
)
@VIEWING_OPTIONS
@plainly
def palette_command(
    *, palette: str | None, garments: str | None, tolerance: float | None, with_gamut: bool,
    csv_file: Path | None, png_file: Path | None, pdf_file: Path | None, light: Light,
    observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Show which colors survive on which garments: the build to print, ΔE with interval, verdict.

    For each color on each garment: the least work of those with about the best chance. For a color
    that no ink promises on any: the recipe that does better. Exit code 1 if a color is nominally
    inside the tolerance on no garment, mixed neither.
    """
    from inksim.decision import gamut, palette_on_stock
    from inksim.mixing import out_of_reach, palette_instead
    from inksim.reports import best_first, emit_json, palette_document, palette_text

    to_stderr = aside(csv_file, png_file, pdf_file, as_json=as_json)
    shop, viewing = load(shop_folder), viewing_of(light, observer)
    targets, cloths = _targets(shop, palette), _garments(shop, garments)
    wanted = shop.habits.tolerance_de00 if tolerance is None else tolerance
    columns = best_first(
        palette_on_stock(shop, targets=targets, garments=cloths, viewing=viewing, tolerance=wanted)
    )
    gamuts = (
        {cloth.name: gamut(shop, garment=cloth, viewing=viewing) for cloth in cloths}
        if with_gamut or png_file or pdf_file
        else {}
    )
    told = gamuts if with_gamut else {}
    mixed = palette_instead(shop, columns, viewing=viewing)
    if csv_file is not None:
        from inksim.common import write_whole
        from inksim.reports import matrix_csv

        csv_file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(csv_file, matrix_csv(columns, viewing=viewing).encode())
    if png_file is not None:
        from inksim.artwork import save_png
        from inksim.reports import matrix_picture, matrix_words

        title = f"{counted(len(targets), 'color')} on {counted(len(columns), 'garment')}"
        note, about = matrix_words(
            columns,
            title=title,
            tolerance=wanted,
            viewing=viewing,
            calibrated=shop.press.calibrated,
        )
        save_png(
            png_file,
            matrix_picture(columns, title=title, note=note, viewing=viewing, gamuts=gamuts),
            dpi=96,
            about=about,
        )
    if pdf_file is not None:
        from inksim.common import write_whole
        from inksim.reports import PaletteSheet, palette_pdf

        sheet = PaletteSheet(
            columns=columns,
            palette=_called(palette),
            shop=shop.name,
            tolerance=wanted,
            viewing=viewing,
            calibrated=shop.press.calibrated,
            made=date.today(),
            mixed=mixed,
            currency=shop.costs.currency,
            gamuts=gamuts,
        )
        pdf_file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(pdf_file, palette_pdf(sheet))
    if as_json:
        emit_json(
            palette_document(
                columns,
                tolerance=wanted,
                calibrated=shop.press.calibrated,
                gamuts=told,
                mixed=mixed,
            )
        )
    else:
        tell(
            palette_text(
                columns,
                tolerance=wanted,
                calibrated=shop.press.calibrated,
                gamuts=told,
                mixed=mixed,
                currency=shop.costs.currency,
            ),
            err=to_stderr,
        )
        for file in (csv_file, png_file, pdf_file):
            if file is not None:
                tell(f"written: {file}", err=to_stderr)
    if out_of_reach(columns, mixed):
        sys.exit(MISSES_TOLERANCE)


def _called(palette: str | None) -> str:
    """What the sheet calls the palette: a file by its name."""
    if palette is None:
        return "the shop's"
    return Path(palette).name if Path(palette).is_file() else "given"


def _targets(shop: Shop, text: str | None) -> list[Target]:
    """Colors of a file, of a list, or of the shop's palette."""
    from inksim.readings import MOST_BYTES, palette_from_file

    if text is None:
        found = list((shop.palette or shop.targets).values())
        if not found:
            raise InputError("the shop has no palette and no targets; give some with --palette.")
        return found
    path = Path(text)
    if path.is_file():
        with path.open("rb") as file:  # a device has no end
            data = file.read(MOST_BYTES + 1)
        return palette_from_file(data, name=path.name, look_up=shop.target)
    parts = [part.strip() for part in text.split(";") if part.strip()]
    if not parts:
        raise InputError("--palette is empty; give a file, or colors separated by semicolons.")
    if len(parts) == 1 and path.suffix:
        raise InputError(f"--palette: there is no file '{text}', and no color is called so.")
    targets = [shop.target(part) for part in parts]
    return list({target.name: target for target in targets}.values())


def _garments(shop: Shop, text: str | None) -> list[Garment]:
    if text is None:
        if not shop.garments:
            raise InputError("the shop has no garments; add one with 'inksim add garment'.")
        return list(shop.garments.values())
    names = [name.strip() for name in text.split(",") if name.strip()]
    if not names:
        raise InputError("--garments is empty; give names separated by commas.")
    return list({name.lower(): shop.garment(name) for name in names}.values())


COMMANDS: Sequence[click.Command] = (palette_command,)
