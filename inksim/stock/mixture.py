"""Mixtures of inks as arrays: K and S that mix linearly, and the directness of a mixture."""

from __future__ import annotations

import numpy as np

from inksim.common import FloatArray
from inksim.optics import DIRECTNESS_RANGE, effective_ks, mix


def mixed_ks(
    fractions: FloatArray, k: FloatArray, s: FloatArray, *, directness: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """K, S (..., bands) and directness (...) of mixtures of n inks.

    They mix linearly (`optics.mix`) once the directness of the light is taken out of k and s; the
    mixture's own, their mean weighed by what each ink absorbs, is put in (`mix_inks`).

    Parameters
    ----------
    fractions : (..., n) of volume, sum 1: dry where k and s are per µm of dry film, wet where they
        are per µm of wet ink.
    k, s : (n, bands) or (..., n, bands), of `Ink.mixing_ks`.
    directness : (n,) or (..., n) of the light in the films that they were fitted to.
    """
    mixed_k, mixed_s = mix(fractions, k, s)
    if not np.any(directness):
        return mixed_k, mixed_s, np.zeros(mixed_k.shape[:-1])
    absorbed = fractions * k.sum(axis=-1)
    total = absorbed.sum(axis=-1)
    eta = np.sum(absorbed * directness, axis=-1) / np.where(total > 0, total, 1.0)
    eta = np.clip(eta, *DIRECTNESS_RANGE)  # a mean at the very end may round past it
    return *effective_ks(mixed_k, mixed_s, eta[..., None]), eta
