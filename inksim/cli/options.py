"""Options that commands share, and errors as one sentence.

Results go to stdout, messages to stderr. Exit code 0: done; 1: done, and no build meets the
tolerance; 2: bad input. So that neither is taken for an answer, a stop by Ctrl-C ends with 130, as
a shell has it, and a fault of inksim's own with 70 (EX_SOFTWARE of BSD's sysexits.h). A module
holds the commands of one topic in its COMMANDS and imports only click, this one and words at its
top.
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Iterable
from functools import reduce, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import click

from inksim.cli.values import LIGHT, Number
from inksim.common import STDOUT, InksimError, InputError, cut, drop, tell

if TYPE_CHECKING:
    from inksim.colour import Lamp, Viewing
    from inksim.printing import Build
    from inksim.shop import Shop
    from inksim.stock import Ink, Target

Light: TypeAlias = "str | Lamp"
MISSES_TOLERANCE, BAD_INPUT = 1, 2
OWN_FAULT, STOPPED = 70, 130


SHOP_OPTION = click.option(
    "--shop",
    "shop_folder",
    type=click.Path(path_type=Path),
    default=None,
    metavar="DIR",
    is_eager=True,  # --light may name a lamp of this shop
    help="The shop's folder; the demo shop if not given.",
)
TARGET_HELP = "A target of the shop, #rrggbb, L,a,b (D50), or a reading as FILE#SAMPLE."
TOLERANCE_OPTION = click.option(
    "--tolerance", type=Number(), default=None, help="Largest ΔE00; the shop's habit if not given."
)
JSON_OPTION = click.option("--json", "as_json", is_flag=True, help="Write JSON for machines.")
LIGHT_OPTION = click.option(
    "--light",
    type=LIGHT,
    default="D50",
    show_default=True,
    metavar="LIGHT",
    help="CIE light (D50, D65, A, F2, F11, LED-B3 …), a lamp of the shop, or a file of a lamp.",
)
OBSERVER_OPTION = click.option(
    "--observer", type=click.Choice(["2", "10"]), default="2", show_default=True,
    help="CIE observer in degrees.",
)  # fmt: skip


def together(
    *options: Callable[[Callable[..., Any]], Callable[..., Any]],
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Combine options into one decorator, in this order."""
    return lambda command: reduce(lambda made, option: option(made), reversed(options), command)


VIEWING_OPTIONS = together(LIGHT_OPTION, OBSERVER_OPTION, SHOP_OPTION, JSON_OPTION)
CHOKE_AND_TRAP = together(
    click.option("--choke", type=Number(), default=0.0, show_default=True,
                 help="Draw the base in by so many mm."),
    click.option("--trap", type=Number(), default=0.0, show_default=True,
                 help="Spread colors under others by so many mm."),
)  # fmt: skip
BUILD_OPTIONS = together(
    click.option("--garment", required=True, help="A garment of the shop."),
    click.option("--ink", required=True, help="An ink of the shop."),
    click.option("--target", default=None, help=TARGET_HELP),
    click.option(
        "--route", type=click.Choice(["straight", "white-base", "discharge-base", "all"]),
        default="all", show_default=True, help="What lies under the color.",
    ),
    click.option(
        "--screen", default=None, help="Screen of the color: its name or threads/inch."
    ),
    click.option(
        "--passes", type=click.IntRange(1, 4), default=None, help="Strokes of the color."
    ),
    click.option("--base-screen", default=None, help="Screen of the base."),
    click.option("--flash/--no-flash", default=None, help="Dry the base before the color."),
)  # fmt: skip


def plainly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turn an error a person can mend into one message on stderr and exit code 2."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except InksimError as error:
            tell(f"inksim: {error}", err=True)
            sys.exit(BAD_INPUT)
        except BrokenPipeError:
            # Whoever read along has enough; nothing is left to flush at exit.
            drop(1)
            sys.exit(0)
        except OSError as error:
            where = f" '{error.filename}'" if error.filename else ""
            why = error.strerror or "it may be damaged"
            tell(cut(f"inksim: cannot read or write{where}: {why}."), err=True)
            sys.exit(BAD_INPUT)
        except MemoryError:
            tell("inksim: not enough memory for this picture; make it smaller.", err=True)
            sys.exit(BAD_INPUT)
        except KeyboardInterrupt:
            tell("inksim: stopped.", err=True)
            sys.exit(STOPPED)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise  # click's own ways to end
        except Exception:
            # Python would end with 1, which means that nothing is inside the tolerance.
            tell(traceback.format_exc(), err=True)
            tell("inksim: this is a fault of inksim itself; please report it.", err=True)
            sys.exit(OWN_FAULT)

    return run


def load(folder: Path | None) -> Shop:
    """Read and check the shop."""
    from inksim.shop import calibrated_without, load_shop, next_step

    shop = load_shop(folder)
    told_changes(*shop.changes, *filter(None, [next_step(shop)]))
    if shop.press_lacks and not shop.changes:
        tell(f"note: {calibrated_without(shop.press_lacks)}", err=True)
    return shop


def told_next(folder: Path) -> None:
    """Say on stderr what a shop needs next, if anything; nothing of one with faults."""
    from inksim.common import ShopFaults
    from inksim.shop import load_shop, next_step

    try:
        step = next_step(load_shop(folder))
    except ShopFaults:
        return
    told_changes(*filter(None, [step]))


def told_changes(*changes: str) -> None:
    """Say notes on stderr, each once a command: what changed for a shop, what it needs."""
    said = click.get_current_context().meta.setdefault("inksim changes", [])
    for words in changes:
        if words not in said:
            said.append(words)
            tell(f"note: {words}", err=True)


def builds_of(
    shop: Shop, *, garment: str, ink: str, route: str, screen: str | None, passes: int | None,
    base_screen: str | None, flash: bool | None,
) -> list[Build]:  # fmt: skip
    """The builds that BUILD_OPTIONS ask for: of one route, or of all that are usable.

    Raises
    ------
    InputError : a discharge base on a cloth that the shop's rules refuse it on, as `advise` does.
    """
    from inksim.decision import discharge_barrier
    from inksim.printing import ROUTES
    from inksim.shop import usable_routes, usual_build

    cloth, colour = shop.garment(garment), shop.ink(ink)
    routes = [r for r in ROUTES if r == route] or list(usable_routes(cloth, shop=shop))
    why = discharge_barrier(cloth, limits=shop.rules)
    if "discharge-base" in routes and why:
        if route == "discharge-base":
            raise InputError(f"no discharge base here: {why}.")
        routes.remove("discharge-base")
        tell(f"note: no discharge base here: {why}", err=True)
    builds = [
        usual_build(
            shop,
            garment=cloth,
            ink=colour,
            route=each,
            screen=shop.screen(screen) if screen else None,
            passes=passes,
            base_screen=shop.screen(base_screen) if base_screen else None,
            flash=flash,
        )
        for each in routes
    ]
    told_assumed(layer.ink for build in builds for layer in build.layers)
    return builds


def told_assumed(inks: Iterable[Ink]) -> None:
    """Say on stderr what of some inks nobody stated: predictions of them are less sure."""
    for name, assumed in {ink.name: ink.assumed for ink in inks if ink.assumed}.items():
        tell(f"note: {name}: {'; '.join(assumed)}", err=True)


def against(target: Target | None) -> str:
    """Format a target for a title: ', target Oven Red #c0392b'; '' without one."""
    names = dict.fromkeys((target.name, target.hex_d50)) if target else ()
    return f", target {' '.join(names)}" if names else ""


def say(words: str) -> None:
    """Print progress on stderr."""
    tell(cut(words), err=True)


def today() -> str:
    """The local date, YYYY-MM-DD."""
    from datetime import date

    return date.today().isoformat()


def warned_of_demo(folder: Path) -> Path:
    """Return the folder, with a note on stderr if it is the demo shop's, or of an older format."""
    from inksim.shop import changes_of, is_demo

    told_changes(*changes_of(folder))
    if is_demo(folder):
        tell("note: this is the demo shop that every user of this checkout sees.", err=True)
    return folder


def aside(*files: Path | None, as_json: bool) -> bool:
    """Whether the report goes to stderr, because one of its files goes to standard output, '-'.

    Raises
    ------
    InputError : two of them would go there.
    """
    there = [file for file in files if file == STDOUT]
    if len(there) + (as_json and bool(there)) > 1:
        raise InputError("two things would go to standard output; name a file in place of '-'.")
    return bool(there)


def check_apart(*written: Path | None, read: Iterable[str | Path]) -> None:
    """Refuse, before the work, to write over a file that is read, or two results into one file.

    Raises
    ------
    InputError : the first file that would be lost.
    """
    files = [each for each in written if each not in (None, STDOUT)]
    for at, file in enumerate(files):
        if any(_same_file(file, each) for each in read):
            raise InputError(f"'{file}' is read here and would be written over; name another file.")
        if any(_same_file(file, each) for each in files[:at]):
            raise InputError(f"two results would be written to '{file}'; name a file for each.")


def _same_file(one: str | Path, other: str | Path) -> bool:
    try:
        return Path(one).samefile(other)
    except OSError:  # one is not there yet
        return Path(one).resolve() == Path(other).resolve()


def out_folder(path: Path) -> Path:
    """Return the folder for results, or refuse it before the work if it can be none."""
    if path == STDOUT:
        raise InputError("several files cannot go to standard output; name a folder for --out.")
    there = next(each for each in (path.absolute(), *path.absolute().parents) if each.exists())
    if not there.is_dir():
        raise InputError(f"'{there}' is a file; name a folder for --out.")
    if not os.access(there, os.W_OK):
        raise InputError(f"'{there}' cannot be written to; name another folder for --out.")
    return path


def viewing_of(light: Light, observer: str) -> Viewing:
    """Return the viewing of the two options."""
    from inksim.colour import Viewing

    return Viewing(light=light, observer=int(observer))
