"""The demo shop is whole and says that it is invented; names, targets, less than a spectrum."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS
from inksim.colour.srgb import lab_from_hex
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import external_from_internal, film_over, internal_from_external
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import check_usable, usable_routes, usual_build
from inksim.stock.garment import BRIGHTEST
from inksim.stock.ink import prints_through
from inksim.stock.look_film import LOOK_BACKING
from inksim.stock.press import Press
from inksim.stock.target import parse_target, target_from_reflectance
from tests.small_shop import GREY, write

D50 = Viewing("D50", 2)
D65 = Viewing("D65", 10)


@pytest.fixture(scope="module")
def demo() -> Shop:
    return load_shop()


# -- The demo shop


def test_the_demo_shop_has_what_it_should(demo: Shop) -> None:
    assert len(demo.inks) >= 10
    kinds = [ink.kind for ink in demo.inks.values()]
    assert {"color", "white-base", "discharge-base", "clear-base"} == set(kinds)
    assert kinds.count("color") >= 8
    assert len(demo.garments) == 14
    assert len(demo.screens) == 9
    assert len(demo.palette) == 16
    assert len(demo.targets) >= 5
    counts = [round(s.threads_per_inch) for s in demo.screens.values()]
    assert counts == sorted(counts)
    assert {110, 160, 230, 305, 330} <= set(counts)
    cellulose = [g.cellulose for g in demo.garments.values()]
    assert 0.0 in cellulose
    assert any(0 < share < 1 for share in cellulose)
    grades = {g.discharge_grade for g in demo.garments.values()}
    assert grades == {1, 2, 3, 4, 5}


def test_dyed_polyester_gets_the_base_that_blocks_its_dye(demo: Shop) -> None:
    sport, white = demo.garment("Anvil Black Sport"), demo.garment("Flour White")
    blocking = demo.ink("Sluice White Base")
    assert blocking.blocks_dye
    assert demo.base_ink("white-base", garment=sport) is blocking
    assert demo.base_ink("white-base", garment=white) is demo.ink("Chalk White Base")
    assert demo.base_ink("white-base") is demo.ink("Chalk White Base")
    undyed = replace(sport, reflectance=white.reflectance)
    assert not demo.dye_migrates(undyed)
    # the only white that there is goes under, whatever it blocks
    few = replace(demo, inks={"Sluice White Base": blocking})
    assert few.base_ink("white-base", garment=white) is blocking
    assert usual_build(
        demo, garment=sport, ink=demo.ink("Kiln Red"), route="white-base"
    ).base.ink is blocking  # fmt: skip


def test_everything_in_the_demo_shop_says_that_it_is_invented(demo: Shop) -> None:
    assert demo.invented
    assert demo.scenario
    owned = (demo.inks, demo.garments, demo.targets, demo.palette)
    assert [e.name for group in owned for e in group.values() if e.data != "invented"] == []
    assert not demo.press.calibrated
    for file in ("inks", "garments", "screens", "press", "targets", "palette", "shop"):
        text = (demo_shop_folder() / f"{file}.toml").read_text(encoding="utf-8")
        assert "invented" in text.lower(), file


def test_the_demo_inks_are_of_the_size_that_paint_films_show(demo: Shop) -> None:
    # Levinson, Berdahl & Akbari, Sol. Energy Mater. Sol. Cells 89 (2005) 319, orders of magnitude
    # as they are quoted: peaks of K 0.1-3 per µm of pigmented film; S of organic colors 0.002-0.03;
    # titanium dioxide 0.1-0.9, falling with wavelength, absorbing below about 410 nm.
    for ink in demo.inks.values():
        assert ink.K.max() < 3, ink.name
        if ink.kind == "color" and ink.name != "Oatcake Cream":
            assert ink.K.max() > 0.1, ink.name
            assert 0.002 <= ink.S.min() <= ink.S.max() <= 0.045, ink.name
    white = demo.base_ink("white-base")
    assert 0.1 < white.S.min() < white.S.max() <= 0.95
    assert np.all(np.diff(white.S) < 0)
    assert white.K[0] > 10 * white.K[3]


def test_the_demo_white_hides_like_a_measured_paint(demo: Shop) -> None:
    # A 25 µm white at 23 % pigment volume has a contrast ratio near 0.89 (same paper). The demo
    # white is a screen ink, about half as strong again; a film of 10 µm must do no better than
    # that paint and one of 25 µm no worse.
    white = demo.base_ink("white-base")

    def contrast(film_um: float) -> float:
        black, card = (internal_from_external(r) for r in (0.01, 0.80))
        readings = [
            external_from_internal(film_over(white.K, white.S, thickness_um=film_um, backing=b))
            for b in (black, card)
        ]
        Y = [lab_to_Y(lab(r, D50)[0]) for r in readings]
        return Y[0] / Y[1]

    def lab_to_Y(L: float) -> float:
        return ((L + 16) / 116) ** 3

    assert contrast(10.0) < 0.91
    assert contrast(25.0) > 0.87


@pytest.mark.parametrize(
    ("kind", "ask", "found"),
    [
        ("ink", "lantern orange", "Lantern Orange"),
        ("ink", "  Weir Teal ", "Weir Teal"),
        ("garment", "COAL BLACK", "Coal Black"),
        ("screen", "230", "230"),
        ("screen", "230.4", "230"),
    ],
)
def test_names_are_found_however_they_are_typed(
    demo: Shop, kind: str, ask: str, found: str
) -> None:
    assert getattr(demo, kind)(ask).name == found


@pytest.mark.parametrize(
    ("kind", "ask", "said"),
    [
        ("ink", "Lantern Ornge", "no ink 'Lantern Ornge' in this shop; .* 'Lantern Orange'"),
        ("garment", "Cole Black", "did you mean 'Coal Black'"),
        ("screen", "231", "did you mean '230'"),
        ("screen", "nan", "there is no screen 'nan'"),
        ("ink", "zzzz", "it has: Lantern Orange, Kiln Red"),
        ("target", "Rivr Teal", "did you mean 'River Teal'.* hex code"),
    ],
)  # fmt: skip
def test_an_unknown_name_suggests_the_near_one(demo: Shop, kind: str, ask: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        getattr(demo, kind)(ask)


def test_the_nearest_screen_is_one_that_the_ink_prints_through(demo: Shop) -> None:
    white = demo.base_ink("white-base")
    assert demo.screen_near(110, ink=white).name == "110"
    assert demo.screen_near(305, ink=white).name == "200"
    assert demo.screen_near(1000).name == "330"
    assert prints_through(white, demo.screen("200"))
    assert not prints_through(white, demo.screen("230"))
    teal = demo.ink("Weir Teal")
    through = [name for name, screen in demo.screens.items() if prints_through(teal, screen)]
    assert through == [name for name in demo.screens if name != "110"]  # 125 to 330
    assert demo.screen_near(110, ink=teal).name == "125"


def test_an_ink_that_no_screen_suits_is_told(tmp_path: Path) -> None:
    coarse = f'[[ink]]\nname = "glitter"\nkind = "color"\nsolids_by_volume = 0.3\nK = {GREY}\nS = {GREY}\nfinest_threads_per_inch = 60\ncoarsest_threads_per_inch = 20\n'  # noqa: E501
    shop = load_shop(write(tmp_path, inks=coarse))
    with pytest.raises(InputError, match=r"'glitter' prints through 20 to 60 threads/inch"):
        shop.screen_near(110, ink=shop.ink("glitter"))
    with pytest.raises(InputError, match=r"no ink of kind 'white-base'; add one to inks.toml"):
        shop.base_ink("white-base")


def test_a_route_is_refused_for_what_it_lacks(demo: Shop) -> None:
    black = demo.garment("Coal Black")
    for route in usable_routes(black, shop=demo):
        check_usable(route, garment=black, shop=demo)
    baseless = replace(demo, inks={ink.name: ink for ink in demo.colour_inks})
    with pytest.raises(InputError, match="no ink of kind 'white-base'"):
        check_usable("white-base", garment=black, shop=baseless)
    unknown = replace(black, discharge_grade=None, discharged=None)
    with pytest.raises(InputError, match="'Coal Black' has no discharge data"):
        check_usable("discharge-base", garment=unknown, shop=demo)


# -- Targets


@pytest.mark.parametrize("text", ["#e8622c", "e8622c", "#E8622C", " #e8622c "])
def test_a_hex_target(text: str) -> None:
    target = parse_target(text)
    assert target is not None
    np.testing.assert_allclose(target.lab_d50, lab_from_hex("#e8622c", D50))
    assert target.hex() == ("#e8622c", True)
    assert target.data == "recovered"


@pytest.mark.parametrize(
    "text", ["62,48,50", "62 48 50", "62; 48; 50", "Lab 62, 48, 50", "lab(62, 48, 50)", "62/48/50"]
)
def test_a_lab_target(text: str) -> None:
    target = parse_target(text)
    assert target is not None
    np.testing.assert_array_equal(target.lab_d50, [62, 48, 50])


def test_a_lab_target_with_signs_and_decimals() -> None:
    target = parse_target("27.5, +30.25, -23")
    assert target is not None
    np.testing.assert_array_equal(target.lab_d50, [27.5, 30.25, -23])


@pytest.mark.parametrize("text", ["River Teal", "facade", "62,48", "", "62,48,50,1"])
def test_what_is_neither_hex_nor_lab_is_a_name(text: str) -> None:
    assert parse_target(text) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("#e8622", "'#e8622' is not a color: write hex as #rrggbb"),
        ("#gggggg", "is not a color"),
        ("120,0,0", "Lab 120, 0, 0 is out of range"),
        ("50,200,0", "out of range"),
    ],
)
def test_a_malformed_target_is_refused(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_target(text)


def test_a_target_is_found_by_name_before_it_is_read(demo: Shop) -> None:
    assert demo.target("river teal") is demo.targets["River Teal"]
    assert demo.target("Moss") is demo.palette["Moss"]
    assert demo.target("#0f5c63").lab_d50 == pytest.approx(demo.target("River Teal").lab_d50)


def test_a_target_read_as_a_spectrum_changes_with_the_light(demo: Shop) -> None:
    # A hex code has no spectrum: it keeps its code. A reading is looked at under the light itself.
    orange = demo.garments["Brick Red"].reflectance
    read = target_from_reflectance(orange, name="red")
    np.testing.assert_array_equal(read.lab(D65), lab(orange, D65))
    assert delta_e_2000(read.lab(D50), read.lab(D65)) > 1
    known = demo.target("River Teal")
    assert known.hex(D65) == known.hex(D50)
    np.testing.assert_allclose(known.lab(D65), lab_from_hex("#0f5c63", D65), atol=1e-9)


# -- Less than a spectrum


@pytest.mark.parametrize("data", ["", 'data = "invented"\n'])
def test_a_garment_of_a_hex_code_is_recovered(tmp_path: Path, data: str) -> None:
    extra = f'[[garment]]\nname = "hex"\nfibers = {{cotton = 1.0}}\nhex = "#30507a"\n{data}'
    garment = load_shop(write(tmp_path, garments=extra)).garment("hex")
    assert garment.data == ("invented" if data else "recovered")
    # Round trip: the spectrum has the color of the code, well within 0.1 ΔE00.
    assert delta_e_2000(lab_from_hex("#30507a", D50), lab(garment.reflectance, D50)) < 0.01
    assert 0 < garment.reflectance.min() <= garment.reflectance.max() <= BRIGHTEST


def test_a_white_shirt_of_a_hex_code_is_white_cotton_not_a_screens_white(tmp_path: Path) -> None:
    # Bleached cotton without brightener is at L* 93 to 97 (common practice, no source).
    extra = '[[garment]]\nname = "hex"\nfibers = {cotton = 1.0}\nhex = "#ffffff"\n'
    garment = load_shop(write(tmp_path, garments=extra)).garment("hex")
    assert 93.0 < lab(garment.reflectance, D50)[0] < 97.0


def test_a_garment_of_a_lab_value_is_recovered(tmp_path: Path) -> None:
    extra = '[[garment]]\nname = "lab"\nfibers = {cotton = 1.0}\nlab = [35, 20, -30]\n'
    garment = load_shop(write(tmp_path, garments=extra)).garment("lab")
    assert garment.data == "recovered"
    assert delta_e_2000([35, 20, -30], lab(garment.reflectance, D50)) < 0.01


@pytest.mark.parametrize("look", ["#e8622c", "#0f5c63", "#5b2a63", "#f2c230", "#2b2a2a"])
def test_an_ink_of_a_hex_code_looks_like_it_over_white(tmp_path: Path, look: str) -> None:
    # Round trip: a film of the stated thickness over white paper, seen through its surface.
    extra = f'[[ink]]\nname = "hex"\nkind = "color"\nsolids_by_volume = 0.3\nhex = "{look}"\nfilm_um = 8\n'  # noqa: E501
    ink = load_shop(write(tmp_path, inks=extra)).ink("hex")
    assert ink.data == "recovered"
    backing = internal_from_external(LOOK_BACKING)
    seen = external_from_internal(film_over(ink.K, ink.S, thickness_um=8.0, backing=backing))
    # Where the code asks for more than the white gives (yellow, red end), the white is the limit.
    assert delta_e_2000(lab_from_hex(look, D50), lab(seen, D50)) < 0.5


def test_a_reading_is_measured_unless_it_says_otherwise(tmp_path: Path) -> None:
    shop = load_shop(write(tmp_path))
    assert shop.ink("ember").data == "measured"
    assert shop.garment("gray").data == "measured"


# -- A shop without faults


def test_the_least_shop_loads(tmp_path: Path) -> None:
    shop = load_shop(write(tmp_path))
    assert (shop.name, shop.invented, shop.folder) == ("Test shop", False, tmp_path)
    assert shop.press.release == (0.5, 0.1)
    assert shop.press.soak == Press.soak  # not given: the generic prior
    assert shop.habits.straight_passes == 2
    assert not shop.palette
    np.testing.assert_array_equal(shop.garment("gray").undyed, np.full(BANDS, 0.7))


def test_a_shop_in_another_place_is_the_same_shop(demo: Shop, tmp_path: Path) -> None:
    shutil.copytree(demo_shop_folder(), tmp_path / "mine")
    mine = load_shop(tmp_path / "mine")
    for name, ink in demo.inks.items():
        np.testing.assert_array_equal(mine.inks[name].K, ink.K)
    assert mine.press == demo.press


@pytest.mark.parametrize("unit", ["threads_per_inch = 160", f"threads_per_cm = {160 / 2.54}"])
def test_a_screen_may_be_given_in_either_unit(tmp_path: Path, unit: str) -> None:
    extra = f'[[screen]]\nname = "other"\n{unit}\nthread_um = 55\n'
    assert load_shop(write(tmp_path, screens=extra)).screen("other").threads_per_inch == (
        pytest.approx(160)
    )


def test_no_such_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"there is no shop folder .*nowhere"):
        load_shop(tmp_path / "nowhere")
