"""The app's entry script: `inksim app`, or `streamlit run app.py`. Lists the pages."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

import streamlit as st

from inksim.ui import page_frame


def page(module: str) -> Callable[[], None]:
    """A page that is loaded when it is first opened: nobody waits for the other three."""

    def run() -> None:
        import_module(f"inksim.ui.pages.{module}").page()

    return run


PAGES = [
    st.Page(page("client"), title="Show a client", url_path="client", default=True),
    st.Page(page("base"), title="Decide about the base", url_path="base"),
    st.Page(page("palette"), title="Check a palette", url_path="palette"),
    st.Page(page("shop"), title="The shop", url_path="shop"),
]

page_frame.set_up()
chosen = st.navigation(PAGES, position="top")
page_frame.phone_navigation(PAGES)
chosen.run()
