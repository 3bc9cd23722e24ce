"""A target on the screen under another light: beside a print that meets it, no edge is seen."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.adaptation import lab_alike
from inksim.colour.grid import WAVELENGTHS_NM
from inksim.colour.srgb import hex_code
from inksim.colour.viewing import D50, Viewing, lab, xyz
from inksim.common.errors import InputError
from inksim.stock.target import Target, target_from_hex, target_from_reflectance

ORANGE = 0.05 + 0.75 / (1.0 + np.exp(-(WAVELENGTHS_NM - 580.0) / 12.0))  # a step at 580 nm
LIGHTS = ("D65", "A", "F11", "LED-B3")
VIEWINGS = [Viewing(light, observer) for light in LIGHTS for observer in (2, 10)]


@pytest.mark.parametrize("viewing", VIEWINGS, ids=str)
def test_a_print_on_its_target_is_shown_in_its_color(viewing: Viewing) -> None:
    """ΔE00 0 must look like 0, whatever the lamp: both halves go the same way to the screen."""
    target = Target(name="met", lab_d50=lab_alike(lab(ORANGE, viewing), stated=viewing, seen=D50))
    assert target.hex(viewing)[0] == hex_code(xyz(ORANGE, viewing), viewing)[0]


def test_a_target_with_a_spectrum_is_shown_as_that_spectrum_is() -> None:
    viewing = Viewing("A", 10)
    target = target_from_reflectance(ORANGE, name="read")
    assert target.hex(viewing)[0] == hex_code(xyz(ORANGE, viewing), viewing)[0]


@pytest.mark.parametrize("code", ["#e8622c", "#0f5c63", "#cccccc"])
def test_in_the_print_booth_a_code_is_its_code(code: str) -> None:
    assert target_from_hex(code).hex()[0] == code


@pytest.mark.parametrize("viewing", VIEWINGS, ids=str)
def test_a_gray_stays_gray_under_every_light(viewing: Viewing) -> None:
    assert target_from_hex("#cccccc").hex(viewing)[0] == "#cccccc"


@pytest.mark.parametrize("wrong", [[40.0, 0.0], [40.0, np.nan, 0.0], [[40.0, 0.0, 0.0]], 40.0])
def test_what_is_no_color_is_refused(wrong: object) -> None:
    with pytest.raises(InputError, match="target 'x': lab_d50 needs three finite numbers"):
        Target(name="x", lab_d50=wrong)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="target 'x': reflectance needs 31 values"):
        Target(name="x", lab_d50=np.zeros(3), reflectance=np.ones(30))


def test_a_target_keeps_read_only_copies() -> None:
    stated = np.array([40.0, 10.0, -5.0])
    target = Target(name="x", lab_d50=stated)
    stated[0] = 90.0
    assert target.lab(Viewing())[0] == 40.0
    with pytest.raises(ValueError, match="read-only"):
        target.lab_d50[0] = 90.0
