"""Readings picked out of files, and entries made of readings, Lab, XYZ and hex."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS, WAVELENGTHS_NM
from inksim.colour.srgb import lab_from_hex
from inksim.colour.viewing import Viewing, lab, xyz
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import film_over, internal_from_external
from inksim.readings.formats import split_reference
from inksim.readings.selection import pick, pick_readings
from inksim.shop.entries import (
    colour_from_hex,
    colour_from_lab,
    colour_from_readings,
    colour_from_xyz,
    garment_entry,
    ink_assumptions,
    ink_entry_from_look,
)
from inksim.shop.fibres import COMMON_BLENDS, fibre_words, parse_fibres
from inksim.shop.ink_schema import InkEntry
from inksim.shop.load import ink_of, load_shop
from inksim.shop.targets import target_of
from inksim.stock.garment import Garment

D50 = Viewing()
TEXTILE = Viewing("D65", 10)
RED = 0.05 + 0.45 / (1.0 + np.exp(-(WAVELENGTHS_NM - 590.0) / 12.0))
SKY = 0.15 + 0.30 * np.exp(-(((WAVELENGTHS_NM - 470.0) / 60.0) ** 2))


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Two repeats of 'red', one 'sky' with the specular part included."""
    names = ",".join(f"{nm:.0f}" for nm in WAVELENGTHS_NM)
    rows = [
        ("red", "45:0", RED),
        ("red", "45:0", RED * 1.02),
        ("sky", "d:8 specular included", SKY + 0.04),
        ("4", "45:0", SKY),
    ]
    lines = [f"name,geometry,M condition,{names}"]
    lines += [f"{n},{g},M1," + ",".join(f"{v:.6f}" for v in r) for n, g, r in rows]
    path = tmp_path / "sheet.csv"
    path.write_text("\n".join(lines))
    return path


def test_a_sample_is_named_by_name_or_place(sheet: Path) -> None:
    assert [r.name for r in pick_readings(f"{sheet}#RED")] == ["red", "red"]
    assert [r.name for r in pick_readings(f"{sheet}#3")] == ["sky"]
    # a sample called 4 is meant by #4 before the fourth one would be
    assert [r.source for r in pick_readings(f"{sheet}#4")] == ["sheet.csv, line 5"]


def test_a_file_of_several_samples_asks_which(sheet: Path) -> None:
    with pytest.raises(InputError, match=r"sheet\.csv has 3 samples; name one.*red, sky, 4"):
        pick_readings(str(sheet))
    with pytest.raises(InputError, match=r"no sample 'skye'.*did you mean 'sky'"):
        pick_readings(f"{sheet}#skye")
    with pytest.raises(InputError, match="cannot be read"):
        pick_readings(str(sheet.with_name("none.csv#red")))


def test_a_file_whose_name_holds_a_number_sign_is_found(sheet: Path) -> None:
    odd = sheet.with_name("lot #2.csv")
    odd.write_bytes(sheet.read_bytes())
    assert split_reference(str(odd)) == (odd, None)
    assert split_reference(f"{odd}#red") == (odd, "red")


def test_repeats_become_their_mean_and_say_how_alike_they_are(sheet: Path) -> None:
    picked = pick([f"{sheet}#red"])
    assert picked.repeats == 2
    assert picked.reading.reflectance == pytest.approx(RED * 1.01, abs=1e-6)
    each = lab(np.stack([RED, RED * 1.02]), D50)
    centre = lab(RED * 1.01, D50)
    assert picked.repeatability == pytest.approx(delta_e_2000(centre, each).mean(), abs=1e-3)
    assert picked.warning is None
    assert picked.source == "sheet.csv, line 2, line 3"


def test_repeats_half_a_delta_e_apart_are_warned_of(sheet: Path) -> None:
    text = sheet.read_text().splitlines()
    text[2] = text[2].replace("0.0", "0.1")  # every dark band is now lighter
    sheet.write_text("\n".join(text))
    colour = colour_from_readings([f"{sheet}#red"], date="2026-03-01")
    assert len(colour.warnings) == 1
    assert "measure again on more places" in colour.warnings[0]


def test_a_reading_becomes_an_entry_with_where_it_comes_from(sheet: Path) -> None:
    colour = colour_from_readings([f"{sheet}#red"], date="2026-03-01")
    fields = colour.fields()
    assert fields["data"] == "measured"
    assert fields["source"].startswith("sheet.csv, line 2, line 3, red (45:0, M1); mean of 2, 0.")
    assert fields["source"].endswith("ΔE00 from their mean; 2026-03-01")
    assert len(fields["reflectance"]) == BANDS


def test_the_reflection_of_the_surface_is_taken_off_and_said(sheet: Path) -> None:
    colour = colour_from_readings([f"{sheet}#sky"], date="2026-03-01")
    # Saunderson 1942: specular included is specular excluded plus k1, 0.04 for index 1.5
    np.testing.assert_allclose(colour.reflectance, SKY, atol=1e-6)
    assert "the reflection of the surface was taken off" in colour.notes


def test_a_specular_setting_that_cannot_be_right_is_refused(sheet: Path) -> None:
    text = sheet.read_text().replace("4,45:0", "4,SCI")
    sheet.write_text(text.replace("0.15", "0.03"))
    with pytest.raises(InputError, match=r"sheet\.csv, line 5, sample '4'.*specular setting"):
        colour_from_readings([f"{sheet}#4"], date="2026-03-01")


def test_a_geometry_that_is_not_stated_is_said(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text(
        "name," + ",".join(f"{nm:.0f}" for nm in WAVELENGTHS_NM) + "\na" + ",30" * BANDS
    )
    colour = colour_from_readings([str(path)], date="2026-03-01")
    assert "geometry not stated: taken as 45:0 or specular excluded" in colour.notes
    assert "geometry not stated" in colour.source
    stated = colour_from_readings([str(path)], date="2026-03-01", geometry="d:8-sce")
    assert "(d:8-sce)" in stated.source


@pytest.mark.parametrize(
    ("words", "is_lab"),
    [("L,a,b\n52,40,30", True), ("L,a,b,light,observer\n52,40,30,D65,10", False)],
)
def test_a_listed_color_is_kept_or_recovered(tmp_path: Path, words: str, is_lab: bool) -> None:
    path = tmp_path / "lab.csv"
    path.write_text(words)
    colour = colour_from_readings([str(path)], date="2026-03-01")
    assert colour.data == "recovered"
    if is_lab:
        assert colour.lab == (52.0, 40.0, 30.0)
    else:
        assert colour.lab is None
        assert colour.reflectance is not None
        assert lab(colour.reflectance, TEXTILE) == pytest.approx([52, 40, 30], abs=1e-3)


def test_lab_and_xyz_of_any_light_come_back_within_a_tenth() -> None:
    for viewing in (D50, TEXTILE, Viewing("A", 2)):
        colour = colour_from_lab((47.0, -22.0, -31.0), viewing=viewing, source="x")
        seen = lab(colour.spectrum(where="x"), viewing)
        assert delta_e_2000((47.0, -22.0, -31.0), seen) < 0.1
        same = colour_from_xyz(
            tuple(xyz(colour.spectrum(where="x"), viewing)), viewing=viewing, source="x"
        )
        assert delta_e_2000(seen, lab(same.spectrum(where="x"), viewing)) < 0.1


@pytest.mark.parametrize("values", [(0.2, 0.3, 0.1), (20.0, 101.0, 3.0), (-1.0, 20.0, 3.0)])
def test_xyz_on_another_scale_is_refused(values: tuple[float, float, float]) -> None:
    with pytest.raises(InputError, match="white has Y = 100"):
        colour_from_xyz(values, viewing=D50, source="x")


def test_a_color_no_surface_has_is_refused_by_name() -> None:
    with pytest.raises(InputError, match=r"'Neon'.*no surface can have"):
        colour_from_lab((90.0, 100.0, 100.0), viewing=D50, source="x", where="'Neon'")


def test_hex_codes_stay_as_they_were_entered() -> None:
    assert colour_from_hex(" A3c ", source="x").fields() == {
        "data": "recovered", "source": "x", "hex": "A3c",
    }  # fmt: skip
    same = [colour_from_hex(code, source="x").spectrum(where="x") for code in ("A3c", "#aa33cc")]
    np.testing.assert_array_equal(*same)


@pytest.mark.parametrize(
    ("words", "shares"),
    [
        (["cotton"], {"cotton": 1.0}),
        (["cotton=0.6,polyester=0.4"], {"cotton": 0.6, "polyester": 0.4}),
        (["Cotton=60%", "polyester = 40 %"], {"cotton": 0.6, "polyester": 0.4}),
        (["cotton=50,polyester=50"], {"cotton": 0.5, "polyester": 0.5}),
        # as labels of garments have it (common practice, no source)
        (["60% cotton 40% poly"], {"cotton": 0.6, "polyester": 0.4}),
        (["99.5/0.5 cotton elastane"], {"cotton": 0.995, "elastane": 0.005}),
        (["cotton 50 %, polyester 0.5"], {"cotton": 0.5, "polyester": 0.5}),
        (["100 % Organic Cotton"], {"cotton": 1.0}),
        (["50/50 cotton/polyester"], {"cotton": 0.5, "polyester": 0.5}),
        (["cotton 98, spandex 2"], {"cotton": 0.98, "elastane": 0.02}),
        (["62,5 % cotton and 37,5 % polyester"], {"cotton": 0.625, "polyester": 0.375}),
        (["40% cotton, 20 % recycled cotton, 40% poly"], {"cotton": 0.6, "polyester": 0.4}),
        (["cotton=0.98", "elastane=2%"], {"cotton": 0.98, "elastane": 0.02}),
    ],
)
def test_fiber_shares(words: list[str], shares: dict[str, float]) -> None:
    assert parse_fibres(words) == pytest.approx(shares)
    assert parse_fibres([fibre_words(shares)]) == pytest.approx(shares)


@pytest.mark.parametrize("words", ["cotton=half", "", "50/50 cotton", "cotton and polyester"])
def test_fibers_without_their_shares_are_refused(words: str) -> None:
    with pytest.raises(InputError, match="does not give every fiber its share; write '60 % cotton"):
        parse_fibres([words])


def test_blends_to_pick_are_whole_cloths() -> None:
    for blend in COMMON_BLENDS:
        Garment(name=blend, reflectance=np.full(31, 0.5), fibers=parse_fibres([blend]))


def test_an_ink_of_a_look_shows_that_look_over_white(sheet: Path) -> None:
    """Outside: Kubelka-Munk over the white that the look was taken over gives it back."""
    colour = colour_from_lab((52.0, 45.0, 25.0), viewing=TEXTILE, source="a card")
    entry = ink_entry_from_look(
        colour, name="Look", kind="color", film_um=8.0, solids_by_volume=0.3, covers="half"
    )
    assert entry["data"] == "recovered"
    fields = {name: value for name, value in entry.items() if value is not None}
    ink = ink_of(InkEntry.model_validate(fields))
    assert ink.assumed == ink_assumptions(fields) == ()
    said = ink_assumptions({**fields, "data": "measured"})
    assert said == ("said to be measured, taken as recovered: a look alone tells no K and S",)
    seen = film_over(ink.K, ink.S, thickness_um=8.0, backing=internal_from_external(0.85))
    expected = internal_from_external(np.clip(colour.spectrum(where=""), 1e-4, 0.955))
    np.testing.assert_allclose(seen, expected, atol=1e-6)
    # one reading over white is a look and no measured ink
    read = colour_from_readings([f"{sheet}#sky"], date="2026-03-01")
    both = ink_entry_from_look(
        read, over_black=colour_from_hex("#202428", source="x"), name="Sky", kind="color"
    )
    assert both["data"] == "recovered"
    assert both["over_black"] == {"hex": "#202428"}
    np.testing.assert_allclose(both["reflectance"], SKY, atol=1e-6)
    assert "opacity assumed by kind" not in " ".join(
        ink_assumptions({name: value for name, value in both.items() if value is not None})
    )


def test_a_garment_says_only_what_is_known() -> None:
    colour = colour_from_hex("#204060", source="x")
    entry = garment_entry(colour, name="G", fibers={"cotton": 1.0}, undyed="raw")
    assert entry["undyed"] == "raw"
    assert entry["discharge_grade"] is None  # left out of the file by the writer
    assert entry["hex"] == "#204060"


def test_a_target_may_be_a_reading(sheet: Path) -> None:
    shop = load_shop()
    target = target_of(shop, f"{sheet}#sky")
    np.testing.assert_allclose(target.reflectance, SKY, atol=1e-6)
    assert target.data == "measured"
    # under another light a spectrum keeps its own color, unlike a hex code
    assert delta_e_2000(target.lab(Viewing("A", 2)), lab(SKY, Viewing("A", 2))) < 1e-4
    assert target_of(shop, "#e8622c").lab_d50 == pytest.approx(lab_from_hex("#e8622c", D50))
    assert target_of(shop, "oven red").name == "Oven Red"
    with pytest.raises(InputError, match=r"missing\.csv cannot be read"):
        target_of(shop, "missing.csv#sky")
    with pytest.raises(InputError, match="no target color 'Oven Redd'"):
        target_of(shop, "Oven Redd")
