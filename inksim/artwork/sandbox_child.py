"""The sandboxed child: renders an SVG, a PDF page or a layered picture.

Parsers and renderers abort, hang or take all memory on hostile files; then only this process ends.
Reads the file on standard input; the argument is a JSON object. Writes one JSON line, then the
pixels: a PNG for an SVG, raw RGBA rows for a PDF, of a layered picture its profile, its rows in its
own kind of color and its opacity. It imports nothing of inksim, so it starts fast.
"""

from __future__ import annotations

import io
import json
import logging
import re
import sys
import zlib
from collections.abc import Iterator, Mapping, Sequence
from importlib import import_module
from typing import Any
from xml.etree import ElementTree

CSS_PX_PER_INCH = 96.0  # without it the renderer takes mm and in as nothing
EMBEDDED = ("data:image/png", "data:image/jpeg", "data:image/jpg", "data:image/gif")
PIECE = 2**20
_LENGTH = re.compile(r"([+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z]*)")
Drawn = tuple[dict[str, Any], Sequence[bytes | memoryview]]
"""What is told of a file, and its pixels in pieces."""


class TooMuch(Exception):
    """A file holds more than is read of one; in words, more than what."""


def limit(gigabytes: int, seconds: int) -> None:
    """Cap this process's memory and time where the system can, also if its parent is gone."""
    try:
        resource = import_module("resource")
    except ImportError:
        return
    size = gigabytes * 2**30
    for which, most in (("AS", size), ("CPU", seconds), ("CORE", 0)):
        try:
            resource.setrlimit(getattr(resource, f"RLIMIT_{which}"), (most, most))
        except (OSError, ValueError):
            continue


# --- SVG -----------------------------------------------------------------------------------------


def draw_svg(data: bytes, task: dict[str, Any]) -> Drawn:
    """PNG of the SVG; only its size if it has more than `most` pixels, or none."""
    try:
        root = _svg_tree(data, task)
    except ElementTree.ParseError as error:
        return {"damaged": str(error)}, []
    told: dict[str, Any] = {"dropped": drop_foreign(root)}
    told |= svg_size(root.attrib, task)
    told["text"] = any(_local(element.tag) == "text" for element in root.iter())
    if not told["width"] or told["width"] * told["height"] > task["most"]:
        return told, []
    text = ElementTree.tostring(root, encoding="unicode")
    del root
    renderer = import_module("resvg_py")
    return told, [renderer.svg_to_bytes(svg_string=text, width=told["width"], dpi=CSS_PX_PER_INCH)]


class _Counted(ElementTree.TreeBuilder):
    """Builds a tree of at most so many elements and attributes, at most so deep."""

    def __init__(self, most: int, deepest: int) -> None:
        super().__init__()
        self.left, self.most, self.depth, self.deepest = most, most, 0, deepest

    def start(self, tag: Any, attrs: Any, /) -> Any:
        """Begin an element."""
        self.left -= 1 + len(attrs)
        self.depth += 1
        if self.left < 0:
            raise TooMuch(f"{self.most:,} elements and attributes")
        if self.depth > self.deepest:
            raise TooMuch(f"{self.deepest} groups inside each other")
        return super().start(tag, attrs)

    def end(self, tag: Any, /) -> Any:
        """End an element."""
        self.depth -= 1
        return super().end(tag)


def _svg_tree(data: bytes, task: dict[str, Any]) -> ElementTree.Element:
    parser = ElementTree.XMLParser(target=_Counted(task["most_parts"], task["deepest"]))
    size = 0
    for piece in _unpacked(data):
        size += len(piece)
        if size > task["most_bytes"]:
            raise TooMuch(f"{task['most_bytes'] // 2**20} MB of SVG")
        parser.feed(piece)
    root: ElementTree.Element = parser.close()
    return root


def _unpacked(data: bytes) -> Iterator[bytes]:
    """The text in pieces, unpacked if it is gzip's; what is cut short ends early."""
    if data[:2] != b"\x1f\x8b":
        yield from (data[at : at + PIECE] for at in range(0, len(data), PIECE))
        return
    unpack = zlib.decompressobj(wbits=31)
    while data and not unpack.eof:
        piece = unpack.decompress(data, PIECE)
        if not piece and not unpack.unconsumed_tail:
            return
        yield piece
        data = unpack.unconsumed_tail


def _local(tag: object) -> str:
    """An element's or attribute's name without its namespace."""
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def drop_foreign(root: ElementTree.Element) -> dict[str, int]:
    """Take out scripts, foreign content and every link that leaves the file; count each."""
    dropped = {"script": 0, "foreignObject": 0, "link": 0}
    for parent in root.iter():
        names = [_local(child.tag) for child in parent]
        if any(name in dropped for name in names):
            for name in names:
                if name in dropped:
                    dropped[name] += 1
            parent[:] = [child for child in parent if _local(child.tag) not in dropped]
        for key, value in list(parent.attrib.items()):
            inside = value.strip().startswith(("#", *EMBEDDED))
            if _local(key) == "href" and not inside:
                dropped["link"] += _local(parent.tag) != "a"
                del parent.attrib[key]
    return dropped


def svg_size(attributes: Mapping[str, str], task: dict[str, Any]) -> dict[str, Any]:
    """Pixels across and down, 0 for none, and dpi: by physical size if given, else by shape."""
    across, down = (css_length(attributes.get(side, "")) for side in ("width", "height"))
    box = [float(v) for v in re.split(r"[\s,]+", attributes.get("viewBox", "").strip()) if v]
    shape = (box[2], box[3]) if len(box) == 4 else (across[0], down[0])
    if not (0 < shape[0] < 1e9 and 0 < shape[1] < 1e9):
        return {"width": 0, "height": 0, "dpi": None}
    per_inch = task["per_inch"]
    if across[1] in per_inch and across[0] > 0:
        width = across[0] / per_inch[across[1]] * task["dpi"]
        dpi: float | None = float(task["dpi"])
    else:
        width = task["longer_side"] * min(1.0, shape[0] / shape[1])
        dpi = None
    ratio = down[0] / across[0] if across[1] == down[1] and across[0] > 0 < down[0] else 0.0
    height = width * (ratio or shape[1] / shape[0])
    return {"width": max(1, round(width)), "height": max(1, round(height)), "dpi": dpi}


def css_length(text: str) -> tuple[float, str]:
    """A CSS length as number and unit; (0, "") for none or a percentage."""
    match = _LENGTH.fullmatch(text.strip())
    return (float(match[1]), match[2].lower()) if match else (0.0, "")


# --- PDF and layered pictures --------------------------------------------------------------------


def draw_pdf(data: bytes, task: dict[str, Any]) -> Drawn:
    """RGBA of page `page` at `dpi` on nothing; only the size if it has more than `most` pixels."""
    pdfium = import_module("pypdfium2")
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        return {"locked": "assword" in str(error), "error": str(error)}, []
    pages = len(document)
    if task["page"] >= pages:
        return {"pages": pages}, []
    page = document[task["page"]]
    scale = task["dpi"] / 72.0
    width, height = (-int(-side * scale // 1) for side in page.get_size())
    told = {"pages": pages, "width": width, "height": height}
    if width * height > task["most"] or width < 1 or height < 1:
        return told, []
    bitmap = page.render(scale=scale, fill_color=(255, 255, 255, 0), rev_byteorder=True)
    told |= {"width": bitmap.width, "height": bitmap.height}
    row, rows = 4 * bitmap.width, memoryview(bitmap.buffer).cast("B")
    starts = range(0, bitmap.stride * bitmap.height, bitmap.stride)
    return told, [rows[start : start + row] for start in starts]


def draw_layered(data: bytes, task: dict[str, Any]) -> Drawn:
    """Profile, rows and opacity of a layered picture: as the file keeps it flattened, else drawn.

    Told of the layers: how many of each kind are seen, how many are hidden, how many have effects.
    """
    logging.disable()
    package = import_module("psd_tools")
    constants = import_module("psd_tools.constants")
    resource = constants.Resource
    # Its own count of bytes is on top of the cap on the process: it fails with a sentence.
    picture = package.PSDImage.open(io.BytesIO(data), max_alloc_bytes=task["memory_gb"] * 2**30)
    seen: dict[str, int] = {}
    hidden = effects = 0
    for layer in picture.descendants():
        if layer.is_group():
            continue
        if not layer.is_visible():
            hidden += 1
            continue
        seen[layer.kind] = seen.get(layer.kind, 0) + 1
        effects += bool(layer.has_effects())
    flattened = bool(picture.has_preview())
    if flattened:
        drawn = picture.topil(apply_icc=False)
    else:
        drawn = picture.composite(force=True, apply_icc=False)
    if drawn.mode in ("P", "1"):
        drawn = drawn.convert("RGB")
    opacity = b""
    if drawn.mode in ("LA", "RGBA"):
        opacity = drawn.getchannel("A").tobytes()
        drawn = drawn.convert(drawn.mode[:-1])
    elif flattened and import_module("psd_tools.api.utils").has_transparency(picture):
        # the library keeps it for gray and RGB only
        mask = picture.topil(channel=constants.ChannelID.TRANSPARENCY_MASK, apply_icc=False)
        opacity = b"" if mask is None else mask.tobytes()
    profile = picture.image_resources.get_data(resource.ICC_PROFILE) or b""
    size = picture.image_resources.get_data(resource.RESOLUTION_INFO)
    told = {
        "width": drawn.width,
        "height": drawn.height,
        "mode": drawn.mode,
        "kind": picture.color_mode.name,
        "depth": picture.depth,
        "profile": len(profile),
        "opacity": len(opacity),
        "dpi": [size.horizontal / 65536, size.vertical / 65536] if size else None,
        "flattened": flattened,
        "seen": seen,
        "hidden": hidden,
        "effects": effects,
    }
    return told, [bytes(profile), drawn.tobytes(), opacity]


def main() -> int:
    """Do the task in the first argument; exit code 1: it is damaged, 2: too little memory."""
    task = json.loads(sys.argv[1])
    limit(task["memory_gb"], task["seconds"])
    draw = {"svg": draw_svg, "pdf": draw_pdf, "layered": draw_layered}[task["kind"]]
    try:
        told, pixels = draw(sys.stdin.buffer.read(), task)
    except TooMuch as error:
        told, pixels = {"too_much": str(error)}, []
    except MemoryError:
        return 2
    except Exception:  # whatever a renderer raises
        return 1
    told["bytes"] = sum(map(len, pixels))
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n")
    sys.stdout.buffer.writelines(pixels)
    return 0


if __name__ == "__main__":
    sys.exit(main())
