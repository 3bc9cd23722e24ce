"""Array types, by what is in them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Float32Array = NDArray[np.float32]
"""Light of many pixels."""
BoolArray = NDArray[np.bool_]
IndexArray = NDArray[np.intp]
Int64Array = NDArray[np.int64]
Uint8Array = NDArray[np.uint8]
"""Pixels, plates, labels of pixels."""
Uint32Array = NDArray[np.uint32]
