"""Indices of a pair or a sample: contrast ratio, metamerism, color inconstancy."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from inksim.colour.cielab import delta_e_2000
from inksim.colour.lights import weights
from inksim.colour.viewing import Viewing, lab, lab_from_xyz, xyz
from inksim.common import FloatArray, InputError

CORRECTIONS = ("multiplicative", "additive")
#: CAT02 cone responses (CIE 159:2004).
CAT02: FloatArray = np.array(
    [[0.7328, 0.4296, -0.1624], [-0.7036, 1.6975, 0.0061], [0.0030, 0.0136, 0.9834]]
)


def contrast_ratio(over_black: ArrayLike, over_white: ArrayLike, viewing: Viewing) -> FloatArray:
    """Contrast ratio Y over black / Y over white (...), of external reflectances (..., 31).

    ISO 6504-3 and ASTM D2805: 1 is full hiding, 0.98 is commonly called opaque. Where nothing comes
    back over either, black and white look alike: 1, the limit of an opaque film that gets darker.
    """
    y_weights = weights(viewing.light, viewing.observer)[:, 1]
    y_black = np.asarray(over_black, dtype=float) @ y_weights
    y_white = np.asarray(over_white, dtype=float) @ y_weights
    alike = np.ones(np.broadcast_shapes(y_black.shape, y_white.shape))
    return np.asarray(np.divide(y_black, y_white, out=alike, where=y_white > 0))


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


def colour_inconstancy(reflectance: ArrayLike, *, reference: Viewing, test: Viewing) -> FloatArray:
    """Color inconstancy (...): CIEDE2000 of a sample between the reference and the test light.

    The eye's adaptation is taken out: the XYZ under the test light is brought to the reference
    light by CAT02 with complete adaptation, the idea of CMCCON02 (Luo, Li, Hunt, Rigg & Smith,
    Color. Technol. 119 (2003) 280-285; ISO 105-J05), but with CIEDE2000 for the difference. For
    information: no tolerance is common. reflectance: external, (..., 31).
    """
    gain = (CAT02 @ reference.white) / (CAT02 @ test.white)
    adapt = np.linalg.solve(CAT02, gain[:, None] * CAT02)
    corresponding = xyz(reflectance, test) @ adapt.T
    return delta_e_2000(lab(reflectance, reference), lab_from_xyz(corresponding, reference))
