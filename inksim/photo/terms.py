"""From a file's linear RGB to color: curve, stray light, uneven light, root polynomial.

Pure functions over arrays; `fit` finds their parameters.
"""

from __future__ import annotations

import numpy as np

from inksim.colour import encode_srgb
from inksim.common import FloatArray

CURVE_TERMS = 4
GAIN_TERMS = 5
TERMS = 13
"""Of the root polynomial of degree 3: 3 linear, 3 of degree 2, 7 of degree 3."""
LEAST = 1e-5
"""Linear light is held above this share of white, for its logarithm and roots."""


def curve_shapes(rgb: FloatArray) -> FloatArray:
    """Shapes (..., 3, 4) of the tone curve, cos(jπu), j = 1..4, over the sRGB code u of rgb."""
    u = encode_srgb(rgb)
    return np.asarray(np.cos(np.pi * u[..., None] * np.arange(1, CURVE_TERMS + 1)))


def gain_shapes(xy: FloatArray) -> FloatArray:
    """Shapes (..., 5) of uneven light over places (..., 2), shares of width and height.

    x, y, x², xy, y² of the distance from the middle, which is 1 at the edges.
    """
    x, y = 2.0 * xy[..., 0] - 1.0, 2.0 * xy[..., 1] - 1.0
    return np.stack([x, y, x * x, x * y, y * y], axis=-1)


def root_polynomial(light: FloatArray) -> FloatArray:
    """Terms (..., 13) of light (..., 3): the root polynomial of degree 3, in another basis.

    Finlayson, Mackiewicz & Hurlbert, IEEE Trans. Image Process. 24 (2015) 1460-1470: r, g, b,
    √(rg), √(gb), √(rb), ∛(rg²), ∛(gb²), ∛(rb²), ∛(gr²), ∛(bg²), ∛(br²), ∛(rgb). k times the light
    gives k times each. The same space of functions is spanned by what stands here: the mean m of
    the three, r − g, b − g, and each root less its arithmetic mean, which is 0 on grays; so that
    a prior may hold these down without moving the grays.
    """
    r, g, b = (light[..., at] for at in range(3))
    cr, cg, cb = (np.cbrt(each) for each in (r, g, b))
    sr, sg, sb = (np.sqrt(each) for each in (r, g, b))
    m = (r + g + b) / 3.0
    return np.stack(
        [
            *(m, r - g, b - g),
            *(sr * sg - (r + g) / 2.0, sg * sb - (g + b) / 2.0, sr * sb - (r + b) / 2.0),
            *(cr * cg * cg - (r + 2.0 * g) / 3.0, cg * cb * cb - (g + 2.0 * b) / 3.0),
            *(cr * cb * cb - (r + 2.0 * b) / 3.0, cg * cr * cr - (g + 2.0 * r) / 3.0),
            *(cb * cg * cg - (b + 2.0 * g) / 3.0, cb * cr * cr - (b + 2.0 * r) / 3.0),
            cr * cg * cb - m,
        ],
        axis=-1,
    )


def light_of(
    rgb: FloatArray, xy: FloatArray, *, curve: FloatArray, stray: FloatArray, gain: FloatArray
) -> FloatArray:
    """Even linear light (..., 3) of what a file says at places (..., 2).

    t = (v·exp(Σ curve_j cos(jπu)) − stray) / exp(Σ gain_j shape_j(x, y)), v the file's linear RGB
    and u its sRGB code. curve (4,) bends the file's own curve, stray () is light that lies over
    the whole picture, gain (5,) the uneven light's logarithm.
    """
    bent = rgb * np.exp(curve_shapes(rgb) @ curve)
    even = np.exp(-(gain_shapes(xy) @ gain))[..., None]
    return np.maximum((bent - stray) * even, LEAST)
