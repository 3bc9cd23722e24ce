"""By how much a picture is reduced to fit."""

from __future__ import annotations

import pytest

from inksim.common.errors import InputError
from inksim.picture.reduce import reduction_factor


@pytest.mark.parametrize("longer", [1, 7, 899, 900, 901, 1799, 1800, 1801, 6000])
def test_it_is_the_least_whole_factor_that_fits(longer: int) -> None:
    factor = reduction_factor((longer // 2 + 1, longer), max_px=900)
    assert longer / factor <= 900
    assert factor == 1 or longer / (factor - 1) > 900


def test_no_picture_has_no_pixels() -> None:
    with pytest.raises(InputError, match="at least 1"):
        reduction_factor((10, 10), max_px=0)
