"""A small fixed part of the study of chances: python -m tests.accuracy chances is the whole."""

from __future__ import annotations

import numpy as np
import pytest

from tests.accuracy._shops import STOCKS, draw_shop
from tests.accuracy._worlds import TAILS
from tests.accuracy.chances import RADIATIVE, Outcomes, study

SHOPS = 10


def fifths(found: Outcomes) -> tuple[np.ndarray, np.ndarray]:
    """Mean stated chance and share that landed (5,), by fifths of the stated chance."""
    own = ~found.own
    which = np.minimum((found.stated[own] * 5).astype(int), 4)
    each = [which == at for at in range(5)]
    return (
        np.array([found.stated[own][here].mean() for here in each]),
        np.array([found.landed[own][here].mean() for here in each]),
    )


@pytest.mark.parametrize("kind", [*STOCKS, RADIATIVE])
def test_what_is_stated_happens(kind: str) -> None:
    """Ten shops of each kind of data know a share to 0.06; tenths are for the whole study."""
    stated, happened = fifths(study(kind, SHOPS))
    assert np.abs(stated - happened).max() < 0.22
    assert np.abs(stated - happened).mean() < 0.12


@pytest.mark.parametrize("kind", [*STOCKS, RADIATIVE])
def test_intervals_hold_the_truth(kind: str) -> None:
    inside = study(kind, SHOPS).inside.mean(axis=0)
    assert (inside > 0.78).all(), "L*, a*, b*"
    assert (inside < 0.99).all(), "wider than what is not known"


def test_a_study_that_knows_more_than_it_should_would_be_seen() -> None:
    """Chances stated as if errors were half of what they are miss by more than is allowed."""
    found = study("recovered", SHOPS)
    bold = found.error / (found.half / 2.0)
    assert np.mean(np.abs(bold) <= 1.0) < 0.78


@pytest.mark.parametrize("at", range(len(TAILS)))
def test_errors_have_mean_0_and_sd_1(at: int) -> None:
    rng = np.random.default_rng(at)
    drawn = np.array([TAILS[at](rng) for _ in range(40_000)])
    assert drawn.mean() == pytest.approx(0.0, abs=0.02)
    assert drawn.std() == pytest.approx(1.0, abs=0.03)


def test_shops_are_drawn_the_same_each_time() -> None:
    one, other = (draw_shop(np.random.default_rng(5), "invented") for _ in range(2))
    assert np.array_equal(one.truth, other.truth)
