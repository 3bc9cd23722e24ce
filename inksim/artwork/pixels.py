"""Pixels as 32-bit words and 24-bit colors, in strips of rows that fit the cache."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inksim.common import Int64Array, Uint8Array, Uint32Array

COLOURS = 1 << 24  # 24-bit colors: red in the low byte
CLOTH_CODE = COLOURS  # one past the last of them
OPAQUE = 0x80000000  # alpha of at least 128, in the top byte of a little-endian RGBA word
STRIP_PIXELS = 1 << 18
SAMPLE = 1 << 18


def words_of(rgba: Uint8Array) -> Uint32Array:
    """(H, W) words of RGBA pixels; a picture one pixel wide or high is doubled to have area."""
    words: Uint32Array = np.ascontiguousarray(rgba).view("<u4")[..., 0]
    for axis in (0, 1):
        if words.shape[axis] == 1:
            words = np.repeat(words, 2, axis=axis)
    return words


def codes_of(words: Uint32Array) -> Uint32Array:
    """24-bit colors; `CLOTH_CODE` where alpha is below one half."""
    codes = words & np.uint32(COLOURS - 1)
    clear = words < OPAQUE
    if clear.any():
        codes[clear] = CLOTH_CODE
    return codes


def keys_of(words: Uint32Array) -> Uint32Array:
    """15-bit colors, 5 bits a channel, red in the lowest; 2¹⁵ for the cloth."""
    keys = np.asarray((words >> 3) & 0x1F | (words >> 6) & 0x3E0 | (words >> 9) & 0x7C00, np.uint32)
    clear = words < OPAQUE
    if clear.any():
        keys[clear] = 1 << 15
    return keys


def rgb_of(codes: NDArray[np.integer]) -> Int64Array:
    """(n, 3) red, green, blue of 24-bit colors."""
    wide = codes.astype(np.int64)
    return np.stack([wide & 255, (wide >> 8) & 255, (wide >> 16) & 255], axis=-1)


def sample(words: Uint32Array) -> Uint32Array:
    """At most `SAMPLE` of the codes, evenly spread in no pattern that a picture could share."""
    size = words.size
    if size <= SAMPLE:
        return codes_of(words.ravel())
    golden = (5**0.5 - 1) / 2
    at = (np.arange(SAMPLE) * golden % 1.0 * size).astype(np.int64)
    return codes_of(words.ravel().take(at))


def strips(height: int, width: int) -> Iterator[tuple[int, int]]:
    """Rows (top, bottom) of about `STRIP_PIXELS` pixels each, in order."""
    rows = max(1, STRIP_PIXELS // width)
    for top in range(0, height, rows):
        yield top, min(top + rows, height)
