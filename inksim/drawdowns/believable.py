"""What is believed of K and S beyond what the readings tell: soft priors on their logarithms.

A masstone that reads below what its own tint allows (bronzing, gloss) has no answer: a fit then
drives K as far as it may go, in the film's darkest bands, and that K swamps the tints. Films do not
go so far. The strongest of the pigmented films that Levinson, Berdahl & Akbari measured (Solar
Energy Materials & Solar Cells 89, 2005, 319–349 and 351–389) absorb 0.69 per µm at 13 % pigment by
volume and scatter 1.04 per µm at 23 %: in a drawdown of 100 µm K·X 69 and S·X 104, at the most
pigment a paint holds, about half, K·X 265 and S·X 226. Above MOST_K and MOST_S one standard
deviation is one e-fold; below, nothing is said [assumption: 200–500 and 20–100 do as well]. As the
priors of what is common to all bands, this one is weighted by the fit's caution: where the misfit
follows a pattern, as bronzing does, many bands are one observation.

An ink that is in one reading only has no answer for both K and S. Its S is then guessed, wide
enough for clear and for opaque inks, falling with wavelength as that of small particles does
[assumption].
"""

from __future__ import annotations

import numpy as np

from inksim.colour import WAVELENGTHS_NM
from inksim.common import BoolArray, FloatArray
from inksim.drawdowns.film_model import Problem, State

MOST_K, MOST_S = 300.0, 100.0
"""K·X and S·X of a film above which a measured one is hardly found."""
NEAR = 0.5
"""Share of these from which a value is not a finding but where the fit was stopped."""
GUESSED_S, GUESS_SD, GUESSED_SLOPE = 0.3, 1.5, -1.5
"""S·X of an ink read once at 550 nm: median, sd of its logarithm, and power of the wavelength."""
PALE, PALE_S, PALE_SD = 0.8, 1.0, 2.0
"""An ink that takes nowhere more than a fifth of the card's light is a white or a clear one."""


def guess(readings: FloatArray, cards: FloatArray) -> tuple[FloatArray, float]:
    """Guess ln(S·X) (31,) of an ink, and its sd, by its one reading over its card (31,)."""
    pale = bool(np.all(readings > PALE * cards))
    middle, sd = (PALE_S, PALE_SD) if pale else (GUESSED_S, GUESS_SD)
    return np.asarray(np.log(middle) + GUESSED_SLOPE * np.log(WAVELENGTHS_NM / 550.0)), sd


def beyond(problem: Problem, state: State) -> tuple[FloatArray, FloatArray]:
    """How far log K, log S (B, 2n) lie from what is believed, in standard deviations; and 1/sd²."""
    n = problem.fractions.shape[1]
    above = np.concatenate([state.log_k - np.log(MOST_K), state.log_s - np.log(MOST_S)], axis=1)
    precision = np.where(above > 0.0, problem.caution**2, 0.0)
    off = np.maximum(above, 0.0) * problem.caution
    for ink, (middle, sd) in problem.guessed.items():
        off[:, n + ink] = (state.log_s[:, ink] - middle) / sd
        precision[:, n + ink] = sd**-2
    return np.asarray(off), np.asarray(precision)


def at_ceiling(K: FloatArray, S: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Masks of the bands where K and S per film are at or near the most that is believed."""
    return np.asarray(K > NEAR * MOST_K), np.asarray(S > NEAR * MOST_S)
