"""From reflectance to what is seen: XYZ, CIELAB, sRGB, colour difference, contrast ratio.

A Viewing names the light and the observer; every number here belongs to one. XYZ is scaled to
Y = 100 for the perfect diffuser, sRGB is IEC 61966-2-1. All functions take any leading shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inksim import cielab, spectra
from inksim.cielab import chroma, delta_e_2000, delta_e_ab, delta_e_cmc, hue
from inksim.errors import InputError
from inksim.spectra import FloatArray

__all__ = [
    "Viewing",
    "check_plausible_lab",
    "chroma",
    "colour_inconstancy",
    "contrast_ratio",
    "decode_srgb",
    "delta_e_2000",
    "delta_e_ab",
    "delta_e_cmc",
    "encode_srgb",
    "hex_code",
    "hidden_contrast",
    "hue",
    "is_plausible_lab",
    "lab",
    "lab_from_hex",
    "lab_from_xyz",
    "linear_srgb",
    "metamerism_index",
    "reflectance_from_lab",
    "rgb8_from_hex",
    "srgb8",
    "xyz",
    "xyz_from_lab",
    "xyz_from_srgb8",
]

#: Bradford cone responses (Lam 1985; as in ICC.1:2022, Annex E).
BRADFORD: FloatArray = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
#: CIE xy of the sRGB primaries and of its white, D65 (IEC 61966-2-1).
SRGB_PRIMARIES: FloatArray = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
SRGB_WHITE: FloatArray = np.array([0.3127, 0.3290])
HALF_CODE = 0.5 / 255.0


@dataclass(frozen=True)
class Viewing:
    """The light and the observer a colour is stated for; prints as "D50/2°".

    Graphic arts use D50/2° (ISO 13655), textile buyers D65/10° (ISO 105-J01).
    """

    light: str = "D50"
    observer: int = 2

    def __post_init__(self) -> None:
        spectra.weights(self.light, self.observer)  # refuses what is not known

    def __str__(self) -> str:
        return f"{self.light}/{self.observer}°"

    @property
    def white(self) -> FloatArray:
        """XYZ (3,) of the perfect diffuser."""
        return spectra.white_xyz(self.light, self.observer)


def xyz(reflectance: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) of external reflectance (..., 31), ASTM E308 with E2022 weights."""
    return np.asarray(reflectance, dtype=float) @ spectra.weights(viewing.light, viewing.observer)


def lab_from_xyz(xyz: ArrayLike, viewing: Viewing) -> FloatArray:
    """CIELAB (..., 3) of XYZ (..., 3), ISO/CIE 11664-4, against the viewing's white."""
    return cielab.lab_from_xyz(xyz, white=viewing.white)


def xyz_from_lab(lab: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) of CIELAB (..., 3), the inverse of lab_from_xyz."""
    return cielab.xyz_from_lab(lab, white=viewing.white)


def lab(reflectance: ArrayLike, viewing: Viewing) -> FloatArray:
    """CIELAB (..., 3) of external reflectance (..., 31)."""
    return lab_from_xyz(xyz(reflectance, viewing), viewing)


def is_plausible_lab(lab: ArrayLike) -> bool:
    """Whether every CIELAB (..., 3) has 0 <= L* <= 100 and |a*|, |b*| <= 150."""
    lab = np.asarray(lab, dtype=float)
    lightness = lab[..., 0]
    return bool(
        np.all((lightness >= 0.0) & (lightness <= 100.0)) and np.all(np.abs(lab[..., 1:]) <= 150.0)
    )


def check_plausible_lab(lab: ArrayLike, *, where: str) -> FloatArray:
    """The CIELAB value (3,) as an array; raises InputError naming ``where`` if not plausible."""
    values = np.asarray(lab, dtype=float)
    if values.shape != (3,):
        raise InputError(f"{where}: Lab has {values.size} numbers; give three: L, a, b.")
    if not is_plausible_lab(values):
        stated = ", ".join(f"{v:g}" for v in values)
        raise InputError(
            f"{where}: Lab {stated} is out of range; L is 0 to 100, a and b are -150 to 150."
        )
    return values


def reflectance_from_lab(
    lab: ArrayLike, viewing: Viewing, *, where: str = "the color"
) -> FloatArray:
    """A plausible smooth reflectance (31,) with this CIELAB (3,): see spectra.recover_reflectance.

    Raises InputError for a Lab out of range or one that no reflectance has.
    """
    values = check_plausible_lab(lab, where=where)
    try:
        return spectra.recover_reflectance(
            xyz_from_lab(values, viewing), light=viewing.light, observer=viewing.observer
        )
    except InputError as fault:
        raise InputError(f"{where}: {fault}") from fault


@cache
def _srgb_matrix() -> FloatArray:
    """Linear sRGB to XYZ (Y of white = 1), from primaries and white; shape (3, 3), columns RGB."""
    columns = np.column_stack([SRGB_PRIMARIES, 1.0 - SRGB_PRIMARIES.sum(axis=1)]).T
    return np.asarray(columns * np.linalg.solve(columns, _srgb_white_xyz()))


def _srgb_white_xyz() -> FloatArray:
    x, y = SRGB_WHITE
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


@cache
def _xyz_to_linear(viewing: Viewing) -> FloatArray:
    """Matrix (3, 3) from XYZ under a viewing (Y = 100) to linear sRGB (white = 1)."""
    source = BRADFORD @ (viewing.white / 100.0)
    target = BRADFORD @ _srgb_white_xyz()
    adapt = np.linalg.solve(BRADFORD, (target / source)[:, None] * BRADFORD)
    return np.asarray(np.linalg.solve(_srgb_matrix(), adapt) / 100.0)


def linear_srgb(xyz: ArrayLike, viewing: Viewing) -> FloatArray:
    """Linear sRGB (..., 3), unclipped: below 0 or above 1 is out of gamut.

    The viewing's white is adapted to sRGB's D65 by the Bradford transform (ICC.1:2022, Annex E),
    so the perfect diffuser is (1, 1, 1) under any light.
    """
    return np.asarray(xyz, dtype=float) @ _xyz_to_linear(viewing).T


def encode_srgb(linear: ArrayLike) -> FloatArray:
    """Code values 0-1 of linear sRGB, clipped to the gamut (IEC 61966-2-1)."""
    v = np.clip(np.asarray(linear, dtype=float), 0.0, 1.0)
    return np.asarray(np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1.0 / 2.4) - 0.055))


def decode_srgb(code: ArrayLike) -> FloatArray:
    """Linear sRGB of code values 0-1 (IEC 61966-2-1)."""
    v = np.asarray(code, dtype=float)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.0) + 0.055) / 1.055) ** 2.4)


def srgb8(xyz: ArrayLike, viewing: Viewing) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """8-bit sRGB (..., 3), rounded, and whether each colour (...) is inside the sRGB gamut.

    Inside means that clipping moves no channel by more than half an 8-bit code.
    """
    linear = linear_srgb(xyz, viewing)
    lowest, highest = -HALF_CODE / 12.92, ((1.0 + HALF_CODE + 0.055) / 1.055) ** 2.4
    in_gamut = np.all((linear >= lowest) & (linear <= highest), axis=-1)
    return np.rint(encode_srgb(linear) * 255.0).astype(np.uint8), np.asarray(in_gamut)


def hex_code(xyz: ArrayLike, viewing: Viewing) -> tuple[str, bool]:
    """The nearest sRGB code "#rrggbb" of one XYZ (3,), and whether it is inside the gamut."""
    rgb, in_gamut = srgb8(xyz, viewing)
    return "#" + bytes(rgb.tolist()).hex(), bool(in_gamut)


def xyz_from_srgb8(rgb8: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) under the viewing of 8-bit sRGB (..., 3): the inverse of srgb8 in gamut."""
    linear = decode_srgb(np.asarray(rgb8, dtype=float) / 255.0)
    return np.asarray(linear @ np.linalg.inv(_xyz_to_linear(viewing)).T)


def rgb8_from_hex(text: str) -> NDArray[np.uint8]:
    """8-bit RGB (3,) of "#rgb" or "#rrggbb", with or without "#"; else raises InputError."""
    digits = text.strip().removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    if len(digits) != 6 or not all(d in "0123456789abcdefABCDEF" for d in digits):
        raise InputError(
            f"'{text}' is not a color code; write six hex digits such as #1a2b3c, or three."
        )
    return np.array(list(bytes.fromhex(digits)), dtype=np.uint8)


def lab_from_hex(text: str, viewing: Viewing) -> FloatArray:
    """CIELAB (3,) under the viewing of an sRGB code "#rgb" or "#rrggbb"."""
    return lab_from_xyz(xyz_from_srgb8(rgb8_from_hex(text), viewing), viewing)


def contrast_ratio(over_black: ArrayLike, over_white: ArrayLike, viewing: Viewing) -> FloatArray:
    """Contrast ratio Y over black / Y over white (...), of external reflectances (..., 31).

    ISO 6504-3 and ASTM D2805: 1 is full hiding, 0.98 is commonly called opaque.
    """
    y_weights = spectra.weights(viewing.light, viewing.observer)[:, 1]
    y_black = np.asarray(over_black, dtype=float) @ y_weights
    y_white = np.asarray(over_white, dtype=float) @ y_weights
    # Over white nothing comes back from a film that lets nothing through: then there is no ratio.
    undefined = np.full(np.broadcast_shapes(y_black.shape, y_white.shape), np.nan)
    return np.asarray(np.divide(y_black, y_white, out=undefined, where=y_white > 0))


def hidden_contrast(
    over_black: ArrayLike,
    over_white: ArrayLike,
    *,
    card_black: ArrayLike,
    card_white: ArrayLike,
    viewing: Viewing,
) -> FloatArray:
    """Share (...) of the bare card's contrast that the film hides, on Y: 0 nothing, 1 all.

    1 - (Yw - Yb) / (Yw,card - Yb,card), all from external reflectances (..., 31). Unlike the
    contrast ratio it is 0 for no film whatever card was used, so films drawn down on different
    cards can be compared. This project's own measure.
    """
    y_weights = spectra.weights(viewing.light, viewing.observer)[:, 1]
    film = (np.asarray(over_white, dtype=float) - np.asarray(over_black, dtype=float)) @ y_weights
    card = (np.asarray(card_white, dtype=float) - np.asarray(card_black, dtype=float)) @ y_weights
    if np.any(card <= 0.0):
        raise InputError(
            "the white part of the card reads no lighter than its black part; "
            "check whether the two card readings are swapped."
        )
    return np.asarray(1.0 - film / card)


CORRECTIONS = ("multiplicative", "additive")


def metamerism_index(
    standard: ArrayLike,
    trial: ArrayLike,
    *,
    reference: Viewing,
    test: Viewing,
    correction: str = "multiplicative",
) -> FloatArray:
    """Special metamerism index, change of illuminant (...): CIEDE2000 under the test light.

    CIE 15:2018 and ISO 18314-4: the pair's remaining difference under the reference light is
    first taken out of the trial's XYZ under the test light, so that only metamerism is left:

    - multiplicative: X' = X_trial,test * X_standard,reference / X_trial,reference, same for Y, Z;
    - additive: X' = X_trial,test + X_standard,reference - X_trial,reference, same for Y, Z.

    standard, trial: external reflectances (..., 31). The two standards are cited from memory.
    """
    if correction not in CORRECTIONS:
        raise InputError(
            f"there is no correction '{correction}'; choose one of {', '.join(CORRECTIONS)}."
        )
    goal, seen = xyz(standard, reference), xyz(trial, reference)
    corrected = xyz(trial, test)
    corrected = (
        corrected * (goal / seen) if correction == "multiplicative" else corrected + goal - seen
    )
    return delta_e_2000(lab(standard, test), lab_from_xyz(corrected, test))


#: CAT02 cone responses (CIE 159:2004).
CAT02: FloatArray = np.array(
    [[0.7328, 0.4296, -0.1624], [-0.7036, 1.6975, 0.0061], [0.0030, 0.0136, 0.9834]]
)


def colour_inconstancy(reflectance: ArrayLike, *, reference: Viewing, test: Viewing) -> FloatArray:
    """How far one colour (...) moves from the reference to the test light, as CIEDE2000.

    The eye's adaptation is taken out: the XYZ under the test light is brought to the reference
    light by CAT02 with complete adaptation, the idea of CMCCON02 (Luo, Li, Hunt, Rigg & Smith,
    Color. Technol. 119 (2003) 280-285; ISO 105-J05), but with CIEDE2000 for the difference. For
    information: no tolerance is common. reflectance: external, (..., 31).
    """
    gain = (CAT02 @ reference.white) / (CAT02 @ test.white)
    adapt = np.linalg.solve(CAT02, gain[:, None] * CAT02)
    corresponding = xyz(reflectance, test) @ adapt.T
    return delta_e_2000(lab(reflectance, reference), lab_from_xyz(corresponding, reference))
