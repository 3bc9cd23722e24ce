"""Commands `shop`, `new`, `remove` and `undo`."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from inksim.cli.options import (
    BAD_INPUT,
    JSON_OPTION,
    SHOP_OPTION,
    load,
    plainly,
    told_next,
    warned_of_demo,
)
from inksim.common import InputError, counted, sentence, tell


@click.command("shop")
@click.option("--check", "checks", is_flag=True, help="Look through all its files instead.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def shop_command(checks: bool, shop_folder: Path | None, as_json: bool) -> None:
    """List the inks, garments and screens of a shop, or check all that its folder holds.

    A check tells every fault of shop, press, jobs, readings and proofs, names that lead nowhere,
    lots that no usable reading is of, and files that inksim never reads. It changes nothing; exit
    code 2 where there is a fault.

    \b
    inksim shop --shop my-shop
    inksim shop --check --shop my-shop
    """
    from inksim.reports import catalogue_text, emit_json
    from inksim.shop import catalogue, demo_shop_folder

    if checks:
        _checked(shop_folder or demo_shop_folder(), as_json=as_json)
        return
    shop = load(shop_folder)
    document = catalogue(shop)
    if as_json:
        emit_json(document)
    else:
        tell(catalogue_text(document))


def _checked(folder: Path, *, as_json: bool) -> None:
    """Tell what a look through a shop's folder finds."""
    from inksim.ledger import check_shop
    from inksim.reports import emit_json

    found = check_shop(folder)
    if as_json:
        emit_json(found)
    else:
        tell(f"{folder}: {counted(len(found.faults), 'fault')}")
        for words in (*found.faults, *(f"note: {note}" for note in found.notes)):
            tell(f"  {words}")
    if found.faults:
        sys.exit(BAD_INPUT)


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", default=None, help="Name of the shop.")
@click.option("--empty", is_flag=True, help="Without any entries, to fill from scratch.")
@JSON_OPTION
@plainly
def new_command(*, folder: Path, name: str | None, empty: bool, as_json: bool) -> None:
    """Make a shop of your own in FOLDER: a copy of the demo shop to change, or an empty one.

    Example: inksim new my-shop --name "Mill Lane Prints" --empty
    """
    from inksim.reports import emit_json
    from inksim.shop import load_shop, new_shop, next_step

    new_shop(folder, name=name, empty=empty)
    if as_json:
        emit_json({"folder": folder})
        return
    if empty:
        shop = load_shop(folder)
        tell(
            f"Made {folder}: no entries yet, a press of generic values, the trade's usual habits "
            f"and rules, no costs; 'inksim shop --shop {folder}' shows them, 'inksim set' changes "
            f"them. {next_step(shop)} Or fill it on a page, in three steps: 'inksim app --shop "
            f"{folder}'."
        )
        return
    tell(
        f"Made {folder}: the demo shop's invented entries to start from. Use it with "
        f"--shop {folder}; put in your own with 'inksim add', take out with 'inksim remove'."
    )


@click.command("remove")
@click.argument(
    "kind", type=click.Choice(["ink", "garment", "cloth", "screen", "target", "palette"])
)
@click.argument("name")
@click.option("--anyway", is_flag=True, help="Remove it although something uses it.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def remove_command(
    *, kind: str, name: str, anyway: bool, shop_folder: Path | None, as_json: bool
) -> None:
    """Remove an entry from a shop; what uses it is named first.

    Example: inksim remove ink Brick --shop my-shop
    """
    from inksim.ledger import uses_of
    from inksim.reports import emit_json
    from inksim.shop import editable_folder, open_draft, save

    folder = warned_of_demo(editable_folder(shop_folder))
    draft = open_draft(folder, kind)
    known = draft.entry(kind, name)["name"]
    uses = uses_of(folder, kind, known)
    if uses and not anyway:
        raise InputError(
            f"{kind} '{known}' is not removed: {'; '.join(uses)}. --anyway removes it all the same."
        )
    path = save(draft.remove(kind, known))
    if as_json:
        emit_json({"kind": kind, "name": known, "file": path, "uses": list(uses)})
        return
    tell(f"Removed {kind} '{known}' from {path}. 'inksim undo' brings it back.")
    told_next(folder)


@click.command("undo")
@click.argument("file", required=False, metavar="[FILE.toml]")
@click.option("--anyway", is_flag=True, help="Take back the last change, whoever made it.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def undo_command(
    *, file: str | None, anyway: bool, shop_folder: Path | None, as_json: bool
) -> None:
    """Take back your last change of a shop's files; once more, and it is there again.

    What somebody else changed last is named and left, unless you mean it.

    Example: inksim undo inks.toml --shop my-shop
    """
    from inksim.reports import emit_json
    from inksim.shop import editable_folder, undo

    folder = warned_of_demo(editable_folder(shop_folder))
    change = undo(folder, file, anyone=anyway)
    if as_json:
        files = [folder / each.file for each in (change, *change.also)]
        emit_json({"file": files[0], "also": files[1:], "undone": change.done, "by": change.by})
        return
    whose = "" if change.mine else f" It was of {change.whose}."
    where = " and ".join(str(folder / each.file) for each in (change, *change.also))
    tell(f"{sentence(f'{change.back} ({where})')}{whose}")
    told_next(folder)


COMMANDS: Sequence[click.Command] = (shop_command, new_command, remove_command, undo_command)
