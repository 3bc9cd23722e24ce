"""The decision: film evaluations beside bare exponentials, one decision beside the literal twin's
loop, and a palette of 20 inks on 100 garments.

Times are CPU seconds of this thread, the least of several, steps compared taken in turn: another
process on the machine then counts little. The twin's loop is timed on every eighth build, each by
every move of the uncertainty, and scaled to all of them; all of it takes half a minute.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from inksim.colour.grid import BANDS
from inksim.colour.lights import weights, white_xyz
from inksim.colour.viewing import Viewing
from inksim.decision.build_evaluation import against, evaluate
from inksim.decision.candidate_builds import BuildSpace, build_space
from inksim.decision.palette_by_garment import answers_on, reach
from inksim.optics.kubelka_munk import films_over
from inksim.printing.build import lower
from inksim.printing.swatches import BLOCK_ELEMENTS, mean_reflectance
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.stock.ink import Ink, mix_inks
from tests import reference

POINTS = 8
D50 = Viewing()
INKS, GARMENTS = 20, 100
Step = Callable[[], object]
Row = tuple[str, float, float | str | None, str]


def best(runs: int, *steps: Step) -> list[float]:
    """Least CPU seconds of each step, the steps taken in turn."""
    times = [float("inf")] * len(steps)
    for _ in range(runs):
        for number, step in enumerate(steps):
            start = time.thread_time()
            step()
            times[number] = min(times[number], time.thread_time() - start)
    return times


def films(builds: int, *, layers: int) -> tuple[Step, Step]:
    """Films over a cloth and out through the surface, and exponentials of as many elements.

    Elements: points × bands × builds × films.
    """
    rng = np.random.default_rng(1)
    K, S = 0.2 * rng.random((2, layers, BANDS, builds)) + 1e-3
    thickness = 6.0 * rng.random((layers, POINTS, 1, builds)) + 0.5
    net = rng.random((POINTS, BANDS, builds))
    scratch = np.empty(net.shape)
    exponent, result = -rng.random(net.shape), np.empty(net.shape)

    def exponentials() -> None:
        for _ in range(layers):
            np.exp(exponent, out=result)

    return lambda: films_over(K, S, thickness_um=thickness, net=net, out=scratch), exponentials


def film_rows() -> list[Row]:
    """Films against exp, within the cache as the engine works, and far outside it.

    A film is what one more of them costs. What the first takes from the cloth and the last gives
    to the surface is no film; the second row counts that with two of them, a color over a base.
    """
    in_cache = BLOCK_ELEMENTS // (POINTS * BANDS)
    three, exp_three, two, exp_two, one, exp_one = best(
        200, *(step for layers in (3, 2, 1) for step in films(in_cache, layers=layers))
    )
    far_film, far_exp = best(5, *films(32 * in_cache, layers=2))
    elements = in_cache * POINTS * BANDS
    return [
        (f"a film / numpy.exp, {in_cache} builds", (three - one) / (exp_three - exp_one), 3.0, "×"),
        ("two films, from the cloth and out, each / numpy.exp", two / exp_two, None, "×"),
        ("the same, 32 times as many builds in one piece", far_film / far_exp, None, "×"),
        ("a film", (three - one) / elements / 2 * 1e9, None, "ns"),
    ]


def swatch_rows(shop: Shop) -> list[Row]:
    """Whole swatches, cloth, two films, surface and mean, against exp of their films' elements."""
    space = stock_space(shop, inks=4, garments=2)
    slabs = lower(space.table(), shop.press.values)
    elements = len(space) * slabs.film_um.shape[-1] * POINTS * BANDS
    exponent = -np.random.default_rng(1).random(BLOCK_ELEMENTS)
    whole, exp = best(15, lambda: mean_reflectance(slabs), lambda: np.exp(exponent))
    per_film = whole / elements
    return [
        ("a whole swatch, per film / numpy.exp", per_film / (exp / exponent.size), None, "×"),
        ("swatches a second, two films each", len(space) / whole, None, "1/s"),
    ]


def decision_rows(shop: Shop) -> list[Row]:
    """Every build of one ink on one garment, each with its interval, against the twin's loop."""
    ink, garment = shop.ink("Lantern Orange"), shop.garment("Coal Black")
    target = shop.target("Regatta Orange").lab(D50)

    def decide() -> object:
        space = build_space(shop, garments=[garment], inks=[ink])
        weighed = evaluate(space, press=shop.press, viewing=D50)
        return against(weighed, standard=target, tolerance=3.0)

    space = build_space(shop, garments=[garment], inks=[ink])
    moves = 1 + 2 * len(evaluate(space, press=shop.press, viewing=D50).response.slope)
    some = space.take(np.arange(0, len(space), 8)).builds()
    table, white = weights("D50", 2), list(white_xyz("D50", 2))
    standard = [float(v) for v in target]

    def literal() -> None:
        """One move of every eighth build, and one of 256 samples held against the target."""
        for build in some:
            spectrum = reference.swatch(build, shop.press.values)
            reference.lab(reference.xyz(spectrum, table), white)

    def sampled() -> None:
        for _ in range(256):
            reference.delta_e_2000(standard, [50.0, 40.0, 30.0])

    fast, swatches, samples = best(7, decide, literal, sampled)
    slow = swatches / len(some) * len(space) * moves + samples * len(space)
    return [
        (f"the twin's loop / one decision, {len(space)} builds", slow / fast, ">= 200", "×"),
        ("one decision, all builds with intervals", fast * 1000, None, "ms"),
        ("the twin's loop", slow, None, "s"),
    ]


def stock(shop: Shop, *, inks: int, garments: int) -> tuple[list[Ink], list[object]]:
    """As many inks and garments as asked: the demo shop's, mixed and dyed anew."""
    colours = [ink for ink in shop.inks.values() if ink.kind == "color"]
    mixed = [
        mix_inks([(one, 0.6), (two, 0.4)], name=f"{one.name} and {two.name}")
        for one, two in zip(colours, [*colours[1:], colours[0]], strict=True)
    ]
    cloths = list(shop.garments.values())
    dyed = [
        replace(
            cloths[at % len(cloths)],
            name=f"garment {at}",
            reflectance=cloths[at % len(cloths)].reflectance * (1.0 - 0.002 * (at // len(cloths))),
        )
        for at in range(garments)
    ]
    return [*colours, *mixed][:inks], list(dyed)


def stock_space(shop: Shop, *, inks: int, garments: int) -> BuildSpace:
    """Every sensible build of a stock."""
    some, cloths = stock(shop, inks=inks, garments=garments)
    return build_space(shop, garments=cloths, inks=some)  # type: ignore[arg-type]


def palette_time(shop: Shop, *, inks: int, garments: int, whole: bool) -> tuple[float, int]:
    """CPU seconds and builds of one color on a stock, garment by garment, as a palette is.

    whole: every build with its interval, as if any could be chosen.
    """
    some, cloths = stock(shop, inks=inks, garments=garments)
    bases = {name: ink for name, ink in shop.inks.items() if ink.kind != "color"}
    big = replace(shop, inks={ink.name: ink for ink in some} | bases)
    target = shop.target("Regatta Orange")
    start, builds = time.thread_time(), 0
    for garment in cloths:
        found = reach(big, garment=garment)  # type: ignore[arg-type]
        builds += len(found.space)
        if whole:
            weighed = evaluate(found.space, press=shop.press, viewing=D50)
            against(weighed, standard=target.lab(D50), tolerance=3.0)
        else:
            answers_on(found, [target], tolerance=3.0)
    return time.thread_time() - start, builds


def palette_rows(shop: Shop) -> list[Row]:
    """20 inks × 100 garments × all builds; half of each, to show that time is linear; and a tenth
    of the garments with every interval, to show what is saved."""
    some, builds = palette_time(shop, inks=INKS, garments=GARMENTS, whole=False)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e9
    every, fewer = palette_time(shop, inks=INKS, garments=GARMENTS // 10, whole=True)
    saved = every / fewer * builds / some
    rows: list[Row] = [
        (f"{INKS} inks × {GARMENTS} garments: builds", builds, None, ""),
        ("the same, time for one color", some, 8.0, "s"),
        ("every interval / those of builds that could be chosen", saved, ">= 4", "×"),
        ("every build with its interval", fewer / every, None, "builds/s"),
        ("peak memory of the process", peak, 1.0, "GB"),
    ]
    for what, inks, garments in (
        ("half the inks", INKS // 2, GARMENTS), ("half the garments", INKS, GARMENTS // 2)
    ):  # fmt: skip
        part, fewer = palette_time(shop, inks=inks, garments=garments, whole=False)
        rows.append((f"time a build, whole / {what}", some / builds * fewer / part, 1.2, "×"))
    return rows


def main() -> list[Row]:
    """Rows (name, value, target, unit)."""
    shop = load_shop()
    palette = palette_rows(shop)  # first: the process's peak of memory is its own
    return [*film_rows(), *swatch_rows(shop), *decision_rows(shop), *palette]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:60} {value:12.4g} {unit:9} {target if target is not None else ''}")
