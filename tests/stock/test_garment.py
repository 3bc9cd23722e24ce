"""Garments: what no cloth can be, and which of its fibers a discharge reaches."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import SURFACE, external_from_internal
from inksim.stock.garment import BRIGHTEST, DISCHARGE_SHARE, FIBRES, Garment
from inksim.stock.spectral_error import UNSEEN_COMMON_SD, UNSEEN_SD, cloth_error
from tests.conftest import Textiles

GREY = np.full(BANDS, 0.3)


def garment(**fields: Any) -> Garment:
    whole: dict[str, Any] = {"reflectance": GREY, "fibers": {"cotton": 1.0}, **fields}
    return Garment(name="shirt", **whole)


def with_band(value: float) -> np.ndarray:
    spectrum = GREY.copy()
    spectrum[5] = value
    return spectrum


@pytest.mark.parametrize("field", ["reflectance", "undyed", "discharged"])
@pytest.mark.parametrize(
    ("spectrum", "said"),
    [
        (with_band(-0.01), "is -0.01 at 450 nm"),
        (with_band(np.nan), "is nan at 450 nm"),
        (with_band(0.97), "is 0.97 at 450 nm; every value must be between 0 and 0.96"),
        (with_band(0.0), "holds a zero"),
        (GREY[:16], "needs 31 values .* has 16"),
    ],
)
def test_an_impossible_reading_is_refused(field: str, spectrum: np.ndarray, said: str) -> None:
    with pytest.raises(InputError, match=f"garment 'shirt': {field} {said}"):
        garment(**{field: spectrum})


@pytest.mark.parametrize(
    ("fibres", "said"),
    [
        ({"cotton": 0.6, "polyester": 0.3}, "sum to 1, but sum to 0.9"),
        ({"cotton": 1.2, "polyester": -0.2}, "0 or more"),
        ({"cotton": 0.5, "unobtainium": 0.5}, "'unobtainium'; known: cotton"),
        ({}, "sum to 0"),
    ],
)
def test_impossible_fibers_are_refused(fibres: dict[str, float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        garment(fibers=fibres)


@pytest.mark.parametrize("grade", [0, 6])
def test_a_grade_outside_1_to_5_is_refused(grade: int) -> None:
    with pytest.raises(InputError, match=f"discharge_grade is {grade}; it runs from 1"):
        garment(discharge_grade=grade)


def test_no_sample_reads_brighter_than_a_perfect_white_under_a_surface() -> None:
    # 45:0 or specular excluded: the light that the surface throws back at once is lost.
    assert pytest.approx(float(external_from_internal(1.0))) == BRIGHTEST
    assert pytest.approx(1 - SURFACE.k1) == BRIGHTEST


def test_measured_textiles_are_possible_garments(textiles: Textiles) -> None:
    # Vrhel, Gershon & Iwan 1994: all 33 lie inside what a garment may be.
    assert textiles.reflectance.min() > 0
    assert textiles.reflectance.max() < BRIGHTEST


@pytest.mark.parametrize(
    ("fibres", "cotton", "cellulose"),
    [
        ({"cotton": 1.0}, 1.0, 1.0),
        ({"cotton": 0.9, "viscose": 0.1}, 0.9, 1.0),
        ({"cotton": 0.6, "polyester": 0.4}, 0.6, 0.6),
        ({"polyester": 1.0}, 0.0, 0.0),
        ({"linen": 0.3, "hemp": 0.2, "wool": 0.5}, 0.0, 0.5),
    ],
)
def test_cellulose_is_cotton_and_its_kin(
    fibres: dict[str, float], cotton: float, cellulose: float
) -> None:
    # Textile handbooks: cotton, linen, hemp and the regenerated viscose, modal and lyocell are
    # cellulose; polyester, nylon, acrylic, elastane, wool and silk are not.
    made = garment(fibers=fibres)
    assert made.cotton == pytest.approx(cotton)
    assert made.cellulose == pytest.approx(cellulose)
    assert set(fibres) <= set(FIBRES)


@pytest.mark.parametrize(
    ("fields", "known"),
    [
        ({}, False),
        ({"undyed": GREY}, False),
        ({"discharge_grade": 5}, False),
        ({"undyed": GREY, "discharge_grade": 5}, True),
        ({"discharged": GREY}, True),
    ],
)
def test_what_a_discharge_prediction_needs(fields: dict[str, Any], known: bool) -> None:
    assert garment(**fields).discharge_is_known is known


def test_a_better_grade_removes_more_dye() -> None:
    shares = [DISCHARGE_SHARE[grade] for grade in range(1, 6)]
    assert shares == sorted(set(shares))
    assert 0 < shares[0] < shares[-1] < 1


def test_spectra_and_fibers_cannot_be_written_to() -> None:
    made = garment()
    with pytest.raises(ValueError, match="read-only"):
        made.reflectance[0] = 0.9
    with pytest.raises(TypeError):
        made.fibers["cotton"] = 0.5  # type: ignore[index]


@pytest.mark.parametrize("value", [BRIGHTEST, 0.9, 1e-6])
def test_the_error_of_a_cloth_of_any_lightness_is_finite(value: float) -> None:
    # A white cloth stated as #ffffff comes out at the brightest that a cloth can be in all bands,
    # where nothing absorbs and no slope is left.
    shapes = cloth_error(np.full(BANDS, value), data="recovered").shapes
    assert np.all(np.isfinite(shapes))
    # No larger than twice the prior that the color only narrows.
    prior = np.sqrt(UNSEEN_COMMON_SD**2 + UNSEEN_SD**2)
    assert np.max(np.sqrt(np.sum(shapes**2, axis=0))) <= 2.0 * prior
