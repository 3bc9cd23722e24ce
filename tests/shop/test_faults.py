"""A faulty shop says every fault at once: which file, which entry, which field."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from inksim.common.errors import ShopFaults
from inksim.shop.load import load_shop
from tests.small_shop import GREY, numbers, write


def faults_of(folder: Path) -> tuple[str, ...]:
    with pytest.raises(ShopFaults) as refusal:
        load_shop(folder)
    return refusal.value.faults


def one_fault(folder: Path) -> str:
    faults = faults_of(folder)
    assert len(faults) == 1, faults
    return faults[0]


# -- Faults, one by one: file, entry, field

INK = '[[ink]]\nname = "bad"\nkind = "color"\nsolids_by_volume = 0.3\n'
CLOTH = '[[garment]]\nname = "bad"\nfibers = {cotton = 1.0}\n'
STRENGTH = (
    '[[calibration.ink]]\nname = "Red"\nK = {value = 1.0, sd = 0.1}\nS = {value = 1.0, sd = 0.1}\n'
)
SCREEN = '[[screen]]\nname = "bad"\n'

FAULTS: list[tuple[str, dict[str, str | None], list[str]]] = [
    (
        "negative K",
        {"inks": INK + f"K = {numbers(0.1, -0.2, 0.1)}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', K at 410 nm:", "must be at least 0", "-0.2"],
    ),
    (
        "30 values",
        {"inks": INK + f"K = {numbers(0.1, count=30)}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', K:", "31", "30"],
    ),
    (
        "a value that is no number",
        {"inks": INK + f'K = {numbers(0.1, count=30)[:-1]}, "x"]\nS = {GREY}\n'},
        ["inks.toml, ink 'bad', K at 700 nm:", "number", "'x'"],
    ),
    (
        "nan",
        {"inks": INK + f"K = {numbers(0.1, math.nan, 0.1)}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', K at 410 nm:", "finite", "nan"],
    ),
    (
        "a reading in percent",
        {"garments": CLOTH + f"reflectance = {numbers(0.5, 40)}\n"},
        ["garments.toml, garment 'bad', reflectance at 410 nm:", "it is 40", "29 more values"],
    ),
    (
        "missing field",
        {"inks": INK + f"K = {GREY}\n"},
        ["inks.toml, ink 'bad': K and S belong together"],
    ),
    (
        "a directness that no light has",
        {"inks": INK + f"directness = 3.0\nK = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad'", "directness is 3; it is -0.5 to 1.35"],
    ),
    (
        "nothing that describes the ink",
        {"inks": INK},
        ["inks.toml, ink 'bad': give K and S, or one of reflectance, lab or hex"],
    ),
    (
        "missing kind",
        {"inks": f'[[ink]]\nname = "bad"\nsolids_by_volume = 0.3\nK = {GREY}\nS = {GREY}\n'},
        ["inks.toml, ink 'bad', kind: this field is missing"],
    ),
    (
        "solids in two ways",
        {"inks": INK + 'hex = "#204060"\nsolids_by_weight = 0.4\n'},
        ["inks.toml, ink 'bad': give solids_by_volume or solids_by_weight, one of them"],
    ),
    (
        "solids by weight that leave no film",
        {
            "inks": INK.replace("solids_by_volume = 0.3", "solids_by_weight = 0.1")
            + 'hex = "#204060"\ndensity_g_cm3 = 1.3\n'
        },
        ["inks.toml, ink 'bad': solids of 10% by weight at 1.3 g/cm³ would be -17% by volume"],
    ),
    (
        "an opacity in two ways",
        {"inks": INK + 'hex = "#204060"\ncovers = "half"\ncontrast_ratio = 0.4\n'},
        ["inks.toml, ink 'bad': give its opacity once; it has contrast_ratio and covers"],
    ),
    (
        "an opacity beside K and S",
        {"inks": INK + f'covers = "half"\nK = {GREY}\nS = {GREY}\n'},
        ["inks.toml, ink 'bad': K and S say how it covers; take out covers"],
    ),
    (
        "a word for opacity that is none",
        {"inks": INK + 'hex = "#204060"\ncovers = "well"\n'},
        ["inks.toml, ink 'bad', covers:", "'black'", "'well'"],
    ),
    (
        "a look over black in two ways",
        {"inks": INK + 'hex = "#204060"\nover_black = {hex = "#102030", lab = [10, 0, 0]}\n'},
        ["inks.toml, ink 'bad', over_black: give exactly one of reflectance, lab or hex"],
    ),
    (
        "a film of no contrast ratio",
        {"inks": INK + 'hex = "#204060"\ncontrast_film_um = 20\n'},
        ["inks.toml, ink 'bad': contrast_film_um is the film of a contrast_ratio"],
    ),
    (
        "unknown field",
        {"inks": INK + f'K = {GREY}\nS = {GREY}\ncolor = "red"\n'},
        ["inks.toml, ink 'bad', color: this field is not known"],
    ),
    (
        "unknown kind",
        {"inks": INK.replace("color", "metallic") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', kind:", "'white-base'", "'metallic'"],
    ),
    (
        "an ink without a name",
        {"inks": INK.replace('name = "bad"\n', "") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink no. 2, name: this field is missing"],
    ),
    (
        "duplicate name",
        {"inks": INK.replace("bad", "ember") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'ember', name: used twice"],
    ),
    (
        "a name that differs in capitals only",
        {"inks": INK.replace("bad", "Ember") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'Ember', name: used twice (also as 'ember')"],
    ),
    (
        "true where a number is due",
        {"inks": INK.replace("0.3", "true") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', solids_by_volume:", "number", "true"],
    ),
    (
        "a number in quotes",
        {"inks": INK.replace("0.3", '"0.3"') + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', solids_by_volume:", "number", "'0.3'"],
    ),
    (
        "true for K",
        {"inks": INK + f"K = [{', '.join(['true'] * 31)}]\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', K at 400 nm:", "number", "30 more values"],
    ),
    (
        "hardly any solids",
        {"inks": INK.replace("0.3", "1e-9") + f"K = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', solids_by_volume:", "0.01", "1e-09"],
    ),
    (
        "a density in kg/m³",
        {"inks": INK + f"density_g_cm3 = 1050\nK = {GREY}\nS = {GREY}\n"},
        ["inks.toml, ink 'bad', density_g_cm3:", "10", "1050"],
    ),
    (
        "an ink that is not there",
        {"inks": INK + f"K = {numbers(0.0)}\nS = {numbers(0.0)}\n"},
        ["inks.toml, ink 'bad': K and S are 0 in all bands"],
    ),
    (
        "meshes the wrong way round",
        {
            "inks": INK + "finest_threads_per_inch = 60\ncoarsest_threads_per_inch = 230\n"
            f"K = {GREY}\nS = {GREY}\n"
        },
        ["inks.toml, ink 'bad': coarsest_threads_per_inch is 230, above the finest, 60"],
    ),
    (
        "a reading of nothing",
        {"garments": CLOTH + f"reflectance = {numbers(0.0)}\n"},
        ["garments.toml, garment 'bad', reflectance at 400 nm:", "0.0001", "30 more values"],
    ),
    (
        "two colors in one",
        {"garments": CLOTH + f'reflectance = {GREY}\nhex = "#123456"\n'},
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
        {"garments": CLOTH + f'reflectance = {GREY}\nundyed = "rawe"\n'},
        ["garments.toml, garment 'bad': undyed: there is no cloth 'rawe'", "did you mean 'raw'"],
    ),
    (
        "fibers that do not sum to 1",
        {"garments": CLOTH.replace("1.0", "0.8") + f"reflectance = {GREY}\n"},
        ["garments.toml, garment 'bad'", "sum to 1, but sum to 0.8"],
    ),
    (
        "unknown fiber",
        {"garments": CLOTH.replace("cotton", "coton") + f"reflectance = {GREY}\n"},
        ["garments.toml, garment 'bad'", "'coton'; known: cotton"],
    ),
    (
        "grade 6",
        {"garments": CLOTH + f"reflectance = {GREY}\ndischarge_grade = 6\n"},
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
        "an ink with two strengths",
        {"press": "[calibration]\n" + 2 * STRENGTH},
        ["press.toml, calibration, ink 'Red': stands 2 times", "inksim press --back"],
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
        INK.replace("bad", "two") + f'K = {GREY}\nS = {GREY}\nshade = "dark"\n',
        INK.replace("bad", "ember") + f"K = {GREY}\nS = {GREY}\n",
        '[[ink]]\nname = "three"\nkind = "glow"\nsolids_by_volume = 3\n'
        + f"K = {GREY}\nS = {GREY}\n",
    ]
    cloths = [
        f'[[cloth]]\nname = "broken"\nreflectance = {numbers(0.5, count=7)}\n',
        CLOTH.replace("bad", "four") + f'reflectance = {GREY}\nundyed = "broken"\n',
        CLOTH.replace("bad", "five") + f'reflectance = {GREY}\nundyed = "nowhere"\n',
        CLOTH.replace("bad", "six").replace("1.0", "0.5") + f"reflectance = {GREY}\n",
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
