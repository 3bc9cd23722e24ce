"""The fonts of all that inksim sets in type: DejaVu Sans, cut down by tools/make_fonts.py."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from inksim.common.files import DATA

FONTS = DATA / "fonts"
REGULAR, BOLD = FONTS / "DejaVuSans.ttf", FONTS / "DejaVuSans-Bold.ttf"


@lru_cache(maxsize=1)
def _known() -> frozenset[int]:
    """Code points that the fonts have."""
    from fontTools.ttLib import TTFont

    with TTFont(REGULAR, lazy=True) as font:
        return frozenset(font.getBestCmap())


def spelled(text: str) -> str:
    """The text in signs that the fonts have: without accents they lack, else a question mark."""
    out = []
    for sign in unicodedata.normalize("NFC", text):
        plain = sign if sign == "\n" or ord(sign) in _known() else _plain(sign)
        out.append(plain or "?")
    return "".join(out)


def _plain(sign: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", sign) if ord(c) in _known())
