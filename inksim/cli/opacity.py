"""Command `opacity`: hiding power of inks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inksim.cli.options import VIEWING_OPTIONS, Light, load, plainly, viewing_of
from inksim.cli.values import Number
from inksim.common import InputError, tell

if TYPE_CHECKING:
    from inksim.common import FloatArray


@click.command("opacity")
@click.option("--ink", "inks", multiple=True, help="An ink of the shop; all if not given.")
@click.option(
    "--card-white",
    default="80",
    show_default=True,
    metavar="Y|FILE#SAMPLE",
    help="The card's white part: Y of a gray, or a reading of it.",
)
@click.option(
    "--card-black",
    default="1",
    show_default=True,
    metavar="Y|FILE#SAMPLE",
    help="The card's black part.",
)
@click.option(
    "--ratio",
    type=Number(0.0, 1.0, min_open=True, max_open=True),
    default=0.98,
    show_default=True,
    help="Contrast ratio that counts as covering.",
)
@VIEWING_OPTIONS
@plainly
def opacity_command(
    *, inks: tuple[str, ...], card_white: str, card_black: str, ratio: float, light: Light,
    observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell how inks cover: contrast ratio of their usual films, and the film that covers.

    Contrast ratio is Y over black / Y over white of an even film on a card, as an instrument reads
    them (ISO 6504-3). On cloth a film is uneven and covers less.
    """
    import numpy as np

    from inksim.printing import Card
    from inksim.reports import emit_json, hiding_text
    from inksim.shop import hiding

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    card = Card(black=_part(card_black), white=_part(card_white))
    if not np.all(np.asarray(card.black) < np.asarray(card.white)):
        raise InputError("the white part of the card must be lighter than its black part.")
    rows = hiding(
        shop,
        [shop.ink(name) for name in inks] or list(shop.inks.values()),
        card=card,
        viewing=viewing,
        ratio=ratio,
    )
    black, white = card.contrast(viewing)
    if as_json:
        emit_json(
            {
                "card": {"y_black": round(black, 3), "y_white": round(white, 3)},
                "ratio": ratio,
                "inks": rows,
            }
        )
        return
    tell(f"Card: Y {black:.1f} and {white:.1f} ({viewing}); covering at {ratio:g}.\n")
    tell(hiding_text(rows))
    tell("\nEven films, dry µm. On cloth a film is uneven and covers less.")


def _part(text: str) -> FloatArray:
    """Reflectance (31,) of a part of the card: a gray of this Y, or a reading."""
    import numpy as np

    from inksim.colour import BANDS
    from inksim.readings import pick, specular_excluded

    try:
        y = float(text)
    except ValueError:
        return specular_excluded(pick([text]).reading)[0]
    if not 0.0 < y < 96.0:
        raise InputError(f"the card's Y is {y:g}; a card without fluorescence has 0 to 96.")
    return np.full(BANDS, y / 100.0)


COMMANDS: Sequence[click.Command] = (opacity_command,)
