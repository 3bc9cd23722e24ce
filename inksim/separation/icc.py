"""Writing ICC profiles: the few tag types that a soft proof needs.

ISO 15076-1 (ICC.1:2022, version 4.4): big-endian, every tag on a multiple of four bytes. Numbers
are s15Fixed16 unless a table says otherwise. The clauses are cited from memory.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from inksim.common import FloatArray

VERSION_4_4 = 0x04400000
D50 = (0.9642, 1.0, 0.8249)
"""XYZ of the PCS illuminant, as the header must state it."""
CREATED = (2000, 1, 1, 0, 0, 0)
"""A fixed date, so that the same look gives the same bytes."""
ABSOLUTE_COLORIMETRIC = 3


def fixed(*values: float) -> bytes:
    """s15Fixed16 numbers."""
    return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))


def _padded(data: bytes) -> bytes:
    return data + bytes(-len(data) % 4)


def text(words: str) -> bytes:
    """multiLocalizedUnicodeType with one record, en-US."""
    raw = words.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(raw), 28) + raw


def xyz(values: ArrayLike) -> bytes:
    """XYZType of one triple."""
    return b"XYZ " + bytes(4) + fixed(*np.asarray(values, dtype=float).tolist())


def straight() -> bytes:
    """curveType without entries: the identity."""
    return b"curv" + bytes(4) + struct.pack(">I", 0)


def power(exponent: float) -> bytes:
    """parametricCurveType 0: Y = X^g."""
    return b"para" + bytes(4) + struct.pack(">HH", 0, 0) + fixed(exponent)


def bent(*, g: float, a: float, b: float, c: float, d: float, e: float, f: float) -> bytes:
    """parametricCurveType 4: Y = (aX + b)^g + e from X = d on, below it Y = cX + f."""
    return b"para" + bytes(4) + struct.pack(">HH", 4, 0) + fixed(g, a, b, c, d, e, f)


def table(values: FloatArray) -> bytes:
    """CLUT of lutAToB and lutBToA types: values (n, n, n, channels), 0..1, as 16 bits."""
    grid = bytes(values.shape[:-1]) + bytes(16 - (values.ndim - 1))
    codes = np.rint(np.clip(values, 0.0, 1.0) * 65535.0).astype(">u2")
    return grid + struct.pack(">B3x", 2) + codes.tobytes()


def a_to_b(*, a_curves: Sequence[bytes], clut: bytes, b_curves: Sequence[bytes]) -> bytes:
    """lutAToBType: device → A curves → CLUT → B curves → PCS."""
    return _lut(b"mAB ", b_curves=b_curves, matrix=b"", m_curves=(), clut=clut, a_curves=a_curves)


def b_to_a(
    *,
    b_curves: Sequence[bytes],
    clut: bytes,
    a_curves: Sequence[bytes],
    matrix: bytes = b"",
    m_curves: Sequence[bytes] = (),
) -> bytes:
    """lutBToAType: PCS → B curves → matrix → M curves → CLUT → A curves → device.

    matrix: twelve s15Fixed16 numbers, the 3 × 3 row by row, then the offsets.
    """
    return _lut(
        b"mBA ", b_curves=b_curves, matrix=matrix, m_curves=m_curves, clut=clut, a_curves=a_curves
    )


def _lut(
    kind: bytes,
    *,
    b_curves: Sequence[bytes],
    matrix: bytes,
    m_curves: Sequence[bytes],
    clut: bytes,
    a_curves: Sequence[bytes],
) -> bytes:
    device = len(a_curves)
    channels = (device, len(b_curves)) if kind == b"mAB " else (len(b_curves), device)
    parts = [
        b"".join(_padded(curve) for curve in b_curves),
        matrix,
        b"".join(_padded(curve) for curve in m_curves),
        _padded(clut),
        b"".join(_padded(curve) for curve in a_curves),
    ]
    offsets, body = [], b""
    for part in parts:
        offsets.append(32 + len(body) if part else 0)
        body += part
    return kind + bytes(4) + struct.pack(">BBxx5I", *channels, *offsets) + body


def display_profile(tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    """A LUT-based display profile for RGB pictures with CIELAB as PCS, with its ID (MD5).

    tags: signature and data; the same data given twice is stored once.
    """
    at = 128 + 4 + 12 * len(tags)
    directory, body, placed = struct.pack(">I", len(tags)), b"", dict[bytes, int]()
    for name, data in tags:
        if data not in placed:
            placed[data] = at + len(body)
            body += _padded(data)
        directory += name + struct.pack(">II", placed[data], len(data))
    head = (
        struct.pack(">I4xI4s4s4s", at + len(body), VERSION_4_4, b"mntr", b"RGB ", b"Lab ")
        + struct.pack(">6H", *CREATED)
        + b"acsp"
        + bytes(24)
        + struct.pack(">I", ABSOLUTE_COLORIMETRIC)
        + fixed(*D50)
        + bytes(4 + 16 + 28)
    )
    # The ID is over the profile with flags, intent and the ID itself as zeros.
    blank = head[:44] + bytes(4) + head[48:64] + bytes(4) + head[68:84] + bytes(16) + head[100:]
    identity = hashlib.md5(blank + directory + body, usedforsecurity=False).digest()
    return head[:84] + identity + head[100:] + directory + body
