"""The sandboxed child: renders an SVG, a PDF page or a layered picture; never imported.

Renderers abort, hang or take all memory on hostile files; then only this process ends. Reads the
file on standard input; the argument is a JSON object. Writes one JSON line, then the pixels: a
PNG for an SVG, raw RGBA rows for a PDF, of a layered picture its profile, its rows in its own
kind of color and its opacity. It imports nothing of inksim, so it starts fast.
"""

from __future__ import annotations

import io
import json
import logging
import sys
from importlib import import_module
from typing import Any

CSS_PX_PER_INCH = 96.0  # without it the renderer takes mm and in as nothing


def limit_memory(gigabytes: int) -> None:
    """Cap this process's memory where the system can."""
    try:
        resource = import_module("resource")
        size = gigabytes * 2**30
        resource.setrlimit(resource.RLIMIT_AS, (size, size))
    except (ImportError, OSError, ValueError):
        return


def draw_svg(data: bytes, task: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    """PNG of the SVG, `width` pixels wide."""
    renderer = import_module("resvg_py")
    drawn = renderer.svg_to_bytes(
        svg_string=data.decode("utf-8"), width=task["width"], dpi=CSS_PX_PER_INCH
    )
    return {}, bytes(drawn)


def draw_pdf(data: bytes, task: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    """RGBA of page `page` at `dpi` on nothing; only the size if it has more than `most` pixels."""
    pdfium = import_module("pypdfium2")
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        return {"locked": "assword" in str(error), "error": str(error)}, b""
    pages = len(document)
    if task["page"] >= pages:
        return {"pages": pages}, b""
    page = document[task["page"]]
    scale = task["dpi"] / 72.0
    width, height = (-int(-side * scale // 1) for side in page.get_size())
    told = {"pages": pages, "width": width, "height": height}
    if width * height > task["most"] or width < 1 or height < 1:
        return told, b""
    bitmap = page.render(scale=scale, fill_color=(255, 255, 255, 0), rev_byteorder=True)
    told |= {"width": bitmap.width, "height": bitmap.height}
    row, rows = 4 * bitmap.width, bytes(bitmap.buffer)
    if bitmap.stride != row:
        starts = range(0, bitmap.stride * bitmap.height, bitmap.stride)
        rows = b"".join(rows[start : start + row] for start in starts)
    return told, rows


def draw_layered(data: bytes, task: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
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
    return told, bytes(profile) + drawn.tobytes() + opacity


def main() -> int:
    """Do the task in the first argument; exit code 1: it is damaged, 2: too little memory."""
    task = json.loads(sys.argv[1])
    limit_memory(task["memory_gb"])
    draw = {"svg": draw_svg, "pdf": draw_pdf, "layered": draw_layered}[task["kind"]]
    try:
        told, pixels = draw(sys.stdin.buffer.read(), task)
    except MemoryError:
        return 2
    except Exception:  # whatever a renderer raises
        return 1
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n" + pixels)
    return 0


if __name__ == "__main__":
    sys.exit(main())
