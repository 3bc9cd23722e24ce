"""The palette of an artwork as it travels: found by one worker, taken by all others."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork import Flats

QUICKLY = 1
"""How hard zlib packs: labels of flat art shrink a hundredfold at once."""


@dataclass(frozen=True, kw_only=True)
class Palette:
    """Flats of an artwork. background: as it was asked for. labels: packed, of shape (H, W)."""

    background: str
    flats: Flats
    labels: bytes
    shape: tuple[int, ...]

    @classmethod
    def of(cls, flats: Flats, *, background: str) -> Palette:
        """Pack the flats of an artwork."""
        packed = zlib.compress(flats.labels.tobytes(), QUICKLY)
        bare = replace(flats, labels=np.zeros((0, 0), dtype=np.uint8))
        return cls(background=background, flats=bare, labels=packed, shape=flats.labels.shape)

    def unpacked(self) -> Flats:
        """The flats again."""
        labels = np.frombuffer(zlib.decompress(self.labels), dtype=np.uint8)
        return replace(self.flats, labels=labels.reshape(self.shape))
