"""What every page stands in: its look, the shop it works on, errors in words, cautions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from importlib import import_module

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from inksim.common import InksimError, ShopFaults, counted
from inksim.reports import cautions_for
from inksim.shop import Shop, next_step
from inksim.ui import cache, current_job, demo_look, first_screen
from inksim.ui.changes import locked_reason
from inksim.ui.parts.keys import keys
from inksim.ui.progress import Stopped, set_place
from inksim.ui.style import STYLE, note, plain, points, show

GOING_ON = "first run goes on"
"""In a session that fills an empty shop, until it says that it is done."""
FIRST_RUN = "'Show a client' fills an empty shop in three steps; this page adds anything, too."


def set_up() -> None:
    """Settings of the browser page and the look; first thing in the entry script."""
    st.set_page_config(page_title="inksim", layout="wide", initial_sidebar_state="collapsed")
    show(STYLE)
    show(first_screen.STYLE)
    keys()


def phone_navigation(pages: Sequence[StreamlitPage]) -> None:
    """Links to all pages on a narrow screen, where Streamlit folds its own away."""
    with st.container(key="phone-nav", horizontal=True, gap="small"):
        for page in pages:
            st.page_link(page, label=page.title, width="content")
    set_place()


def with_shop(body: Callable[[Shop], None]) -> Callable[[], None]:
    """A page over the open shop; what a person can mend is said in words, without a traceback.

    A shop that has nothing to print with yet is filled instead, or told what to add.
    """
    return _over_shop(body, stocked=True)


def with_any_shop(body: Callable[[Shop], None]) -> Callable[[], None]:
    """A page as `with_shop` makes it, that a shop without entries has too."""
    return _over_shop(body, stocked=False)


def _over_shop(body: Callable[[Shop], None], *, stocked: bool) -> Callable[[], None]:
    @wraps(body)
    def page() -> None:
        try:
            shop = cache.open_shop()
        except ShopFaults as faults:
            _show_faults(faults)
            return
        except InksimError as error:
            st.error(plain(f"The shop cannot be opened: {error}"))
            return
        demo_look.banner()
        step, mine = next_step(shop), not locked_reason(shop)
        first_run = stocked and mine and (step or GOING_ON in st.session_state)
        if step and not first_run:
            st.info(plain(f"{step} {FIRST_RUN if mine else ''}"))
            if stocked:
                demo_look.offer()
                _foot(shop)
                return
        current_job.key_asked()
        try:
            if first_run:
                import_module("inksim.ui.pages.first_run").guide(shop)
            else:
                body(shop)
        except InksimError as error:
            st.error(plain(str(error)))
        except Stopped:
            pass
        _foot(shop)
        current_job.to_address()

    # Streamlit calls a page without arguments, and looks at the signature it finds.
    del page.__wrapped__
    return page


def _show_faults(faults: ShopFaults) -> None:
    """List every fault of the shop's files, so that a person mends them in one go."""
    count = len(faults.faults)
    st.error(
        plain(
            f"The shop's files have {counted(count, 'fault')}. Mend "
            f"{'it' if count == 1 else 'them'} in {cache.shop_folder()} and reload this page."
        )
    )
    points(faults.faults)


def _foot(shop: Shop) -> None:
    """The cautions of the garments chosen, and whose numbers these are."""
    chosen = {st.session_state.get("garment"), *(st.session_state.get("garments") or ())}
    garments = [garment for name, garment in shop.garments.items() if name in chosen]
    with st.expander("Before you print: cautions"):
        points(cautions_for(garments))
    invented = " Its inks, garments and readings are invented." if shop.invented else ""
    press = "calibrated" if shop.press.calibrated else "not calibrated to its own prints yet"
    note(f"Shop: {shop.name}.{invented} Press: {shop.press.name}, {press}.")
