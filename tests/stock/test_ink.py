"""Inks: what none can be, mixing by volume, and an ink known only by its look."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, strategies as st

from inksim.colour.grid import BANDS
from inksim.common.errors import InputError
from inksim.optics.directness import DIRECTNESS_RANGE, effective_ks
from inksim.stock.ink import Ink, mix_inks
from tests.strategies import inks

FLAT = np.ones(BANDS)


def ink(name: str = "flat", **fields: Any) -> Ink:
    given_fields: dict[str, Any] = {
        "kind": "color", "K": 0.1 * FLAT, "S": 0.02 * FLAT, "solids_by_volume": 0.4, **fields
    }  # fmt: skip
    return Ink(name=name, **given_fields)


# -- What no ink can be


def with_band(value: float) -> np.ndarray:
    spectrum = 0.1 * FLAT
    spectrum[12] = value
    return spectrum


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"K": with_band(-0.1)}, r"ink 'flat': K is -0.1 at 520 nm"),
        ({"S": with_band(np.nan)}, r"ink 'flat': S is nan at 520 nm"),
        ({"S": with_band(np.inf)}, r"ink 'flat': S is inf at 520 nm"),
        ({"K": FLAT[:30]}, r"ink 'flat': K needs 31 values .* has 30"),
        ({"solids_by_volume": 0.0}, "solids_by_volume is 0;"),
        ({"solids_by_volume": 1.2}, "solids_by_volume is 1.2;"),
        ({"solids_by_volume": np.nan}, "solids_by_volume is nan;"),
    ],
)
def test_an_impossible_ink_is_refused(fields: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        ink(**fields)


def test_spectra_are_copies_that_nobody_can_write_to() -> None:
    mine = 0.1 * FLAT
    kept = ink(K=mine).K
    mine[0] = 9.0
    assert kept[0] == 0.1
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 9.0


@pytest.mark.parametrize(
    ("kind", "is_base"),
    [("color", False), ("white-base", True), ("discharge-base", True), ("clear-base", False)],
)
def test_what_goes_under_a_color_is_a_base(kind: str, is_base: bool) -> None:
    assert ink(kind=kind).is_base is is_base


# -- Mixing


def test_a_mixture_by_hand() -> None:
    # 1 part of 40 % solids, 3 parts of 20 %: 0.1 + 0.15 = 0.25 dry of 1 wet, so 40 % and 60 %.
    strong = ink("strong", K=1.0 * FLAT, S=0.1 * FLAT, solids_by_volume=0.4, density_g_cm3=1.2)
    clear = ink("clear", K=0.0 * FLAT, S=0.0 * FLAT, solids_by_volume=0.2, density_g_cm3=1.0)
    mixture = mix_inks([(strong, 1), (clear, 3)], name="tint")
    np.testing.assert_allclose(mixture.K, 0.4, rtol=1e-14)
    np.testing.assert_allclose(mixture.S, 0.04, rtol=1e-14)
    assert mixture.solids_by_volume == pytest.approx(0.25)
    assert mixture.density_g_cm3 == pytest.approx(1.05)
    assert mixture.name == "tint"
    assert "strong" in mixture.source


def test_a_price_is_by_mass() -> None:
    # One liter of each: 1.2 kg at 20 and 1.0 kg at 10 cost 34 for 2.2 kg.
    dear = ink(price_per_kg=20.0, density_g_cm3=1.2)
    cheap = ink(price_per_kg=10.0, density_g_cm3=1.0)
    assert mix_inks([(dear, 1), (cheap, 1)], name="m").price_per_kg == pytest.approx(34 / 2.2)
    free = ink(price_per_kg=None)
    assert mix_inks([(dear, 1), (free, 1)], name="m").price_per_kg is None


def test_a_mixture_is_as_limited_and_as_unsure_as_its_worst_part() -> None:
    one = ink(finest_threads_per_inch=305, coarsest_threads_per_inch=80, data="measured")
    two = ink(finest_threads_per_inch=330, coarsest_threads_per_inch=125, max_passes=1)
    both = mix_inks([(one, 1), (replace(two, data="recovered"), 1)], name="both")
    assert (both.finest_threads_per_inch, both.coarsest_threads_per_inch) == (305, 125)
    assert both.max_passes == 1
    assert both.data == "recovered"


@given(one=inks(), share=st.floats(0.01, 100.0))
def test_an_ink_mixed_with_itself_is_itself(one: Ink, share: float) -> None:
    mixture = mix_inks([(one, share), (one, 1.0)], name="same")
    np.testing.assert_allclose(mixture.K, one.K, rtol=1e-12)
    np.testing.assert_allclose(mixture.S, one.S, rtol=1e-12)
    assert mixture.solids_by_volume == pytest.approx(one.solids_by_volume)


@given(one=inks(), two=inks(), share=st.floats(0.05, 20.0))
def test_mixing_keeps_every_colorant(one: Ink, two: Ink, share: float) -> None:
    # Absorption of one volume of wet ink is solids·K; a mixture has that of what went into it.
    mixture = mix_inks([(one, share), (two, 1.0)], name="both")
    wet = np.array([share, 1.0]) / (share + 1.0)
    for field in ("K", "S"):
        parts = [i.solids_by_volume * getattr(i, field) for i in (one, two)]
        np.testing.assert_allclose(
            mixture.solids_by_volume * getattr(mixture, field),
            wet[0] * parts[0] + wet[1] * parts[1],
            rtol=1e-12,
            atol=1e-15,
        )


@given(one=inks(), two=inks(), three=inks())
def test_order_and_steps_of_mixing_do_not_matter(one: Ink, two: Ink, three: Ink) -> None:
    at_once = mix_inks([(three, 3), (one, 1), (two, 1)], name="m")
    first = mix_inks([(one, 1), (two, 1)], name="first")
    in_steps = mix_inks([(first, 2), (three, 3)], name="m")
    np.testing.assert_allclose(at_once.K, in_steps.K, rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(at_once.S, in_steps.S, rtol=1e-12, atol=1e-15)


def fitted(k: float, s: float, eta: float, **fields: Any) -> Ink:
    """An ink as a fit gives it, of what mixes by volume and the light's directness."""
    K, S = effective_ks(k * FLAT, s * FLAT, eta)
    return ink(K=K, S=S, directness=eta, **fields)


COEFFICIENTS = st.tuples(st.floats(1e-4, 3.0), st.floats(1e-4, 1.0))


@given(
    one=COEFFICIENTS,
    two=COEFFICIENTS,
    share=st.floats(0.005, 0.995),
    eta=st.floats(*DIRECTNESS_RANGE),
)
def test_inks_of_one_fit_mix_as_the_fit_has_it(
    one: tuple[float, float], two: tuple[float, float], share: float, eta: float
) -> None:
    """Against the law itself: mixed first, then lit."""
    mixed = mix_inks([(fitted(*one, eta), share), (fitted(*two, eta), 1.0 - share)], name="tint")
    k, s = (share * a + (1.0 - share) * b for a, b in zip(one, two, strict=True))
    expected = effective_ks(k * FLAT, s * FLAT, eta)
    np.testing.assert_allclose([mixed.K, mixed.S], expected, rtol=1e-9)
    assert mixed.directness == pytest.approx(eta)


def test_a_pale_tint_of_a_strong_clear_color_is_stronger_than_its_film_says() -> None:
    share, white = 0.002, fitted(1e-9, 0.5, 0.8)
    colour = fitted(1.0, 1e-4, 0.8)
    tint = mix_inks([(colour, share), (white, 1.0 - share)], name="tint")
    assert np.all(1.5 * share * colour.K < tint.K)
    as_they_stand = [replace(each, directness=0.0) for each in (colour, white)]
    plain = mix_inks([(as_they_stand[0], share), (as_they_stand[1], 1.0 - share)], name="tint")
    np.testing.assert_allclose(plain.K, share * colour.K, rtol=1e-6)


def test_a_white_of_another_studio_does_not_change_how_a_color_is_lit() -> None:
    # A white absorbs next to nothing, and directness acts where light is absorbed.
    colour, theirs = fitted(1.0, 0.02, 0.8), fitted(1e-5, 0.5, 0.0)
    mixed = mix_inks([(colour, 1), (theirs, 1)], name="tint")
    assert mixed.directness == pytest.approx(0.8, abs=1e-4)
    clear = ink(K=0.0 * FLAT, S=0.0 * FLAT)
    thinned = mix_inks([(colour, 1), (clear, 3)], name="thin")
    np.testing.assert_allclose([thinned.K, thinned.S], effective_ks(0.25 * FLAT, 0.005 * FLAT, 0.8))
    assert mix_inks([(replace(clear, directness=0.5), 1)], name="c").directness == 0.0


@pytest.mark.parametrize("eta", [-0.51, 1.36, np.nan])
def test_a_directness_that_no_light_has_is_refused(eta: float) -> None:
    with pytest.raises(InputError, match=r"ink 'flat': directness is .*; it is -0\.5 to 1\.35"):
        ink(directness=eta)


@pytest.mark.parametrize("parts", [[], [(ink(), 0.0)], [(ink(), -1.0), (ink(), 2.0)]])
def test_a_mixture_of_nothing_is_refused(parts: list[tuple[Ink, float]]) -> None:
    with pytest.raises(InputError, match="the mixture 'm' needs"):
        mix_inks(parts, name="m")
