"""What is the same of every file of readings: conditions stated or read, averages, the reading."""

from __future__ import annotations

import pickle
import re

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.readings.conditions import geometry_from, light_from, m_condition_from, observer_from
from inksim.readings.read import Reading, average
from tests.reading_files import SPECTRA, one, sample, wide

# -- What the person states


def test_a_stated_condition_wins_and_a_contradiction_is_noted() -> None:
    text = wide(spectra=SPECTRA[:1]).replace("name,", "name,geometry,backing,")
    text = text.replace("ember,", "ember,d/8 SCI,White,")
    reading = one(text, geometry="45:0", backing="white", m_condition="M2", thickness_um=20.0)
    assert (reading.geometry, reading.m_condition, reading.thickness_um) == ("45:0", "M2", 20.0)
    assert [n for n in reading.notes if "as stated" in n] == [
        "geometry 45:0 as stated; the file says d/8 SCI"
    ]


def test_a_stated_scale_settles_a_file_that_could_be_either() -> None:
    text = wide(percent=True, spectra=SPECTRA[2:] * 0.7)  # 1.4 to 1.6 %
    assert one(text, scale="percent").reflectance == pytest.approx(SPECTRA[2] * 0.7, abs=1e-6)
    assert one(text, scale="factor").reflectance == pytest.approx(SPECTRA[2] * 70, abs=1e-4)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ({"geometry": "d:8"}, "the geometry is 'd:8'; choose one of 45:0, d:8-sce, d:8-sci."),
        ({"m_condition": "M4"}, "the M condition is 'M4'; choose one of M0, M1, M2, M3."),
        ({"light": "candle"}, "the light is 'candle'; choose one of D50, D65"),
        ({"observer": 3}, "the observer is '3'; choose one of 2, 10."),
        ({"scale": "0-100"}, "the scale is '0-100'; choose one of percent, factor."),
        ({"thickness_um": 0.0}, "the thickness is 0 µm; it must be above 0."),
    ],
)
def test_a_stated_condition_must_be_one_of_those_there_are(
    words: dict[str, object], fault: str
) -> None:
    with pytest.raises(InputError, match=re.escape(fault)):
        one(wide(), **words)


# -- The words of conditions


@pytest.mark.parametrize(
    ("text", "expected"),
    [("0:45", "45:0"), ("0/45", "45:0"), ("45/0", "45:0"), ("45°:0°", "45:0"), ("45a:0", "45:0"),
     ("CIE 45/0:c", "45:0"), ("d/8 SCI", "d:8-sci"), ("di:8°", "d:8-sci"),
     ("Specular_Included", "d:8-sci"), ("d:8-sce", "d:8-sce"), ("de:8", "d:8-sce"),
     ("sphere, specular excluded", "d:8-sce"), ("d/8", None), ("145:0", None), ("", None)],
)  # fmt: skip
def test_geometry_words(text: str, expected: str | None) -> None:
    assert geometry_from(text) == expected


@pytest.mark.parametrize(
    ("text", "light", "observer"),
    [("ILLUMINANT, D50; OBSERVER, 2 degree", "D50", 2), ("D65 10°", "D65", 10),
     ("CIE 1964", None, 10), ("1931", None, 2), ("10_Degree", None, 10), ("A", "A", None),
     ("Illuminant A", "A", None), ("N/A", None, None), ("TL84", "F11", None), ("F2", "F2", None),
     ("LED-B3", "LED-B3", None), ("a lamp", None, None), ("", None, None)],
)  # fmt: skip
def test_light_and_observer_words(text: str, light: str | None, observer: int | None) -> None:
    assert (light_from(text), observer_from(text)) == (light, observer)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("M0", "M0"), ("M1_Daylight", "M1"), ("filter m2 (uv cut)", "M2"), ("M30", None), ("", None)],
)
def test_m_condition_words(text: str, expected: str | None) -> None:
    assert m_condition_from(text) == expected


def test_a_condition_that_is_not_understood_is_unknown_and_noted() -> None:
    text = wide(spectra=SPECTRA[:1]).replace("name,", "name,geometry,").replace("ember", "e,d/8")
    reading = one(text)
    assert reading.geometry is None
    assert "geometry 'd/8' is not understood: taken as unknown" in reading.notes


# -- Averages


def test_average_of_equal_readings_is_the_reading_with_perfect_repeatability() -> None:
    mean, repeatability = average([sample(SPECTRA[0])] * 3)
    assert mean.reflectance == pytest.approx(SPECTRA[0])
    assert repeatability == pytest.approx(0, abs=1e-6)
    assert not any("measure again" in note for note in mean.notes)


def test_average_says_when_repeats_scatter() -> None:
    # Lab two units of L* apart at L* 50, where CIEDE2000's lightness weight is 1 (published:
    # S_L = 1 at L* = 50): each lies 1.00 from the mean.
    pair = [
        Reading(name="a", source=f"line {i}", lab=(value, 0, 0), light="D50", observer=2)
        for i, value in enumerate((49.0, 51.0))
    ]
    mean, repeatability = average(pair)
    assert mean.lab == (50, 0, 0)
    assert repeatability == pytest.approx(1.0, abs=1e-3)
    assert mean.source == "line 0, line 1"
    assert "the repeats differ by more than 0.5 ΔE00: measure again on more places" in mean.notes


def test_average_of_spectra_and_of_xyz() -> None:
    mean, _ = average(
        [sample(SPECTRA[0]), sample(SPECTRA[1], lab=(1, 2, 3), light="A", observer=2)]
    )
    assert mean.reflectance == pytest.approx((SPECTRA[0] + SPECTRA[1]) / 2)
    assert (mean.lab, mean.light) == (None, None)
    white = Viewing("D50", 2).white
    grey = Reading(name="g", source="", xyz=tuple(white * 0.184187), light="D50", observer=2)
    mean, _ = average([grey, grey])  # Y = 18.4187 is L* = 50 (CIE 1976 L* inverted)
    assert mean.lab == pytest.approx((50, 0, 0), abs=1e-3)


@pytest.mark.parametrize(
    ("pair", "fault"),
    [
        ([sample(SPECTRA[0])], "an average needs two readings or more, but there is 1."),
        ([sample(SPECTRA[0]), Reading(name="b", source="", lab=(1, 2, 3))],
         "'a' and 'b' cannot be averaged: one has a spectrum and one only a color."),
        ([sample(SPECTRA[0], backing="black"), sample(SPECTRA[0], backing="white")],
         "'a' and 'a' cannot be averaged: backing is 'black' and 'white'."),
        ([Reading(name="b", source="", xyz=(1, 2, 3))] * 2,
         "'b' cannot be averaged: it has no spectrum and no Lab, and its XYZ has no stated light"),
    ],
)  # fmt: skip
def test_average_refuses_what_is_not_alike(pair: list[Reading], fault: str) -> None:
    with pytest.raises(InputError, match=re.escape(fault)):
        average(pair)


# -- The reading itself


def test_a_reading_is_read_only_and_travels_between_processes() -> None:
    reading = one(wide(spectra=SPECTRA[:1]))
    assert reading.reflectance is not None
    with pytest.raises(ValueError, match="read-only"):
        reading.reflectance[0] = 1.0
    copy = pickle.loads(pickle.dumps(reading))
    assert np.array_equal(copy.reflectance, reading.reflectance)
    assert copy.notes == reading.notes
