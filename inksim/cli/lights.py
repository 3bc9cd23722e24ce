"""Commands on appearance: a print under many lights, and how well inks cover. Computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inksim.cli.options import (
    JSON_OPTION,
    LIGHT_OPTION,
    OBSERVER_OPTION,
    SHOP_OPTION,
    load,
    plainly,
    viewing_of,
)

if TYPE_CHECKING:
    from inksim.printing import Seen
    from inksim.shop import Hiding


@click.command("lights")
@click.option("--garment", required=True, help="A garment of the shop.")
@click.option("--ink", required=True, help="An ink of the shop.")
@click.option(
    "--target",
    default=None,
    help="A target of the shop, #rrggbb, L,a,b (D50), or a reading as FILE#SAMPLE.",
)
@click.option(
    "--route",
    type=click.Choice(["straight", "white-base", "discharge-base", "all"]),
    default="all",
    show_default=True,
    help="What lies under the color.",
)
@click.option("--screen", default=None, help="Screen of the color: its name or threads/inch.")
@click.option("--passes", type=click.IntRange(1, 4), default=None, help="Strokes of the color.")
@click.option("--base-screen", default=None, help="Screen of the base.")
@click.option("--reference", default="D50", show_default=True, help="Light of the match.")
@click.option(
    "--also", "more", multiple=True, metavar="LIGHT", help="A further CIE light, such as F7."
)
@SHOP_OPTION
@JSON_OPTION
@plainly
def lights_command(
    *, garment: str, ink: str, target: str | None, route: str, screen: str | None,
    passes: int | None, base_screen: str | None, reference: str, more: tuple[str, ...],
    shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Show the same print under other lights: distance from the target, and metamerism.

    Metamerism index (CIE 15): the difference under that light once the one under the reference
    light is taken out. It needs a target with a spectrum. Inconstancy: how far the print's own
    color moves, the eye's adaptation taken out.
    """
    from inksim.printing import ROUTES, USUAL_LIGHTS, honest_words, predict_nominal, under_lights
    from inksim.reports import emit_json
    from inksim.shop import target_of, usable_routes, usual_build

    shop = load(shop_folder)
    cloth, color = shop.garment(garment), shop.ink(ink)
    aim = target_of(shop, target) if target is not None else None
    builds = [
        usual_build(
            shop,
            garment=cloth,
            ink=color,
            route=each,
            screen=shop.screen(screen) if screen else None,
            passes=passes,
            base_screen=shop.screen(base_screen) if base_screen else None,
        )
        for each in ([r for r in ROUTES if r == route] or usable_routes(cloth, shop=shop))
    ]
    lights = tuple(dict.fromkeys((reference, *USUAL_LIGHTS, *more)))
    predictions = predict_nominal(
        builds, press=shop.press.values, viewing=viewing_of(reference, "2"), target=aim
    )
    seen = [
        under_lights(p.reflectance, target=aim, reference_light=reference, lights=lights)
        for p in predictions
    ]
    if as_json:
        emit_json(
            {
                "reference": reference,
                "target": None if aim is None else aim.name,
                "prints": [
                    {"route": p.build.route, "lights": [_seen_document(s) for s in each]}
                    for p, each in zip(predictions, seen, strict=True)
                ],
            }
        )
        return
    against = f", target {aim.name} {aim.hex()[0]}" if aim else ""
    click.echo(f"{color.name} on {cloth.name}{against}; index from {reference} to each light")
    for prediction, each in zip(predictions, seen, strict=True):
        click.echo(f"\n{prediction.words}\n")
        click.echo(_seen_text(each))
    if aim is not None and aim.reflectance is None:
        click.echo(
            "\nThe target is no spectrum: it is taken to look alike under every light, and no "
            "metamerism can be told."
        )
    click.echo(f"\n{honest_words(predictions[0].data, calibrated=shop.press.calibrated)}")


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
    type=click.FloatRange(0.0, 1.0, min_open=True, max_open=True),
    default=0.98,
    show_default=True,
    help="Contrast ratio that counts as covering.",
)
@LIGHT_OPTION
@OBSERVER_OPTION
@SHOP_OPTION
@JSON_OPTION
@plainly
def opacity_command(
    *, inks: tuple[str, ...], card_white: str, card_black: str, ratio: float, light: str,
    observer: str, shop_folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell how inks cover: contrast ratio of their usual films, and the film that covers.

    Contrast ratio is Y over black / Y over white of an even film on a card, as an instrument reads
    them (ISO 6504-3). On cloth a film is uneven and covers less.
    """
    import numpy as np

    from inksim.common import InputError
    from inksim.printing import Card
    from inksim.reports import emit_json
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
                "inks": [_hiding_document(row) for row in rows],
            }
        )
        return
    click.echo(f"Card: Y {black:.1f} and {white:.1f} ({viewing}); covering at {ratio:g}.\n")
    click.echo(_hiding_text(rows))
    click.echo("\nEven films, dry µm. On cloth a film is uneven and covers less.")


COMMANDS: Sequence[click.Command] = (lights_command, opacity_command)


def _part(text: str) -> Any:
    """Reflectance (31,) of a part of the card: a gray of this Y, or a reading."""
    import numpy as np

    from inksim.colour import BANDS
    from inksim.common import InputError
    from inksim.readings import pick, specular_excluded

    try:
        y = float(text)
    except ValueError:
        return specular_excluded(pick([text]).reading)[0]
    if not 0.0 < y < 96.0:
        raise InputError(f"the card's Y is {y:g}; a card without fluorescence has 0 to 96.")
    return np.full(BANDS, y / 100.0)


def _number(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _seen_document(seen: Seen) -> dict[str, Any]:
    return {
        "light": seen.viewing.light,
        "observer": seen.viewing.observer,
        "lab": [round(float(v), 3) for v in seen.lab],
        "hex": seen.hex,
        "in_srgb_gamut": seen.in_srgb_gamut,
        "delta_e": {"ciede2000": _number(seen.delta_e_2000), "cmc_2_1": _number(seen.delta_e_cmc)},
        "metamerism_index": _number(seen.metamerism),
        "color_inconstancy": _number(seen.inconstancy),
    }


def _seen_text(rows: Sequence[Seen]) -> str:
    from inksim.reports import lab_words, patch, table

    def shown(value: float | None) -> str:
        return "–" if value is None else f"{value:.1f}"

    head = ["light", "Lab", "hex", "ΔE00", "CMC 2:1", "metamerism", "inconstancy"]
    return table(
        head,
        [
            [
                f"{patch(s.hex)}{s.viewing}",
                lab_words(s.lab),
                s.hex + ("" if s.in_srgb_gamut else "*"),
                shown(s.delta_e_2000),
                shown(s.delta_e_cmc),
                shown(s.metamerism),
                shown(s.inconstancy),
            ]
            for s in rows
        ],
    )


def _hiding_document(row: Hiding) -> dict[str, Any]:
    return {
        "ink": row.ink.name,
        "films": [
            {
                "screen": film.screen,
                "passes": film.passes,
                "film_um": round(film.film_um, 3),
                "contrast_ratio": round(film.contrast_ratio, 4),
            }
            for film in row.films
        ],
        "covers_um": _number(row.covers_um),
        "times_usual": _number(row.times_usual),
        "data": row.ink.data,
    }


def _hiding_text(rows: Sequence[Hiding]) -> str:
    from inksim.reports import table

    lines = []
    for row in rows:
        for at, film in enumerate(row.films):
            covers = ["", "", ""]
            if at == 0:
                covers = [
                    "never" if row.covers_um is None else f"{row.covers_um:.0f}",
                    "–" if row.times_usual is None else f"{row.times_usual:.1f} ×",
                    row.ink.data,
                ]
            lines.append(
                [
                    row.ink.name if at == 0 else "",
                    f"{film.screen} ×{film.passes}",
                    f"{film.film_um:.1f}",
                    f"{film.contrast_ratio:.2f}",
                    *covers,
                ]
            )
    head = ["ink", "screen", "film µm", "contrast", "covers at µm", "of the thickest", "data"]
    return table(head, lines)
