"""The color of a new entry, as the options of `add` give it: a reading, Lab, XYZ or hex code."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from inksim.cli.options import JSON_OPTION, SHOP_OPTION, today, together, viewing_of
from inksim.cli.values import CIE_LIGHT
from inksim.common import InputError
from inksim.readings import format_names

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.shop import KnownColour

COLOUR_OPTIONS = together(
    click.option("--name", required=True, help="Name of the entry."),
    click.option(
        "--from", "references", multiple=True, metavar="FILE[#SAMPLE]",
        help=f"A reading: {format_names()} file, and the sample's name or number in it. Samples "
        "of one name, or --from given again, are repeats: their mean is taken.",
    ),
    click.option("--lab", metavar="L,a,b", help="CIELAB, for --light and --observer."),
    click.option("--xyz", metavar="X,Y,Z", help="XYZ, white Y = 100, for --light and --observer."),
    click.option("--hex", "code", metavar="#rrggbb", help="sRGB code."),
    click.option(
        "--light", type=CIE_LIGHT, default=None,
        help="CIE light of a Lab or XYZ; D50 where nothing states it.",
    ),
    click.option(
        "--observer", type=click.Choice(["2", "10"]), default=None, help="Its observer; else 2."
    ),
    click.option(
        "--geometry", type=click.Choice(["45:0", "d:8-sce", "d:8-sci"]), default=None,
        help="Geometry of a reading whose file does not say it.",
    ),
    click.option(
        "--m-condition", type=click.Choice(["M0", "M1", "M2", "M3"]), default=None,
        help="ISO 13655 condition of a reading whose file does not say it.",
    ),
    click.option(
        "--scale", type=click.Choice(["percent", "factor"]), default=None,
        help="Scale of a file that could be either.",
    ),
    click.option("--invented", is_flag=True, help="Say of the entry that its color is made up."),
    click.option("--note", default=None, help="Anything to remember."),
    click.option(
        "--replace", is_flag=True,
        help="Give the entry of this name the new color; what is not stated anew stays.",
    ),
    SHOP_OPTION,
    JSON_OPTION,
)  # fmt: skip


def entry_colour(common: dict[str, Any]) -> KnownColour:
    """The color that the options give, exactly once."""
    from inksim.shop import colour_from_hex, colour_from_lab, colour_from_xyz, editable_folder

    editable_folder(common["shop_folder"])  # before any work
    _viewing(common)  # a light that is none is told even where the color needs none
    given = [name for name in ("references", "lab", "xyz", "code") if common[name]]
    if len(given) != 1:
        raise InputError(
            "give the color once: --from FILE#sample, or --lab, or --xyz, or --hex"
            + (f"; there are {len(given)}." if given else ".")
        )
    if common["references"]:
        colour = read_colour(*common["references"], common=common)
    elif common["code"]:
        colour = colour_from_hex(common["code"], source=f"entered as {common['code']}; {today()}")
    else:
        kind = "lab" if common["lab"] else "xyz"
        make = colour_from_lab if kind == "lab" else colour_from_xyz
        word = "Lab" if kind == "lab" else "XYZ"
        viewing = _viewing(common)
        colour = make(
            _three(common[kind], word),
            viewing=viewing,
            source=f"entered as {word} {common[kind]} ({viewing}); {today()}",
            where=f"'{common['name']}'",
        )
    if common["invented"]:
        from dataclasses import replace

        colour = replace(colour, data="invented")
    return colour


def further_colour(text: str, common: dict[str, Any]) -> KnownColour:
    """A further color in one word: a hex code, a Lab for the light of the options, or a reading."""
    from inksim.shop import colour_from_hex, colour_from_lab
    from inksim.stock import parse_target

    target = parse_target(text)
    if target is None:
        return read_colour(text, common=common)
    if "," not in text and len(text.split()) == 1:
        return colour_from_hex(text, source=text)
    return colour_from_lab(_three(text, "Lab"), viewing=_viewing(common), source=text)


def read_colour(*references: str, common: dict[str, Any]) -> KnownColour:
    """The mean color of some readings, FILE#SAMPLE each, read as the other options say."""
    from inksim.shop import colour_from_readings

    observer = common["observer"]
    return colour_from_readings(
        references,
        date=today(),
        geometry=common["geometry"],
        m_condition=common["m_condition"],
        scale=common["scale"],
        light=common["light"],
        observer=None if observer is None else int(observer),
    )


def _viewing(common: dict[str, Any]) -> Viewing:
    light = "D50" if common["light"] is None else common["light"]
    return viewing_of(light, common["observer"] or "2")


def _three(text: str, word: str) -> tuple[float, float, float]:
    pieces = text.replace(",", " ").replace(";", " ").split()
    try:
        first, second, third = (float(piece) for piece in pieces)
    except ValueError:
        raise InputError(f"'{text}' is no {word}; give three numbers, as 52,40,30.") from None
    return first, second, third
