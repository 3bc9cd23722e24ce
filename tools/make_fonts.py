"""Write inksim/data/fonts/: the two fonts of the printed sheets, cut down to what a sheet writes.

Run ``python tools/make_fonts.py`` on a machine with DejaVu (Debian: apt-get install
fonts-dejavu-core). The full fonts are 1.5 MB; a shop's names need Latin, Greek and Cyrillic, and a
sheet a few signs. The license allows a cut-down copy under a name without "Bitstream" or "Vera".
"""

from __future__ import annotations

from pathlib import Path

from fontTools import subset

SOURCE = Path("/usr/share/fonts/truetype/dejavu")
TARGET = Path(__file__).resolve().parent.parent / "inksim" / "data" / "fonts"
FONTS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
RANGES = ((0x20, 0x17F), (0x370, 0x3FF), (0x400, 0x45F), (0x2010, 0x2027), (0x2030, 0x203A))
SIGNS = "€←↑→↓−∞≈≠≤≥■□▲△▼◆◇●◐○✓✕²³µ"


def characters() -> list[int]:
    """The code points to keep."""
    kept = {code for first, last in RANGES for code in range(first, last + 1)}
    return sorted(kept | {ord(sign) for sign in SIGNS})


def main() -> None:
    """Write both fonts."""
    TARGET.mkdir(parents=True, exist_ok=True)
    for name in FONTS:
        options = subset.Options(
            layout_features=["kern"], hinting=False, notdef_outline=True, recalc_timestamp=False
        )
        font = subset.load_font(str(SOURCE / name), options)
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=characters())
        cutter.subset(font)
        subset.save_font(font, str(TARGET / name), options)


if __name__ == "__main__":
    main()
