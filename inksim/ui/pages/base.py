"""Base page: verdict and reasons for one ink on one garment against one target."""

from __future__ import annotations

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, visible
from inksim.decision import Advice, advise, route_headline
from inksim.printing import honest_words, under_lights
from inksim.shop import Shop
from inksim.ui import job_bar, pickers
from inksim.ui.charts import spectrum_chart
from inksim.ui.page_frame import with_shop
from inksim.ui.pages import base_builds
from inksim.ui.pages.base_design import whole_design
from inksim.ui.parts.route_cards import route_cards
from inksim.ui.style import (
    note,
    pads,
    points,
    table,
    verdict,
)

ONE_INK, DESIGN = "One ink", "The whole design"


@with_shop
def page(shop: Shop) -> None:
    """Draw the page that decides about the base."""
    job, row, bar = job_bar.top(shop, "Decide about the base")
    with row:
        about = st.segmented_control(
            "For",
            (ONE_INK, DESIGN),
            default=DESIGN if job is None or job.kept else ONE_INK,
            required=True,
            key="about",
            bind="query-params",
            persist_state="session",
        )
    if about == ONE_INK:
        _one_ink(shop)
    elif job is not None:
        whole_design(job, bar)


def _one_ink(shop: Shop) -> None:
    """One ink on one garment against one target."""
    said = st.container()  # the answer stands first, on a phone too
    inks = [ink.name for ink in shop.colour_inks]
    targets = [*shop.targets, *(name for name in shop.palette if name not in shop.targets)]
    left, middle, right = st.columns(3)
    ink = left.selectbox("Ink", inks, key="ink", bind="query-params", persist_state="session")
    target = middle.selectbox(
        "Target: a name, #rrggbb, or L, a, b (D50)",
        targets,
        key="target",
        accept_new_options=True,
        bind="query-params",
        persist_state="session",
    )
    with right:
        tolerance = pickers.tolerance(shop)
    swatches = st.container()
    viewing = pickers.light(shop)
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
    advice = advise(
        shop,
        garment=shop.garment(garment),
        ink=shop.ink(str(ink)),
        target=shop.target(str(target)),
        tolerance=tolerance,
        viewing=viewing,
    )
    with said:
        asked = f"{ink} on {garment}, for {advice.target.name}."
        headline = route_headline(advice.route, advice.verdict, tolerance=tolerance)
        verdict(
            headline,
            " ".join([pickers.seen_under(shop, viewing), asked, *advice.reasons[:1]]).strip(),
        )
    if advice.reasons[1:]:
        points(advice.reasons[1:])
    route_cards(advice, shop=shop, garment=garment, viewing=viewing)
    _honest(advice, shop=shop)
    pickers.light_note(viewing)
    job: base_builds.Question = {
        "garment": shop.garment(garment),
        "ink": shop.ink(str(ink)),
        "target": advice.target,
        "tolerance": tolerance,
        "viewing": viewing,
    }
    trying, every, lights, physics = st.tabs(
        ["Try a build", "All builds", "Other lights", "Spectra and films"]
    )
    with trying:
        base_builds.try_one(shop, advised=advice.route, **job)
    with every:
        base_builds.show_all(shop, said=_advised(advice), **job)
    with lights:
        _lights(advice)
    with physics:
        _spectra(advice, shop=shop, garment=garment, viewing=viewing)


def _advised(advice: Advice) -> str:
    """The route advised and its verdict, for a chart's text."""
    return f"{ROUTE_TITLES[advice.route]}, {advice.verdict.short}"


def _honest(advice: Advice, *, shop: Shop) -> None:
    said = honest_words(advice.best.data, calibrated=shop.press.calibrated)
    note(f"{said} Compared under {advice.best.viewing}.")
    if advice.best.assumed:
        note(f"{advice.best.assumed}.")


def _lights(advice: Advice) -> None:
    """The advised print and its target under other lights."""
    rows = []
    read = advice.target.reflectance is not None
    words = {viewing.light: f"{light}, " for light, viewing in pickers.LIGHTS.items()}
    for seen in under_lights(advice.best.reflectance, target=advice.target):
        asked, _ = advice.target.hex(seen.viewing)
        rows.append(
            [
                pads([(asked, ""), (seen.hex, "")], label=f"target {asked}, print {seen.hex}"),
                f"{words.get(seen.viewing.light, '')}{seen.viewing}",
                f"{seen.delta_e_2000:.1f}",
                f"{seen.delta_e_cmc:.1f}",
                *([] if seen.metamerism is None else [f"{seen.metamerism:.1f}"]),
                f"{seen.inconstancy:.1f}",
            ]
        )
    index = ("Metamerism (CIE 15), ΔE00",) if read else ()
    head = ("Target, print", "Light and observer", "ΔE00", "CMC(2:1)", *index,
            "Print's own shift, ΔE00")  # fmt: skip
    table(head, rows, label="Under other lights")
    note(
        f"{ROUTE_TITLES[advice.route]}: {advice.best.words}. "
        + ("" if read else "No index of metamerism: the target was not read as a spectrum, and is "
           "taken to look alike under every light.")
    )  # fmt: skip


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
    for result in advice.routes:
        if result.best is not None:
            note(f"{ROUTE_TITLES[result.route]}: {base_builds.film_words(result.best)}")
    st.altair_chart(
        spectrum_chart(lines), width="stretch", theme=None,
        alt=visible(
            "Reflectance by wavelength of the cloth and of each route's print; advised: "
            f"{_advised(advice)}"
        ),
    )  # fmt: skip
