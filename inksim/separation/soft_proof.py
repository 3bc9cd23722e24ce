"""Soft proof of a tonal print: a .cube table and an ICC profile.

Both map every sRGB color of the artwork to the color of its print on the garment under the viewing
of the separation, as an even area, without the texture of the cloth.
"""

from __future__ import annotations

import contextlib
import os
import warnings
from pathlib import Path

import numpy as np

from inksim.colour import (
    D50,
    delta_e_2000,
    encode_srgb,
    lab_from_xyz,
    linear_srgb,
    within_srgb,
    xyz_from_lab,
    xyz_from_srgb8,
)
from inksim.common import PROGRAM, FloatArray, InputError, temporary_folder, visible, write_whole
from inksim.separation import icc
from inksim.separation.halftone_print import TonalSet, quick_xyz
from inksim.separation.rgb_lattice import BEND, Axes, node_codes, resampled
from inksim.separation.tonal_separation import SeparationTable

NODES = 33
GAMUT_NODES = 33
SRGB_TOE, SRGB_SLOPE, SRGB_OFFSET, SRGB_GAMMA = 0.0031308, 12.92, 0.055, 2.4
SUFFIXES = (".cube", ".icc", ".icm")


def printed_light(table: SeparationTable, axes: Axes) -> FloatArray:
    """Linear sRGB (n, n, n, 3), unclipped, of the prints of a lattice of colors."""
    coverage = resampled(table.coverage, table.axes, axes).astype(np.float64)
    seen = quick_xyz(table.model, coverage.reshape(-1, coverage.shape[3]), table.viewing)
    return linear_srgb(seen, table.viewing).reshape(*coverage.shape[:3], 3)


def look_words(tonal: TonalSet) -> str:
    """'Barley Yellow, Kiln Red over Chalk White Base on Coal Black'."""
    inks = ", ".join(layer.ink.name for layer in tonal.colours)
    base = f" over {tonal.base.ink.name}" if tonal.base is not None else ""
    return f"{inks}{base} on {tonal.garment.name}"


def check_ending(path: Path) -> str:
    """Check a file's suffix: .cube, .icc or .icm; returned in lower case.

    Raises
    ------
    InputError : another suffix.
    """
    ending = path.suffix.lower()
    if ending not in SUFFIXES:
        raise InputError(
            f"'{path.name}' does not say what to write; end its name in {', '.join(SUFFIXES)}."
        )
    return ending


def write_look(table: SeparationTable, path: Path) -> Path:
    """Write the look as a .cube, .icc or .icm file, by the suffix.

    Raises
    ------
    InputError : another ending, or a folder that cannot be written to.
    """
    ending = check_ending(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    if ending == ".cube":
        return write_cube(table, path)
    write_whole(path, look_profile(table))
    return path


# --- .cube ---------------------------------------------------------------------------------------


def write_cube(table: SeparationTable, path: Path) -> Path:
    """Write the look as a 33³ .cube table, sRGB code to sRGB code, by colour-science."""
    code = np.linspace(0.0, 255.0, NODES)
    codes = encode_srgb(within_srgb(printed_light(table, (code, code, code)), table.viewing))
    with warnings.catch_warnings(), contextlib.redirect_stderr(None):
        warnings.simplefilter("ignore")  # on import it warns that Matplotlib is missing
        from colour import LUT3D, write_LUT
    with temporary_folder() as folder:
        made = folder / "look.cube"
        title = visible(look_words(table.tonal)).replace('"', "'")  # stands between such marks
        write_LUT(LUT3D(codes, name=title, comments=[PROGRAM]), os.fspath(made), decimals=6)
        write_whole(path, made.read_bytes())
    return path


# --- ICC -----------------------------------------------------------------------------------------


def look_profile(table: SeparationTable) -> bytes:
    """The look as an ICC profile for sRGB pictures, for soft proofing.

    To the PCS it maps an sRGB color to the CIELAB of its print relative to the screen's white, not
    to the print's (`wtpt` is D50): white is the base or the bare cloth, and every intent gives the
    same colors. From the PCS it is exactly sRGB, so that a proof starts from the artwork's own
    codes. The gamut tag marks colors out of reach.

    - The header asks for absolute colorimetric, the intent of 'simulate paper'. Under any other a
      color engine may send white to white whatever a profile says: Little CMS does by default
      (not with cmsFLAGS_NOWHITEONWHITEFIXUP), and bends codes 248 to 254 towards it.
    - It is a LUT-based display profile, which may have one table each way for all intents. In an
      output profile of three, engines find a black point for each and stretch the print's black to
      the screen's by black point compensation, or unasked under perceptual.
    """
    axes = (node_codes(NODES),) * 3
    lab = lab_from_xyz(_d50_xyz(printed_light(table, axes)), D50)
    to_pcs = icc.a_to_b(
        a_curves=[icc.power(BEND)] * 3,
        clut=icc.table(_pcs_codes(lab)),
        b_curves=[icc.straight()] * 3,
    )
    from_pcs = _srgb_from_lab()
    tags = [
        (b"desc", icc.text(f"{look_words(table.tonal)}, {table.viewing}")),
        (b"cprt", icc.text(f"No rights reserved. Predicted, not measured. {PROGRAM}.")),
        (b"wtpt", icc.xyz(icc.D50)),
        (b"A2B0", to_pcs),
        (b"B2A0", from_pcs),
        (b"gamt", _gamut(table)),
    ]
    return icc.display_profile(tags)


def _light_matrix() -> FloatArray:
    """Matrix (3, 3) from D50 XYZ relative to white to linear sRGB."""
    return np.asarray(linear_srgb(np.diag(D50.white), D50).T)


def _d50_xyz(light: FloatArray) -> FloatArray:
    """D50 XYZ of linear sRGB."""
    return np.asarray(light @ np.linalg.inv(_light_matrix()).T * D50.white)


def _pcs_codes(lab: FloatArray) -> FloatArray:
    """CIELAB in the PCS encoding of version 4, 0..1: L/100, (a + 128)/255, (b + 128)/255."""
    return np.asarray((lab + np.array([0.0, 128.0, 128.0])) / np.array([100.0, 255.0, 255.0]))


def _srgb_from_lab() -> bytes:
    """Exact transform from PCS to sRGB within lutBToAType, without interpolation error.

    The matrix takes CIELAB to f(X), f(Y), f(Z); the M curves undo f; the CLUT of two nodes a side
    is the matrix to linear sRGB, scaled into 0..1; the A curves scale back and encode.
    """
    a, b = 255.0 / 500.0, -255.0 / 200.0
    rows = [100.0 / 116.0, a, 0.0, 100.0 / 116.0, 0.0, 0.0, 100.0 / 116.0, 0.0, b]
    grey = 16.0 / 116.0
    matrix = icc.fixed(*rows, grey - 128.0 / 500.0, grey, grey + 128.0 / 200.0)
    edge = 6.0 / 29.0
    cube = icc.bent(
        g=3.0, a=1.0, b=0.0, c=3.0 * edge**2, d=edge, e=0.0, f=-3.0 * edge**2 * 4.0 / 29.0
    )
    ends = np.stack(np.meshgrid([0.0, 1.0], [0.0, 1.0], [0.0, 1.0], indexing="ij"), axis=-1)
    light = ends @ _light_matrix().T
    low, span = light.min(axis=(0, 1, 2)), np.ptp(light, axis=(0, 1, 2))
    lift = (1.0 + SRGB_OFFSET) ** SRGB_GAMMA
    encode = [
        icc.bent(
            g=1.0 / SRGB_GAMMA,
            a=lift * s,
            b=lift * lo,
            c=SRGB_SLOPE * s,
            d=(SRGB_TOE - lo) / s,
            e=-SRGB_OFFSET,
            f=SRGB_SLOPE * lo,
        )
        for lo, s in zip(low.tolist(), span.tolist(), strict=True)
    ]
    return icc.b_to_a(
        b_curves=[icc.straight()] * 3,
        matrix=matrix,
        m_curves=[cube] * 3,
        clut=icc.table((light - low) / span),
        a_curves=encode,
    )


def _gamut(table: SeparationTable, *, tolerance: float = 3.0) -> bytes:
    """gamutTag: 0 where the print of a color is within the tolerance, else 1."""
    place = np.linspace(0.0, 1.0, GAMUT_NODES)
    grid = np.stack(np.meshgrid(place, place, place, indexing="ij"), axis=-1)
    lab = (grid * [100.0, 255.0, 255.0] - [0.0, 128.0, 128.0]).reshape(-1, 3)
    light = linear_srgb(xyz_from_lab(lab, D50), D50)
    shown = np.all((light >= -1e-3) & (light <= 1.001), axis=1)
    code = 255.0 * encode_srgb(light)
    off = np.full(len(lab), 99.0)
    if shown.any():
        off[shown] = _miss_at(table, code[shown])
    out = (off > tolerance).astype(np.float64).reshape(GAMUT_NODES, GAMUT_NODES, GAMUT_NODES, 1)
    return icc.b_to_a(b_curves=[icc.straight()] * 3, clut=icc.table(out), a_curves=[icc.straight()])


def _miss_at(table: SeparationTable, codes: FloatArray) -> FloatArray:
    """ΔE00 (M,) between colors (M, 3), sRGB codes, and their prints."""
    from scipy.interpolate import RegularGridInterpolator

    coverage = RegularGridInterpolator(table.axes, table.coverage.astype(np.float64))(
        np.clip(codes, 0.0, 255.0)
    )
    seen = quick_xyz(table.model, np.clip(coverage, 0.0, 1.0), table.viewing)
    wanted = lab_from_xyz(xyz_from_srgb8(codes, table.viewing), table.viewing)
    return delta_e_2000(wanted, lab_from_xyz(seen, table.viewing))
