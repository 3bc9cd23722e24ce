"""Decide about the base: one ink, one garment, one target; verdict first, then reasons."""

from __future__ import annotations

from html import escape

import streamlit as st

from inksim.appearance import Viewing
from inksim.decide import Advice, RouteResult, advise
from inksim.predict import honest_words
from inksim.preview_files import ROUTE_TITLES
from inksim.shop import Shop
from inksim.ui import pickers
from inksim.ui.charts import spectrum_chart
from inksim.ui.frame import with_shop
from inksim.ui.look import band, readable_on, verdict

VERDICT_WORDS = {
    "straight": "No base needed: print straight on the cloth.",
    "discharge-base": "Print over a discharge base.",
    "white-base": "Print over a white base.",
    "none": "No build of this ink reaches the target.",
}


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    st.title("Decide about the base")
    left, middle, right = st.columns([2, 2, 3])
    inks = [ink.name for ink in shop.inks.values() if ink.kind == "colour"]
    targets = [*shop.targets, *(name for name in shop.palette if name not in shop.targets)]
    ink = left.selectbox("Ink", inks, key="ink", bind="query-params", persist_state="session")
    target = middle.selectbox(
        "Target: a name, #rrggbb, or L, a, b under D50",
        targets,
        key="target",
        accept_new_options=True,
        bind="query-params",
        persist_state="session",
    )
    with right:
        viewing = pickers.light()
    tolerance = st.slider(
        "Tolerance, ΔE00", 0.5, 10.0, float(shop.habits.tolerance_de00), 0.25,
        key="tolerance", bind="query-params", persist_state="session",
    )  # fmt: skip
    garment = pickers.garment(shop, default="Coal Black", viewing=viewing)
    advice = advise(
        shop,
        garment=shop.garment(garment),
        ink=shop.ink(str(ink)),
        target=shop.target(str(target)),
        tolerance=tolerance,
        viewing=viewing,
    )
    verdict(VERDICT_WORDS[advice.verdict], advice.reasons[0] if advice.reasons else "")
    st.markdown("\n".join(f"- {reason}" for reason in advice.reasons[1:]))
    _routes(advice, shop=shop, garment=garment, viewing=viewing)
    _spectra(advice, shop=shop, garment=garment, viewing=viewing)


def _routes(advice: Advice, *, shop: Shop, garment: str, viewing: Viewing) -> None:
    """The three routes as swatches on the cloth, the target beside each."""
    cloth = pickers.cloth_hex(shop, garment, viewing)
    asked, _ = advice.target.hex()
    for column, result in zip(st.columns(len(advice.routes)), advice.routes, strict=True):
        with column:
            st.subheader(ROUTE_TITLES[result.route])
            st.html(_card(result, cloth=cloth, asked=asked))
            if result.best is None:
                st.caption(f"Not possible: {result.why_not}.")
                continue
            interval = result.best.interval
            st.markdown(
                f"{'● Lands' if result.within else '✕ Misses'}, **ΔE00 "
                f"{result.best.delta_e_2000:.1f}**"
            )
            if interval is not None and interval.within is not None:
                st.caption(
                    f"90 % of such prints: ΔE00 {interval.de_low:.1f} to {interval.de_high:.1f}; "
                    f"chance of landing {interval.within:.0%}."
                )
            st.caption(f"{result.best.words}. {honest_words(result.best.data)}")


def _card(result: RouteResult, *, cloth: str, asked: str) -> str:
    """Target and print touching, on the cloth, with the band of what may come out."""
    best = result.best
    shown = best.hex if best is not None else cloth
    pads = "".join(
        f'<i style="background:{escape(code)};color:{readable_on(code)}">{words}</i>'
        for code, words in ((asked, "target"), (shown, "print" if best else "no print"))
    )
    may_be = band(best.interval.hexes, label="may come out as") if best and best.interval else ""
    return (
        f'<div class="ink-card"><div class="cloth" style="background:{escape(cloth)}">'
        f'<div class="pads">{pads}</div>{may_be}</div></div>'
    )


def _spectra(advice: Advice, *, shop: Shop, garment: str, viewing: Viewing) -> None:
    """Reflectance of the cloth and of each route's best print."""
    lines = {
        garment: (shop.garment(garment).reflectance, pickers.cloth_hex(shop, garment, viewing))
    }
    for result in advice.routes:
        if result.best is not None:
            lines[ROUTE_TITLES[result.route]] = (result.best.reflectance, result.best.hex)
    if advice.target.reflectance is not None:
        lines["Target"] = (advice.target.reflectance, advice.target.hex()[0])
    st.subheader("Spectra")
    st.altair_chart(spectrum_chart(lines), width="stretch", theme=None)
