"""PDF/A-2B sheets with true sRGB colors, embedded fonts and lossless pictures.

Millimeters from the upper left corner. Colors are sRGB, and the file says so by its output intent
(ISO 19005-2), so that a swatch is the same color in every reader.
"""

from __future__ import annotations

import weakref
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import numpy as np

from inksim.colour import readable_on, rgb8_from_hex
from inksim.common import BOLD, PROGRAM, REGULAR, Uint8Array, not_in_font, spelled

LETTER_MM = (215.9, 279.4)
HATCH_MM = 1.4
FACE = "Sheet"
INK, SOFT, RULE, PANEL = "#1a1a1a", "#4a4a4a", "#8a8a8a", "#ececec"


def _xmp(title: str, *, made: datetime) -> str:
    """XMP of a PDF/A-2B sheet; fpdf2's own carries the clock, so that no file would be the same."""
    from xml.sax.saxutils import escape

    day = made.isoformat(timespec="seconds")
    return f"""<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"
  xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
  xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
  <rdf:Description rdf:about="" xmp:CreatorTool="{PROGRAM}" xmp:CreateDate="{day}"
   xmp:ModifyDate="{day}" xmp:MetadataDate="{day}">
   <pdfaid:part>2</pdfaid:part>
   <pdfaid:conformance>B</pdfaid:conformance>
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>"""


def not_spelled(names: Iterable[str]) -> str:
    """What of these names a sheet's font cannot write, in a sentence; '' where it has all."""
    lost = not_in_font(" ".join(names))
    return lost and f"The sheet's font has no {lost}: '?' stands there; name it in other letters."


def _close(fonts: tuple[Any, ...]) -> None:
    for font in fonts:
        font.close()


class Sheet:
    """A document filled from top to bottom; `y` is the current position."""

    def __init__(
        self, *, title: str, made: datetime, margin_mm: float = 15.0, endless: bool = False
    ) -> None:
        from fpdf import FPDF

        pdf = FPDF(unit="mm", format=LETTER_MM, enforce_compliance="PDF/A-2B")
        pdf.set_title(spelled(title))
        pdf.set_creator(PROGRAM)
        pdf.set_lang("en-US")
        pdf.set_creation_date(made)
        pdf.set_xmp_metadata(_xmp(spelled(title), made=made))
        pdf.set_image_filter("FlateDecode")
        pdf.set_auto_page_break(auto=not endless, margin=margin_mm)
        pdf.set_margin(margin_mm)
        pdf.c_margin = 0.0  # words begin where pictures and panels do
        pdf.add_font(FACE, "", REGULAR)
        pdf.add_font(FACE, "B", BOLD)
        # Writing the file closes the fonts; a sheet that is given up half way must too.
        weakref.finalize(self, _close, tuple(pdf.fonts.values()))
        pdf.add_page()
        pdf.set_line_width(0.2)
        self.pdf: Any = pdf
        self.endless = endless
        self.left = margin_mm
        self.width = LETTER_MM[0] - 2 * margin_mm

    @property
    def y(self) -> float:
        """Current position from the top of the page."""
        return float(self.pdf.get_y())

    @y.setter
    def y(self, value: float) -> None:
        self.pdf.set_y(value)

    def space(self, mm: float) -> None:
        """Move down."""
        self.y += mm

    def need(self, mm: float) -> None:
        """Begin a new page unless that much is left on this one."""
        if not self.endless and mm > self.left_on_page:
            self.pdf.add_page()

    @property
    def height_of_page(self) -> float:
        """What a page holds, mm."""
        return float(LETTER_MM[1] - self.pdf.t_margin - self.pdf.b_margin)

    @property
    def left_on_page(self) -> float:
        """What this page still holds, mm."""
        return float(LETTER_MM[1] - self.pdf.b_margin) - self.y

    def height(self, draw: Callable[[Sheet], None]) -> float:
        """Height in mm that a block takes: it is drawn on an endless page and thrown away."""
        unseen = Sheet(title="", made=datetime(2000, 1, 1, tzinfo=UTC), endless=True)
        draw(unseen)
        return unseen.y - float(unseen.pdf.t_margin)

    def text(
        self,
        words: str,
        *,
        size: float = 9.5,
        bold: bool = False,
        colour: str = INK,
        x: float | None = None,
        width: float | None = None,
        align: str = "L",
    ) -> None:
        """Write wrapped text at x and move below it."""
        self.pdf.set_font(FACE, "B" if bold else "", size)
        self.pdf.set_text_color(*_rgb(colour))
        self.pdf.set_x(self.left if x is None else x)
        self.pdf.multi_cell(
            w=self.width if width is None else width,
            h=size * 0.5,
            text=spelled(words),
            align=align,
            new_x="LMARGIN",
            new_y="NEXT",
        )

    def height_of(
        self, words: str, *, width: float, size: float = 9.5, bold: bool = False
    ) -> float:
        """Height in mm that wrapped text takes."""
        self.pdf.set_font(FACE, "B" if bold else "", size)
        lines = self.pdf.multi_cell(
            w=width, h=size * 0.5, text=spelled(words), dry_run=True, output="LINES"
        )
        return len(lines) * size * 0.5

    @contextmanager
    def beside(self, lines: Sequence[str]) -> Iterator[None]:
        """Put these lines at the right of what is written inside the block."""
        top = self.y
        yield
        bottom, self.y = self.y, top
        for line in lines:
            self.text(line, size=8.5, x=self.left + self.width - 50, width=50, align="R")
        self.y = max(bottom, self.y) + 4

    def heading(self, words: str) -> None:
        """A heading with a rule above it; never alone at the foot of a page."""
        self.need(24)
        self.space(3)
        self.rule()
        self.space(2)
        self.text(words, size=12, bold=True)
        self.space(1.5)

    def rule(self, *, colour: str = RULE) -> None:
        """A thin line across."""
        self.pdf.set_draw_color(*_rgb(colour))
        self.pdf.line(self.left, self.y, self.left + self.width, self.y)

    def points(self, lines: Sequence[str], *, size: float = 9.0) -> None:
        """Bulleted list."""
        for line in lines:
            self.need(size * 0.5)
            top = self.y
            self.text("–", size=size, width=5)
            self.y = top
            self.text(line, size=size, x=self.left + 5, width=self.width - 5)
            self.space(0.7)

    def patch(
        self, colour: str, *, x: float, y: float, width: float, height: float, words: str = ""
    ) -> None:
        """A swatch of exactly this color, with words on it."""
        self.pdf.set_fill_color(*_rgb(colour))
        self.pdf.rect(x, y, width, height, style="F")
        if words:
            self.pdf.set_font(FACE, "", 7)
            self.pdf.set_text_color(*_rgb(readable_on(colour)))
            self.pdf.set_xy(x + 0.8, y + height - 4.2)
            self.pdf.cell(width - 1.6, 4, spelled(words))

    def hatched(
        self, colour: str, lines: str, *, x: float, y: float, width: float, height: float
    ) -> None:
        """A patch with slanted lines on it."""
        self.patch(colour, x=x, y=y, width=width, height=height)
        self.pdf.set_draw_color(*_rgb(lines))
        for at in np.arange(0.0, width, HATCH_MM):
            across = min(height, width - at)
            self.pdf.line(x + at, y + height, x + at + across, y + height - across)

    def picture(self, picture: Uint8Array, *, x: float, y: float, width: float, alt: str) -> float:
        """A lossless picture; returns its height in mm."""
        from PIL import Image

        height = float(width * picture.shape[0] / picture.shape[1])
        image = Image.fromarray(np.ascontiguousarray(picture[..., :3]))
        self.pdf.image(image, x=x, y=y, w=width, h=height, alt_text=spelled(alt))
        return height

    def panel(self, *said: tuple[str, str], size: float = 13.0) -> None:
        """Shaded panel with the answers: each a headline, and what there is to say with it."""
        top = self.y
        inner = self.left + 7
        self.y = top + 3
        # Written twice: the first time to learn the height of what lies under the words.
        self._panel_words(said, x=inner, size=size)
        bottom = self.y + 3
        self.pdf.set_fill_color(*_rgb(PANEL))
        self.pdf.rect(self.left, top, self.width, bottom - top, style="F")
        self.pdf.set_fill_color(*_rgb(INK))
        self.pdf.rect(self.left, top, 2.5, bottom - top, style="F")
        self.y = top + 3
        self._panel_words(said, x=inner, size=size)
        self.y = bottom

    def _panel_words(self, said: Sequence[tuple[str, str]], *, x: float, size: float) -> None:
        width = self.width - (x - self.left) - 4
        for at, (headline, detail) in enumerate(said):
            self.space(1.5 if at else 0)
            self.text(headline, size=size, bold=True, x=x, width=width)
            if detail:
                self.space(0.5)
                self.text(detail, size=min(9.5, 0.85 * size), x=x, width=width)

    def sign_line(self, label: str, *, x: float, width: float) -> None:
        """A line to write on, its label under it; stays at this height."""
        top = self.y
        self.pdf.set_draw_color(*_rgb(INK))
        self.pdf.line(x, top + 9, x + width, top + 9)
        self.y = top + 10
        self.text(label, size=7.5, colour=SOFT, x=x, width=width)
        self.y = top

    def foot(self, words: str, *, about: str = "") -> None:
        """Say at the foot of every page what it is about, these words, version and page number.

        What it is about is cut short where there is no room for all of it.
        """
        pdf = self.pdf
        pdf.set_auto_page_break(auto=False)
        for number in range(1, pdf.pages_count + 1):
            pdf.page = number
            pdf.set_font(FACE, "", 1)  # so that the next line writes the font into this page, too
            paged = f"{PROGRAM}, page {number} of {pdf.pages_count}"
            last = f"{words}, {paged}" if words else paged
            one = f"{about}, {last}" if about else last
            lines = [one] if self._across(one, size=7.5) <= self.width else [about, last]
            self.y = LETTER_MM[1] - (10 if len(lines) == 1 else 12)
            for line in lines:
                self.text(self._cut(line, size=7.5), size=7.5, colour=SOFT)

    def _across(self, words: str, *, size: float) -> float:
        self.pdf.set_font(FACE, "", size)
        return float(self.pdf.get_string_width(spelled(words)))

    def _cut(self, words: str, *, size: float) -> str:
        """As much of a line as fits across, with '…' for the rest."""
        if self._across(words, size=size) <= self.width:
            return words
        most = next(
            n for n in range(len(words), 0, -1)
            if self._across(f"{words[:n]}…", size=size) <= self.width
        )  # fmt: skip
        return f"{words[:most].rstrip()}…"

    def bytes(self) -> bytes:
        """The finished file."""
        return bytes(self.pdf.output())


def _rgb(colour: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(colour).tolist()
    return red, green, blue
