"""Commands `separate` and `look`, for tonal artwork."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.options import (
    CHOKE_AND_TRAP,
    VIEWING_OPTIONS,
    Light,
    load,
    out_folder,
    plainly,
    say,
    viewing_of,
)
from inksim.cli.values import ANGLES, Number
from inksim.common import InputError, tell

if TYPE_CHECKING:
    from inksim.printing import Route
    from inksim.shop import Shop
    from inksim.stock import Ink

BASES: dict[str, Route | None] = {
    "auto": None,
    "none": "straight",
    "white": "white-base",
    "discharge": "discharge-base",
}
INKS_METAVAR = "NAME[,NAME…]"
LINES_OPTION = click.option(
    "--lines",
    type=Number(),
    default=45.0,
    show_default=True,
    help="Halftone lines per inch; 35 to 55 is usual.",
)


def _inks(shop: Shop, words: tuple[str, ...]) -> list[Ink]:
    """Inks by name, given one by one or with commas between."""
    names = [name.strip() for word in words for name in word.split(",")]
    return [shop.ink(name) for name in names if name]


@click.command("separate")
@click.argument("artwork", type=click.Path(path_type=Path))
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option(
    "--inks", "--ink", "inks", multiple=True, metavar=INKS_METAVAR,
    help="Inks in print order; chosen by the predicted print if not given.",
)  # fmt: skip
@click.option(
    "--base", type=click.Choice(list(BASES)), default="auto", show_default=True,
    help="What lies under the colors.",
)  # fmt: skip
@click.option("--most-inks", type=click.IntRange(1, 6), default=6, show_default=True,
              help="How many inks may be chosen.")  # fmt: skip
@LINES_OPTION
@CHOKE_AND_TRAP
@click.option("--register", type=Number(), default=0.0, show_default=True,
              help="Register error in mm to show in the picture at full size.")  # fmt: skip
@click.option("--format", "kind", type=click.Choice(["png", "tiff"]), default="png",
              show_default=True, help="Kind of file of the gray plates.")  # fmt: skip
@click.option("--screen-dpi", type=Number(), default=None,
              help="Also screen the plates to dots, as 1-bit TIFF of so many dpi.")  # fmt: skip
@click.option("--dot", type=click.Choice(["round", "elliptical"]), default="round",
              show_default=True, help="Shape of the dots.")  # fmt: skip
@click.option("--angles", type=ANGLES, default=None, metavar="DEG[,DEG…]",
              help="Angle of each plate, in print order; 15° apart if not given.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path), default=Path("plates"), show_default=True,
              help="Folder for plates and pictures.")  # fmt: skip
@VIEWING_OPTIONS
@plainly
def separate_command(
    *, artwork: Path, garment: str, inks: tuple[str, ...], base: str, most_inks: int, lines: float,
    choke: float, trap: float, register: float, kind: str, screen_dpi: float | None, dot: str,
    angles: tuple[float, ...] | None, out: Path, light: Light, observer: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Separate a picture into plates whose predicted print comes closest to it.

    Writes a plate for every ink and the base, a picture of the print, a map of what is out of
    reach, and a sheet of it all. A plate is black where it prints; the growth of dots is taken
    out of it. Flat artwork is decided color by color, as by 'preview', and its plates are solid;
    name inks or a base to print it in halftones.
    """
    from inksim.preview import REACH_HEAD, SeparationRequest, reach_row, write_separation
    from inksim.printing import honest_words
    from inksim.reports import (
        PLATE_HEAD,
        emit_json,
        headline,
        plate_rows,
        separation_lines,
        table,
    )
    from inksim.separation import Misfit

    shop = load(shop_folder)
    cloth = shop.garment(garment)
    wanted = SeparationRequest(
        inks=_inks(shop, inks) or None,
        route=BASES[base],
        most_inks=most_inks,
        lines_per_inch=lines,
        misfit=Misfit(register_mm=register, choke_mm=choke, trap_mm=trap),
        kind=kind,
        screening=_screening(screen_dpi, lines=lines, dot=dot, angles=angles),
    )
    result = write_separation(
        artwork,
        shop=shop,
        garment=cloth,
        out=out_folder(out),
        wanted=wanted,
        viewing=viewing_of(light, observer),
        progress=say,
    )
    if as_json:
        emit_json(result)
        return
    tell(f"{result.artwork} on {result.garment.name}, {viewing_of(light, observer)}\n")
    if result.reach is not None:
        tell(table(REACH_HEAD, [reach_row(result.route, result.reach)]))
    if result.found is not None:
        tell(headline(result.found.decided.found))
    tell("\n" + table(PLATE_HEAD, plate_rows(result)) + "\n")
    tell("\n".join(separation_lines(result)))
    tell(f"\n{honest_words(result.data, calibrated=shop.press.calibrated)}")


def _screening(
    dpi: float | None, *, lines: float, dot: str, angles: tuple[float, ...] | None
) -> Any:
    """How plates are screened, or None where they are not."""
    from inksim.separation import ANGLES as USUAL_ANGLES, Screening

    if dpi is None:
        if angles is not None or dot != "round":
            raise InputError("--angles and --dot say how plates are screened; give --screen-dpi.")
        return None
    turned = USUAL_ANGLES if angles is None else angles
    return Screening(lines_per_inch=lines, dpi=dpi, shape=dot, angles=turned)  # type: ignore[arg-type]


@click.command("look")
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option(
    "--ink",
    "--inks",
    "inks",
    required=True,
    multiple=True,
    metavar=INKS_METAVAR,
    help="Inks in print order.",
)
@click.option(
    "--base", type=click.Choice([name for name in BASES if name != "auto"]), default="none",
    show_default=True, help="What lies under the colors.",
)  # fmt: skip
@LINES_OPTION
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="FILE",
              help="File to write: its name ends in .cube, .icc or .icm.")  # fmt: skip
@VIEWING_OPTIONS
@plainly
def look_command(
    *, garment: str, inks: tuple[str, ...], base: str, lines: float, out: Path, light: Light,
    observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the look of a print as a .cube table or an ICC profile, for a picture editor.

    The profile is for soft proofs of sRGB pictures: absolute colorimetric, or 'simulate paper'.
    Under other intents many editors show white as the screen's white, all else alike.
    """
    from inksim.preview import look_table
    from inksim.reports import emit_json
    from inksim.separation import check_ending, look_words, write_look

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    cloth = shop.garment(garment)
    check_ending(out)
    named = _inks(shop, inks)
    route = BASES[base]
    if not named or route is None:
        raise InputError("name at least one ink with --ink.")
    made = look_table(
        shop=shop,
        garment=cloth,
        inks=named,
        route=route,
        lines_per_inch=lines,
        viewing=viewing,
    )
    path, words = write_look(made, out), look_words(made.tonal)
    if as_json:
        emit_json({"look": words, "conditions": viewing, "file": path})
        return
    tell(f"{words}, {viewing}: {path}")


COMMANDS = (separate_command, look_command)
