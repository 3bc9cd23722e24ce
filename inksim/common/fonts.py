"""The font of pictures and PDFs: DejaVu Sans, cut down by tools/make_fonts.py."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from inksim.common.files import DATA
from inksim.common.outward import visible

FONTS = DATA / "fonts"
REGULAR, BOLD = FONTS / "DejaVuSans.ttf", FONTS / "DejaVuSans-Bold.ttf"


@lru_cache(maxsize=1)
def _known() -> frozenset[int]:
    """Code points in the font."""
    from fontTools.ttLib import TTFont

    with TTFont(REGULAR, lazy=True) as font:
        return frozenset(font.getBestCmap())


def spelled(text: str) -> str:
    """Replace characters the font lacks: by the letter without its accent, else by '?'."""
    out = []
    for sign in unicodedata.normalize("NFC", visible(text, keep="\n")):
        plain = sign if sign == "\n" or ord(sign) in _known() else _plain(sign)
        out.append(plain or "?")
    return "".join(out)


def not_in_font(text: str) -> str:
    """The characters for which `spelled` writes '?', each once."""
    signs = unicodedata.normalize("NFC", visible(text)) if not text.isascii() else ""
    return "".join(dict.fromkeys(s for s in signs if ord(s) not in _known() and not _plain(s)))


def _plain(sign: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", sign) if ord(c) in _known())
