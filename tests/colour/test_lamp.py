"""A lamp with a measured spectrum, and what looks alike under it."""

from __future__ import annotations

import warnings

import colour
import numpy as np
import pytest

from inksim.colour.adaptation import lab_alike
from inksim.colour.grid import WAVELENGTHS_NM, resample
from inksim.colour.lights import LIGHTS, OBSERVERS, Lamp, weights
from inksim.colour.srgb import lab_from_hex
from inksim.colour.viewing import Viewing, lab, xyz
from inksim.common.errors import InputError
from inksim.stock.target import target_from_hex, target_from_reflectance
from tests.conftest import Textiles
from tools.make_observer_tables import OBSERVER_NAMES, illuminant_1nm

FINE = colour.SpectralShape(360, 830, 1)
#: CIE lamps that have no name here: sodium with its lines, a tube, indoor daylight (CIE 15:2018).
OTHERS = ("HP1", "FL3.15", "ID50")


def lamp_of(name: str, *, step_nm: int = 5) -> Lamp:
    """A lamp of colour-science's, from 380 to 780 nm as a spectroradiometer would give it."""
    table = colour.SDS_ILLUMINANTS[name]
    nm = np.arange(380, 781, step_nm)
    power = np.interp(nm, table.wavelengths, table.values)
    return Lamp(name=f"read {name}", wavelengths_nm=nm.tolist(), power=power.tolist())


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("light", ["D50", "A", "F11", "LED-B3"])
def test_a_cie_light_given_as_a_spectrum_is_that_light(light: str, observer: int) -> None:
    """The table's weights are colour-science's; a lamp's are made of its parts."""
    power = illuminant_1nm(light, FINE)
    lamp = Lamp(name="read", wavelengths_nm=power.wavelengths.tolist(), power=power.values.tolist())
    np.testing.assert_allclose(weights(lamp, observer), weights(light, observer), atol=1e-11)


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("name", OTHERS)
def test_xyz_under_a_lamp_is_colour_sciences(name: str, observer: int, textiles: Textiles) -> None:
    """colour-science's integral of SPD × reflectance × observer at 1 nm, an independent route.

    It interpolates the 10 nm reflectance by Sprague, E2022 by Lagrange. Both end at 400 and 700 nm,
    where they differ by the value kept beyond: 0.05 of 100.
    """
    lamp, nm = lamp_of(name), np.arange(360, 831)
    power = colour.SpectralDistribution(np.interp(nm, lamp.wavelengths_nm, lamp.power), nm)
    matching = colour.MSDS_CMFS[OBSERVER_NAMES[observer]].copy().align(FINE)
    for spectrum in textiles.reflectance[::6]:
        R = resample(spectrum, wavelengths_nm=textiles.wavelengths_nm).values
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            expected = colour.sd_to_XYZ(
                colour.SpectralDistribution(R, WAVELENGTHS_NM), matching, power,
                method="Integration",
            )  # fmt: skip
        np.testing.assert_allclose(xyz(R, Viewing(lamp, observer)), expected, rtol=0, atol=0.05)


def test_wavelengths_closer_than_a_nanometer_lose_no_line() -> None:
    """A line of 0.2 nm between two whole nanometers gives the light that it has: its area."""
    nm = np.linspace(380.0, 780.0, 4001)
    line = np.where(np.abs(nm - 546.5) < 0.25, 100.0, 1.0)
    coarse = np.arange(380.0, 781.0)
    area = np.where(np.isin(coarse, [546.0, 547.0]), 1.0 + 99.0 * 0.5 / 2.0, 1.0)
    fine = weights(Lamp(name="fine", wavelengths_nm=nm.tolist(), power=line.tolist()), 2)
    whole = weights(Lamp(name="whole", wavelengths_nm=coarse.tolist(), power=area.tolist()), 2)
    np.testing.assert_allclose(fine.sum(axis=0), whole.sum(axis=0), rtol=0.01)


def test_a_lamp_is_known_by_what_it_shines() -> None:
    """Equal lamps are one key of a cache; another power is another lamp, whatever its unit."""
    nm = tuple(range(400, 701, 10))
    flat, same, louder = (
        Lamp(name="booth", wavelengths_nm=at, power=[power] * 31)
        for at, power in ((nm, 1.0), (list(nm), 1.0), (nm, 250.0))
    )
    assert Viewing(flat) == Viewing(same)
    assert hash(Viewing(flat)) == hash(Viewing(same))
    assert Viewing(flat) != Viewing(louder)
    np.testing.assert_allclose(weights(flat, 2), weights(louder, 2), atol=1e-12)
    assert str(Viewing(flat, 10)) == "booth/10°"


GRID = list(range(400, 701, 10))


@pytest.mark.parametrize(
    ("nm", "power", "said"),
    [
        (GRID, [1.0] * 30, "30 values of power for 31 wavelengths"),
        ([v / 1000 for v in GRID], [1.0] * 31, "from 0.4 to 0.7; give nanometers"),
        (list(range(420, 701, 10)), [1.0] * 29, "read from 420 to 700 nm"),
        (list(range(400, 691, 10)), [1.0] * 30, "read from 400 to 690 nm"),
        (list(range(400, 701, 20)), [1.0] * 16, "too few wavelengths: a gap of 20 nm above 400 nm"),
        ([400, 400, *GRID[2:]], [1.0] * 31, "400 nm is doubled or out of order"),
        (GRID, [1.0, -0.001, *[1.0] * 29], "power -0.001 at 410 nm"),
        (GRID, [float("nan"), *[1.0] * 30], "power nan at 400 nm"),
        (GRID, [0.0] * 31, "no light from 400 to 700 nm"),
        ([float("inf"), *GRID[1:]], [1.0] * 31, "give nanometers"),
    ],
)
def test_what_is_no_lamp_is_refused(nm: list[float], power: list[float], said: str) -> None:
    with pytest.raises(InputError, match="lamp 'booth'") as fault:
        Lamp(name="booth", wavelengths_nm=nm, power=power)
    assert said in str(fault.value)
    assert len(str(fault.value)) <= 300


@pytest.mark.parametrize("name", ["", " ", "d50", "two\nlines", *LIGHTS[:2]])
def test_a_lamp_has_a_name_of_its_own(name: str) -> None:
    with pytest.raises(InputError, match="a name of its own"):
        Lamp(name=name, wavelengths_nm=GRID, power=[1.0] * 31)


# What looks alike


@pytest.mark.parametrize("code", ["#e8622c", "#1a2b3c", "#00ffff", "#ffffff", "#777777"])
@pytest.mark.parametrize("light", ["A", "F11", lamp_of("HP1")])
def test_a_code_keeps_its_code_under_every_lamp(code: str, light: str | Lamp) -> None:
    """A target of a code, an artwork and a halftone's aim go through one adaptation."""
    seen, target = Viewing(light, 10), target_from_hex(code)
    assert target.hex(seen)[0] == code
    np.testing.assert_allclose(target.lab(seen), lab_from_hex(code, seen), atol=1e-9)


def test_adaptation_is_colour_sciences_bradford() -> None:
    seen = Viewing(lamp_of("FL3.15"), 10)
    asked = np.array([[55.0, 60.0, 40.0], [30.0, -20.0, -35.0]])
    stated = colour.Lab_to_XYZ(asked, colour.XYZ_to_xy(Viewing().white)) * 100.0
    moved = colour.chromatic_adaptation(
        stated, Viewing().white, seen.white, method="Von Kries", transform="Bradford"
    )
    expected = colour.XYZ_to_Lab(moved / 100.0, colour.XYZ_to_xy(seen.white))
    found = lab_alike(asked, stated=Viewing(), seen=seen)
    np.testing.assert_allclose(found, expected, atol=2e-3)  # its Bradford matrix is not rounded


def test_a_spectrum_moves_under_a_lamp_as_its_print_does(textiles: Textiles) -> None:
    R = resample(textiles.reflectance[4], wavelengths_nm=textiles.wavelengths_nm).values
    target, sodium = target_from_reflectance(R, name="cloth"), Viewing(lamp_of("HP1"))
    np.testing.assert_allclose(target.lab(sodium), lab(R, sodium), atol=1e-12)
    assert target.hex(sodium) != target.hex()
