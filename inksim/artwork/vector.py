"""Read SVG and PDF artwork as pixels, parsed and rendered in a sandboxed child process.

Needs the extra packages of ``inksim[artwork]``. Nothing outside the file is ever read: links are
dropped before drawing. A file that gives a physical size is drawn at `DRAW_DPI`.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any

import numpy as np
from PIL import PngImagePlugin

from inksim.artwork.raster import SIZE_UNKNOWN, Raster, Source, check_size, rgba_from_image
from inksim.artwork.sandbox import DRAW_DPI, need, render_in_child
from inksim.common import CM_PER_INCH, MM_PER_INCH

LONGER_SIDE_PX = 3600  # where an SVG gives no physical size
MOST_SVG_BYTES = 64 * 2**20
MOST_SVG_PARTS = 500_000
DEEPEST_SVG = 200
MEMORY_GB = 2
PER_INCH = {"mm": MM_PER_INCH, "cm": CM_PER_INCH, "in": 1.0, "pt": 72.0, "pc": 6.0, "q": 101.6}


def read_svg(source: Source) -> Raster:
    """An SVG (or its gzip, .svgz) as RGBA; scripts and links are dropped and named in the notes."""
    need("resvg_py", "an SVG", source.fault)
    task = {
        "kind": "svg",
        "dpi": DRAW_DPI,
        "longer_side": LONGER_SIDE_PX,
        "per_inch": PER_INCH,
        "most": int(source.max_megapixels * 1e6),
        "most_bytes": MOST_SVG_BYTES,
        "most_parts": MOST_SVG_PARTS,
        "deepest": DEEPEST_SVG,
    }
    told, png = render_in_child(source.data, task, source.fault, memory_gb=MEMORY_GB)
    if "damaged" in told:
        raise ValueError(told["damaged"])
    if not told["width"]:
        raise source.fault("gives no size; add width and height, or a viewBox.")
    check_size(told["width"], told["height"], source)
    notes = _said_of_svg(told)
    with PngImagePlugin.PngImageFile(io.BytesIO(png)) as image:
        check_size(*image.size, source)
        image.load()
        rgba = rgba_from_image(image, icc=None, source=source, notes=notes)
    return Raster(rgba=rgba, mode="vector", dpi=told["dpi"], notes=tuple(notes))


def _said_of_svg(told: Mapping[str, Any]) -> list[str]:
    """What was left out of an SVG, and at what size it was drawn."""
    notes = []
    what = {
        "script": "script(s)",
        "foreignObject": "piece(s) of foreign content",
        "link": "link(s)",
    }
    left_out = [f"{count} {what[name]}" for name, count in told["dropped"].items() if count]
    if left_out:
        notes.append(f"Left out of the SVG: {', '.join(left_out)}; embed pictures in the file.")
    if told["dpi"]:
        notes.append(f"Drawn at {DRAW_DPI} dpi.")
    else:
        notes.append(
            f"The SVG gives no physical size: drawn {LONGER_SIDE_PX} pixels on its longer side, so "
            f"{SIZE_UNKNOWN}."
        )
    if told["text"]:
        notes.append("Text is drawn with this computer's fonts: turn text into outlines.")
    return notes


def read_pdf(source: Source) -> Raster:
    """A page of a PDF as RGBA at `DRAW_DPI` on bare cloth: only what the page paints prints."""
    need("pypdfium2", "a PDF", source.fault)
    task = {
        "kind": "pdf",
        "page": source.frame,
        "dpi": DRAW_DPI,
        "most": int(source.max_megapixels * 1e6),
    }
    told, pixels = render_in_child(source.data, task, source.fault, memory_gb=MEMORY_GB)
    if told.get("locked"):
        raise source.fault("is locked with a password; save an unlocked copy.")
    if "error" in told:
        raise source.fault(f"cannot be drawn ({told['error'].rstrip('.')}); export it again.")
    if "width" not in told:
        pages = told["pages"]
        raise source.fault(f"has {pages} page(s); page {source.frame + 1} does not exist.")
    check_size(told["width"], told["height"], source)
    notes = [
        f"Drawn at {DRAW_DPI} dpi; colors other than sRGB are PDFium's approximation: check them."
    ]
    if told["pages"] > 1:
        notes.append(f"The file has {told['pages']} pages; page {source.frame + 1} was read.")
    rgba = np.frombuffer(pixels, dtype=np.uint8).reshape(told["height"], told["width"], 4)
    return Raster(rgba=rgba, mode="vector", dpi=float(DRAW_DPI), notes=tuple(notes))
