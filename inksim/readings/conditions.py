"""Parse measurement conditions, which every vendor spells differently.

Each function answers None where the text says nothing certain, so that the caller can say so.
"""

from __future__ import annotations

import re

from inksim.colour import LIGHTS

GEOMETRIES = ("45:0", "d:8-sce", "d:8-sci")
M_CONDITIONS = ("M0", "M1", "M2", "M3")


def geometry_from(text: str) -> str | None:
    """Geometry in inksim's words: '45:0', 'd:8-sce', 'd:8-sci', or None if unclear.

    0:45 is taken as 45:0, which is the same by reciprocity. 'd:8' alone is unclear: the specular
    setting is what matters.
    """
    plain = re.sub(r"[\s°_]", "", text.lower())
    if re.search(r"(?<!\d)(45[acx]?[:/]0|0[:/]45)(?!\d)", plain):
        return "45:0"
    if re.search(r"sci\b|di[:/]8|spin|specularincluded|included", plain):
        return "d:8-sci"
    if re.search(r"sce\b|de[:/]8|spex|specularexcluded|excluded", plain):
        return "d:8-sce"
    return None


def m_condition_from(text: str) -> str | None:
    """ISO 13655 measurement condition 'M0'..'M3' named in the text, or None."""
    match = re.search(r"(?<![a-z0-9])m([0-3])(?![0-9])", text.lower())
    return f"M{match[1]}" if match else None


def light_from(text: str) -> str | None:
    """CIE illuminant named in the text, spelled as in `inksim.colour.LIGHTS`, or None."""
    upper = text.strip().upper()
    if "TL84" in upper:  # the trade name of the lamp that F11 describes
        return "F11"
    alone = re.fullmatch(r"(?:(?:CIE|STANDARD|ILLUMINANT|LIGHT)[\s,:=]*)*([AC])", upper)
    if alone:
        return alone[1]
    words = f"-{re.sub(r'[^A-Z0-9]+', '-', upper)}-"
    longest_first = sorted(LIGHTS, key=len, reverse=True)
    return next((name for name in longest_first if len(name) > 1 and f"-{name}-" in words), None)


def observer_from(text: str) -> int | None:
    """Observer named in the text: 2 (degrees; CIE 1931), 10 (CIE 1964), or None."""
    if re.search(r"1964|(?<![\w.])10(?:\.0+)?(?![\d.])", text):
        return 10
    if re.search(r"1931|(?<![\w.])2(?:\.0+)?(?![\d.])", text):
        return 2
    return None
