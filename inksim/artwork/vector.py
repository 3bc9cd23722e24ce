"""Render SVG and PDF artwork to pixels in a sandboxed child process.

Needs the extra packages of ``inksim[artwork]``. Nothing outside the file is ever read: links are
dropped before drawing. A file that gives a physical size is drawn at `DRAW_DPI`.
"""

from __future__ import annotations

import io
import re
import zlib
from xml.etree import ElementTree

import numpy as np
from PIL import PngImagePlugin

from inksim.artwork.raster import SIZE_UNKNOWN, Raster, Source, check_size, rgba_from_image
from inksim.artwork.sandbox import DRAW_DPI, need, render_in_child
from inksim.common import CM_PER_INCH, MM_PER_INCH

LONGER_SIDE_PX = 3600  # where an SVG gives no physical size
MOST_SVG_BYTES = 64 * 2**20
PER_INCH = {"mm": MM_PER_INCH, "cm": CM_PER_INCH, "in": 1.0, "pt": 72.0, "pc": 6.0, "q": 101.6}
_LENGTH = re.compile(r"([+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z]*)")
EMBEDDED = ("data:image/png", "data:image/jpeg", "data:image/jpg", "data:image/gif")


def read_svg(source: Source) -> Raster:
    """An SVG (or its gzip, .svgz) as RGBA; scripts and links are dropped and named in the notes."""
    need("resvg_py", "an SVG", source.fault)
    notes: list[str] = []
    root = ElementTree.fromstring(_svg_text(source))
    _drop_foreign(root, notes)
    width, height, dpi = _svg_size(root, source, notes)
    check_size(width, height, source)
    if any(_local(element.tag) == "text" for element in root.iter()):
        notes.append("Text is drawn with this computer's fonts: turn text into outlines.")
    _, png = render_in_child(
        ElementTree.tostring(root), {"kind": "svg", "width": width}, source.fault
    )
    with PngImagePlugin.PngImageFile(io.BytesIO(png)) as image:
        check_size(*image.size, source)
        image.load()
        rgba = rgba_from_image(image, icc=None, source=source, notes=notes)
    return Raster(rgba=rgba, mode="vector", dpi=dpi, notes=tuple(notes))


def read_pdf(source: Source) -> Raster:
    """A page of a PDF as RGBA at `DRAW_DPI` on bare cloth: only what the page paints prints."""
    need("pypdfium2", "a PDF", source.fault)
    task = {
        "kind": "pdf",
        "page": source.frame,
        "dpi": DRAW_DPI,
        "most": int(source.max_megapixels * 1e6),
    }
    told, pixels = render_in_child(source.data, task, source.fault)
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


# --- SVG -----------------------------------------------------------------------------------------


def _svg_text(source: Source) -> bytes:
    data = source.data
    if data[:2] == b"\x1f\x8b":
        unpack = zlib.decompressobj(wbits=31)
        data = unpack.decompress(data, MOST_SVG_BYTES + 1)
    if len(data) > MOST_SVG_BYTES:
        raise source.fault(
            f"unpacks to more than {MOST_SVG_BYTES // 2**20} MB of SVG; export it as PNG."
        )
    return data


def _local(tag: object) -> str:
    """An element's or attribute's name without its namespace."""
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def _drop_foreign(root: ElementTree.Element, notes: list[str]) -> None:
    """Take out scripts, foreign content and every link that leaves the file."""
    dropped = {"script": 0, "foreignObject": 0, "link": 0}
    for parent in root.iter():
        for child in list(parent):
            name = _local(child.tag)
            if name in dropped:
                dropped[name] += 1
                parent.remove(child)
        for key, value in list(parent.attrib.items()):
            inside = value.strip().startswith(("#", *EMBEDDED))
            if _local(key) == "href" and not inside:
                dropped["link"] += _local(parent.tag) != "a"
                del parent.attrib[key]
    what = {
        "script": "script(s)",
        "foreignObject": "piece(s) of foreign content",
        "link": "link(s)",
    }
    said = [f"{count} {what[name]}" for name, count in dropped.items() if count]
    if said:
        notes.append(f"Left out of the SVG: {', '.join(said)}; embed pictures in the file.")


def _svg_size(
    root: ElementTree.Element, source: Source, notes: list[str]
) -> tuple[int, int, float | None]:
    """Pixels across and down, and dpi: by physical size if the file gives one, else by shape."""
    across, down = (_length(root.get(side, "")) for side in ("width", "height"))
    box = [float(v) for v in re.split(r"[\s,]+", root.get("viewBox", "").strip()) if v]
    shape = (box[2], box[3]) if len(box) == 4 else (across[0], down[0])
    if not (0 < shape[0] < 1e9 and 0 < shape[1] < 1e9):
        raise source.fault("gives no size; add width and height, or a viewBox.")
    if across[1] in PER_INCH and across[0] > 0:
        inches = across[0] / PER_INCH[across[1]]
        width = inches * DRAW_DPI
        notes.append(f"Drawn at {DRAW_DPI} dpi.")
        dpi: float | None = float(DRAW_DPI)
    else:
        width = LONGER_SIDE_PX * min(1.0, shape[0] / shape[1])
        notes.append(
            f"The SVG gives no physical size: drawn {LONGER_SIDE_PX} pixels on its longer side, so "
            f"{SIZE_UNKNOWN}."
        )
        dpi = None
    ratio = down[0] / across[0] if across[1] == down[1] and across[0] > 0 < down[0] else 0.0
    height = width * (ratio or shape[1] / shape[0])
    return max(1, round(width)), max(1, round(height)), dpi


def _length(text: str) -> tuple[float, str]:
    """A CSS length as number and unit; (0, "") for none or a percentage."""
    match = _LENGTH.fullmatch(text.strip())
    return (float(match[1]), match[2].lower()) if match else (0.0, "")
