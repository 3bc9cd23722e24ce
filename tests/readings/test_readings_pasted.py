"""Pasted numbers: spectra and Lab from many hands come through."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.grid import WAVELENGTHS_NM
from inksim.readings.read import parse_numbers


def test_pasted_spectra_of_usual_lengths_are_placed_and_it_is_said() -> None:
    # Usual exports: 400-700, 380-730, 360-740, 380-780 nm at 10 nm, and finer (common practice).
    for count, first, step in [(31, 400, 10), (36, 380, 10), (39, 360, 10), (41, 380, 10),
                               (61, 400, 5), (81, 380, 5), (401, 380, 1)]:  # fmt: skip
        nm = first + step * np.arange(count)
        reading = parse_numbers(" ".join(f"{0.1 + (x - 360) / 1000:.4f}" for x in nm))
        assert reading.reflectance == pytest.approx(0.1 + (WAVELENGTHS_NM - 360) / 1000, abs=1e-6)
        expected = f"{count} values: taken as {nm[0]}-{nm[-1]} nm every {step} nm"
        assert expected in reading.notes


RAMP = [f"{0.1 + i / 100:.2f}" for i in range(31)]


@pytest.mark.parametrize(
    "text",
    [
        " ".join(RAMP),
        ", ".join(RAMP),
        ",".join(RAMP),
        "\n".join(RAMP),
        ";".join(value.replace(".", ",") for value in RAMP),
        " ".join(value.replace(".", ",") for value in RAMP),
        "400-700 nm: " + " ".join(RAMP),
        "start 400 step 10\n" + " ".join(RAMP),
        "\n".join(f"{400 + 10 * i}\t{value}" for i, value in enumerate(RAMP)),
        "\n".join(f"{400 + 10 * i} nm: {value}".replace(" nm", "") for i, value in enumerate(RAMP)),
        " ".join(f"{float(value) * 100:g}%" for value in RAMP),
    ],
)
def test_pasted_spectra_in_many_hands(text: str) -> None:
    assert parse_numbers(text).reflectance == pytest.approx(0.1 + np.arange(31) / 100)


def test_pasted_spectrum_with_a_stated_start() -> None:
    values = " ".join(f"{0.1 + i / 100:.2f}" for i in range(35))
    for reading in (
        parse_numbers("380 – 720 nm " + values),
        parse_numbers(values, start_nm=380, step_nm=10),
        parse_numbers(values, start_nm=380),
    ):
        assert reading.reflectance == pytest.approx(0.12 + np.arange(31) / 100)
    assert "the wavelength step is not stated: 10 nm assumed" in reading.notes


@pytest.mark.parametrize(
    ("text", "light", "observer"),
    [
        ("52.3 12.1 -4", "D50", 2),
        ("L*=52,3; a*=12,1; b*=-4,0", "D50", 2),
        ("52.3, 12.1, -4", "D50", 2),
        ("Lab(52.3; 12.1; -4)", "D50", 2),
        ("CIE L*a*b* D65/10°: 52.3 12.1 -4", "D65", 10),
        ("L 52.3\na 12.1\nb -4", "D50", 2),
    ],
)
def test_pasted_lab(text: str, light: str, observer: int) -> None:
    reading = parse_numbers(text, name="target")
    assert reading.name == "target"
    assert reading.lab == pytest.approx((52.3, 12.1, -4.0))
    assert (reading.light, reading.observer) == (light, observer)
    assert any("assumed" in note for note in reading.notes) is (light == "D50")
