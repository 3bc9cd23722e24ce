"""Draws one SVG or PDF page in a process of its own: run as a script, never imported by inksim.

Renderers abort, hang or take all memory on hostile files; then only this process ends. Reads the
file on standard input; the argument is a JSON object. Writes one JSON line, then the pixels: a
PNG for an SVG, raw RGBA rows for a PDF. It imports nothing of inksim, so it starts fast.
"""

from __future__ import annotations

import json
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


def main() -> int:
    """Do the task in the first argument; exit code 1 with a reason on standard error."""
    task = json.loads(sys.argv[1])
    limit_memory(task["memory_gb"])
    draw = {"svg": draw_svg, "pdf": draw_pdf}[task["kind"]]
    try:
        told, pixels = draw(sys.stdin.buffer.read(), task)
    except Exception as error:  # whatever a renderer raises, the parent gets one line
        print(str(error).strip().split("\n", maxsplit=1)[0], file=sys.stderr)
        return 1
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n" + pixels)
    return 0


if __name__ == "__main__":
    sys.exit(main())
