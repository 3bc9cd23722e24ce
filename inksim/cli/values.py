"""Kinds of option values, checked when they are given: before a file is read or work begins."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import click

from inksim.common import InputError, day_of


class Number(click.FloatRange):
    """A finite number within a range, from 0 if not said; click alone takes 'nan' and 'inf'."""

    def __init__(
        self,
        min: float = 0,
        max: float | None = None,
        *,
        min_open: bool = False,
        max_open: bool = False,
    ) -> None:
        super().__init__(min, max, min_open=min_open, max_open=max_open)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read a number, and refuse what is none."""
        number = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number to reckon with.", param, ctx)
        return number


class Words(click.ParamType[Any]):
    """A text that `read` understands; what it refuses is told with the option's name."""

    def __init__(self, read: Callable[[str], Any], *, name: str) -> None:
        self.read, self.name = read, name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Convert a text to what it means; '' stays, as a default that says nothing."""
        if not isinstance(value, str) or (not value and param is not None and not param.default):
            return value
        try:
            return self.read(value)
        except InputError as error:
            self.fail(str(error), param, ctx)


def _light(text: str) -> str:
    """A CIE light as `colour` calls it, in any case of letters."""
    from inksim.colour import LIGHTS, weights

    named = {each.lower(): each for each in LIGHTS}
    found = named.get(text.strip().lower(), text)
    weights(found, 2)  # raises if there is none
    return found


class LightType(click.ParamType[Any]):
    """A CIE light, a lamp of the shop that --shop names, or a file with a lamp's spectrum."""

    name = "light"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Convert a name or a file to the light it means."""
        from inksim.colour import LIGHTS
        from inksim.shop import demo_shop_folder, light_of

        if not isinstance(value, str) or value in LIGHTS:
            return value
        folder = ctx.params.get("shop_folder") if ctx is not None else None
        try:
            return light_of(value, folder or demo_shop_folder())
        except InputError as error:
            self.fail(str(error), param, ctx)


def _background(text: str) -> str:
    """Check what is wished of a background, and keep it as written."""
    from inksim.artwork import parsed_wish

    parsed_wish(text)
    return text


def _angles(text: str) -> tuple[float, ...]:
    """Angles in degrees with commas between."""
    try:
        angles = tuple(float(word) for word in text.split(","))
    except ValueError:
        angles = (math.nan,)
    if not all(-360.0 <= angle <= 360.0 for angle in angles):
        raise InputError(
            f"the angles '{text}' are not numbers of degrees with commas between, as 22.5,52.5."
        )
    return angles


DAY = Words(day_of, name="day")
CIE_LIGHT = Words(_light, name="light")
LIGHT = LightType()
BACKGROUND = Words(_background, name="background")
ANGLES = Words(_angles, name="angles")
