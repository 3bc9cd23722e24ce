"""Contrast ratio on a card and the film that covers, against computed tables and the slow twin."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.colour.lights import weights
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import Surface
from inksim.printing.opacity import Card, covering_thickness_um, film_contrast_ratio, flat_card
from inksim.shop.ink_opacity import hiding
from inksim.shop.load import load_shop
from tests import reference
from tests.conftest import read_check_values

D50 = Viewing()
INSIDE = Surface(0.0, 0.0)
PERFECT_BLACK = Card(black=np.full(BANDS, 1e-12), white=np.full(BANDS, 0.8))
CHECK = read_check_values()
FLAT = np.ones(BANDS)


@pytest.mark.parametrize("ratio", list(CHECK["SX_for_CR098"]))
def test_scattering_power_that_covers_inside(ratio: str) -> None:
    """SX for an internal contrast ratio of 0.98 over black 0 and white 0.8: computed elsewhere."""
    found = covering_thickness_um(
        float(ratio) * FLAT, FLAT, card=PERFECT_BLACK, viewing=D50, surface=INSIDE
    )
    assert found == pytest.approx(CHECK["SX_for_CR098"][ratio], abs=1e-4)


@pytest.mark.parametrize("ratio", ["0", "0.01", "0.1"])
def test_internal_contrast_ratios_of_the_table(ratio: str) -> None:
    table: dict[str, float] = CHECK["contrast_ratio_internal"][ratio]
    found = film_contrast_ratio(
        float(ratio) * FLAT,
        FLAT,
        thickness_um=[float(SX) for SX in table],
        card=PERFECT_BLACK,
        viewing=D50,
        surface=INSIDE,
    )
    np.testing.assert_allclose(found, list(table.values()), atol=1e-4)


def contrast_by_the_twin(K: Any, S: Any, X: float, card: Card, viewing: Viewing) -> float:
    """Y over black / Y over white with the twin's loops, which share no code with the engine."""
    y = weights(viewing.light, viewing.observer)[:, 1]
    total = {}
    for part in ("black", "white"):
        backing = getattr(card, part)
        total[part] = sum(
            y[w]
            * reference.outside(
                reference.over(float(K[w]), float(S[w]), X, reference.inside(float(backing[w])))
            )
            for w in range(BANDS)
        )
    return total["black"] / total["white"]


@pytest.mark.parametrize("white", [0.585, 0.80])
def test_seen_from_outside_a_film_covers_less(white: float) -> None:
    """At SX 2 and no K: 0.78 inside (computed by two methods); outside as the slow twin has it."""
    nothing = np.zeros(BANDS)
    inside = film_contrast_ratio(
        nothing, FLAT, thickness_um=2.0, card=PERFECT_BLACK, viewing=D50, surface=INSIDE
    )
    assert inside == pytest.approx(0.7778, abs=5e-5)
    card = flat_card(0.0001, white)
    outside = film_contrast_ratio(nothing, FLAT, thickness_um=2.0, card=card, viewing=D50)
    assert outside == pytest.approx(contrast_by_the_twin(nothing, FLAT, 2.0, card, D50), abs=1e-10)
    assert outside < 0.65


@pytest.mark.parametrize("name", ["Kiln Red", "Chalk White Base", "Weir Teal", "Hearth Black"])
@pytest.mark.parametrize("card", [flat_card(), flat_card(0.045, 0.86)], ids=["ISO", "own"])
def test_the_covering_film_covers_just_so(name: str, card: Card) -> None:
    ink, viewing = load_shop().ink(name), Viewing("D65", 10)
    found = covering_thickness_um(ink.K, ink.S, card=card, viewing=viewing)
    assert found is not None
    assert contrast_by_the_twin(ink.K, ink.S, found, card, viewing) == pytest.approx(0.98, abs=1e-7)
    assert contrast_by_the_twin(ink.K, ink.S, 0.9 * found, card, viewing) < 0.98


def test_the_card_matters() -> None:
    """A lighter black leaves less contrast to hide: the same film has a higher ratio."""
    white = load_shop().base_ink("white-base")
    ratios = [
        film_contrast_ratio(white.K, white.S, thickness_um=13.0, card=card, viewing=D50)
        for card in (flat_card(0.005), flat_card(0.05))
    ]
    assert ratios[0] < ratios[1]


def test_what_never_covers_says_so() -> None:
    """A pure filter darkens both parts alike: inside, its ratio stays that of the card."""
    card = Card(black=np.full(BANDS, 0.1), white=np.full(BANDS, 0.8))
    nothing = np.zeros(BANDS)
    thin, thick = film_contrast_ratio(
        FLAT, nothing, thickness_um=[0.1, 3.0], card=card, viewing=D50, surface=INSIDE
    )
    assert thin == pytest.approx(0.125)
    assert thick == pytest.approx(0.125)
    assert covering_thickness_um(nothing, nothing, card=card, viewing=D50) is None
    assert covering_thickness_um(FLAT, nothing, card=card, viewing=D50) is None


def test_a_black_hole_hides_all() -> None:
    """An opaque film hides however dark it is: its ratio is 1, and 1 where nothing comes back."""
    found = [
        float(
            film_contrast_ratio(
                K * FLAT, S * FLAT, thickness_um=1000.0, card=flat_card(), viewing=D50
            )
        )
        for K, S in ((1.0, 1.0), (1.0, 1e-100), (1e3, 0.0))
    ]
    assert found == pytest.approx([1.0, 1.0, 1.0])


def test_no_film_has_the_contrast_of_the_card() -> None:
    found = film_contrast_ratio(FLAT, FLAT, thickness_um=0.0, card=flat_card(), viewing=D50)
    assert found == pytest.approx(0.01 / 0.80)


@pytest.mark.parametrize(("black", "white"), [(0.0, 0.8), (0.8, 0.1), (0.01, 0.97)])
def test_a_card_that_is_none_is_refused(black: float, white: float) -> None:
    with pytest.raises(InputError, match="the card's black reflects"):
        flat_card(black, white)


@pytest.mark.parametrize("ratio", [0.0, 1.0])
def test_a_ratio_that_no_film_can_have_is_refused(ratio: float) -> None:
    with pytest.raises(InputError, match="between 0 and 1"):
        covering_thickness_um(FLAT, FLAT, card=flat_card(), viewing=D50, ratio=ratio)


def test_a_shops_inks_cover_as_their_kinds_should() -> None:
    """Common practice, no source: white hides far more than a color at usual films, clear none.

    One stroke of white leaves a black shirt light gray, L* 70 to 80: a contrast ratio of 0.5 to 0.7
    with the shirt's uneven film, a little more with the even one of the card.
    """
    shop = load_shop()
    rows = {
        row.ink.kind: row
        for row in hiding(shop, list(shop.inks.values())[::-1], card=flat_card(), viewing=D50)
    }
    best = {kind: max(film.contrast_ratio for film in row.films) for kind, row in rows.items()}
    assert 0.85 > best["white-base"] > 0.7 > best["color"] > best["clear-base"]
    assert best["clear-base"] < 0.05
    white = rows["white-base"]
    assert white.times_usual is not None
    assert white.covers_um == pytest.approx(white.times_usual * white.films[0].film_um)
