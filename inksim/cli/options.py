"""What every command shares: common options, the shop, and errors in one sentence.

Results go to stdout, messages to stderr. Exit code 0: done; 1: done, and no build meets the
tolerance; 2: bad input, in one sentence. Commands stand in `cli` and in `cli_<topic>` modules that
import only click and this one at their top; `cli` registers each with one line.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.common import InksimError

if TYPE_CHECKING:
    from inksim.colour import Viewing
    from inksim.shop import Shop

MISSES_TOLERANCE, BAD_INPUT = 1, 2
SHOP_OPTION = click.option(
    "--shop",
    "shop_folder",
    type=click.Path(path_type=Path),
    default=None,
    metavar="DIR",
    help="The shop's folder; the demo shop if not given.",
)
TARGET_HELP = "A target of the shop, #rrggbb, L,a,b (D50), or a reading as FILE#SAMPLE."
JSON_OPTION = click.option("--json", "as_json", is_flag=True, help="Write JSON for machines.")
LIGHT_OPTION = click.option(
    "--light", default="D50", show_default=True, help="CIE light: D50, D65, A, F2, F11, LED-B3 …"
)
OBSERVER_OPTION = click.option(
    "--observer", type=click.Choice(["2", "10"]), default="2", show_default=True,
    help="CIE observer in degrees.",
)  # fmt: skip


def plainly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turn an error a person can mend into one message on stderr and exit code 2."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except InksimError as error:
            click.echo(f"inksim: {error}", err=True)
            sys.exit(BAD_INPUT)
        except BrokenPipeError:
            # Whoever read along has enough; nothing is left to flush at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            sys.exit(0)
        except OSError as error:
            where = f" '{error.filename}'" if error.filename else ""
            click.echo(f"inksim: cannot read or write{where}: {error.strerror}.", err=True)
            sys.exit(BAD_INPUT)
        except MemoryError:
            click.echo("inksim: not enough memory for this picture; make it smaller.", err=True)
            sys.exit(BAD_INPUT)

    return run


def load(folder: Path | None) -> Shop:
    """Read and check the shop."""
    from inksim.shop import load_shop

    return load_shop(folder)


def out_folder(path: Path) -> Path:
    """Return the folder for results, or refuse it before the work if it can be none."""
    from inksim.common import InputError

    there = next(each for each in (path.absolute(), *path.absolute().parents) if each.exists())
    if not there.is_dir():
        raise InputError(f"'{there}' is a file; name a folder for --out.")
    if not os.access(there, os.W_OK):
        raise InputError(f"'{there}' cannot be written to; name another folder for --out.")
    return path


def viewing_of(light: str, observer: str) -> Viewing:
    """Return the viewing of the two options; lights in any case of letters."""
    from inksim.colour import LIGHTS, Viewing

    named = {each.lower(): each for each in LIGHTS}
    light = named.get(light.strip().lower(), light)
    return Viewing(light=light, observer=int(observer))
