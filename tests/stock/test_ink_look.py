"""An ink known by its look: K and S of one look and an opacity, and how sure they are."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from scipy.optimize import brentq

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS, WAVELENGTHS_NM
from inksim.colour.indices import contrast_ratio
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.srgb import lab_from_hex
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import film_over, internal_from_external
from inksim.stock.ink_look import (
    COLOUR_S_SD,
    COVER_RATIOS,
    FILM_SD,
    KIND_S_SD,
    LOOK_COLOUR_FILM_UM,
    LOOK_FILM_UM,
    RATIO_S_SD,
    Covers,
    Known,
    ink_from_look,
)
from inksim.stock.look_film import CARD_BLACK, CARD_WHITE, LEAST_K, LOOK_BACKING
from tests import reference

D50 = Viewing()
RED = 0.05 + 0.45 / (1.0 + np.exp(-(WAVELENGTHS_NM - 590.0) / 12.0))
PINK = 0.45 + 0.35 / (1.0 + np.exp(-(WAVELENGTHS_NM - 590.0) / 20.0))
NAVY = 0.02 + 0.06 * np.exp(-(((WAVELENGTHS_NM - 450.0) / 40.0) ** 2))
WHITE = np.full(BANDS, 0.83)
FALLING = 550.0 / WAVELENGTHS_NM
"""S of pigments as assumed: about as 1/wavelength."""


def seen(K: np.ndarray, S: np.ndarray, film_um: float, card: float) -> np.ndarray:
    """External reflectance (31,) of a film over a gray card, by the twin."""
    backing = reference.inside(card)
    return np.array(
        [
            reference.outside(reference.over(float(k), float(s), film_um, backing))
            for k, s in zip(K, S, strict=True)
        ]
    )


def ratio(K: np.ndarray, S: np.ndarray, film_um: float) -> float:
    """Contrast ratio on the card of ISO 6504-3, by the twin."""
    black, white = (seen(K, S, film_um, card) for card in (CARD_BLACK, CARD_WHITE))
    return float(contrast_ratio(black, white, D50))


# -- K, whatever S is


@given(absorption=st.floats(0.0, 5.0), film_um=st.floats(1.0, 30.0))
@settings(max_examples=40)
def test_a_look_gives_back_the_ink_that_has_it(absorption: float, film_um: float) -> None:
    # Round trip through the twin's film and surface, unless it is blacker than a look tells.
    S = ink_from_look(RED, film_um=film_um).S
    K = np.full(BANDS, max(absorption, LEAST_K))
    found = ink_from_look(seen(K, S, film_um, LOOK_BACKING), film_um=film_um, known="spectrum")
    backing = internal_from_external(LOOK_BACKING)
    shown = [
        film_over(k, found.S, thickness_um=film_um, backing=backing)
        for k in (found.K, K * np.ones(BANDS))
    ]
    if np.all(found.S == S):
        # Compared as looks: where hardly any light comes back, K itself is not to be seen.
        np.testing.assert_allclose(*shown, rtol=1e-8, atol=1e-5)
        if absorption * film_um < 5:
            np.testing.assert_allclose(found.K, K, rtol=1e-6, atol=1e-9)
    else:
        assert absorption * film_um < 3, "only a light look holds white"


@pytest.mark.parametrize("look", [0.05, 0.3, 0.6, 0.8])
@pytest.mark.parametrize("kind", ["color", "white-base", "clear-base"])
def test_the_absorption_of_a_look_by_another_root_finder(look: float, kind: str) -> None:
    # Independent: scipy's brentq on the twin's film.
    found = ink_from_look(np.full(BANDS, look), kind=kind, film_um=6.0)
    backing = reference.inside(LOOK_BACKING)
    for band in (0, 15, 30):

        def miss(K: float, band: int = band) -> float:
            over = reference.over(K, float(found.S[band]), 6.0, backing)
            return over - reference.inside(look)

        expected = max(brentq(miss, 0.0, 20.0, xtol=1e-13), LEAST_K)
        np.testing.assert_allclose(found.K[band], expected, rtol=1e-8, atol=1e-11)


def test_a_look_brighter_than_the_white_under_it_absorbs_next_to_nothing() -> None:
    found = ink_from_look(np.full(BANDS, 0.95), film_um=6.0, kind="clear-base")
    np.testing.assert_array_equal(found.K, LEAST_K)
    # but the white may have been brighter than the look: that direction moves it
    found = ink_from_look(np.full(BANDS, 0.86), film_um=6.0, kind="clear-base")
    np.testing.assert_array_equal(found.K, LEAST_K)
    assert found.error.shapes[1][0].min() > 1.5


def test_a_darker_look_absorbs_more_and_a_thicker_film_of_it_less() -> None:
    looks = np.linspace(0.9, 0.01, BANDS)
    thin, thick = (ink_from_look(looks, film_um=um, kind="clear-base") for um in (6.0, 12.0))
    assert (np.diff(thin.K) >= 0).all()
    assert (thick.K[thin.K > LEAST_K] < thin.K[thin.K > LEAST_K]).all()


# -- S by what is known of the opacity


@pytest.mark.parametrize(
    ("look", "kind", "least", "most"),
    [
        # Levinson, Berdahl & Akbari, Sol. Energy Mater. Sol. Cells 89 (2005) 319, orders of size
        # as they are quoted: titanium dioxide whites 0.1-0.9 per µm, organic colors 0.002-0.03.
        (WHITE, "white-base", 0.1, 0.9),
        (RED, "color", 0.002, 0.03),
        (NAVY, "color", 0.002, 0.03),
        # A pastel holds white, but not only white; a clear base next to nothing.
        (PINK, "color", 0.01, 0.2),
        (WHITE, "clear-base", 0.0, 0.004),
    ],
)  # fmt: skip
def test_an_opacity_nobody_states_is_of_kind_and_color(
    look: np.ndarray, kind: str, least: float, most: float
) -> None:
    found = ink_from_look(look, kind=kind)
    assert least <= found.S.min() < found.S.max() <= most
    assert np.all(np.diff(found.S) < 0)
    assert "opacity assumed by kind" in found.assumed
    # what S of 0.01 for every ink was off by on films that were measured: wide
    sd = KIND_S_SD.get(kind, COLOUR_S_SD)
    assert found.error.total()[1][15] == pytest.approx(np.hypot(sd, FILM_SD[False]), rel=0.01)


@pytest.mark.parametrize("scattering", [0.005, 0.02, 0.1, 0.6])
@pytest.mark.parametrize("look", [RED, PINK, NAVY, WHITE], ids=["red", "pink", "navy", "white"])
def test_a_contrast_ratio_gives_the_scattering_that_has_it(
    look: np.ndarray, scattering: float
) -> None:
    # Round trip by the twin: an ink of this scattering and this look over white, and its ratio.
    S = scattering * FALLING
    backing, inside = internal_from_external(LOOK_BACKING), internal_from_external(look)
    K = np.array(
        [
            brentq(
                lambda k, b=b: film_over(k, S[b], thickness_um=8.0, backing=backing) - inside[b],
                0.0,
                20.0,
                xtol=1e-12,
            )
            for b in range(BANDS)
        ]
    )
    white, hides = seen(K, S, 8.0, LOOK_BACKING), ratio(K, S, 14.0)
    if hides < 0.99:
        found = ink_from_look(
            white, film_um=8.0, contrast_ratio=hides, contrast_film_um=14.0, known="spectrum"
        )
        np.testing.assert_allclose(found.S, S, rtol=0.02)
        assert found.assumed == ()
        assert found.error.total()[1][15] == pytest.approx(RATIO_S_SD, rel=0.2)
    # and from the looks themselves, over white and over black
    over_black = lab(seen(K, S, 8.0, CARD_BLACK), D50)
    both = ink_from_look(white, film_um=8.0, over_black=over_black, known="spectrum")
    assert both.misfit is not None
    assert both.misfit < 0.3
    # Where the film hides, S is not to be seen, and the error says so: of navy at 0.6 per µm, four
    # standard deviations above what its kind lets expect, it is nearly all that is known.
    off = np.abs(np.log(both.S / S)).max()
    assert off < 3.0 * float(both.error.total()[1].max())
    if both.error.total()[1].max() < 0.1:
        assert off < 0.1


@pytest.mark.parametrize("covers", ["black", "half", "clear"])
@pytest.mark.parametrize(("look", "kind"), [(RED, "color"), (PINK, "color"), (WHITE, "white-base")])
def test_a_word_holds_for_the_film_of_the_look(look: np.ndarray, kind: str, covers: Covers) -> None:
    found = ink_from_look(look, kind=kind, covers=covers)
    least, most = COVER_RATIOS[covers]
    film_um = LOOK_FILM_UM.get(kind, LOOK_COLOUR_FILM_UM)
    if kind == "white-base" and covers == "clear":  # its kind says otherwise, and is believed too
        plain = ink_from_look(look, kind=kind)
        assert ratio(found.K, found.S, film_um) < ratio(plain.K, plain.S, film_um) - 0.2
        return
    # its ends are soft: an ink of this kind and color covers less than that more often than more
    assert least - 0.05 < ratio(found.K, found.S, film_um) < most + 0.05
    # surer than by kind alone, less sure than by a ratio
    assert RATIO_S_SD < found.error.total()[1][15] < np.hypot(KIND_S_SD.get(kind, COLOUR_S_SD), 0.4)
    assert not any("opacity" in words for words in found.assumed)


def test_the_look_over_white_holds_whatever_the_opacity() -> None:
    for opacity in ({}, {"covers": "black"}, {"contrast_ratio": 0.6}, {"over_black": [30, 25, 9]}):
        found = ink_from_look(RED, film_um=7.0, **opacity)  # type: ignore[arg-type]
        np.testing.assert_allclose(seen(found.K, found.S, 7.0, LOOK_BACKING), RED, atol=1e-6)


def test_a_film_is_never_lighter_over_black_than_over_white_and_misfit_is_said() -> None:
    # No film of a dark look over white is light over black: the looks are of two films.
    found = ink_from_look(NAVY, film_um=6.0, over_black=np.array([60.0, 0.0, 0.0]))
    black, white = (seen(found.K, found.S, 6.0, card) for card in (CARD_BLACK, LOOK_BACKING))
    assert (black <= white + 1e-12).all()
    assert found.misfit is not None
    assert found.misfit > 10
    assert any("no film looks like it over black and over white" in w for w in found.assumed)


def test_a_second_look_is_surer_the_better_it_was_read() -> None:
    S = 0.03 * FALLING
    K = ink_from_look(RED, film_um=6.0).K
    looks = seen(K, S, 6.0, LOOK_BACKING), lab(seen(K, S, 6.0, CARD_BLACK), D50)

    def sd(known: Known) -> float:
        found = ink_from_look(looks[0], film_um=6.0, over_black=looks[1], known=known)
        _, *others = found.error.shapes[:, 1, 22]  # 620 nm, where it is light
        return float(np.sqrt(np.sum(np.square(others)) + found.error.S**2))

    assert 0 < 3 * sd("lab") < sd("hex") < COLOUR_S_SD


# -- Errors


def test_an_error_of_the_opacity_keeps_the_look_over_white() -> None:
    # What one standard deviation of S moves on white is little beside what it moves on black.
    found = ink_from_look(RED, film_um=6.0, covers="half", known="spectrum")
    level = found.error.shapes[3]  # after film, white and slope
    moved = 0.2 * level
    K, S = found.K * np.exp(moved[0]), found.S * np.exp(moved[1])
    was, now = (
        [lab(seen(k, s, 6.0, card), D50) for card in (CARD_BLACK, LOOK_BACKING)]
        for k, s in ((found.K, found.S), (K, S))
    )
    assert delta_e_2000(was[1], now[1]) < 0.1 * delta_e_2000(was[0], now[0])


def test_a_film_not_known_scales_absorption_and_scattering_alike() -> None:
    said, assumed = (ink_from_look(RED, film_um=um) for um in (6.0, None))
    np.testing.assert_array_equal(said.K, assumed.K)
    assert "a film of 6 µm assumed for its look" in assumed.assumed
    assert not any("film" in words for words in said.assumed)
    for found in (said, assumed):
        np.testing.assert_array_equal(found.error.shapes[0][0], found.error.shapes[0][1])
    assert (assumed.error.shapes[0] > said.error.shapes[0]).all()
    doubted = ink_from_look(RED, film_um=6.0, film_sd=0.4)
    assert doubted.error.shapes[0][0, 0] == pytest.approx(np.hypot(said.error.shapes[0][0, 0], 0.4))


def test_a_color_leaves_the_shape_open_and_a_reading_does_not() -> None:
    by_hex, by_lab, read = (
        ink_from_look(RED, film_um=6.0, known=known)
        for known in ("hex", "lab", "spectrum")  # type: ignore[arg-type]
    )
    # of a hex code the color itself may be wrong besides: three directions more
    assert len(by_hex.error.shapes) == len(by_lab.error.shapes) + 3
    assert len(by_lab.error.shapes) > len(read.error.shapes)


def test_a_color_at_the_edge_of_a_screen_may_lie_beyond() -> None:
    def sd_of_chroma(code: str) -> float:
        """Of the film over white, along its chroma, by the directions of its error."""
        stated = lab_from_hex(code, D50)
        shown = reflectance_from_lab(stated, D50)
        look = ink_from_look(shown, film_um=6.0, known="hex", contrast_ratio=0.2)
        way = np.array([0.0, *stated[1:]]) / np.hypot(*stated[1:])
        seen_now = lab(seen(look.K, look.S, 6.0, LOOK_BACKING), D50)
        moved = [
            (lab(seen(look.K * np.exp(0.1 * k), look.S, 6.0, LOOK_BACKING), D50) - seen_now) @ way
            for k, _ in look.error.shapes[4:]
        ]
        return float(np.sqrt(np.sum(np.square(moved))) / 0.1)

    assert sd_of_chroma("#ff2a1e") > 1.2 * sd_of_chroma("#f03024")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"covers": "half", "contrast_ratio": 0.5}, "give the opacity once"),
        ({"contrast_ratio": 1.0}, "contrast_ratio is 1; it is between 0 and 1"),
    ],
)
def test_an_impossible_opacity_is_refused(given: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        ink_from_look(RED, **given)  # type: ignore[arg-type]
