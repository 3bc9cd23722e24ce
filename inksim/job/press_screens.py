"""The screens of one way to print a job, in print order, with what goes through each.

The one place that counts them: amounts, bill, ticket and plates all go by these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.decision import Evaluated, PrintedScreen, print_order
from inksim.job.costs import ink_per_print_g, run_ink_g
from inksim.job.job import Job
from inksim.job.options import STRAIGHT_ON, Ground, Option, ScreenKey
from inksim.job.runs import OnPress, in_runs
from inksim.job.search import Way
from inksim.stock import Ink, Screen


@dataclass(frozen=True, kw_only=True, eq=False)
class PressScreen:
    """One screen on the press.

    number: in print order, from 1; run: in which it is printed. goes: strokes of each go, of two
    where it is printed, flashed and printed again. flash: dried before what comes next; None where
    nothing depends on it. base: whether colors go over it; over: those (by index) that do; shows:
    those that it is itself the color of. area_cm2: on one print. print_g: wet ink on one print;
    run_g: used up by the run.
    """

    number: int
    run: int
    ink: Ink
    screen: Screen
    goes: tuple[int, ...]
    flash: bool | None
    base: bool
    over: tuple[int, ...]
    shows: tuple[int, ...]
    area_cm2: float
    print_g: float
    run_g: float
    choke_mm: float | None

    @property
    def strokes(self) -> int:
        """Strokes on one print."""
        return sum(self.goes)

    @property
    def colours(self) -> tuple[int, ...]:
        """Every color on its plate."""
        return tuple(sorted((*self.over, *self.shows)))


def press_screens(
    job: Job, evaluated: Evaluated, way: Way, *, light_before_dark: bool = True
) -> tuple[PressScreen, ...]:
    """The screens of a way in print order: one for each base, each color's own, shared ones once.

    light_before_dark: by the L* of what they print, see `print_order`.
    """
    space = evaluated.space
    own = {g.key(space): g for g in way.grounds}
    light = [100.0 for _ in way.grounds]
    made = [_of_base(job, evaluated, way, g) for g in way.grounds]
    groups: dict[ScreenKey, list[Option]] = {}
    for option in way.options:
        if option.screen is None or option.ground.again:
            continue
        if option.ground == STRAIGHT_ON and option.screen in own:
            continue
        groups.setdefault(option.screen, []).append(option)
    for options in groups.values():
        made.append(_of_colours(job, evaluated, options))
        light.append(float(np.mean([evaluated.lab[o.build, 0] for o in options])))
    return _in_order(job, made, light, way, light_before_dark=light_before_dark)


def _of_base(job: Job, evaluated: Evaluated, way: Way, ground: Ground) -> PressScreen:
    space = evaluated.space
    over = [o for o in way.options if o.ground == ground and not ground.again]
    shows = [o for o in way.options if o.ground == ground and ground.again]
    shows += [o for o in way.options if o.ground == STRAIGHT_ON and o.screen == ground.key(space)]
    wets = [(o, float(evaluated.wet_um[o.build, 0])) for o in over]
    wets += [(o, float(evaluated.wet_um[o.build].sum())) for o in shows]
    return _screen(
        job,
        space.bases[ground.base],
        space.screens[ground.base_screen],
        goes=(ground.base_passes, 1) if ground.again else (ground.base_passes,),
        flash=ground.flash if over or ground.again else None,
        base=bool(over),
        over=over,
        shows=shows,
        wets=wets,
    )


def _of_colours(job: Job, evaluated: Evaluated, options: Sequence[Option]) -> PressScreen:
    space, first = evaluated.space, options[0]
    return _screen(
        job,
        space.inks[space.ink[first.build]],
        space.screens[space.screen[first.build]],
        goes=(int(space.passes[first.build]),),
        flash=None,
        base=False,
        over=(),
        shows=options,
        wets=[(o, float(evaluated.wet_um[o.build, 1])) for o in options],
    )


def _screen(
    job: Job,
    ink: Ink,
    screen: Screen,
    *,
    goes: tuple[int, ...],
    flash: bool | None,
    base: bool,
    over: Sequence[Option],
    shows: Sequence[Option],
    wets: Sequence[tuple[Option, float]],
) -> PressScreen:
    grams = sum(
        float(
            ink_per_print_g(
                wet, area_cm2=job.colours[o.colour].area_cm2, density_g_cm3=ink.density_g_cm3
            )
        )
        for o, wet in wets
    )
    return PressScreen(
        number=0,
        run=1,
        ink=ink,
        screen=screen,
        goes=goes,
        flash=flash,
        base=base,
        over=tuple(o.colour for o in over),
        shows=tuple(o.colour for o in shows),
        area_cm2=sum(job.colours[o.colour].area_cm2 for o, _ in wets),
        print_g=grams,
        run_g=float(
            run_ink_g(
                grams,
                quantity=job.quantity,
                waste_share=job.costs.waste_share,
                left_g=job.costs.ink_left_g_per_screen,
            )
        ),
        choke_mm=job.base_choke_mm if base else None,
    )


def _in_order(
    job: Job,
    screens: Sequence[PressScreen],
    lightness: Sequence[float],
    way: Way,
    *,
    light_before_dark: bool,
) -> tuple[PressScreen, ...]:
    """Screens in print order (`print_order`), numbered, each in its run.

    Run by run, in each in print order: see `in_runs`.
    """
    bases = {n: s for n, s in enumerate(screens) if s.base}
    order = print_order(
        [
            PrintedScreen(
                name=str(n),
                lightness=lightness[n],
                is_base=s.base,
                discharges=s.ink.kind == "discharge-base",
                over=tuple(
                    str(b) for b, base in bases.items() if b != n and set(base.over) & set(s.shows)
                ),
                flash=bool(s.flash),
            )
            for n, s in enumerate(screens)
        ],
        light_before_dark=light_before_dark,
    )
    dealt = in_runs(
        tuple(
            OnPress(
                base=screens[n].base,
                wet=screens[n].base and screens[n].ink.kind == "discharge-base",
                flash=bool(screens[n].flash),
                over=tuple(
                    order.index(b)
                    for b, base in bases.items()
                    if b != n and set(base.over) & set(screens[n].shows)
                ),
            )
            for n in order
        ),
        job.press,
        runs=way.runs,
    )
    assert dealt is not None  # else it were no way
    by_run = sorted(zip(dealt, order, strict=True), key=lambda pair: pair[0])
    return tuple(
        replace(screens[at], number=number, run=run)
        for number, (run, at) in enumerate(by_run, start=1)
    )
