"""Print order of the screens of one way: what the trade prints first, and what last.

All of it common practice, no source: white bases and their flashes first, so that the press does
not stop again; light colors before dark, so that what a shirt carries over to the next screen
soils no light ink; a discharge base and the colors on it last and wet on wet, for a flash while it
is wet would start it before the dryer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inksim.common import InputError

FIRST, COLOURS, DISCHARGE, ON_DISCHARGE = range(4)
"""What is printed one after the other."""


@dataclass(frozen=True, kw_only=True)
class PrintedScreen:
    """One screen of a way.

    lightness: L* of what it prints. is_base: whether it is printed
    as a base; a white printed as a color is none. discharges: whether its ink is a discharge base.
    over: names of the screens that it is printed on; () straight on the cloth only.
    """

    name: str
    lightness: float
    is_base: bool = False
    discharges: bool = False
    over: tuple[str, ...] = ()
    flash: bool = False


def print_order(
    screens: Sequence[PrintedScreen], *, light_before_dark: bool = True
) -> tuple[int, ...]:
    """Order screens for the press.

    Parameters
    ----------
    screens : of one way, in any order, each name once.
    light_before_dark : of colors alike in all else; False keeps them as they are listed.

    Returns
    -------
    Indices into `screens`, printed first to last. Screens that are alike stay as they are listed.

    Raises
    ------
    InputError : a flash while a discharge base is wet; a screen over one that is not there.
    """
    at = {screen.name: index for index, screen in enumerate(screens)}
    for screen in screens:
        for under in screen.over:
            if under not in at:
                raise InputError(f"'{screen.name}' is printed over '{under}', which is no screen.")

    def place(index: int) -> tuple[int, float]:
        screen = screens[index]
        wet = any(screens[at[under]].discharges for under in screen.over)
        if (wet or screen.discharges) and screen.flash:
            raise InputError(
                f"'{screen.name}' is flashed while the discharge base is wet; it works in the "
                "dryer, and what is printed on it is printed wet on wet."
            )
        if screen.discharges:
            return DISCHARGE, 0.0
        if screen.is_base:
            return (ON_DISCHARGE if wet else FIRST), -101.0  # before the colors on it
        return (ON_DISCHARGE if wet else COLOURS), -screen.lightness if light_before_dark else 0.0

    return tuple(sorted(range(len(screens)), key=place))
