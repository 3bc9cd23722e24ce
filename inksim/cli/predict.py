"""Commands `predict` and `lights`, for one ink on one garment."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from inksim.cli.options import (
    BUILD_OPTIONS,
    JSON_OPTION,
    SHOP_OPTION,
    VIEWING_OPTIONS,
    Light,
    against,
    builds_of,
    load,
    plainly,
    viewing_of,
)
from inksim.cli.values import LIGHT
from inksim.common import tell


@click.command("predict")
@BUILD_OPTIONS
@VIEWING_OPTIONS
@plainly
def predict_command(
    *, target: str | None, light: Light, observer: str, shop_folder: Path | None, as_json: bool,
    **asked: Any,
) -> None:  # fmt: skip
    """Predict one ink on one garment: color, distance from a target, what shows through."""
    from inksim.printing import honest_words, predict
    from inksim.reports import emit_json, predictions_document, predictions_text
    from inksim.shop import target_of
    from inksim.stock import least_sure

    shop, viewing = load(shop_folder), viewing_of(light, observer)
    builds = builds_of(shop, **asked)
    aim = target_of(shop, target) if target is not None else None
    predictions = predict(
        builds,
        press=shop.press,
        viewing=viewing,
        target=aim,
        tolerance=shop.habits.tolerance_de00,
    )
    if as_json:
        emit_json({"predictions": predictions_document(predictions), "conditions": viewing})
        return
    build = builds[0]
    tell(f"{build.colour.ink.name} on {build.garment.name}, {viewing}{against(aim)}\n")
    tell(predictions_text(predictions))
    data = least_sure(*(each.data for each in predictions))
    tell(f"\n{honest_words(data, calibrated=shop.press.calibrated)}")


@click.command("lights")
@BUILD_OPTIONS
@click.option(
    "--reference", type=LIGHT, default="D50", show_default=True, help="Light of the match."
)
@click.option(
    "--also",
    "more",
    type=LIGHT,
    multiple=True,
    metavar="LIGHT",
    help="A further light, such as F7 or a lamp of the shop.",
)
@SHOP_OPTION
@JSON_OPTION
@plainly
def lights_command(
    *, target: str | None, reference: Light, more: tuple[Light, ...], shop_folder: Path | None,
    as_json: bool, **asked: Any,
) -> None:  # fmt: skip
    """Show the same print under other lights: distance from the target, and metamerism.

    Metamerism index (CIE 15): the difference under that light once the one under the reference
    light is taken out. It needs a target with a spectrum. Inconstancy: how far the print's own
    color moves, the eye's adaptation taken out.
    """
    from inksim.printing import USUAL_LIGHTS, honest_words, predict_nominal, under_lights
    from inksim.reports import emit_json, lights_text
    from inksim.shop import target_of
    from inksim.stock import least_sure

    shop = load(shop_folder)
    builds = builds_of(shop, **asked)
    aim = target_of(shop, target) if target is not None else None
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
                "target": aim,
                "prints": [
                    {"route": p.build.route, "lights": each}
                    for p, each in zip(predictions, seen, strict=True)
                ],
            }
        )
        return
    build = builds[0]
    tell(
        f"{build.colour.ink.name} on {build.garment.name}{against(aim)}; "
        f"index from {reference} to each light"
    )
    for prediction, each in zip(predictions, seen, strict=True):
        tell(f"\n{prediction.words}\n")
        tell(lights_text(each))
    if aim is not None and aim.reflectance is None:
        tell(
            "\nThe target is no spectrum: it is taken to look alike under every light, and no "
            "metamerism can be told."
        )
    data = least_sure(*(each.data for each in predictions))
    tell(f"\n{honest_words(data, calibrated=shop.press.calibrated)}")


COMMANDS: Sequence[click.Command] = (predict_command, lights_command)
