"""Command `add`: a garment, cloth, target or ink for a shop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.entry_colour import COLOUR_OPTIONS, entry_colour, further_colour, read_colour
from inksim.cli.options import plainly, told_next, warned_of_demo
from inksim.cli.values import Number
from inksim.common import InputError, tell

if TYPE_CHECKING:
    from inksim.shop import Draft, KnownColour

LOOK = ("reflectance", "lab", "hex", "K", "S", "error", "directness", "film_um", "over_black",
        "data", "source", "sd_de00", "shared_de00", "picture")  # fmt: skip
"""Fields of an old entry that a new color replaces."""
HOW_OPAQUE = "say it with --over-black, --contrast-ratio or --covers"
ATTEMPTS = 20
"""At adding an entry while other programs change the same file."""


@click.group("add")
def add_group() -> None:
    """Add a garment, cloth, target, ink or screen to a shop; a color as reading, Lab, XYZ or hex.

    The entry goes into the shop's text file with where it comes from; nothing is saved half, and
    'inksim undo' takes the last change back. A color without a spectrum is marked 'recovered',
    one read by photo 'photo', with its noise.

    Example: inksim add target --name "Door Red" --hex "#b3202a" --shop my-shop
    """


@add_group.command("garment")
@COLOUR_OPTIONS
@click.option(
    "--fibers",
    "fibres",
    multiple=True,
    metavar="FIBER=SHARE,…",
    help="Such as cotton=0.5,polyester=0.5.",
)
@click.option(
    "--undyed",
    default=None,
    metavar="CLOTH|FILE#SAMPLE",
    help="The same cloth before dyeing: a cloth of the shop, or a reading to add as one.",
)
@click.option(
    "--discharged",
    default=None,
    metavar="CLOTH|FILE#SAMPLE",
    help="The same cloth after a full discharge: a cloth of the shop, or a reading.",
)
@click.option(
    "--discharge-grade",
    type=click.IntRange(1, 5),
    default=None,
    help="How far its dye discharges: 1 not at all, 5 fully.",
)
@click.option("--weight", type=Number(), default=None, metavar="G/M2", help="Weight in g/m².")
@plainly
def add_garment(
    *, fibres: tuple[str, ...], undyed: str | None, discharged: str | None,
    discharge_grade: int | None, weight: float | None, **common: Any,
) -> None:  # fmt: skip
    """Add a garment: its color, its fibers, and how its dye discharges.

    Example: inksim add garment --name Fern --hex "#5b7a5e" --fibers cotton=1.0 --shop my-shop
    """
    from inksim.shop import garment_entry, parse_fibres

    colour = entry_colour(common)
    if not fibres and not common["replace"]:
        raise InputError("a garment needs its fibers; give --fibers cotton=1.0 or the like.")
    cloths, names = [], {}
    for use, given in (("undyed", undyed), ("discharged", discharged)):
        names[use] = given
        if given is not None and "#" in given:
            names[use] = f"{common['name']}, {use}"
            cloths.append({"name": names[use], **read_colour(given, common=common).fields()})
    entry = garment_entry(
        colour,
        name=common["name"],
        fibers=parse_fibres(fibres) if fibres else {},
        discharge_grade=discharge_grade,
        weight_g_m2=weight,
        note=common["note"],
        **names,
    )
    if not fibres:
        del entry["fibers"]
    _save("garment", entry, colour, common, cloths=cloths)


@add_group.command("cloth")
@COLOUR_OPTIONS
@plainly
def add_cloth(**common: Any) -> None:
    """Add an undyed or discharged cloth that garments refer to.

    Example: inksim add cloth --name "raw cotton" --from cloths.csv#raw --shop my-shop
    """
    colour = entry_colour(common)
    entry = {"name": common["name"], "note": common["note"], **colour.fields()}
    _save("cloth", entry, colour, common)


@add_group.command("target")
@COLOUR_OPTIONS
@click.option("--palette", is_flag=True, help="Into the palette instead of the targets.")
@plainly
def add_target(*, palette: bool, **common: Any) -> None:
    """Add a color that a client asks for.

    Example: inksim add target --name "Door Red" --lab 45,52,31 --shop my-shop
    """
    colour = entry_colour(common)
    fields = colour.fields()
    if colour.lab is not None and not common["invented"]:
        fields["data"] = "measured"  # a target is its Lab; nothing had to be recovered
    entry = {"name": common["name"], "note": common["note"], **fields}
    _save("palette" if palette else "target", entry, colour, common)


@add_group.command("ink")
@COLOUR_OPTIONS
@click.option(
    "--kind",
    type=click.Choice(["color", "white-base", "discharge-base", "clear-base"]),
    default="color",
    show_default=True,
)
@click.option(
    "--covers",
    type=click.Choice(["black", "half", "clear"]),
    default=None,
    help="How one film of it covers: black, half of it, or not (clear).",
)
@click.option(
    "--contrast-ratio",
    type=Number(),
    default=None,
    metavar="RATIO",
    help="Instead: Y over black / Y over white of a film, 0 to 1, as a data sheet says it.",
)
@click.option(
    "--contrast-film",
    type=Number(),
    default=None,
    metavar="UM",
    help="Dry film of that ratio, µm; the film of --film if not given.",
)
@click.option(
    "--over-black",
    default=None,
    metavar="#rrggbb|L,a,b|FILE#SAMPLE",
    help="Instead: how the same film looks over black.",
)
@click.option(
    "--film",
    type=Number(),
    default=None,
    metavar="UM",
    help="Dry film, µm, that shows the color over white; 6 (a white base: 12) if not given.",
)
@click.option(
    "--solids",
    type=Number(),
    default=None,
    metavar="SHARE",
    help="Dry volume that one volume of wet ink leaves, 0 to 1.",
)
@click.option(
    "--solids-by-weight",
    type=Number(),
    default=None,
    metavar="SHARE",
    help="Instead: dry weight of the wet ink's, 0 to 1; give --density with it.",
)
@click.option("--density", type=Number(), default=None, metavar="G/CM3", help="Of the wet ink.")
@click.option(
    "--dry-density",
    type=Number(),
    default=None,
    metavar="G/CM3",
    help="Of the dry film, for --solids-by-weight.",
)
@click.option(
    "--volatile-density",
    type=Number(),
    default=None,
    metavar="G/CM3",
    help="Of what evaporates, where the dry film's is not known; 1, as water, if not given.",
)
@click.option("--finest", type=Number(), default=None, metavar="THREADS/INCH", help="Finest mesh.")
@click.option(
    "--coarsest", type=Number(), default=None, metavar="THREADS/INCH", help="Coarsest mesh."
)
@click.option("--max-passes", type=click.IntRange(1, 4), default=None, help="Most print strokes.")
@click.option("--price", type=Number(), default=None, metavar="PER KG", help="Price per kg.")
@click.option(
    "--blocks-dye",
    is_flag=True,
    default=None,
    help="A white that keeps the dye of polyester out of the print.",
)
@click.option("--cure", type=Number(), default=None, metavar="CELSIUS", help="Cure of the film.")
@click.option("--cure-time", type=Number(), default=None, metavar="S", help="Time at the cure.")
@click.option(
    "--additive",
    type=Number(),
    default=None,
    metavar="SHARE",
    help="Activator or low-cure additive, by weight of the ink, 0 to 1.",
)
@click.option("--additive-price", type=Number(), default=None, metavar="PER KG", help="Its price.")
@click.option(
    "--pot-life", type=Number(), default=None, metavar="HOURS", help="How long the mixture keeps."
)
@click.option(
    "--most-in-mix",
    type=Number(),
    default=None,
    metavar="SHARE",
    help="A concentrate of pigment: its most in a mix, by weight, 0 to 1.",
)
@click.option(
    "--stands-discharge/--fades-in-discharge",
    default=None,
    help="Whether it stands an active discharge, wet with it; it does if not given.",
)
@plainly
def add_ink(
    *, kind: str, covers: str | None, contrast_ratio: float | None, contrast_film: float | None,
    over_black: str | None, film: float | None, solids: float | None,
    solids_by_weight: float | None, density: float | None, dry_density: float | None,
    volatile_density: float | None, finest: float | None, coarsest: float | None,
    max_passes: int | None, price: float | None, blocks_dye: bool | None, cure: float | None,
    cure_time: float | None, additive: float | None, additive_price: float | None,
    pot_life: float | None, most_in_mix: float | None, stands_discharge: bool | None,
    **common: Any,
) -> None:  # fmt: skip
    """Add an ink known only by how a film of it looks over white, and how far it covers.

    An opacity and solids that are not given are assumed by the kind of ink, which makes
    predictions less sure. Films read by photo over white and black (--over-black) go in here, with
    their noise. Where you have drawdowns over black and over white, use 'inksim characterize'.

    Example: inksim add ink --name Brick --hex "#b5452f" --covers half --shop my-shop
    """
    from inksim.shop import ink_entry_from_look

    entry = ink_entry_from_look(
        colour := entry_colour(common),
        over_black=None if over_black is None else further_colour(over_black, common),
        name=common["name"],
        kind=kind,
        covers=covers,
        contrast_ratio=contrast_ratio,
        contrast_film_um=contrast_film,
        film_um=film,
        solids_by_volume=solids,
        solids_by_weight=solids_by_weight,
        density_g_cm3=density,
        dry_density_g_cm3=dry_density,
        volatile_density_g_cm3=volatile_density,
        finest_threads_per_inch=finest,
        coarsest_threads_per_inch=coarsest,
        max_passes=max_passes,
        price_per_kg=price,
        blocks_dye=blocks_dye,
        cure_celsius=cure,
        cure_seconds=cure_time,
        additive_share=additive,
        additive_price_per_kg=additive_price,
        pot_life_hours=pot_life,
        most_in_mix=most_in_mix,
        stands_discharge=stands_discharge,
        note=common["note"],
    )
    _save("ink", entry, colour, common)


COMMANDS: Sequence[click.Command] = (add_group,)


def added(
    kind: str,
    entry: dict[str, Any],
    *,
    shop_folder: Path | None,
    replace: bool,
    gone: Callable[[dict[str, Any]], set[str]],
    others: Sequence[tuple[str, dict[str, Any]]] = (),
) -> tuple[Path, dict[str, Any]]:
    """Write an entry, and others that it refers to, in one save: the file, and what was written.

    replace: change the entry of this name; what is not stated stays, but for the fields that
    `gone` names, given what is stated.
    """
    from inksim.shop import (
        ChangedMeanwhile,
        editable_folder,
        open_draft,
        save,
    )

    folder = warned_of_demo(editable_folder(shop_folder))
    for attempt in range(ATTEMPTS):
        draft = open_draft(folder, kind)
        for each, fields in others:
            draft = _new_in(draft, each, fields, replace=replace)
        if replace:
            old = _old_in(draft, kind, entry["name"])
            stated = {field: value for field, value in entry.items() if value is not None}
            kept = {field: value for field, value in old.items() if field not in gone(stated)}
            draft = draft.replace(kind, entry["name"], {**kept, **stated})
        else:
            draft = _new_in(draft, kind, entry, replace=False)
        try:
            path = save(draft)
            break
        except ChangedMeanwhile:  # somebody else added something: the same onto what is there now
            if attempt == ATTEMPTS - 1:
                raise
    told_next(folder)
    return path, draft.entry(kind, entry["name"])


def _old_in(draft: Draft, kind: str, name: str) -> dict[str, Any]:
    try:
        return draft.entry(kind, name)
    except InputError as error:
        raise InputError(f"{error} To add it, leave out --replace.") from None


def _new_in(draft: Draft, kind: str, entry: dict[str, Any], *, replace: bool) -> Draft:
    from inksim.shop import NameTaken

    try:
        return draft.add(kind, entry)
    except NameTaken as taken:
        if replace:
            return draft.replace(kind, entry["name"], entry)
        raise InputError(f"{taken.there}; give --replace to change it, or another name.") from None


def _save(
    kind: str,
    entry: dict[str, Any],
    colour: KnownColour,
    common: dict[str, Any],
    *,
    cloths: Sequence[dict[str, Any]] = (),
) -> None:
    """Write an entry, and the cloths it refers to, in one save; say what was written."""
    from inksim.reports import emit_json, look_text
    from inksim.shop import OPACITIES, SOLIDS, ink_assumptions

    def gone(stated: dict[str, Any]) -> set[str]:
        return {*LOOK, *(f for one in (OPACITIES, SOLIDS) if {*one} & {*stated} for f in one)}

    path, written = added(
        kind, entry, shop_folder=common["shop_folder"], replace=common["replace"], gone=gone,
        others=[("cloth", cloth) for cloth in cloths],
    )  # fmt: skip
    assumed = ink_assumptions(written) if kind == "ink" else ()
    notes = [*colour.notes, *assumed]
    for words in notes:
        how = f"; {HOW_OPAQUE}" if words.startswith("opacity") else ""
        tell(f"note: {words}{how}", err=True)
    for words in colour.warnings:
        tell(f"warning: {words}", err=True)
    if common["as_json"]:
        emit_json({"kind": kind, "file": str(path), "entry": written, "notes": notes,
                   "warnings": list(colour.warnings)})  # fmt: skip
    else:
        done = "Replaced" if common["replace"] else "Added"
        tell(f"{done} {kind} '{written['name']}' in {path}.")
        seen = colour.spectrum(where=f"'{written['name']}'")
        tell(f"  {look_text(seen)}")
        tell(f"  {written['data']}: {written['source']}")
