"""The app's entry script: `inksim app`, or `streamlit run app.py`. Lists the pages."""

from __future__ import annotations

import streamlit as st

from inksim.ui import base, client, frame, palette, shop_page

PAGES = [
    st.Page(client.page, title="Show a client", url_path="client", default=True),
    st.Page(base.page, title="Decide about the base", url_path="base"),
    st.Page(palette.page, title="Check a palette", url_path="palette"),
    st.Page(shop_page.page, title="The shop", url_path="shop"),
]

frame.set_up()
chosen = st.navigation(PAGES, position="top")
frame.phone_navigation(PAGES)
chosen.run()
