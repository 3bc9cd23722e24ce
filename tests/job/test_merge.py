"""Which colors are merged where the press has too few screens: by least damage, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.job.merge import Groups, mergings

RED, RUST, CREAM = [50.0, 55.0, 30.0], [47.0, 52.0, 31.0], [88.0, 2.0, 14.0]


def steps(colours: list[list[float]], areas: list[float], *apart: int) -> list[Groups]:
    return list(mergings(np.array(colours), areas, apart=apart))


def test_one_fewer_at_each_step_from_one_each() -> None:
    found = steps([RED, RUST, CREAM], [100.0, 50.0, 30.0])
    assert found[0] == ((0,), (1,), (2,))
    assert [len(groups) for groups in found] == [3, 2, 1]
    assert sorted(c for group in found[-1] for c in group) == [0, 1, 2]


@pytest.mark.parametrize(("areas", "first"), [([100.0, 50.0], (0, 1)), ([50.0, 100.0], (1, 0))])
def test_the_larger_area_keeps_its_color(areas: list[float], first: tuple[int, int]) -> None:
    assert steps([RED, RUST], areas)[1] == (first,)


def test_a_dot_is_given_up_before_half_a_shirt() -> None:
    # Red and rust are near, but rust is half of the shirt; the cream dot is far off and 1 cm².
    colours = [RED, RUST, CREAM]
    assert ((0, 1), (2,)) in steps(colours, [500.0, 480.0, 400.0])
    _, second, *_ = steps(colours, [500.0, 480.0, 1.0])
    assert (1,) in second or (0,) in second
    assert any(2 in group and len(group) == 2 for group in second)


def test_colors_kept_apart_stay_alone() -> None:
    for groups in steps([RED, RUST, CREAM], [100.0, 50.0, 30.0], 1):
        assert (1,) in groups
    assert len(steps([RED, RUST, CREAM], [100.0, 50.0, 30.0], 0, 1)) == 1
