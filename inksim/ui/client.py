"""Show a client: the artwork as it would print on a chosen garment, by each route."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import streamlit as st

from inksim.appearance import Viewing
from inksim.preview_files import ROUTE_TITLES, slug
from inksim.proof import Proof, detail, headline, proof_pdf, proof_picture
from inksim.shop import Shop
from inksim.showing import Answer, Ready, png_bytes
from inksim.ui import client_views, kept, pickers
from inksim.ui.frame import with_shop
from inksim.ui.kept import Upload
from inksim.ui.look import band, note, pads, plain, table, verdict

UPLOADED, UPLOADER = "uploaded artwork", "artwork-file"
KINDS = ["png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp"]
BARE = "leave bare"


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        st.title("Show a client", width="content")
        upload = _artwork()
    # Places in the order of reading; the light is asked first, and stands under the answer.
    swatches, said, options = (st.container() for _ in range(3))
    with options.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        looked_at = client_views.choose()
        viewing = pickers.light()
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
    art = kept.ready(upload)
    found = kept.answered(
        art,
        shop=shop,
        garment=garment,
        viewing=viewing,
        tolerance=shop.habits.tolerance_de00,
        inks=_inks_by_hand(art),
    )
    with said:
        route = found.best.route
        verdict(headline(found, route), detail(found, route))
    client_views.view(looked_at, art, found, shop=shop, viewing=viewing)
    _take_away(art, found, shop=shop, viewing=viewing)
    _colors(found, viewing)
    _choose_inks(art, found, shop=shop)
    _about(art)


def _artwork() -> Upload:
    """The artwork uploaded in this session, or the demo's."""
    kept_upload: Upload | None = st.session_state.get(UPLOADED)
    shown = kept_upload or kept.demo_artwork()
    with st.popover(plain(f"Artwork: {shown.name}")):
        file = st.file_uploader(
            "Use another: PNG with transparency, at print size",
            type=KINDS,
            key=UPLOADER,
            on_change=_take,
        )
        # After a change of page the uploader is empty while its artwork is kept.
        if kept_upload is not None and file is None:
            st.button("Back to the demo artwork", on_click=_take)
    return shown


def _take() -> None:
    """Keep what the uploader holds now; nothing means the demo's artwork."""
    file = st.session_state.get(UPLOADER)
    if file is None:
        st.session_state.pop(UPLOADED, None)
        return
    data = file.getvalue()
    st.session_state[UPLOADED] = Upload(file.name, data, hashlib.sha256(data).hexdigest())


def _take_away(art: Ready, found: Answer, *, shop: Shop, viewing: Viewing) -> None:
    """The proof sheet, made when it is asked for."""
    proof = Proof(
        ready=art,
        answer=found,
        route=found.best.route,
        shop=shop,
        viewing=viewing,
        made=date.today(),
    )
    name = f"proof-{slug(Path(art.name).stem)}-{slug(found.garment.name)}"
    with st.container(horizontal=True):
        st.download_button(
            "Proof sheet to sign (PDF)",
            lambda: proof_pdf(proof),
            file_name=f"{name}.pdf",
            mime="application/pdf",
            on_click="ignore",
            type="primary",
        )
        st.download_button(
            "Proof as a picture (PNG)",
            lambda: png_bytes(proof_picture(proof)),
            file_name=f"{name}.png",
            mime="image/png",
            on_click="ignore",
        )


def _colors(found: Answer, viewing: Viewing) -> None:
    """Each color of the proposed route: asked for, predicted, and how far it may stray."""
    best = found.best
    st.header(f"Color by color, {ROUTE_TITLES[best.route].lower()}")
    rows = []
    for color in best.colours:
        prediction = color.prediction
        interval = prediction.interval
        rows.append(
            [
                pads(
                    [(color.asked, ""), (prediction.hex, "")],
                    label=f"asked for {color.asked}, predicted {prediction.hex}",
                ),
                band(interval.hexes) if interval else "",
                prediction.build.colour.ink.name,
                f"{'● lands' if color.lands else '✕ misses'}, ΔE00 {prediction.delta_e_2000:.1f}",
                color.words,
                f"{interval.within:.0%}" if interval and interval.within is not None else "",
            ]
        )
    head = ("Artwork, print", "May come out as", "Ink", "Verdict", "Against the artwork",
            "Chance to land")  # fmt: skip
    table(head, rows, label="Color by color")
    note(
        f"Compared under {viewing}, ΔE00. The band shows 9 prints in 10: nearest, middle and "
        "furthest from the artwork."
    )


def _inks_by_hand(art: Ready) -> dict[str, str]:
    """Inks chosen by hand for this artwork in this session, by hex code."""
    chosen: dict[str, str] = st.session_state.get(f"inks {art.sha256}", {})
    return chosen


def _choose_inks(art: Ready, found: Answer, *, shop: Shop) -> None:
    """Let the inks be chosen by hand; what is not chosen follows the nearest print."""
    names = [ink.name for ink in shop.inks.values() if ink.kind == "colour"]
    chosen = dict(_inks_by_hand(art))
    with st.expander("Choose the inks by hand"), st.container(horizontal=True):
        for each in found.assignments:
            code = each.flat.hex
            now = each.ink.name if each.ink else BARE
            st.selectbox(
                f"{code}, {each.flat.area_share:.0%} of the print",
                [*names, BARE],
                index=[*names, BARE].index(now),
                key=f"ink {art.sha256} {code}",
                on_change=_remember_ink,
                args=(art.sha256, code, chosen),
                width=240,
            )


def _remember_ink(sha256: str, code: str, chosen: dict[str, str]) -> None:
    ink = st.session_state[f"ink {sha256} {code}"]
    st.session_state[f"inks {sha256}"] = {**chosen, code: "none" if ink == BARE else ink}


def _about(art: Ready) -> None:
    """Size and what reading the file has to say."""
    note(
        f"{art.name}: {art.width_mm / 25.4:.1f} × {art.height_mm / 25.4:.1f} in "
        f"({art.width_mm:.0f} × {art.height_mm:.0f} mm), {len(art.flats.colours)} flat colors. "
        "To share what you see, copy this page's address: it holds garment, light and view, and no "
        "artwork."
    )
    for said in art.notes:
        note(said)
