"""How unsure a stock is by where its spectra come from: against measured cloths and the trade."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import resample
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.viewing import Viewing, lab
from inksim.optics.kubelka_munk import (
    external_from_internal,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)
from inksim.stock.ink_look import ink_from_look
from inksim.stock.provenance import CLOTH_KS_SD, INK_K_SD, INK_S_SD
from inksim.stock.spectral_error import cloth_error, prior_ink_error
from tests.conftest import Textiles, read_textiles

D50 = Viewing()
OTHERS = (Viewing("A", 2), Viewing("F11", 2), Viewing("F2", 2))


def on_grid(textiles: Textiles) -> np.ndarray:
    return np.array(
        [resample(r, wavelengths_nm=textiles.wavelengths_nm).values for r in textiles.reflectance]
    )


TEXTILES = on_grid(read_textiles())
"""Vrhel, Gershon & Iwan, Color Res. Appl. 19 (1994) 4-9: 33 cloths, (33, 31)."""
KNOWN_BY_LAB = np.array([reflectance_from_lab(lab(r, D50), D50) for r in TEXTILES])


def moved(reflectance: np.ndarray, ln_ks: np.ndarray) -> np.ndarray:
    """External reflectance of a cloth whose ln K/S is off by so much."""
    ks = ks_from_reflectance(internal_from_external(reflectance))
    return external_from_internal(reflectance_from_ks(ks * np.exp(ln_ks)))


def test_a_measured_ink_is_as_strong_as_pigments_are_sold() -> None:
    # 100 ± 5 % strong, 19 times in 20 (common practice, no source).
    assert 0.03 < 1.96 * INK_K_SD["measured"] < 0.07


def test_another_lot_of_a_cloth_is_within_what_dyers_deliver() -> None:
    # Lots are accepted within about ΔE 1 of the standard (common practice, no source): most are
    # within half of that, and the eye tells a matched code from a reading.
    off = {
        data: np.mean([delta_e_2000(lab(r, D50), lab(moved(r, np.full(31, sd)), D50))
                       for r in TEXTILES])
        for data, sd in CLOTH_KS_SD.items()
    }  # fmt: skip
    assert 0.1 < off["measured"] < 0.5
    assert off["measured"] < off["recovered"] <= off["invented"] < 1.5


@pytest.mark.parametrize("viewing", OTHERS, ids=str)
def test_a_cloth_known_by_its_color_is_as_unsure_under_other_lights_as_it_is_off(
    viewing: Viewing,
) -> None:
    # The 33 cloths, each from its Lab under D50 alone: what its shapes let expect of another
    # light against how far the cloth itself is from its recovery there, in the mean of all.
    expected, found = [], []
    for cloth, recovered in zip(TEXTILES, KNOWN_BY_LAB, strict=True):
        shapes = cloth_error(recovered, data="recovered").shapes
        seen = lab(recovered, viewing)
        steps = [lab(moved(recovered, shape), viewing) - seen for shape in shapes]
        expected.append(np.sum(np.square(steps)))
        found.append(np.sum((lab(cloth, viewing) - seen) ** 2))
    assert 0.5 < np.sqrt(np.mean(expected) / np.mean(found)) < 2.0


def test_a_cloth_known_by_its_color_keeps_that_color() -> None:
    # Its last digit and the bend of small steps are all that is left: ΔE*ab 0.3 a coordinate.
    for recovered in KNOWN_BY_LAB:
        shapes = cloth_error(recovered, data="recovered").shapes
        steps = [lab(moved(recovered, 0.1 * shape), D50) - lab(recovered, D50) for shape in shapes]
        assert np.sqrt(np.sum(np.square(steps))) < 0.1 * 0.3 * 3**0.5 * 2


def test_an_ink_of_which_only_a_color_is_known_is_as_unsure_as_its_look_leaves_it() -> None:
    # An entry without an error against the errors that deep and pale looks have: organic and
    # inorganic colors scatter by factors of ten apart (Levinson, Berdahl & Akbari 2005), so one sd
    # of ln S is near 1, and the absorption follows the film and the scattering.
    for hex_like in ([40.0, 55.0, 30.0], [35.0, 5.0, -40.0], [60.0, -35.0, 40.0]):
        look = reflectance_from_lab(np.array(hex_like), D50)
        error = ink_from_look(look, known="hex").error
        s = float(np.mean(error.total()[1]))
        assert 0.7 < s < 2.0
        assert 0.5 < float(np.mean(prior_ink_error("recovered").total()[1])) / s < 2.0
    assert 0.25 < INK_K_SD["recovered"] < INK_S_SD["recovered"]
    assert INK_K_SD["measured"] < INK_K_SD["invented"] < INK_K_SD["recovered"]
    assert INK_S_SD["measured"] < INK_S_SD["invented"] < INK_S_SD["recovered"]
