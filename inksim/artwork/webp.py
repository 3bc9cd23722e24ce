"""The size of a WebP, before its decoder takes room for it."""

from __future__ import annotations

from dataclasses import replace

from inksim.artwork.raster import Source, check_size

MOST_MEGAPIXELS = 75
"""The decoder holds a picture four times over, and 36 bytes may be any size."""
_SIDE = 0x3FFF  # 14 bits


def check_webp(source: Source) -> None:
    """Refuse a WebP of too many pixels (RFC 9649, 2.5 to 2.7); what is none is let pass.

    Raises
    ------
    InputError : more than the caller's limit, or than `MOST_MEGAPIXELS`.
    """
    first, head = source.data[12:16], source.data[20:30].ljust(10, b"\0")
    if first == b"VP8X":
        across, down = (1 + int.from_bytes(head[at : at + 3], "little") for at in (4, 7))
    elif first == b"VP8L":
        sides = int.from_bytes(head[1:5], "little")
        across, down = 1 + (sides & _SIDE), 1 + (sides >> 14 & _SIDE)
    elif first == b"VP8 ":
        across, down = (int.from_bytes(head[at : at + 2], "little") & _SIDE for at in (6, 8))
    else:
        return
    most = min(source.max_megapixels, MOST_MEGAPIXELS)
    check_size(across, down, replace(source, max_megapixels=most))
