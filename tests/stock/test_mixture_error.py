"""The error of a mixture against a plain Monte Carlo of its parts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inksim.shop.load import load_shop
from inksim.stock.ink import mix_inks
from inksim.stock.spectral_error import SpectralError

SHOP = load_shop()


def test_a_mixture_is_as_unsure_as_its_parts_make_it() -> None:
    rng = np.random.default_rng(3)
    shapes = 0.1 * np.sin(np.linspace(0, 4, 62)).reshape(1, 2, 31)
    parts = [
        (replace(SHOP.ink(name), error=SpectralError(K=0.05, S=0.1, shapes=shapes)), share)
        for name, share in (("Lantern Orange", 1.0), ("Cornflower Blue", 2.0))
    ]
    mixture = mix_inks(parts, name="mixed")
    assert mixture.error is not None
    drawn = []
    for _ in range(400):
        moved = []
        for ink, share in parts:
            z = rng.normal(size=3)
            ln = z[2] * shapes[0] + np.array([0.05 * z[0], 0.1 * z[1]])[:, None]
            K, S = ink.K * np.exp(ln[0]), ink.S * np.exp(ln[1])
            moved.append((replace(ink, K=K, S=S), share))
        one = mix_inks(moved, name="moved")
        drawn.append([np.log(one.K), np.log(one.S)])
    for found, expected in zip(mixture.error.total(), np.std(drawn, axis=0), strict=True):
        np.testing.assert_allclose(found, expected, rtol=0.15)


def test_a_mixture_of_inks_that_state_no_error_states_none() -> None:
    parts = [(replace(SHOP.ink(n), error=None), 1.0) for n in ("Lantern Orange", "Kiln Red")]
    assert mix_inks(parts, name="mixed").error is None
