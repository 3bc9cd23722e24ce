"""What printers know, asked of the demo shop: every fact here is common practice, no source.

Colors are D50/2°. The demo shop's inks and cloths are invented, so a fact that holds here shows
that the model can say what the trade says, not that its numbers are those of any real ink.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import chroma, delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.decision.candidate_builds import build_space
from inksim.decision.one_colour import advise
from inksim.printing.build import ROUTES, Build, Layer, Route, lower, tabulate, wet_deposit_um
from inksim.printing.prediction import Prediction, predict_nominal
from inksim.printing.swatches import point_reflectance
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.ink import prints_through
from inksim.stock.screen import Screen
from inksim.stock.target import target_from_lab

D50 = Viewing("D50", 2)
SHOP = load_shop()
COLOURS = [ink.name for ink in SHOP.inks.values() if ink.kind == "color"]
CHROMATIC = [name for name in COLOURS if name != "Hearth Black"]
BRIGHT = ["Lantern Orange", "Kiln Red", "Barley Yellow", "Foxglove Pink"]
DEEP = ["Weir Teal", "Damson Purple"]
DARK_DISCHARGEABLE = ["Coal Black", "Estuary Navy"]
UNDISCHARGEABLE = ["Ferry Royal", "Lagoon Turquoise", "Clover Green", "Anvil Black Sport"]
GREYS = ["Flour White", "Pebble Heather", "Mist Gray", "Slate Gray", "Coal Black"]
"""Neutral garments of the demo shop, from light to dark."""

SAME_COLOUR = 3.5
"""ΔE00 between two prints that count as the same color: the deviation that ISO 12647-2:2013 allows
a solid of cyan, magenta or yellow (quoted in scholarworks.rit.edu/other/854, TAGA 2015)."""


def printed(*builds: Build) -> list[Prediction]:
    return predict_nominal(builds, press=SHOP.press.values, viewing=D50)


def usual(garment: str, ink: str, route: Route, *, flash: bool | None = None) -> Build:
    return usual_build(
        SHOP, garment=SHOP.garment(garment), ink=SHOP.ink(ink), route=route, flash=flash
    )


def straight(garment: str, ink: str, screen: str | Screen, passes: int = 2) -> Build:
    mesh = SHOP.screen(screen) if isinstance(screen, str) else screen
    return usual_build(
        SHOP,
        garment=SHOP.garment(garment),
        ink=SHOP.ink(ink),
        route="straight",
        screen=mesh,
        passes=passes,
    )


def colour_of_garment(name: str) -> np.ndarray:
    return lab(SHOP.garment(name).reflectance, D50)


def apart(one: Prediction, two: Prediction) -> float:
    return float(delta_e_2000(one.lab, two.lab))


def test_the_garments_are_what_the_facts_speak_of() -> None:
    # Dark: L* below 25. Light gray: above 70. Mid-to-dark gray: 30 to 45. Neutral: C* below 6.
    light = {name: colour_of_garment(name) for name in SHOP.garments}
    assert all(light[name][0] < 25 for name in DARK_DISCHARGEABLE)
    assert all(light[name][0] > 70 for name in ("Mist Gray", "Pebble Heather"))
    assert 30 < light["Slate Gray"][0] < 45
    assert all(chroma(light[name]) < 6 for name in GREYS)
    assert np.all(np.diff([light[name][0] for name in GREYS]) < 0)
    assert all(SHOP.garment(name).cotton == 1.0 for name in DARK_DISCHARGEABLE)


# -- A dark shirt: white base, discharge base, straight


@pytest.mark.parametrize("ink", CHROMATIC)
@pytest.mark.parametrize("garment", DARK_DISCHARGEABLE)
def test_brightest_over_white_less_over_discharge_dullest_straight(garment: str, ink: str) -> None:
    on_cloth, discharged, white = printed(*(usual(garment, ink, route) for route in ROUTES))
    assert chroma(white.lab) > chroma(discharged.lab) + 1 > chroma(on_cloth.lab) + 2
    assert white.lab[0] > discharged.lab[0] > on_cloth.lab[0]


def test_the_same_ink_on_a_black_and_on_a_white_shirt_is_two_colors() -> None:
    for ink in CHROMATIC:
        black, white = printed(*(usual(g, ink, "straight") for g in ("Coal Black", "Flour White")))
        assert apart(black, white) > 10, ink
        assert white.lab[0] > black.lab[0], ink


def test_a_flashed_white_base_makes_all_shirts_alike() -> None:
    # What a base is for: the same ink over it is nearly one color on black, navy and red, the base
    # printed twice through its screen; of one stroke dark and red cloths still show a little.
    twice = replace(SHOP, habits=SHOP.habits.model_copy(update={"white_base_passes": 2}))
    for ink in COLOURS:
        for shop, most in ((SHOP, SAME_COLOUR), (twice, SAME_COLOUR / 2)):
            found = printed(
                *(
                    usual_build(
                        shop, garment=shop.garment(g), ink=shop.ink(ink), route="white-base"
                    )
                    for g in (*DARK_DISCHARGEABLE, "Brick Red")
                )
            )
            assert max(apart(found[0], other) for other in found[1:]) < most, ink


def test_white_on_black_is_light_gray_at_one_stroke_and_white_at_two() -> None:
    # Through 110; a finer mesh is grayer.
    once, twice, finer = printed(
        *(
            straight("Coal Black", "Chalk White Base", screen, passes=passes)
            for screen, passes in (("110", 1), ("110", 2), ("160", 1))
        )
    )
    assert 70 < finer.lab[0] < once.lab[0] < 80
    assert 80 < twice.lab[0] < 88
    assert all(chroma(print_.lab) < 4 for print_ in (once, twice, finer))


def test_a_black_on_cotton_is_no_black_hole() -> None:
    # Cotton prints of black are read at L* 15 to 22, from memory, for their face scatters, however
    # much ink there is. The demo's own black is a little darker; smooth, it would be L* 9.
    for garment in ("Flour White", "Coal Black"):
        (black,) = printed(straight(garment, "Hearth Black", "160"))
        assert 10 < black.lab[0] < 22


# -- A light gray shirt with a deep color, a dark gray one with a bright color


@pytest.mark.parametrize("ink", DEEP)
@pytest.mark.parametrize("garment", ["Mist Gray", "Pebble Heather"])
def test_a_deep_color_covers_light_gray_through_230_twice(garment: str, ink: str) -> None:
    # Covers: the print is the color it is on a white shirt, within what a solid may vary.
    grey, white = printed(straight(garment, ink, "230"), straight("Flour White", ink, "230"))
    assert apart(white, grey) < SAME_COLOUR
    # The fact has teeth: no bright ink does this, nor does a deep one on a mid-to-dark gray.
    for bright in BRIGHT:
        spoiled, clean = printed(
            straight(garment, bright, "230"), straight("Flour White", bright, "230")
        )
        assert apart(clean, spoiled) > 1.5 * SAME_COLOUR
    (dark,) = printed(straight("Slate Gray", ink, "230"))
    assert apart(white, dark) > 2 * SAME_COLOUR


@pytest.mark.parametrize("ink", DEEP)
@pytest.mark.parametrize("garment", ["Mist Gray", "Pebble Heather"])
def test_a_deep_color_on_light_gray_needs_no_base(garment: str, ink: str) -> None:
    # The target is the same ink as it prints on white: the advice must be to print straight.
    (wanted,) = printed(straight("Flour White", ink, "230"))
    advice = advise(
        SHOP,
        garment=SHOP.garment(garment),
        ink=SHOP.ink(ink),
        target=target_from_lab(wanted.lab, name="as on white"),
        tolerance=SAME_COLOUR,
    )
    assert advice.route == "straight"


@pytest.mark.parametrize("ink", BRIGHT)
def test_a_bright_color_straight_on_dark_gray_is_not_bright(ink: str) -> None:
    # Through 160 with two passes; bright is what the same ink is over a white base, same shirt.
    on_cloth, bright = printed(
        straight("Slate Gray", ink, "160"), usual("Slate Gray", ink, "white-base")
    )
    assert chroma(on_cloth.lab) < 0.6 * chroma(bright.lab)
    assert on_cloth.lab[0] < bright.lab[0] - 20


def spread(build: Build) -> tuple[float, float]:
    """ΔE00 between the thinnest and thickest twentieth of a print, and std/mean of its chroma."""
    q = (np.arange(200) + 0.5) / 200
    slabs = lower(tabulate([build]), SHOP.press.values)
    points = lab(point_reflectance(slabs, q)[0], D50)
    c = chroma(points)
    return float(delta_e_2000(points[10], points[-11])), float(c.std() / c.mean())


@pytest.mark.parametrize("ink", BRIGHT)
def test_a_bright_color_straight_on_dark_gray_looks_worn(ink: str) -> None:
    # Worn: the thin and the thick places of one print are not one color. (How that compares with
    # a print over white is not asked: the color there swings as far, around a much higher mean.)
    between, _ = spread(straight("Slate Gray", ink, "160"))
    assert between > SAME_COLOUR


@pytest.mark.parametrize("ink", CHROMATIC)
def test_straight_on_black_looks_more_worn_than_over_white(ink: str) -> None:
    # A larger share of the color comes and goes from place to place.
    _, share = spread(straight("Coal Black", ink, "160"))
    _, share_over_white = spread(usual("Coal Black", ink, "white-base"))
    assert share > 1.5 * share_over_white


# -- Meshes and passes


def test_a_finer_mesh_lays_down_less_ink_wet_and_dry() -> None:
    screens = sorted(SHOP.screens.values(), key=lambda s: s.threads_per_inch)
    assert len(screens) == 9
    garment, ink = SHOP.garment("Coal Black"), SHOP.ink("Weir Teal")
    for passes in (1, 2):
        layers = [Layer(ink=ink, screen=s, passes=passes) for s in screens]
        table = tabulate([Build(garment=garment, layers=(layer,)) for layer in layers])
        wet = wet_deposit_um(table, SHOP.press.values)[:, 0]
        assert np.all(np.diff(wet) < 0)
        assert np.all(np.diff(wet * table.solids[:, 0]) < 0)


@pytest.mark.parametrize("ink", CHROMATIC)
def test_a_finer_mesh_covers_a_black_shirt_less(ink: str) -> None:
    screens = [
        s
        for s in sorted(SHOP.screens.values(), key=lambda s: s.threads_per_inch)
        if prints_through(SHOP.ink(ink), s)
    ]
    found = printed(*(straight("Coal Black", ink, s) for s in screens))
    assert np.all(np.diff([p.contrast_ratio for p in found]) < 0)
    assert np.all(np.diff([p.show_through for p in found]) > 0)


@pytest.mark.parametrize("ink", [*DEEP, "Orchard Green", "Cornflower Blue", "Hearth Black"])
def test_a_lighter_garment_allows_a_finer_mesh(ink: str) -> None:
    # The finest mesh, two passes, at which the shirt does not show: the print is as on white.
    def finest(garment: str) -> float:
        allowed = [0.0]
        for screen in SHOP.screens.values():
            if not prints_through(SHOP.ink(ink), screen):
                continue
            here, white = printed(
                straight(garment, ink, screen), straight("Flour White", ink, screen)
            )
            if apart(white, here) <= SAME_COLOUR:
                allowed.append(screen.threads_per_inch)
        return max(allowed)

    meshes = [finest(garment) for garment in GREYS]
    assert np.all(np.diff(meshes) <= 0)
    if ink != "Hearth Black":  # black hides every gray through every mesh
        assert meshes[-1] < meshes[0]


@pytest.mark.parametrize("garment", ["Flour White", "Mist Gray", "Coal Black", "Ferry Royal"])
@pytest.mark.parametrize("ink", [*COLOURS, "Chalk White Base"])
def test_a_second_pass_adds_less_than_the_first(garment: str, ink: str) -> None:
    screen = SHOP.screen_near(160, ink=SHOP.ink(ink))
    once, twice = printed(*(straight(garment, ink, screen, passes=p) for p in (1, 2)))
    assert once.wet_um < twice.wet_um < 2 * once.wet_um
    first = float(delta_e_2000(colour_of_garment(garment), once.lab))
    assert 0 < apart(once, twice) < first


# -- Discharge


@pytest.mark.parametrize("ink", BRIGHT)
@pytest.mark.parametrize("garment", UNDISCHARGEABLE)
def test_a_dye_that_does_not_discharge_gains_nothing(garment: str, ink: str) -> None:
    # Gain: the share of the way from the straight print to the one over white. A tenth is nothing
    # a customer would pay a screen for; on the black and navy that discharge it is over half.
    def gain(shirt: str) -> float:
        on_cloth, discharged, white = printed(*(usual(shirt, ink, route) for route in ROUTES))
        return 1 - apart(white, discharged) / apart(white, on_cloth)

    assert gain(garment) < 0.1
    assert all(gain(shirt) > 0.5 for shirt in DARK_DISCHARGEABLE)


@pytest.mark.parametrize(
    ("garment", "reason"),
    [
        ("Ferry Royal", "does not discharge (grade 1 of 5)"),
        ("Lagoon Turquoise", "does not discharge (grade 1 of 5)"),
        ("Clover Green", "does not discharge (grade 2 of 5)"),
        ("Anvil Black Sport", "discharge only reaches cotton and other cellulose"),
        ("Flour White", "hardly any dye to take out"),
    ],
)
def test_the_advice_names_why_discharge_does_not_work(garment: str, reason: str) -> None:
    # Royal blues, turquoises and kelly greens leave a tint; polyester does not discharge at all.
    advice = advise(
        SHOP,
        garment=SHOP.garment(garment),
        ink=SHOP.ink("Lantern Orange"),
        target=SHOP.target("Regatta Orange"),
        tolerance=3.0,
    )
    (route,) = (r for r in advice.routes if r.route == "discharge-base")
    assert not route.usable
    assert reason in route.why_not
    assert advice.route != "discharge-base"
    if advice.route != "straight":
        assert any(reason in said for said in advice.reasons)


# -- Wet on wet


@pytest.mark.parametrize("ink", CHROMATIC)
def test_a_white_base_without_a_flash_tints_the_color(ink: str) -> None:
    flashed, wet = printed(
        *(usual("Coal Black", ink, "white-base", flash=flash) for flash in (True, False))
    )
    assert chroma(wet.lab) < chroma(flashed.lab) - 1
    assert wet.lab[0] > flashed.lab[0]


# -- The decision


@pytest.mark.parametrize(
    ("ink", "target"),
    [
        ("Lantern Orange", "Regatta Orange"),
        ("Kiln Red", "Oven Red"),
        ("Barley Yellow", "Barley"),
        ("Weir Teal", "River Teal"),
    ],
)
def test_white_and_black_shirts_get_different_advice(ink: str, target: str) -> None:
    verdicts = {
        garment: advise(
            SHOP,
            garment=SHOP.garment(garment),
            ink=SHOP.ink(ink),
            target=SHOP.target(target),
            tolerance=3.0,
        ).route
        for garment in ("Flour White", "Coal Black")
    }
    assert verdicts["Flour White"] == "straight"
    assert verdicts["Coal Black"] in ("discharge-base", "white-base")


def test_the_shop_prints_as_the_trade_does() -> None:
    # White base through about 110 to 160, flashed; color over it about 230 once; straight on cloth
    # through 160 twice.
    white = usual("Coal Black", "Weir Teal", "white-base")
    assert white.base is not None
    assert 100 <= white.base.screen.threads_per_inch <= 165
    assert white.base.flash
    assert (round(white.colour.screen.threads_per_inch), white.colour.passes) == (230, 1)
    on_cloth = usual("Coal Black", "Weir Teal", "straight")
    assert (round(on_cloth.colour.screen.threads_per_inch), on_cloth.colour.passes) == (160, 2)


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("ink", COLOURS)
def test_no_build_is_weighed_that_a_printer_would_not_print(route: Route, ink: str) -> None:
    # Straight: at most about 330 threads/inch and two passes. Over a base: one pass of color; a
    # white base through 110 to 160 and flashed, a discharge base wet on wet.
    weighed = build_space(
        SHOP, garments=[SHOP.garment("Coal Black")], inks=[SHOP.ink(ink)], routes=[route]
    ).builds()
    assert weighed
    for build in weighed:
        assert prints_through(build.colour.ink, build.colour.screen)
        assert build.colour.screen.threads_per_inch < 333
        if build.base is None:
            assert build.colour.passes <= 2
        else:
            assert build.colour.passes == 1
            assert 100 <= build.base.screen.threads_per_inch <= 165
            assert build.base.flash is (route == "white-base")
