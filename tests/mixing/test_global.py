"""Recipes against a global optimizer of scipy's: 3 of 30 colors of tests/accuracy/recipes.py."""

from __future__ import annotations

import pytest

from tests.accuracy.recipes import compared, targets


@pytest.mark.parametrize("at", [0, 2, 20])
def test_no_global_optimizer_comes_nearer(at: int) -> None:
    garment, target = targets()[at]
    case = compared(garment, target, population=12, generations=80)
    assert case.found <= case.best + 0.1
    assert case.look_s * 45_000 > 50 * case.seconds, "looks of the documented run, one by one"
