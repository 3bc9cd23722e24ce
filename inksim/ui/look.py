"""The look: neutral grey, color only in swatches, marks by shape and word; HTML escaped here."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

import streamlit as st

from inksim.appearance import decode_srgb, rgb8_from_hex

STYLE = """
<style>
.block-container { padding-top: 4.2rem; max-width: 1560px; }
[data-testid="stCaptionContainer"], [data-testid="stCaptionContainer"] p,
[data-testid="stWidgetLabel"] p { color: #333; }
h1 { font-size: 1.9rem !important; letter-spacing: -0.01em; }
h2 { font-size: 1.35rem !important; }
h3 { font-size: 1.1rem !important; }
[data-testid="stImage"] img { border-radius: 2px; width: 100%; }
.ink-verdict { border-left: 10px solid #1a1a1a; background: #dcdcdc; color: #1a1a1a;
  padding: .75rem 1.1rem; font-size: 1.25rem; line-height: 1.4; }
.ink-verdict small { display: block; font-size: 1rem; }
.ink-pair { display: flex; flex-wrap: wrap; gap: .25rem .9rem; align-items: center;
  margin: .3rem 0; color: #1a1a1a; }
.ink-pair i { display: inline-block; width: 3rem; height: 2.2rem; }
.ink-pair span.two { display: inline-flex; }
.ink-card { padding: 1.4rem 1.2rem; }
.ink-card .cloth { padding: 1.5rem 1.4rem; }
.ink-card .pads { display: flex; height: 7rem; }
.ink-card .pads > i { flex: 1; display: flex; align-items: flex-end; padding: .3rem .5rem;
  font-style: normal; font-size: .85rem; }
.ink-band { display: flex; height: 1.7rem; margin-top: .5rem; }
.ink-band > i { flex: 1; }
.ink-scroll { overflow-x: auto; }
table.ink-map { border-collapse: separate; border-spacing: 3px; color: #1a1a1a; }
table.ink-map th { font-weight: 600; text-align: left; padding: .25rem .5rem; font-size: .9rem; }
table.ink-map th[scope=row] { position: sticky; left: 0; background: #c6c6c6; z-index: 1; }
table.ink-map th i { display: inline-block; width: 1.5rem; height: 1.5rem; margin-right: .5rem;
  vertical-align: middle; }
table.ink-map td { padding: .45rem; min-width: 7.2rem; vertical-align: top; }
table.ink-map td i { display: block; height: 2.6rem; }
table.ink-map td span { display: block; background: #dcdcdc; padding: .15rem .35rem;
  font-size: .82rem; margin-top: .35rem; white-space: nowrap; }
</style>
"""

MARK_SHAPES = {"lands": "●", "needs a base": "◐", "out of reach": "✕"}
"""Each mark is a shape and a word, never a color alone."""


def readable_on(code: str) -> str:
    """Black or white, whichever reads better on a color (WCAG relative luminance)."""
    red, green, blue = (float(v) for v in decode_srgb(rgb8_from_hex(code) / 255.0))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return "#000000" if (luminance + 0.05) / 0.05 >= 1.05 / (luminance + 0.05) else "#ffffff"


def key_of(name: str) -> str:
    """A name as it may stand in a style's class."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def verdict(headline: str, detail: str = "") -> None:
    """The answer, first and large."""
    more = f"<small>{escape(detail)}</small>" if detail else ""
    st.html(f'<div class="ink-verdict" role="status">{escape(headline)}{more}</div>')


def picture(png: bytes, *, alt: str) -> None:
    """The one way a picture reaches a page: PNG, already at its size, with words for who can't see.

    The bytes are passed through as they are: Streamlit would shrink anything wider than 1460 px in
    code values, and would make a JPEG of it by itself.
    """
    st.image(png, output_format="PNG", width="stretch", alt=alt)


def pair(asked: str, predicted: str, words: str) -> str:
    """Two touching patches, asked for and predicted, and a few words."""
    return (
        f'<div class="ink-pair"><span class="two" role="img" aria-label="asked for {escape(asked)},'
        f' predicted {escape(predicted)}"><i style="background:{escape(asked)}"></i>'
        f'<i style="background:{escape(predicted)}"></i></span>'
        f"<span>{escape(words)}</span></div>"
    )


def band(codes: Iterable[str], *, label: str) -> str:
    """How far a print may stray, as swatches side by side."""
    patches = "".join(f'<i style="background:{escape(code)}"></i>' for code in codes)
    return f'<div class="ink-band" role="img" aria-label="{escape(label)}">{patches}</div>'
