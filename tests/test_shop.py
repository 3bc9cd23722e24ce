"""The demo shop is whole and says it is invented; a faulty shop says every fault at once."""

from __future__ import annotations

import math
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inksim.appearance import Viewing, delta_e_2000, lab, lab_from_hex
from inksim.errors import InputError, ShopFaults
from inksim.garment import BRIGHTEST
from inksim.ink import LOOK_BACKING
from inksim.kubelka_munk import external_from_internal, film_over, internal_from_external
from inksim.shop import Shop, demo_shop_folder, load_shop, prints_through
from inksim.spectra import BANDS
from inksim.target import parse_target, target_from_reflectance

D50 = Viewing("D50", 2)
D65 = Viewing("D65", 10)


@pytest.fixture(scope="module")
def demo() -> Shop:
    return load_shop()


def numbers(*values: float, count: int = BANDS) -> str:
    """A TOML array: the values given, and the last one again up to the count."""
    row = [*values, *[values[-1]] * (count - len(values))][:count]
    return "[" + ", ".join(f"{v}" for v in row) + "]"


GRAY = numbers(0.4)
WHOLE: dict[str, str] = {
    "shop.toml": 'name = "Test shop"\n',
    "inks.toml": f'[[ink]]\nname = "ember"\nkind = "colour"\nsolids_by_volume = 0.3\n'
    f"K = {numbers(0.1)}\nS = {numbers(0.02)}\n",
    "garments.toml": f'[[cloth]]\nname = "raw"\nreflectance = {numbers(0.7)}\n'
    f'[[garment]]\nname = "gray"\nfibres = {{cotton = 1.0}}\nreflectance = {GRAY}\n'
    'undyed = "raw"\ndischarge_grade = 3\n',
    "screens.toml": '[[screen]]\nname = "160"\nthreads_per_inch = 160\nthread_um = 60\n',
    "press.toml": 'name = "press"\n[parameters]\nrelease = {value = 0.5, sd = 0.1}\n',
}
"""The least shop there is, as text."""


def write(folder: Path, **changed: str | None) -> Path:
    """Write the least shop; a file given as text is added to, one given as None is left out.

    Keyword ``inks`` stands for inks.toml. Text that begins with ``=`` replaces the file.
    """
    for file, text in WHOLE.items():
        extra = changed.get(file.removesuffix(".toml"), "")
        if extra is None:
            continue
        whole = extra[1:] if extra.startswith("=") else text + extra
        (folder / file).write_text(whole, encoding="utf-8")
    return folder


def faults_of(folder: Path) -> tuple[str, ...]:
    with pytest.raises(ShopFaults) as refusal:
        load_shop(folder)
    return refusal.value.faults


def one_fault(folder: Path) -> str:
    faults = faults_of(folder)
    assert len(faults) == 1, faults
    return faults[0]


# -- The demo shop


def test_the_demo_shop_has_what_it_should(demo: Shop) -> None:
    assert len(demo.inks) >= 10
    kinds = [ink.kind for ink in demo.inks.values()]
    assert {"colour", "white-base", "discharge-base", "clear-base"} == set(kinds)
    assert kinds.count("colour") >= 8
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
        if ink.kind == "colour" and ink.name != "Oatcake Cream":
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


def test_an_ink_that_no_screen_suits_is_told(tmp_path: Path) -> None:
    coarse = f'[[ink]]\nname = "glitter"\nkind = "colour"\nsolids_by_volume = 0.3\nK = {GRAY}\nS = {GRAY}\nfinest_threads_per_inch = 60\ncoarsest_threads_per_inch = 20\n'  # noqa: E501
    shop = load_shop(write(tmp_path, inks=coarse))
    with pytest.raises(InputError, match=r"'glitter' prints through 20 to 60 threads/inch"):
        shop.screen_near(110, ink=shop.ink("glitter"))
    with pytest.raises(InputError, match=r"no ink of kind 'white-base'; add one to inks.toml"):
        shop.base_ink("white-base")


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
    # A hex code has no spectrum: it keeps its Lab. A reading is looked at under the light itself.
    orange = demo.garments["Brick Red"].reflectance
    read = target_from_reflectance(orange, name="red")
    np.testing.assert_array_equal(read.lab(D65), lab(orange, D65))
    assert delta_e_2000(read.lab(D50), read.lab(D65)) > 1
    known = demo.target("River Teal")
    np.testing.assert_array_equal(known.lab(D50), known.lab(D65))


# -- Less than a spectrum


@pytest.mark.parametrize("data", ["", 'data = "invented"\n'])
def test_a_garment_of_a_hex_code_is_recovered(tmp_path: Path, data: str) -> None:
    extra = f'[[garment]]\nname = "hex"\nfibres = {{cotton = 1.0}}\nhex = "#30507a"\n{data}'
    garment = load_shop(write(tmp_path, garments=extra)).garment("hex")
    assert garment.data == ("invented" if data else "recovered")
    # Round trip: the spectrum has the color of the code, well within 0.1 ΔE00.
    assert delta_e_2000(lab_from_hex("#30507a", D50), lab(garment.reflectance, D50)) < 0.01
    assert 0 < garment.reflectance.min() <= garment.reflectance.max() <= BRIGHTEST


def test_a_garment_of_a_lab_value_is_recovered(tmp_path: Path) -> None:
    extra = '[[garment]]\nname = "lab"\nfibres = {cotton = 1.0}\nlab = [35, 20, -30]\n'
    garment = load_shop(write(tmp_path, garments=extra)).garment("lab")
    assert garment.data == "recovered"
    assert delta_e_2000([35, 20, -30], lab(garment.reflectance, D50)) < 0.01


@pytest.mark.parametrize("look", ["#e8622c", "#0f5c63", "#5b2a63", "#f2c230", "#2b2a2a"])
def test_an_ink_of_a_hex_code_looks_like_it_over_white(tmp_path: Path, look: str) -> None:
    # Round trip: a film of the stated thickness over white paper, seen through its surface.
    extra = f'[[ink]]\nname = "hex"\nkind = "colour"\nsolids_by_volume = 0.3\nhex = "{look}"\nfilm_um = 8\n'  # noqa: E501
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
    assert shop.press.soak == (0.35, 0.12)  # not given: the generic prior
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


# -- Faults, one by one: file, entry, field

INK = '[[ink]]\nname = "bad"\nkind = "colour"\nsolids_by_volume = 0.3\n'
CLOTH = '[[garment]]\nname = "bad"\nfibres = {cotton = 1.0}\n'
SCREEN = '[[screen]]\nname = "bad"\n'

FAULTS: list[tuple[str, dict[str, str | None], list[str]]] = [
    (
        "negative K",
        {"inks": INK + f"K = {numbers(0.1, -0.2, 0.1)}\nS = {GRAY}\n"},
        ["inks.toml, ink 'bad', K at 410 nm:", "greater than or equal to 0", "-0.2"],
    ),
    (
        "30 values",
        {"inks": INK + f"K = {numbers(0.1, count=30)}\nS = {GRAY}\n"},
        ["inks.toml, ink 'bad', K:", "31", "30"],
    ),
    (
        "a value that is no number",
        {"inks": INK + f'K = {numbers(0.1, count=30)[:-1]}, "x"]\nS = {GRAY}\n'},
        ["inks.toml, ink 'bad', K at 700 nm:", "number", "'x'"],
    ),
    (
        "nan",
        {"inks": INK + f"K = {numbers(0.1, math.nan, 0.1)}\nS = {GRAY}\n"},
        ["inks.toml, ink 'bad', K at 410 nm:", "finite", "nan"],
    ),
    (
        "a reading in percent",
        {"garments": CLOTH + f"reflectance = {numbers(0.5, 40)}\n"},
        ["garments.toml, garment 'bad', reflectance at 410 nm:", "it is 40", "29 more values"],
    ),
    (
        "missing field",
        {"inks": INK + f"K = {GRAY}\n"},
        ["inks.toml, ink 'bad': K and S belong together"],
    ),
    (
        "nothing that describes the ink",
        {"inks": INK},
        ["inks.toml, ink 'bad': give K and S, or one of lab or hex"],
    ),
    (
        "missing solids",
        {"inks": f'[[ink]]\nname = "bad"\nkind = "colour"\nK = {GRAY}\nS = {GRAY}\n'},
        ["inks.toml, ink 'bad', solids_by_volume: this field is missing"],
    ),
    (
        "unknown field",
        {"inks": INK + f'K = {GRAY}\nS = {GRAY}\ncolor = "red"\n'},
        ["inks.toml, ink 'bad', color: this field is not known"],
    ),
    (
        "unknown kind",
        {"inks": INK.replace("colour", "metallic") + f"K = {GRAY}\nS = {GRAY}\n"},
        ["inks.toml, ink 'bad', kind:", "'white-base'", "'metallic'"],
    ),
    (
        "an ink without a name",
        {"inks": INK.replace('name = "bad"\n', "") + f"K = {GRAY}\nS = {GRAY}\n"},
        ["inks.toml, ink no. 2, name: this field is missing"],
    ),
    (
        "duplicate name",
        {"inks": INK.replace("bad", "ember") + f"K = {GRAY}\nS = {GRAY}\n"},
        ["inks.toml, ink 'ember', name: used twice"],
    ),
    (
        "two colors in one",
        {"garments": CLOTH + f'reflectance = {GRAY}\nhex = "#123456"\n'},
        ["garments.toml, garment 'bad': give exactly one of", "reflectance and hex"],
    ),
    (
        "a hex code with five digits",
        {"garments": CLOTH + 'hex = "#12345"\n'},
        ["garments.toml, garment 'bad', hex:", "#12345"],
    ),
    (
        "a Lab value out of range",
        {"garments": CLOTH + "lab = [50, 200, 0]\n"},
        ["garments.toml, garment 'bad', lab value 2:", "150", "200"],
    ),
    (
        "a Lab value that no surface has",
        {"garments": CLOTH + "lab = [95, 100, -100]\n"},
        ["garments.toml, garment 'bad': its color: no surface can have Lab 95"],
    ),
    (
        "a reading brighter than cloth can be",
        {"garments": CLOTH + f"reflectance = {numbers(0.98)}\n"},
        ["garments.toml, garment 'bad': garment 'bad': reflectance is 0.98 at 400 nm"],
    ),
    (
        "unknown cloth",
        {"garments": CLOTH + f'reflectance = {GRAY}\nundyed = "rawe"\n'},
        ["garments.toml, garment 'bad': undyed: there is no cloth 'rawe'", "did you mean 'raw'"],
    ),
    (
        "fibers that do not sum to 1",
        {"garments": CLOTH.replace("1.0", "0.8") + f"reflectance = {GRAY}\n"},
        ["garments.toml, garment 'bad'", "sum to 1, but sum to 0.8"],
    ),
    (
        "unknown fiber",
        {"garments": CLOTH.replace("cotton", "coton") + f"reflectance = {GRAY}\n"},
        ["garments.toml, garment 'bad'", "'coton'; known: cotton"],
    ),
    (
        "grade 6",
        {"garments": CLOTH + f"reflectance = {GRAY}\ndischarge_grade = 6\n"},
        ["garments.toml, garment 'bad', discharge_grade:", "5", "6"],
    ),
    (
        "no thread count",
        {"screens": SCREEN + "thread_um = 60\n"},
        ["screens.toml, screen 'bad': give threads_per_inch or threads_per_cm, one of them"],
    ),
    (
        "a thread wider than its pitch",
        {"screens": SCREEN + "threads_per_cm = 100\nthread_um = 120\n"},
        ["screens.toml, screen 'bad'", "thinner than 100 µm"],
    ),
    (
        "press parameter out of range",
        {"press": "soak = {value = 1.5, sd = 0.1}\n"},
        ["press.toml, parameters, soak:", "soak is 1.5", "0 to 0.9"],
    ),
    (
        "unknown press parameter",
        {"press": "squeegee = {value = 1, sd = 0}\n"},
        ["press.toml, parameters, squeegee: not known", "pass_gain"],
    ),
    (
        "a press parameter called like a field of the press",
        {"press": "calibrated = {value = 1, sd = 0}\n"},
        ["press.toml, parameters, calibrated: not known"],
    ),
    (
        "a press parameter without its sd",
        {"press": "soak = {value = 0.3}\n"},
        ["press.toml, parameters, soak, sd: this field is missing"],
    ),
    (
        "an unknown habit",
        {"press": "[habits]\nmesh = 160\n"},
        ["press.toml, habits, mesh: this field is not known"],
    ),
    (
        "a table that is not known",
        {"inks": "[[dye]]\nname = 'x'\n"},
        ["inks.toml, dye: this field is not known"],
    ),
    ("bad TOML", {"screens": "[[screen\n"}, ["screens.toml: not TOML:", "line 5"]),
    ("missing file", {"garments": None}, ["garments.toml: the file is missing from"]),
    ("empty shop.toml", {"shop": "="}, ["shop.toml, name: this field is missing"]),
    ("an ink that is no table", {"inks": '=ink = "red"\n'}, ["inks.toml, ink:", "list"]),
]


@pytest.mark.parametrize(
    ("changed", "said"), [f[1:] for f in FAULTS], ids=[fault[0] for fault in FAULTS]
)
def test_a_fault_is_told_with_file_entry_and_field(
    tmp_path: Path, changed: dict[str, Any], said: list[str]
) -> None:
    fault = one_fault(write(tmp_path, **changed))
    assert fault.startswith(said[0])
    assert [words for words in said if words not in fault] == []


def test_a_file_that_is_not_utf8(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "shop.toml").write_bytes('name = "Caf\xe9"\n'.encode("latin-1"))
    assert one_fault(tmp_path) == "shop.toml: not UTF-8 text (byte 11); save it as UTF-8"


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    write(tmp_path, press=None)
    (tmp_path / "press.toml").mkdir()
    assert one_fault(tmp_path).startswith("press.toml: cannot be read")


# -- Faults, all at once


def test_all_faults_of_all_files_at_once(tmp_path: Path) -> None:
    # Seventeen faults in seven files, several in one file and two in one entry: one message.
    bad = [
        INK.replace("bad", "one") + f"K = {numbers(0.1, count=30)}\nS = {numbers(-1)}\n",
        INK.replace("bad", "two") + f'K = {GRAY}\nS = {GRAY}\nshade = "dark"\n',
        INK.replace("bad", "ember") + f"K = {GRAY}\nS = {GRAY}\n",
        '[[ink]]\nname = "three"\nkind = "glow"\n' + f"K = {GRAY}\nS = {GRAY}\n",
    ]
    cloths = [
        f'[[cloth]]\nname = "broken"\nreflectance = {numbers(0.5, count=7)}\n',
        CLOTH.replace("bad", "four") + f'reflectance = {GRAY}\nundyed = "broken"\n',
        CLOTH.replace("bad", "five") + f'reflectance = {GRAY}\nundyed = "nowhere"\n',
        CLOTH.replace("bad", "six").replace("1.0", "0.5") + f"reflectance = {GRAY}\n",
        CLOTH.replace("bad", "seven") + "lab = [50, 0, 200]\n",
    ]
    write(
        tmp_path,
        inks="".join(bad),
        garments="".join(cloths),
        screens=SCREEN + "threads_per_cm = 100\nthread_um = 120\n",
        press="soak = {value = 2, sd = 0.1}\npick_up = {value = -1, sd = 0.1}\nzeal = {value = 1, sd = 1}\n",  # noqa: E501
        shop='owner = "me"\n',
    )
    (tmp_path / "targets.toml").write_text('[[target]]\nname = "t"\nhex = "#12"\n', "utf-8")
    (tmp_path / "palette.toml").write_text("[[target]\n", "utf-8")
    expected = [
        "shop.toml, owner:",
        "inks.toml, ink 'one', K:",
        "inks.toml, ink 'one', S at 400 nm:",
        "inks.toml, ink 'two', shade:",
        "inks.toml, ink 'three', kind:",
        "inks.toml, ink 'three', solids_by_volume:",
        "inks.toml, ink 'ember', name: used twice",
        "garments.toml, cloth 'broken', reflectance:",
        "garments.toml, garment 'seven', lab value 3:",
        "garments.toml, garment 'five': undyed: there is no cloth 'nowhere'",
        "garments.toml, garment 'six': ",
        "screens.toml, screen 'bad': ",
        "press.toml, parameters, soak:",
        "press.toml, parameters, pick_up:",
        "press.toml, parameters, zeal:",
        "targets.toml, target 't', hex:",
        "palette.toml: not TOML",
    ]
    faults = faults_of(tmp_path)
    missed = [e for e in expected if not any(fault.startswith(e) for fault in faults)]
    assert missed == []
    assert len(faults) == len(expected)
    # Garment 'four' refers to a cloth that is there, though faulty: that is no fault of its own.


def test_the_message_counts_and_lists_the_faults(tmp_path: Path) -> None:
    write(tmp_path, shop='owner = "me"\n', screens=SCREEN + "thread_um = 60\n")
    with pytest.raises(
        ShopFaults, match=r"the shop has 2 faults:\n  shop\.toml.*\n  screens\.toml"
    ):
        load_shop(tmp_path)
