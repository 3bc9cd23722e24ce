"""The film of an ink's look over white: with which K it looks so, whatever its S."""

from __future__ import annotations

import numpy as np

from inksim.colour import BANDS, D50, WAVELENGTHS_NM, contrast_ratio as ratio_of, lab
from inksim.common import FloatArray
from inksim.optics import external_from_internal, film_over, internal_from_external

LOOK_BACKING, LOOK_BACKING_SD = 0.85, 0.04
"""External reflectance of the white under the film of a look [assumption]."""
LEAST_K = 2e-4
"""Per µm: no film is quite clear, and what is 0 has no logarithm to be wrong in."""
CARD_BLACK, CARD_WHITE = 0.01, 0.80
"""External reflectance of the card of a contrast ratio (ISO 6504-3: white Y 80 ± 2, black Y ≤ 5),
and of the black of a look."""
SLOPE_S, SLOPE_S_SD = -1.0, 0.6
"""d ln S / d ln wavelength at pigment sizes that color and hide [assumption]: the whites of
Levinson, Berdahl & Akbari 2005 fall about as 1/wavelength."""

_LEAST_S, _MOST_S, _STEPS = 1e-4, 3.0, 48
_MOST_K, _MOST_KS, _HALVINGS = 20.0, 5e3, 50
"""K is sought up to 20 per µm, and to what an endless film of the darkest look has."""


class LookFilm:
    """A film of one look over white, for any S: θ = (ln S over the usual one at 550 nm, slope)."""

    octaves = np.log(WAVELENGTHS_NM / 550.0)
    basis = np.stack([np.ones(BANDS), octaves / octaves[-1]])

    def __init__(self, look: FloatArray, film_um: float, usual_s: float, s_sd: float) -> None:
        self.look, self.film_um, self.usual_s, self.s_sd = look, film_um, usual_s, s_sd
        self.seen = internal_from_external(np.clip(look, 1e-4, 0.955))

    def scattering(self, point: FloatArray) -> FloatArray:
        """S (..., 31) of θ (..., 2)."""
        usual = self.usual_s * np.exp(SLOPE_S * self.octaves)
        return np.asarray(usual * np.exp(point @ self.basis))

    def absorption(self, S: FloatArray, white: float = LOOK_BACKING) -> FloatArray:
        """K (..., 31) with which the film looks as seen over white, whatever its S (..., 31)."""
        backing = internal_from_external(white)
        low, high = np.zeros_like(S), _MOST_K + _MOST_KS * S
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            bright = film_over(middle, S, thickness_um=self.film_um, backing=backing) > self.seen
            low, high = np.where(bright, middle, low), np.where(bright, high, middle)
        return np.maximum(low, LEAST_K)

    def over(
        self, S: FloatArray, K: FloatArray, card: float, film_um: float | None = None
    ) -> FloatArray:
        """External reflectance (..., 31) over a gray card, of this film or of another thickness."""
        backing = internal_from_external(card)
        thick = self.film_um if film_um is None else film_um
        return external_from_internal(film_over(K, S, thickness_um=thick, backing=backing))

    def ratios(self, levels: FloatArray, film_um: float) -> FloatArray:
        """Contrast ratio (n,) of a film at levels (n,) of ln S, at the usual slope."""
        S = self.scattering(np.stack([levels, np.zeros_like(levels)], axis=-1))
        K = self.absorption(S)
        black, white = (self.over(S, K, card, film_um) for card in (CARD_BLACK, CARD_WHITE))
        return ratio_of(black, white, D50)

    def levels(self) -> FloatArray:
        """Levels of ln S from a clear film to one beyond every white."""
        return np.log(np.geomspace(_LEAST_S, _MOST_S, _STEPS) / self.usual_s)

    def slope(self, S: FloatArray, K: FloatArray, card: float) -> FloatArray:
        """dR/d ln K (31,) of the film over a gray card."""
        step = 1e-3
        down, up = (self.over(S, K * np.exp(way * step), card) for way in (-1.0, 1.0))
        return np.asarray((up - down) / (2.0 * step))

    def lab_slopes(self, S: FloatArray, K: FloatArray, card: float) -> FloatArray:
        """dLab/d ln K (3, 31) of the film over a gray card, D50/2°."""
        step, seen = 1e-3, self.over(S, K, card)
        moved = seen + step * np.diag(self.slope(S, K, card))
        return np.asarray(((lab(moved, D50) - lab(seen, D50)) / step).T)
