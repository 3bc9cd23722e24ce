"""Command `characterize`: inks of a shop from drawdowns."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from inksim.cli.options import (
    JSON_OPTION,
    SHOP_OPTION,
    plainly,
    say,
    today,
    told_next,
    warned_of_demo,
)
from inksim.cli.values import Number
from inksim.common import InputError, slug, tell
from inksim.readings import format_names

if TYPE_CHECKING:
    from inksim.drawdowns import Characterisation, Drawdowns
    from inksim.shop import Shop
    from inksim.stock import Ink

T = TypeVar("T")
SECONDS = 2.0
HELP = f"""Find inks' K and S from drawdowns, and put them into a shop.

FILES are readings ({format_names()}) with a row for each film and for each bare part of the card.
Beside the spectrum a row has

\b
  ink           an ink's name, or a recipe such as 'Ember 10 % + Chalk 90 %'
                (parts of dry volume; with g: grams of wet ink); a row without
                one is a bare card. Or a column for each ink, 'ink: Ember' in
                parts of dry volume, 'mass: Ember' in grams.
  backing       black, white, or what a bare card's row is called
  thickness_um  dry film, where it is known
  film          rows with the same word are one film (optional)

All inks of the files are fitted at once, with their errors. Printed is how far the fit is from each
drawdown, and how far from recipes that were left out of it; warnings say what the drawdowns leave
open and what to add. A sheet that contradicts itself is not saved: the film to read again is named.
The inks are saved whole or not at all, and 'inksim undo' takes them back. See docs/readings.md for
examples.

Example: inksim characterize films.csv --solids 0.34 --price Ember=31 --shop my-shop
"""


@click.command("characterize", help=HELP, short_help="Find inks' K and S from drawdowns.")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="INK",
    help="An ink of the files to put into the shop; all if not given. For files of one ink: its "
    "name in the shop.",
)
@click.option(
    "--thickness",
    type=Number(0, min_open=True),
    default=None,
    metavar="UM",
    help="Dry film, µm, of drawdowns that do not state theirs.",
)
@click.option(
    "--wet-film",
    type=Number(0, min_open=True),
    default=None,
    metavar="UM",
    help="Their wet film instead; the dry one follows from the solids.",
)
@click.option(
    "--solids",
    multiple=True,
    metavar="[INK=]SHARE",
    help="Dry volume that one volume of wet ink leaves; of all inks, or of one.",
)
@click.option("--density", multiple=True, metavar="[INK=]G/CM3", help="Density of the wet ink.")
@click.option(
    "--price",
    "prices",
    multiple=True,
    metavar="[INK=]PER KG",
    help="Price of the wet ink; costs leave an ink out whose price is not known.",
)
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    metavar="[INK=]KIND",
    help="color (if not given), white-base, discharge-base or clear-base.",
)
@click.option(
    "--geometry",
    type=click.Choice(["45:0", "d:8-sce", "d:8-sci"]),
    default=None,
    help="Geometry of the readings, where the files do not say it.",
)
@click.option(
    "--scale",
    type=click.Choice(["percent", "factor"]),
    default=None,
    help="Scale of a file that could be either.",
)
@click.option(
    "--smooth",
    is_flag=True,
    help="Let K and S change only gently from one band to the next: for noisy readings.",
)
@click.option(
    "--chart",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE.svg",
    help="Where to draw measured against fitted; in the shop's charts/ if not given.",
)
@click.option(
    "--replace",
    is_flag=True,
    help="Give inks the shop has already the new K and S; the rest of them stays.",
)
@click.option(
    "--anyway",
    is_flag=True,
    help="Save the inks although a film should be read again; their errors are taken wider.",
)
@click.option("--dry-run", is_flag=True, help="Only fit and show.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def characterise_command(
    *, files: tuple[Path, ...], names: tuple[str, ...], thickness: float | None,
    wet_film: float | None, solids: tuple[str, ...], density: tuple[str, ...],
    prices: tuple[str, ...], kinds: tuple[str, ...], geometry: str | None, scale: str | None,
    smooth: bool, chart: Path | None, replace: bool, anyway: bool, dry_run: bool,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Fit K and S of a sheet's inks, show how well, and write them to the shop."""
    from inksim.common import write_whole
    from inksim.drawdowns import (
        CHARTS,
        MILD_SMOOTHNESS_SD,
        chart_of,
        fit_sheet,
        inks_drafted,
        read_drawdowns,
    )
    from inksim.shop import check, editable_folder, load_shop, open_draft, save

    folder = None if dry_run else editable_folder(shop_folder)
    shop = load_shop(shop_folder)
    sheet = read_drawdowns(
        files, ink=names[0] if len(names) == 1 else None, geometry=geometry, scale=scale
    )
    called = _called(sheet, names)
    stated: dict[str, dict[str, Any]] = {
        "solids_by_volume": _each(solids, sheet, _positive, what="solids"),
        "density_g_cm3": _each(density, sheet, _positive, what="density"),
        "price_per_kg": _each(prices, sheet, _positive, what="price"),
        "kind": _each(kinds, sheet, _kind, what="kind"),
    }
    if folder is not None:
        _check_before(called, shop, stated["solids_by_volume"], replace=replace)
    own = _of_shop(sheet, called, shop)
    fitted = fit_sheet(
        sheet,
        densities={k: ink.density_g_cm3 for k, ink in own.items()} | stated["density_g_cm3"],
        solids={k: ink.solids_by_volume for k, ink in own.items()} | stated["solids_by_volume"],
        thickness_um=thickness,
        wet_film_um=wet_film,
        smoothness_sd=MILD_SMOOTHNESS_SD if smooth else None,
        step=_patient(),
    )
    draft = None
    if folder is not None:
        if not (anyway or fitted.check is None or fitted.check.is_good):
            # what is refused next is shown first
            _say(fitted, sheet, called, saved=None, chart=None, as_json=as_json)
        draft = inks_drafted(
            open_draft(warned_of_demo(folder), "ink"), fitted, called, sheet=sheet, shop=shop,
            stated=stated, date=today(), anyway=anyway,
        )  # fmt: skip
        check(draft)
        if chart is None:
            (folder / CHARTS).mkdir(exist_ok=True)
            chart = folder / CHARTS / f"{slug('-'.join(called.values()))[:60]}.svg"
    if chart is not None:  # before the save, so that a chart that cannot be written stops it
        write_whole(chart, chart_of(fitted, list(called)).encode("utf-8"))
    saved = None if draft is None else save(draft)
    if folder is not None:
        told_next(folder)
    unstated = [] if saved is None else _unstated(called, shop, stated)
    _say(fitted, sheet, called, saved=saved, chart=chart, as_json=as_json, more=unstated)


other_spelling = click.Command(
    "characterise",
    params=characterise_command.params,
    callback=characterise_command.callback,
    help=HELP,
    hidden=True,
)
COMMANDS: Sequence[click.Command] = (characterise_command, other_spelling)


def _patient() -> Callable[[int, int, str], None]:
    """Tell of a large sheet how far it is, every few seconds."""
    from time import monotonic

    told = [monotonic()]

    def step(done: int, of: int, _name: str) -> None:
        if monotonic() - told[0] > SECONDS:
            told[0] = monotonic()
            say(f"leaving out one recipe at a time: {done} of {of} …")

    return step


def _called(sheet: Drawdowns, names: Sequence[str]) -> dict[str, str]:
    """Inks of the sheet to write, each with its name in the shop."""
    from inksim.common import unknown

    if not names:
        return {ink: ink for ink in sheet.inks}
    known = {ink.lower(): ink for ink in sheet.inks}
    if len(names) == 1 and len(known) == 1 and names[0].lower() not in known:
        return {sheet.inks[0]: names[0]}
    for name in names:
        if name.lower() not in known:
            raise unknown(name, sheet.inks, what="ink", where=f"in {', '.join(sheet.sources)}")
    return {known[name.lower()]: known[name.lower()] for name in names}


def _of_shop(sheet: Drawdowns, called: Mapping[str, str], shop: Shop) -> dict[str, Ink]:
    """Inks of the sheet that the shop has."""
    owned = {name.lower(): ink for name, ink in shop.inks.items()}
    names = {ink: called.get(ink, ink).lower() for ink in sheet.inks}
    return {ink: owned[name] for ink, name in names.items() if name in owned}


def _each(
    words: Sequence[str], sheet: Drawdowns, read: Callable[[str, str], T], *, what: str
) -> dict[str, T]:
    """Parse 'INK=value', or 'value' for all inks, to values by ink."""
    from inksim.common import unknown

    found: dict[str, T] = {}
    for word in sorted(words, key=lambda each: "=" in each):  # what is said of one ink wins
        ink, mark, value = word.rpartition("=")
        if not mark:
            found.update({each: read(value, what) for each in sheet.inks})
            continue
        known = [each for each in sheet.inks if each.lower() == ink.strip().lower()]
        if not known:
            raise unknown(ink, sheet.inks, what="ink", where=f"in {', '.join(sheet.sources)}")
        found[known[0]] = read(value, what)
    return found


def _positive(text: str, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not value > 0:
        raise InputError(f"--{what}: '{text}' is no number above 0.")
    return value


def _kind(text: str, _what: str) -> str:
    from inksim.stock import INK_KINDS

    kind = "color" if text == "colour" else text
    if kind not in INK_KINDS:
        raise InputError(f"--kind: '{text}' is none of {', '.join(INK_KINDS)}.")
    return kind


def _check_before(
    called: Mapping[str, str], shop: Shop, solids: Mapping[str, float], *, replace: bool
) -> None:
    """Say what stands in the way of saving before any work."""
    there = {name.lower() for name in shop.inks}
    for ink, name in called.items():
        if name.lower() in there and not replace:
            raise InputError(
                f"the shop already has the ink '{name}'; give --replace to give it the new K and "
                "S, or name those to write with --name."
            )
        if name.lower() not in there and ink not in solids:
            raise InputError(
                f"the shop's files need the solids of '{name}'; give --solids '{ink}=…', the dry "
                "volume that one volume of wet ink leaves, such as 0.34."
            )


def _unstated(
    called: Mapping[str, str], shop: Shop, stated: Mapping[str, Mapping[str, Any]]
) -> list[str]:
    """What was taken of new inks that nobody stated, with the option that states it."""
    owned = {name.lower() for name in shop.inks}
    taken = {
        "kind": "taken as an ink of a color; --kind says otherwise",
        "price_per_kg": "price not known, left out of costs; --price states it",
        "density_g_cm3": "density taken as usual; --density states it",
    }
    return [
        f"{name}: {words}"
        for ink, name in called.items()
        if name.lower() not in owned
        for field, words in taken.items()
        if ink not in stated[field]
    ]


def _say(
    fitted: Characterisation, sheet: Drawdowns, called: Mapping[str, str], *,
    saved: Path | None, chart: Path | None, as_json: bool, more: Sequence[str] = (),
) -> None:  # fmt: skip
    from inksim.reports import document, drawdowns_text, emit_json

    notes = [*sheet.notes, *more]
    if sheet.geometry is None:
        notes.append("geometry not stated: taken as 45:0 or specular excluded")
    warnings = [*sheet.warnings, *fitted.warnings]
    for words in notes:
        tell(f"note: {words}", err=True)
    if as_json:
        inks = {name: fitted.inks[ink] for ink, name in called.items()}
        said = {"notes": notes, "warnings": warnings, "written": saved}
        emit_json({**document(fitted), "inks": inks, **said})
        return
    tell(drawdowns_text(fitted))
    for words in warnings:
        tell(f"warning: {words}", err=True)
    if saved is not None:
        listed = ", ".join(f"'{name}'" for name in called.values())
        tell(f"Written to {saved}: {listed}. 'inksim undo' takes them back.")
    if chart is not None:
        tell(f"Measured against fitted: {chart}")
