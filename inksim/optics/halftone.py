"""Halftones: Demichel weights, Yule–Nielsen reflectance, dot growth, line count against mesh.

A printed halftone is a mosaic of the *primaries*: the bare stock and every overprint of the inks.
Coverages say how much of the area each ink takes, weights how much each primary takes, and the
Yule-Nielsen equation what the mosaic reflects. Coverages are 0..1; weights sum to 1.

Sources
-------
Demichel, Procede 26 (1924) 17; Neugebauer, Z. wiss. Photogr. 36 (1937) 73; Yule & Nielsen, Proc.
TAGA 3 (1951) 65; Viggiano, Proc. TAGA 37 (1985) 647 (spectral form); Murray, J. Franklin Inst. 221
(1936) 721. All from memory.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from inksim.common import MM_PER_INCH, FloatArray, InputError

LEAST_MESH_RATIO, COMFORTABLE_MESH_RATIO = 3.5, 4.5
"""Threads/inch over lines/inch: below the first threads eat dots, from the second on there is
room (common practice, no source)."""
USUAL_LINES_PER_INCH = 55.0
"""Finest line count that is usual on garments (common practice, no source)."""


def _coverage(value: npt.ArrayLike, what: str = "a coverage") -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    if not np.all((array >= -1e-9) & (array <= 1.0 + 1e-9)):
        raise InputError(
            f"{what} runs from {np.min(array):.4g} to {np.max(array):.4g}; it is a share of the "
            "area, 0 to 1."
        )
    return np.clip(array, 0.0, 1.0)


def demichel(coverages: npt.ArrayLike) -> FloatArray:
    """Demichel weights of the 2^N overprints of N inks with independent dots.

    w = Π over inks of a (ink printed) or 1 − a (not printed) [Demichel 1924]. Holds for screens at
    different angles; not for butt-registered flats, nor for a base under its own color (`nested`).

    Parameters
    ----------
    coverages : (..., N).

    Returns
    -------
    (..., 2^N): bit i of the place says whether ink i is printed; place 0 is the bare stock.
    """
    a = _coverage(coverages)
    weights = np.ones((*a.shape[:-1], 1))
    for ink in range(a.shape[-1]):
        printed = a[..., ink : ink + 1]
        weights = np.concatenate([weights * (1.0 - printed), weights * printed], axis=-1)
    return weights


def nested(coverages: npt.ArrayLike, *, base: npt.ArrayLike) -> FloatArray:
    """Weights of the overprints when a base lies under the colors, dot under dot.

    With u = 1 − Π(1 − a) the area that the colors take together and b the base's, the share
    β = min(1, b/u) of the colors lies on the base and the rest on the cloth; what base is left,
    max(0, b − u), shows bare. The colors among each other follow Demichel.

    Parameters
    ----------
    coverages : (..., N) of the colors; base : (...) of the base.

    Returns
    -------
    (..., 2·2^N): first the overprints on the cloth, then the same ones on the base.
    """
    weights, b = demichel(coverages), _coverage(base, "the base's coverage")
    on_base = nested_share(weights[..., 0], b)[..., None] * weights
    bare = np.maximum(0.0, b - (1.0 - weights[..., 0]))
    on_base[..., 0] = bare
    on_cloth = weights - on_base
    return np.concatenate([on_cloth, on_base], axis=-1)


def nested_share(bare: FloatArray, base: FloatArray) -> FloatArray:
    """β = min(1, b/u), the share of the colors that lies on the base; u = 1 − bare."""
    union = 1.0 - bare
    return np.minimum(1.0, np.divide(base, union, out=np.ones_like(union), where=union > base))


def yule_nielsen(weights: npt.ArrayLike, reflectance: npt.ArrayLike, *, n: float) -> FloatArray:
    """Yule–Nielsen reflectance of a mosaic of primaries: R = (Σ w·R^(1/n))^n.

    n = 1 is Neugebauer's sum of light; n > 1 stands for the light that spreads below the dots
    [Yule & Nielsen 1951]; n = ∞ is the geometric mean.

    Parameters
    ----------
    weights : (..., P), sums 1. reflectance : (P, bands), > 0 for n = ∞, else ≥ 0. n : ≥ 1.

    Returns
    -------
    (..., bands), external like the primaries.
    """
    if not n >= 1.0:
        raise InputError(f"the Yule-Nielsen n is {n:g}; it is 1 or more.")
    w, R = np.asarray(weights, dtype=np.float64), np.asarray(reflectance, dtype=np.float64)
    if np.isinf(n):
        return np.asarray(np.exp(w @ np.log(R)))
    return np.asarray((w @ R ** (1.0 / n)) ** n)


# --- Round dots, and how they grow ---------------------------------------------------------------
# A dot's radius is in pitches: the distance from dot to dot is 1. Above 1/2 neighbors touch, at
# √½ the last hole closes.

FULL = float(np.sqrt(0.5))
_TOUCHING = np.pi / 4.0


def dot_coverage(radius: npt.ArrayLike) -> FloatArray:
    """Coverage (0..1) of round dots on a square grid, from their radius in pitches.

    πr² up to r = 1/2; above, four segments overlap: πr² − 4[r²·arccos(1/2r) − ½·√(r² − ¼)].
    """
    r = np.clip(np.asarray(radius, dtype=np.float64), 0.0, FULL)
    over = np.maximum(r, 0.5)
    segment = over**2 * np.arccos(0.5 / over) - 0.5 * np.sqrt(over**2 - 0.25)
    return np.asarray(np.minimum(1.0, np.pi * r**2 - 4.0 * segment))


def dot_radius(coverage: npt.ArrayLike) -> FloatArray:
    """Radius in pitches (0..√½) of round dots from their coverage: inverts `dot_coverage`."""
    a = _coverage(coverage)
    radii = FULL - (FULL - 0.5) * np.linspace(1.0, 0.0, 4001) ** 2
    touching = np.interp(a, dot_coverage(radii), radii)
    return np.where(a <= _TOUCHING, np.sqrt(a / np.pi), touching)


def _border(growth_um: float, lines_per_inch: float) -> float:
    """Dot growth in pitches."""
    if not (growth_um >= 0.0 and lines_per_inch > 0.0):
        raise InputError(
            f"dots grow by {growth_um:g} µm at {lines_per_inch:g} lines/inch; growth is 0 or more "
            "and the line count above 0."
        )
    return growth_um * lines_per_inch / (1000.0 * MM_PER_INCH)


def grown(coverage: npt.ArrayLike, *, growth_um: float, lines_per_inch: float) -> FloatArray:
    """Coverage on the shirt from coverage on the plate: every dot grows by a constant border.

    Radius r of the plate becomes r + border, at most 2r: a dot too small to hold ink on the mesh
    does not outgrow itself [assumption; touches coverages below 1 %]. No dot stays no dot, a solid
    a solid. 30 µm at 50 % adds 14, 18 and 21 points at 45, 55 and 65 lines/inch.
    """
    r = dot_radius(coverage)
    return dot_coverage(r + np.minimum(r, _border(growth_um, lines_per_inch)))


def compensated(coverage: npt.ArrayLike, *, growth_um: float, lines_per_inch: float) -> FloatArray:
    """Coverage on the plate that prints a coverage on the shirt: inverts `grown`.

    A full coverage stays a solid, although a few open holes would close by themselves.
    """
    border = _border(growth_um, lines_per_inch)
    a = _coverage(coverage)
    r = dot_radius(a)
    plate = dot_coverage(np.where(r >= 2.0 * border, r - border, r / 2.0))
    return np.where(a >= 1.0, 1.0, plate)


# --- Line count and mesh -------------------------------------------------------------------------


def mesh_ratio(threads_per_inch: float, *, lines_per_inch: float) -> float:
    """Threads of the mesh per line of the halftone."""
    if not (threads_per_inch > 0.0 and lines_per_inch > 0.0):
        raise InputError(
            f"a mesh of {threads_per_inch:g} threads/inch and {lines_per_inch:g} lines/inch cannot "
            "be compared; both are above 0."
        )
    return threads_per_inch / lines_per_inch


def ruling_warning(threads_per_inch: float, *, lines_per_inch: float) -> str | None:
    """Warn of a line count that a mesh cannot hold; None if it can.

    Warns below 3.5 threads per line, and above 55 lines/inch (common practice, no source).
    """
    ratio = mesh_ratio(threads_per_inch, lines_per_inch=lines_per_inch)
    if ratio < LEAST_MESH_RATIO:
        return (
            f"{lines_per_inch:g} lines/inch through {threads_per_inch:.0f} threads/inch leaves "
            f"{ratio:.1f} threads per line, below {LEAST_MESH_RATIO:g}: dots will break up; use at "
            f"most {threads_per_inch / LEAST_MESH_RATIO:.0f} lines/inch "
            f"({threads_per_inch / COMFORTABLE_MESH_RATIO:.0f} is comfortable) or a finer mesh."
        )
    if lines_per_inch > USUAL_LINES_PER_INCH:
        return (
            f"{lines_per_inch:g} lines/inch is finer than the {USUAL_LINES_PER_INCH:g} that is "
            "usual on garments; the cloth may not hold its smallest dots."
        )
    return None
