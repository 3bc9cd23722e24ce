"""On scikit-image's photographs the separation that inverts the model beats two that do not."""

from __future__ import annotations

import pytest

from tests.accuracy import separation

PAIRS = [(shirt, photo) for shirt in separation.PRINTS for photo in separation.PHOTOGRAPHS]


@pytest.mark.parametrize(("shirt", "photo"), PAIRS)
def test_nearer_than_a_dither_and_than_a_fixed_curve(shirt: str, photo: str) -> None:
    ours, *others = (
        separation.errors(shirt, photo, method).mean() for method in separation.METHODS
    )
    assert ours < min(others)


@pytest.mark.parametrize("shirt", separation.PRINTS)
def test_on_average_by_half(shirt: str) -> None:
    """The mean over all photographs is less than half of the better of the other two."""
    ours, *others = (
        sum(separation.errors(shirt, photo, method).mean() for photo in separation.PHOTOGRAPHS)
        for method in separation.METHODS
    )
    assert ours < 0.5 * min(others)
