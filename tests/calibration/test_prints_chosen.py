"""Which prints to read: against the textbook posterior, and against what a shop would think."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.calibration.prints_to_read import _linear, choose_prints, remaining_spread
from inksim.common.errors import InputError
from inksim.printing.build import Build
from tests.press_worlds import all_builds, build_of, six_prints, study_shop


def left(at: list[int], builds: list[Build]) -> float:
    """Outside fact: Bayesian linear regression, the precision is I + Σ J'N⁻¹J."""
    slope, wanted, noise = _linear(builds, study_shop().press)
    precision = np.eye(slope.shape[-1])
    for each in at:
        precision += slope[each].T @ np.linalg.inv(noise[each]) @ slope[each]
    covariance = np.linalg.inv(precision)
    sizes = [np.sqrt(np.trace(w @ covariance @ w.T)) for w in wanted]
    return float(np.mean(sizes))


def test_what_is_left_is_that_of_a_linear_regression() -> None:
    builds = list(all_builds()[::40])
    slope, wanted, noise = _linear(builds, study_shop().press)
    found = remaining_spread(np.eye(slope.shape[-1]), slope=slope, wanted=wanted, noise=noise)
    expected = [left([at], builds) for at in range(len(builds))]
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_each_print_is_the_one_that_leaves_least() -> None:
    builds = list(all_builds()[::40])
    chosen = list(choose_prints(builds, press=study_shop().press, count=3))
    for count, one in enumerate(chosen):
        others = [at for at in range(len(builds)) if at not in chosen[:count]]
        best = min(others, key=lambda at: left([*chosen[:count], at], builds))
        assert one == best


def test_the_chosen_six_tell_more_than_six_that_lie_about() -> None:
    builds = [*all_builds()[::4], *six_prints()]
    chosen = list(choose_prints(builds, press=study_shop().press, count=6))
    lying = list(range(len(builds) - 6, len(builds)))
    assert left(chosen, builds) < 0.95 * left(lying, builds)


def test_a_print_that_shows_no_ink_is_not_read_first() -> None:
    # common practice, no source: black on black tells nothing
    builds = [
        build_of("Coal Black", "Hearth Black", "straight"),
        build_of("Kingcup Yellow", "Cornflower Blue", "straight"),
    ]
    assert choose_prints(builds, press=study_shop().press, count=1) == (1,)


@pytest.mark.parametrize("count", [0, 3])
def test_bad_input(count: int) -> None:
    builds = list(all_builds()[:2])
    with pytest.raises(InputError, match="ask for 1 to 2"):
        choose_prints(builds, press=study_shop().press, count=count)
