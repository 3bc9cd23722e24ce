"""Light that is handed on, not lost: shading by fibers, and rounding to 8 bits."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.picture.render import _level_codes, _shade


def decoded(codes: np.ndarray) -> np.ndarray:
    """Linear light of 8-bit codes, by IEC 61966-2-1."""
    v = codes / 255.0
    return np.asarray(np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4))


@pytest.mark.parametrize("amount", [0.1, 0.3, 0.5])
def test_shading_takes_no_light_from_a_print_that_is_thin_on_its_fibers(amount: float) -> None:
    """Light is only moved from level to level: the sum stays, whichever way the print varies."""
    q = (np.arange(256) + 0.5) / 256
    rising = np.stack([0.05 + 0.4 * q, 0.5 - 0.4 * q, np.full(256, 0.2)], axis=-1)[None]
    shaded = _shade(rising, amount=amount)
    np.testing.assert_allclose(shaded.mean(axis=1), rising.mean(axis=1), rtol=1e-12)
    assert np.all(np.diff(shaded[0, :, 2]) < 0)  # an even print is lighter on proud fibers


def test_what_8_bits_cannot_hold_is_carried_from_level_to_level() -> None:
    """Error diffusion (Floyd and Steinberg 1976, in one dimension): no sum of levels from the first
    on is farther off than half a step of a code."""
    q = (np.arange(256) + 0.5) / 256
    light = np.stack([0.010 + 0.004 * q, 0.2 + 0.01 * q, 0.7 + 0.02 * q], axis=-1)[None]
    off = np.cumsum(decoded(_level_codes(light)) - light, axis=1)[0]
    codes = _level_codes(light)[0].astype(int)
    step = np.max(decoded(codes + 1) - decoded(codes - 1), axis=0) / 2.0
    assert np.all(np.abs(off).max(axis=0) <= 0.6 * step)
