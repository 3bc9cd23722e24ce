"""Charts of ways: ticks that read differently, numbers that do not lie on each other."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.distance import pdist

from inksim.reports.job_chart import spread, ticks


@pytest.mark.parametrize(
    ("low", "high"), [(4.6, 4.6), (0.0, 0.0), (1.714, 2.281), (0.0, 1e-12), (120.0, 120.001)]
)
def test_ticks_span_the_values_and_no_two_read_the_same(low: float, high: float) -> None:
    found = ticks(low, high)
    assert found[0] <= low + 1e-9
    assert found[-1] >= high - 1e-9
    words = [f"{value:g}" for value in found]
    assert len(words) >= 2
    assert len(set(words)) == len(words)
    assert max(map(len, words)) <= 6


def test_marks_that_would_cover_each_other_are_moved_and_others_stay() -> None:
    places = np.array([[0.0, 0.0], [0.0, 0.0], [0.2, 0.1], [0.0, 0.0], [9.0, 9.0]])
    found = spread(places)
    assert pdist(found).min() >= 1.0 - 1e-9
    np.testing.assert_array_equal(found[[0, 4]], places[[0, 4]])
