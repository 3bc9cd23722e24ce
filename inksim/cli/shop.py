"""Commands `shop`, `new`, `remove` and `undo`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from inksim.cli.options import JSON_OPTION, SHOP_OPTION, load, plainly, warned_of_demo


@click.command("shop")
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


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--name", default=None, help="Name of the shop.")
@JSON_OPTION
@plainly
def new_command(folder: Path, name: str | None, as_json: bool) -> None:
    """Make a shop of your own in FOLDER: a copy of the demo shop, to change and fill."""
    from inksim.reports import emit_json
    from inksim.shop import new_shop

    new_shop(folder, name=name)
    if as_json:
        emit_json({"folder": folder})
        return
    click.echo(
        f"Made {folder}: the demo shop's invented entries to start from. Use it with "
        f"--shop {folder}; put in your own with 'inksim add', take out with 'inksim remove'."
    )


@click.command("remove")
@click.argument(
    "kind", type=click.Choice(["ink", "garment", "cloth", "screen", "target", "palette"])
)
@click.argument("name")
@SHOP_OPTION
@JSON_OPTION
@plainly
def remove_command(kind: str, name: str, shop_folder: Path | None, as_json: bool) -> None:
    """Remove an entry from a shop."""
    from inksim.reports import emit_json
    from inksim.shop import editable_folder, open_draft, save

    folder = warned_of_demo(editable_folder(shop_folder))
    draft = open_draft(folder, kind)
    known = draft.entry(kind, name)["name"]
    path = save(draft.remove(kind, name))
    if as_json:
        emit_json({"kind": kind, "name": known, "file": path})
        return
    click.echo(f"Removed {kind} '{known}' from {path}. 'inksim undo' brings it back.")


@click.command("undo")
@click.argument("file", required=False, metavar="[FILE.toml]")
@SHOP_OPTION
@JSON_OPTION
@plainly
def undo_command(file: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """Take back the last change of a shop's file; once more, and it is there again."""
    from inksim.reports import emit_json
    from inksim.shop import editable_folder, undo

    path = undo(warned_of_demo(editable_folder(shop_folder)), file)
    if as_json:
        emit_json({"file": path})
        return
    click.echo(f"Brought back the version before in {path}.")


COMMANDS: Sequence[click.Command] = (shop_command, new_command, remove_command, undo_command)
