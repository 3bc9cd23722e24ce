"""Commands `job new`, `list`, `show`, `set`, `undo` and `copy`, and `order`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.options import (
    JSON_OPTION,
    SHOP_OPTION,
    VIEWING_OPTIONS,
    Light,
    load,
    plainly,
    say,
    together,
    viewing_of,
)
from inksim.cli.values import BACKGROUND, Number
from inksim.common import InputError, hex_key, sentence, tell

if TYPE_CHECKING:
    from inksim.ledger import KeptJob
    from inksim.shop import Shop

COMMON = together(SHOP_OPTION, JSON_OPTION)
GARMENT_OPTION = click.option(
    "--garment", "garments", multiple=True, metavar="NAME=PRINTS",
    help='A garment and how many prints on it: "Coal Black=40". Again for each.',
)  # fmt: skip


@click.group("job")
def job_group() -> None:
    """Keep jobs: the artwork as it came, garments, quantities, wishes, what was decided.

    \b
    inksim job new logo.jpg --name "Mill logo" --garment "Coal Black=40" --shop my-shop
    """


@job_group.command("new")
@click.argument("artwork", type=click.Path(path_type=Path))
@click.option("--name", required=True, help="What the job is called; its folder is named after it.")
@GARMENT_OPTION
@click.option("--client", default="", help="Whom it is for.")
@click.option(
    "--reference", "order_number", default="", help="The client's order number or the like."
)
@click.option("--width", type=Number(), default=None, metavar="MM",
              help="Width of the print; the artwork's own if not given.")  # fmt: skip
@click.option("--place", type=click.Choice(["front", "back", "sleeve"]), default="front",
              show_default=True, help="Where on the shirt.")  # fmt: skip
@click.option("--top", type=Number(), default=None, metavar="MM",
              help="Below the collar, or above the hem of the sleeve.")  # fmt: skip
@click.option("--background", type=BACKGROUND, default="keep", show_default=True,
              metavar="auto|keep|#rrggbb",
              help="Leave out the background found, none, or that of a color.")  # fmt: skip
@click.option("--tolerance", "tolerances", multiple=True, metavar="ΔE00|#rrggbb=ΔE00",
              help="Largest ΔE00, of all colors or of one.")  # fmt: skip
@click.option("--ink", "inks", multiple=True, metavar="#rrggbb=INK",
              help="An ink by hand, or 'none' to leave that color out.")  # fmt: skip
@click.option("--route", "routes", multiple=True, metavar="#rrggbb=ROUTE",
              help="A route by hand: straight, white-base or discharge-base.")  # fmt: skip
@click.option("--note", default="", help="Anything to be kept with it.")
@COMMON
@plainly
def new_command(
    *, artwork: Path, name: str, garments: tuple[str, ...], client: str, order_number: str,
    width: float | None, place: str, top: float | None, background: str,
    tolerances: tuple[str, ...], inks: tuple[str, ...], routes: tuple[str, ...], note: str,
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Make a job of an artwork: a folder under the shop with the file as it came and job.toml.

    \b
    inksim job new logo.jpg --name "Mill logo" --client "Weir Mill" --width 280 \\
        --garment "Coal Black=40" --garment "Flour White=20" --background auto --shop my-shop
    """
    from inksim.ledger import new_job

    shop = load(shop_folder)
    wide = _width(artwork) if width is None else width
    fields = {
        "client": client,
        "reference": order_number,
        "note": note,
        "tolerance_de00": _tolerance(tolerances),
        "artwork.width_mm": wide,
        "artwork.place": place,
        "artwork.top_mm": top,
        "artwork.background": background,
        "artwork.inks": _by_colour(inks, what="--ink"),
        "artwork.routes": _by_colour(routes, what="--route"),
        "artwork.tolerances": {
            code: _number(value, what="--tolerance")
            for code, value in _by_colour([t for t in tolerances if "=" in t], what="").items()
        },
    }
    kept = new_job(
        shop_folder,
        name=name,
        artwork=artwork,
        garments=_garments(shop, garments) or {},
        fields={field: value for field, value in fields.items() if value not in ("", None, {})},
        shop=shop,
    )
    _told(kept, shop, as_json=as_json, done=f"Kept job '{kept.key}' in {kept.folder}.")


@job_group.command("list")
@COMMON
@plainly
def list_command(shop_folder: Path | None, as_json: bool) -> None:
    """List the kept jobs of a shop.

    \b
    inksim job list --shop my-shop
    """
    from inksim.common import InksimError
    from inksim.ledger import kept_keys, open_job
    from inksim.reports import emit_json, jobs_text, kept_document

    shop = load(shop_folder)
    jobs, broken = [], []
    for key in kept_keys(shop.folder):
        try:
            jobs.append(open_job(shop.folder, key))
        except InksimError as error:
            broken.append(f"{key}: {error}")
    if as_json:
        emit_json({"jobs": [kept_document(kept) for kept in jobs], "broken": broken})
    else:
        tell(jobs_text(jobs, broken))


@job_group.command("show")
@click.argument("name")
@COMMON
@plainly
def show_command(name: str, shop_folder: Path | None, as_json: bool) -> None:
    """Show a job: what it says, its files, what was decided last and what has changed since.

    \b
    inksim job show mill-logo --shop my-shop
    """
    from inksim.ledger import open_job
    from inksim.reports import emit_json, job_shown_document, job_shown_text

    shop = load(shop_folder)
    kept = open_job(shop_folder, name)
    if as_json:
        emit_json(job_shown_document(kept, shop))
    else:
        tell(job_shown_text(kept, shop))


@job_group.command("set")
@click.argument("name")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE…")
@GARMENT_OPTION
@COMMON
@plainly
def set_command(
    *, name: str, fields: tuple[str, ...], garments: tuple[str, ...], shop_folder: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Change fields of a job, by the names they have in job.toml; nothing after = takes one out.

    --garment replaces all its garments.

    \b
    inksim job set mill-logo artwork.width_mm=250 client="Weir Mill" --shop my-shop
    inksim job set mill-logo "artwork.inks.#c9342f=Kiln Red" note= --shop my-shop
    """
    from inksim.ledger import change_job, open_job

    shop = load(shop_folder)
    values = dict(_field(each) for each in fields)
    wanted = _garments(shop, garments)
    if not values and not wanted:
        raise InputError("give fields to change, such as artwork.width_mm=250, or --garment.")
    kept = open_job(shop_folder, name)
    kept = change_job(kept, values, garments=wanted, shop=shop)
    _told(kept, shop, as_json=as_json, done=f"Changed job '{kept.key}'.")


@job_group.command("undo")
@click.argument("name")
@click.option("--anyway", is_flag=True, help="Take back a change that somebody else made, too.")
@COMMON
@plainly
def undo_command(name: str, anyway: bool, shop_folder: Path | None, as_json: bool) -> None:
    """Take back the last change of a job, and say what it was; once more, and it is there again.

    \b
    inksim job undo mill-logo --shop my-shop
    """
    from inksim.ledger import open_job, undo_job
    from inksim.reports import emit_json, kept_document

    load(shop_folder)
    kept, change = undo_job(open_job(shop_folder, name), anyone=anyway)
    if as_json:
        emit_json({**kept_document(kept), "taken_back": change.what, "by": change.by})
    else:
        tell(f"In job '{kept.key}', {change.whose}: {change.back}.")


@job_group.command("copy")
@click.argument("name")
@click.option("--name", "new_name", required=True, help="What the new job is called.")
@GARMENT_OPTION
@COMMON
@plainly
def copy_command(
    *, name: str, new_name: str, garments: tuple[str, ...], shop_folder: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Copy a job with its artwork: the same again, perhaps on other garments.

    \b
    inksim job copy mill-logo --name "Mill logo, again" --garment "Estuary Navy=30" --shop my-shop
    """
    from inksim.ledger import copy_job, open_job

    shop = load(shop_folder)
    kept = copy_job(
        shop_folder,
        open_job(shop_folder, name),
        name=new_name,
        garments=_garments(shop, garments),
        shop=shop,
    )
    done = f"Kept job '{kept.key}', a copy of '{kept.entry.again_of}', in {kept.folder}."
    _told(kept, shop, as_json=as_json, done=done)


@click.command("order")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB")
@VIEWING_OPTIONS
@plainly
def order_command(
    job: Path, light: Light, observer: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Say what ink a job takes over all its garments and runs: grams, buckets, what is mixed in.

    The sizes of buckets are the shop's, bucket_g in costs.toml.

    \b
    inksim order mill-logo --shop my-shop
    """
    from inksim.cli.opened import TONAL
    from inksim.job import decide_job, ink_order, load_drawn_job
    from inksim.ledger import job_file
    from inksim.reports import emit_json, order_document, order_text

    shop = load(shop_folder)
    drawn = load_drawn_job(job_file(job, shop_folder), shop=shop)
    if drawn.tonal:
        raise InputError(f"{TONAL}: 'inksim ticket' says what each garment's run of it takes.")
    answer = decide_job(drawn.job, shop=shop, viewing=viewing_of(light, observer))
    order = ink_order(answer)
    if not order.lines and order.not_printed:
        raise InputError(f"there is no ink to order: {'; '.join(order.not_printed)}.")
    if as_json:
        emit_json(order_document(answer, order))
    else:
        tell(order_text(answer, order))


def _told(kept: KeptJob, shop: Shop, *, as_json: bool, done: str) -> None:
    """Say what was done, and on stderr what is to be known of the artwork."""
    from inksim.cli.opened import TONAL
    from inksim.reports import emit_json, kept_document

    drawn = kept.drawn(shop)
    for note in drawn.notes:
        say(f"note: {note}")
    names = [colour.name for colour in drawn.job.colours]
    if as_json:
        emit_json({**kept_document(kept), "folder": kept.folder, "colors": names})
    else:
        made_of = sentence(TONAL) if drawn.tonal else f"Its colors: {', '.join(names)}."
        tell(f"{done}\n{made_of}")


def _width(artwork: Path) -> float | None:
    """None where the file says how large it is; else a width assumed, and said."""
    from inksim.artwork import printed_at, read_artwork
    from inksim.common import MM_PER_INCH

    art = read_artwork(artwork)
    if art.dpi is not None:
        return None
    dpi, _ = printed_at(art)
    wide = round(art.width_px / dpi * MM_PER_INCH, 1)
    say(
        f"note: '{art.name}' does not say its resolution: {dpi:.0f} dpi is assumed, a print "
        f"{wide:g} mm wide; say the width with --width."
    )
    return wide


def _garments(shop: Shop, texts: Sequence[str]) -> dict[str, int] | None:
    """Quantities by garment as the shop names them; None if none is given."""
    from inksim.ledger import garments_of

    return {shop.garment(n).name: count for n, count in garments_of(texts).items()} or None


def _by_colour(texts: Sequence[str], *, what: str) -> dict[str, str]:
    """Parse '#rrggbb=value' texts to values by color."""
    made = {}
    for text in texts:
        code, _, value = text.partition("=")
        if not code.strip().startswith("#") or not value.strip():
            raise InputError(f"{what} '{text}' names no color and value; write #rrggbb=VALUE.")
        made[hex_key(code)] = value.strip()
    return made


def _tolerance(texts: Sequence[str]) -> float | None:
    """The tolerance of all colors, the last if there are several."""
    own = [text for text in texts if "=" not in text]
    return _number(own[-1], what="--tolerance") if own else None


def _number(text: str, *, what: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"{what} '{text}' is no number.")
    return number


def _field(text: str) -> tuple[str, Any]:
    """Parse 'field=value', see `typed_value`; None where nothing or an empty table follows."""
    from inksim.job import typed_value

    name, equals, value = text.partition("=")
    if not equals or not name.strip():
        raise InputError(f"'{text}' is no field and value; write artwork.width_mm=250.")
    read = typed_value(name.strip(), value) if value.strip() else None
    return name.strip(), None if read == {} else read


COMMANDS: Sequence[click.Command] = (job_group, order_command)
