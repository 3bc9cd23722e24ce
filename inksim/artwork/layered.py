"""Read layered pictures (PSD, PSB) flattened, in a sandboxed child process.

Needs the extra packages of ``inksim[artwork]``. A file keeps, as a rule, the flattened picture
that its author saw; that one is read. Where it does not, the layers are laid over each other here,
and what that cannot do exactly is named in the notes.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from typing import Any

import numpy as np
from PIL import Image

from inksim.artwork.raster import Raster, Source, check_size, rgba_from_image, sane_dpi
from inksim.artwork.sandbox import need, render_in_child
from inksim.common import Uint8Array

HEADER = struct.Struct(">4sH6sHIIHH")  # signature, version, zeros, channels, rows, columns, …
COLOUR_CHANNELS = {"BITMAP": 1, "GRAYSCALE": 1, "INDEXED": 1, "RGB": 3, "CMYK": 4, "LAB": 3}
PLAIN_LAYERS = ("pixel", "solidcolorfill", "shape", "type", "smartobject")
"""Kinds of layer that come with their pixels or are one color: these are laid over exactly."""


def read_layered(source: Source) -> Raster:
    """The flattened picture of a PSD or PSB as RGBA; what was left out is named in the notes."""
    channels, height, width = _header(source)
    check_size(width, height, source)
    need("psd_tools", "a layered picture", source.fault)
    told, body = render_in_child(
        source.data, {"kind": "layered", "most": height * width}, source.fault
    )
    notes: list[str] = []
    dpi = sane_dpi(told["dpi"], notes)
    notes += _said_of_layers(told)
    if told["depth"] != 8:
        notes.append(f"{told['depth']}-bit values were brought to 8 bits.")
    if told["kind"] not in COLOUR_CHANNELS:
        notes.append(
            f"Its kind of color ({told['kind'].lower()}) cannot be told from the file: the first "
            "channel was read as gray; export it as RGB."
        )
    if told["opacity"] and told["flattened"] and not told["seen"] and not told["hidden"]:
        notes.append("An extra channel was taken as opacity; the file does not say what it is.")
    extra = channels - COLOUR_CHANNELS.get(told["kind"], 1) - bool(told["opacity"])
    if extra > 0 and told["flattened"]:
        notes.append(
            f"{extra} extra channel(s), such as spot colors or masks, were left out: export them "
            "as a TIFF."
        )
    start, size = told["profile"], (told["width"], told["height"])
    end = len(body) - told["opacity"]
    rows: bytes | memoryview = memoryview(body)[start:end]
    opacity = bytes(body[end:])
    if told["mode"] == "CMYK" and told["opacity"]:
        rows = _off_white(rows, opacity)
    image = Image.frombytes(told["mode"], size, rows)
    icc = bytes(body[:start]) or None
    del rows, body  # as large as the picture
    rgba = rgba_from_image(image, icc=icc, source=source, notes=notes)
    if told["opacity"]:
        rgba = _with_opacity(rgba, opacity)
    return Raster(rgba=rgba, mode=told["mode"], dpi=dpi, notes=tuple(notes))


def _header(source: Source) -> tuple[int, int, int]:
    """Channels, rows and columns, from the first 26 bytes."""
    if len(source.data) < HEADER.size:
        raise source.fault("is cut short before its header ends; export it again.")
    _, version, _, channels, rows, columns, _, _ = HEADER.unpack_from(source.data)
    if version not in (1, 2):
        raise source.fault(f"is a layered picture of version {version}, not 1 or 2; save it again.")
    return channels, rows, columns


def _with_opacity(rgba: Uint8Array, opacity: bytes) -> Uint8Array:
    made = rgba.copy()
    made[..., 3] = np.frombuffer(opacity, dtype=np.uint8).reshape(rgba.shape[:2])
    return made


def _off_white(inks: bytes | memoryview, opacity: bytes) -> bytes:
    """CMYK rows (0 no ink) that the file keeps laid on white, as they were before."""
    plate = np.frombuffer(inks, dtype=np.uint8).reshape(-1, 4)
    alpha = np.frombuffer(opacity, dtype=np.uint8)[:, None].astype(np.float32)
    straight = plate * (np.float32(255) / np.maximum(alpha, 1))
    return np.minimum(np.rint(straight), 255).astype(np.uint8).tobytes()


def _said_of_layers(told: Mapping[str, Any]) -> list[str]:
    """What was read of the layers, and what was lost."""
    seen: Mapping[str, int] = told["seen"]
    layers, hidden = sum(seen.values()), told["hidden"]
    if not layers and not hidden:
        return ["The file has no layers: its picture was read."]
    count = f"{layers} layer(s)" + (f" and {hidden} hidden" if hidden else "")
    if told["flattened"]:
        said = [f"The file has {count}: the flattened picture it keeps was read."]
    else:
        said = [f"The file keeps no flattened picture: its {layers} layer(s) were laid over here."]
        others = {kind: n for kind, n in seen.items() if kind not in PLAIN_LAYERS}
        unsure = [f"{n} of the kind '{kind}'" for kind, n in others.items()]
        unsure += [f"effects of {told['effects']}"] if told["effects"] else []
        if unsure:
            said.append(
                f"Not drawn exactly: {', '.join(unsure)}; save it with its flattened picture."
            )
    if hidden:
        said.append(f"{hidden} hidden layer(s) do not print.")
    return said
