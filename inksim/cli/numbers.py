"""Commands `set`, for the numbers of press, habits, rules and costs, and `add screen`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from inksim.cli.add import add_group, added
from inksim.cli.options import JSON_OPTION, SHOP_OPTION, load, plainly, today, warned_of_demo
from inksim.cli.values import Number
from inksim.common import InputError, counted, tell


@click.command("set")
@click.argument("values", nargs=-1, required=True, metavar="NAME=VALUE…")
@click.option("--source", default="entered by hand", help="Who read or decided the values.")
@SHOP_OPTION
@JSON_OPTION
@plainly
def set_command(
    *, values: tuple[str, ...], source: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Set numbers of a shop: its costs, press, habits and rules.

    'inksim shop' lists every name with its value. Nothing after the equals sign takes a value out:
    a cost is not known then, and anything else as usual. A parameter of the press has its standard
    deviation with it. 'inksim undo' takes it back.

    \b
    Example: inksim set costs.labor_per_hour=25 press.stations=8 --shop my-shop
             inksim set press.release=0.62,0.1 rules.most_passes_on_cloth=3 --shop my-shop
    """
    from inksim.reports import emit_json
    from inksim.shop import editable_folder, save, settings_drafted

    folder = warned_of_demo(editable_folder(shop_folder))
    shop = load(folder)
    drafts = settings_drafted(folder, values, shop=shop, said=f"{source}; {today()}")
    files = [save(draft) for draft in drafts]
    if as_json:
        emit_json({"set": list(values), "files": files})
        return
    listed = " and ".join(file.name for file in files)
    many = counted(len(values), "value")
    tell(f"Set {many} in {listed} of {folder}. 'inksim undo FILE' takes a file's back.")


@add_group.command("screen")
@click.option("--name", required=True, help="What the shop calls it.")
@click.option(
    "--threads", type=Number(), default=None, metavar="THREADS/INCH", help="Thread count."
)
@click.option("--threads-per-cm", type=Number(), default=None, metavar="THREADS/CM",
              help="Instead: threads/cm.")  # fmt: skip
@click.option("--thread-um", type=Number(), default=None, metavar="UM",
              help="Diameter of a thread, the second number on the mesh's label.")  # fmt: skip
@click.option("--opening-um", type=Number(), default=None, metavar="UM",
              help="Width of an opening, where the weaver states it.")  # fmt: skip
@click.option("--fabric-um", type=Number(), default=None, metavar="UM",
              help="Thickness of the fabric, where the weaver states it.")  # fmt: skip
@click.option("--ink-volume", type=Number(), default=None, metavar="CM3/M2",
              help="Theoretical ink volume, where the weaver states it.")  # fmt: skip
@click.option("--note", default=None, help="Anything to remember.")
@click.option("--replace", is_flag=True,
              help="Change the screen of this name; what is not stated anew stays.")  # fmt: skip
@SHOP_OPTION
@JSON_OPTION
@plainly
def add_screen(
    *, name: str, threads: float | None, threads_per_cm: float | None, thread_um: float | None,
    opening_um: float | None, fabric_um: float | None, ink_volume: float | None,
    note: str | None, replace: bool, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Add a screen by the two numbers on its mesh's label.

    Example: inksim add screen --name 230 --threads 230 --thread-um 44 --shop my-shop
    """
    from inksim.reports import emit_json
    from inksim.shop import load_shop

    if threads is not None and threads_per_cm is not None:
        raise InputError("give --threads or --threads-per-cm, one of them.")
    if not replace and threads is None and threads_per_cm is None:
        raise InputError("a screen needs its count; give --threads, per inch, or --threads-per-cm.")
    if not replace and thread_um is None:
        raise InputError(
            "a screen needs the diameter of its threads; give --thread-um, the second number on "
            "the mesh's label."
        )
    counts = {"threads_per_inch": threads, "threads_per_cm": threads_per_cm}
    entry = {
        "name": name, **counts, "thread_um": thread_um, "opening_um": opening_um,
        "fabric_um": fabric_um, "ink_volume_cm3_m2": ink_volume,
        "source": f"entered by hand; {today()}", "note": note,
    }  # fmt: skip
    gone = set(counts) if threads is not None or threads_per_cm is not None else set()
    path, written = added(
        "screen", entry, shop_folder=shop_folder, replace=replace, gone=lambda _: gone
    )
    if as_json:
        emit_json({"kind": "screen", "file": str(path), "entry": written})
        return
    made = load_shop(path.parent).screen(written["name"])
    done = "Replaced" if replace else "Added"
    tell(f"{done} screen '{made.name}' in {path}.")
    opening = f"opening {made.mesh_opening_um:.0f} µm"
    tell(f"  {made.words}, {opening}, {made.volume_cm3_m2:.0f} cm³/m²")


COMMANDS: Sequence[click.Command] = (set_command,)
