"""Page style: neutral gray, color only in swatches, marks by shape and word. Escapes HTML."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import nullcontext
from typing import Literal

import streamlit as st

from inksim.colour import readable_on
from inksim.common import Markup, escape, markdown as plain, visible
from inksim.decision import SHAPES, Verdict
from inksim.printing import Interval

__all__ = ["plain"]
STYLE = Markup("""
<style>
.stMain .block-container { padding: 3.6rem clamp(1rem, 3vw, 3rem) 2rem; max-width: 1560px; }
h1, h2, h3 { font-family: "Source Serif", Georgia, serif !important; font-weight: 600 !important; }
h1 { font-size: 1.75rem !important; padding: 0 0 .3rem !important; }
h2 { font-size: 1.08rem !important; padding: .2rem 0 .35rem !important; }
h3 { font-size: 1rem !important; padding: 0 0 .25rem !important; }
[data-testid="stCaptionContainer"] { opacity: 1; color: #333; }
[data-testid="stWidgetLabel"] p { color: #333; }
[data-testid="stImage"] img { border-radius: 0; }
/* A box is as gray as the page; its edge says whether it is a fault, a caution or news. */
[data-testid="stAlertContainer"] { border-radius: 0; border-left: .3rem solid #6a6a6a; }
[data-testid="stAlertContainer"]:has([data-testid="stAlertContentError"]) {
  border: 2px solid #1a1a1a; border-left-width: .6rem; }
[data-testid="stAlertContainer"]:has([data-testid="stAlertContentWarning"]) {
  border: 2px dashed #1a1a1a; border-left-width: .6rem; }
/* Of several choices the chosen one is the darkest. */
[data-variant="segmented_control"]:is([aria-checked="true"], [aria-pressed="true"]) {
  background: #1a1a1a !important; }
[data-variant="segmented_control"]:is([aria-checked="true"], [aria-pressed="true"]) p {
  color: #f4f4f4 !important; }
[role="tab"] p { color: #4a4a4a; }
[role="tab"][aria-selected="true"] p { color: #1a1a1a; font-weight: 700; }
/* A link to each heading would be one more stop on the way of the Tab key. */
[data-testid="stHeaderActionElements"] { display: none; }
[data-testid="stFileUploaderDropzone"] span { color: #1a1a1a; }
.st-key-panels [data-testid="stColumn"],
.st-key-panels-begun [data-testid="stColumn"] { min-width: min(15rem, calc(50% - 1rem)); }
:focus-visible { outline: 3px solid #1a1a1a !important; outline-offset: 2px; }

.st-key-keys, [class*="st-key-in-view"] { display: none; }

.verdict { border-left: .6rem solid #1a1a1a; background: #e0e0e0; color: #1a1a1a;
  padding: .7rem 1.1rem; }
.verdict b { display: block; font: 600 1.35rem/1.3 "Source Serif", Georgia, serif; }
.verdict span { display: block; font-size: 1rem; line-height: 1.45; margin-top: .15rem; }

.mark { display: inline-block; background: #e0e0e0; color: #1a1a1a; padding: .12rem .5rem;
  font-size: .9rem; line-height: 1.35; }
.mark.met { background: #1a1a1a; color: #f4f4f4; }
.mark.half { background: #5a5a5a; color: #f4f4f4; }

.jobbar { display: flex; gap: .8rem; align-items: center; color: #1a1a1a; }
.jobbar img { width: 3.6rem; height: 3.6rem; object-fit: contain; background: #d4d4d4;
  flex: none; }
.jobbar i { font-style: normal; font-size: .75rem; border: 1px solid #333; padding: 0 .35rem; }
.jobbar span { display: block; font-size: .9rem; line-height: 1.4; }

/* A piece of cloth with what is printed on it; the stitched edge tells cloth from print. */
.cloth { position: relative; padding: 1.1rem; }
.cloth::after { content: ""; position: absolute; inset: .35rem; pointer-events: none;
  border: 1px dashed var(--thread); }
.pads { display: flex; height: 6.5rem; }
.pads i { flex: 1; display: flex; align-items: flex-end; padding: .25rem .5rem;
  font-style: normal; font-size: .85rem; }
.pads.low { height: 1.6rem; margin-top: .5rem; }

/* A row becomes a card where the table is too wide; one of two columns never is. */
@media (max-width: 640px) {
  table.cards thead { position: absolute; clip-path: inset(50%); }
  table.cards tr { display: grid; grid-template-columns: 1fr 1fr; gap: .2rem .8rem;
    border-top: 1px solid #8a8a8a; padding: .5rem 0; }
  table.cards tr td { border: 0; padding: 0; }
  table.cards td:is([data-label="Why"], [data-label="Note"], [data-label="Where from"],
    [data-label="Asks"], [data-label="Parameter"], [data-label="What"],
    [data-label="Build"]) { grid-column: 1 / -1; }
  table.cards tr td[data-label]::before { content: attr(data-label); display: block;
    font-size: .75rem; color: #333; }
  table.colors:not(.cards) :is(td, th) { padding: .35rem .3rem; }
  .st-key-garment [data-variant], .st-key-garments [data-variant] { padding: 0 .45rem;
    min-height: 2.5rem !important; font-size: .85rem; }
  [data-testid="stHeader"] { display: none; }
  .stMain .block-container { padding-top: 1rem; }
  [data-testid="stHeading"]:has(h1) { margin-bottom: -1.3rem; }
  .cloth { padding: .8rem; } .cloth .pads { height: 4.6rem; } .cloth .pads.low { height: 1.3rem; }
}
@media (min-width: 641px) { .st-key-phone-nav { display: none !important; } }

table.colors { border-collapse: collapse; color: #1a1a1a; width: 100%; }
table.colors th { text-align: left; font-size: .85rem; font-weight: 600; padding: .2rem .8rem; }
table.colors td { padding: .35rem .8rem; border-top: 1px solid #8a8a8a; font-size: .95rem; }
table.colors .pads { height: 2.4rem; min-width: 6rem; margin: 0; }
.scroll { overflow-x: auto; }
</style>
""")


def show(html: Markup) -> None:
    """Show HTML, all of it of our own making."""
    st.html(html)


def note(text: str) -> None:
    """Show a caption."""
    st.caption(plain(text))


def points(lines: Iterable[str]) -> None:
    """Show a bulleted list."""
    st.markdown("\n".join(f"- {plain(line)}" for line in lines))


def verdict(headline: str, detail: str = "") -> None:
    """Show the answer as a headline in a box."""
    more = f"<span>{escape(detail)}</span>" if detail else ""
    show(Markup(f'<div class="verdict" role="status"><b>{escape(headline)}</b>{more}</div>'))


def mark(words: str, *, shape: str) -> Markup:
    """Badge: dark with ●, half dark with ◐, light with any other shape."""
    shade = {"●": " met", "◐": " half"}.get(shape, "")
    return Markup(f'<span class="mark{shade}">{escape(shape)} {escape(words)}</span>')


def verdict_mark(said: Verdict) -> Markup:
    """Badge of a verdict: its shape, its word and what to expect."""
    return mark(said.short, shape=SHAPES[said.word])


def picture(
    png: bytes, *, alt: str, told: tuple[str, str] | None = None, life_size: bool = False
) -> None:
    """Show a PNG at its own size, with alt text; told: words and shape of its mark, said there too.

    The bytes are passed through as they are: Streamlit would shrink anything wider than 1460 px in
    code values, and would make a JPEG of it by itself.
    """
    wide: Literal["content", "stretch"] = "content" if life_size else "stretch"
    words = visible(f"{alt}; {told[0]}" if told else alt)
    with st.container(gap=None, width=wide) if told else nullcontext():
        st.image(png, output_format="PNG", width=wide, alt=words)
        if told:
            show(mark(told[0], shape=told[1]))


def pads(colours: Iterable[tuple[str, str]], *, label: str, low: bool = False) -> Markup:
    """Adjacent swatches, left to right: (hex code, label) each."""
    inner = "".join(
        f'<i style="background:{escape(code)};color:{readable_on(code)}">{escape(words)}</i>'
        for code, words in colours
    )
    low_class = " low" if low else ""
    return Markup(
        f'<div class="pads{low_class}" role="img" aria-label="{escape(label)}">{inner}</div>'
    )


def band(codes: Iterable[str]) -> Markup:
    """Swatches of the 90 % interval: nearest, middle, furthest."""
    shown = list(codes)
    label = f"may come out from {shown[0]} over {shown[1]} to {shown[-1]}"
    return pads([(code, "") for code in shown], label=label, low=True)


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, label: str) -> None:
    """Table; rows become cards on a narrow screen. A cell is text, or `Markup`, such as `pads`."""
    kind = "colors" if len(head) == 2 else "colors cards"
    heads = "".join(f'<th scope="col">{escape(words)}</th>' for words in head)
    lines = []
    for row in rows:
        cells = "".join(
            f"<td>{each}</td>"
            if isinstance(each, Markup)
            else f'<td data-label="{escape(words)}">{escape(each)}</td>'
            for words, each in zip(head, row, strict=True)
        )
        lines.append(f"<tr>{cells}</tr>")
    made = (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(label)}">'
        f'<table class="{kind}"><thead><tr>{heads}</tr></thead><tbody>{"".join(lines)}</tbody>'
        "</table></div>"
    )
    show(Markup(made))


def on_cloth(inner: Markup, *, cloth: str) -> Markup:
    """HTML on a cloth-colored ground."""
    return Markup(
        f'<div class="cloth" style="background:{escape(cloth)};--thread:{readable_on(cloth)}">'
        f"{escape(inner)}</div>"
    )


def print_on_cloth(
    printed: str,
    interval: Interval | None = None,
    *,
    asked: str,
    cloth: str,
    word: str = "print",
    said: Verdict | None = None,
) -> Markup:
    """Target and print side by side on the cloth, with the band of the interval and the verdict."""
    label = f"target {asked}, {word} {printed}" + (f"; {said.short}" if said else "")
    swatches = pads([(asked, "target"), (printed, word)], label=label)
    shown = on_cloth(Markup(swatches + (band(interval.hexes) if interval else "")), cloth=cloth)
    return Markup(shown + verdict_mark(said)) if said else shown
