"""The model of tonal prints: solids are flat prints, limits, screens for the line count."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab, lab_from_xyz
from inksim.common.errors import InputError
from inksim.optics.halftone import grown
from inksim.printing.build import Build, Layer, lower, tabulate
from inksim.printing.swatches import mean_reflectance
from inksim.separation.halftone_print import (
    TonalSet,
    quick_xyz,
    tonal_lab,
    tonal_model,
    tonal_reflectance,
    tonal_screen,
    tonal_set,
)
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue")
ROUTES = ("straight", "white-base", "discharge-base")


def made(garment: str, route: str, names: tuple[str, ...] = INKS, **more) -> TonalSet:
    inks = [SHOP.ink(name) for name in names]
    return tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route, **more)


# -- limits


@pytest.mark.parametrize("route", ROUTES)
def test_no_ink_is_the_bare_garment(route: str) -> None:
    tonal = made("Coal Black", route)
    model = tonal_model(tonal)
    bare = tonal_reflectance(model, np.zeros(model.plates))
    assert bare == pytest.approx(tonal.garment.reflectance, rel=1e-9)


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("printed", [(0,), (1,), (0, 2), (0, 1, 2)])
def test_solids_are_the_flat_print_of_the_same_layers(route: str, printed: tuple[int, ...]) -> None:
    """Both go through `build` and `swatches`; the flat one knows nothing of halftones."""
    tonal = made("Coal Black", route)
    model = tonal_model(tonal)
    films = tuple(tonal.colours[at] for at in printed)
    under = () if tonal.base is None else (tonal.base,)
    flat = Build(garment=tonal.garment, layers=(*under, *films), route=tonal.route)
    wanted = mean_reflectance(lower(tabulate([flat]), tonal.press))[0]
    coverages = np.zeros(model.plates)
    coverages[: len(under)] = 1.0
    coverages[[at + len(under) for at in printed]] = 1.0
    assert tonal_reflectance(model, coverages) == pytest.approx(wanted, rel=1e-9)


def test_without_yule_nielsen_a_tint_is_the_mean_of_its_light() -> None:
    tonal = made("Flour White", "straight", INKS[:1])
    plain = tonal_model(replace(tonal, press=tonal.press._replace(yule_nielsen_n=1.0)))
    cloth, solid = (tonal_reflectance(plain, [a]) for a in (0.0, 1.0))
    assert tonal_reflectance(plain, [0.3]) == pytest.approx(0.7 * cloth + 0.3 * solid, rel=1e-9)
    spread = tonal_reflectance(tonal_model(tonal), [0.3])
    assert np.all(spread <= 0.7 * cloth + 0.3 * solid + 1e-12)


def test_more_base_is_lighter_and_more_ink_darker_on_a_black_shirt() -> None:
    model = tonal_model(made("Coal Black", "white-base"))
    base = tonal_lab(model, [[b, 0.0, 0.0, 0.0] for b in np.linspace(0, 1, 6)], D50)
    ink = tonal_lab(model, [[1.0, 0.0, 0.0, a] for a in np.linspace(0, 1, 6)], D50)
    assert np.all(np.diff(base[:, 0]) > 0)
    assert np.all(np.diff(ink[:, 0]) < 0)


def test_a_base_of_the_size_of_its_color_leaves_nothing_on_the_cloth() -> None:
    """Half a tint on half a base: half bare cloth, half of the flat print over a solid base."""
    tonal = made("Coal Black", "white-base", INKS[:1])
    model = tonal_model(replace(tonal, press=tonal.press._replace(yule_nielsen_n=1.0)))
    half = tonal_reflectance(model, [0.5, 0.5])
    cloth, over = (tonal_reflectance(model, c) for c in ([0.0, 0.0], [1.0, 1.0]))
    assert half == pytest.approx(0.5 * (cloth + over), rel=1e-9)


@pytest.mark.parametrize("route", ROUTES)
def test_the_quick_way_gives_the_same_colors(route: str) -> None:
    model = tonal_model(made("Coal Black", route))
    coverages = np.random.default_rng(3).random((400, model.plates))
    off = delta_e_2000(
        tonal_lab(model, coverages, D50), lab_from_xyz(quick_xyz(model, coverages, D50), D50)
    )
    assert off.max() < 0.05


def test_the_light_counts() -> None:
    model = tonal_model(made("Flour White", "straight"))
    d65 = Viewing("D65", 10)
    seen = tonal_reflectance(model, [0.2, 0.6, 0.1])
    assert tonal_lab(model, [0.2, 0.6, 0.1], d65) == pytest.approx(lab(seen, d65))


def test_plates_take_out_the_growth_of_dots() -> None:
    tonal = made("Flour White", "straight")
    a = np.linspace(0, 1, 21)
    um, lines = tonal.growth
    again = grown(tonal.on_plate(a), growth_um=um, lines_per_inch=lines)
    assert again == pytest.approx(a, abs=1e-5)
    # 30 µm at 45 lines/inch: half a tint on the shirt needs some 14 points less on the plate
    assert 0.34 < float(tonal.on_plate(0.5)) < 0.38


# -- screens


def test_screens_leave_room_for_dots() -> None:
    """4.5 threads a line is comfortable, 3.5 the least: common practice, no source."""
    for lines, warned in ((35.0, 0), (45.0, 0), (55.0, 0), (65.0, 4)):
        tonal = made("Coal Black", "white-base", lines_per_inch=lines)
        assert len(tonal.warnings) == warned
    cream = SHOP.ink("Oatcake Cream")  # up to 255 threads/inch
    assert tonal_screen(SHOP, cream, lines_per_inch=45, usual=230).name == "230"
    assert tonal_screen(SHOP, cream, lines_per_inch=55, usual=160).name == "200"
    assert tonal_screen(SHOP, cream, lines_per_inch=120, usual=160).name == "230"


def test_a_coarse_mesh_is_warned_of() -> None:
    tonal = made("Coal Black", "white-base")
    assert tonal.base is not None
    coarse = replace(
        tonal, base=Layer(ink=tonal.base.ink, screen=SHOP.screen("110"), passes=1, flash=True)
    )
    assert len(coarse.warnings) == 1
    assert "Chalk White Base" in coarse.warnings[0]
    assert "2.4 threads per line" in coarse.warnings[0]


# -- refusals


@pytest.mark.parametrize(
    ("names", "more", "words"),
    [
        ((), {}, "at least one ink"),
        (("Kiln Red", "Kiln Red"), {}, "given twice"),
        (("Chalk White Base",), {}, "goes under the colors"),
        (tuple(i.name for i in SHOP.inks.values() if i.kind == "color")[:7], {}, "1 to 6 inks"),
        (("Kiln Red",), {"lines_per_inch": 0.0}, "usually 35 to 55"),
        (("Kiln Red",), {"lines_per_inch": float("nan")}, "usually 35 to 55"),
        (("Kiln Red",), {"lines_per_inch": 400.0}, "usually 35 to 55"),
    ],
)
def test_what_cannot_be_printed_is_refused(names, more, words: str) -> None:
    with pytest.raises(InputError, match=words):
        made("Flour White", "straight", names, **more)


def test_the_number_of_coverages_must_fit() -> None:
    model = tonal_model(made("Coal Black", "white-base"))
    with pytest.raises(InputError, match="3 coverages are given for 4 plates"):
        tonal_reflectance(model, [0.0, 0.5, 0.5])
