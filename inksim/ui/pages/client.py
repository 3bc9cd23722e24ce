"""Show a client: the artwork as it is decided to print on a chosen garment."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_SHORT, counted, slug
from inksim.job import Plan, told
from inksim.preview import ArtworkResult, PreparedArtwork, against_drawn, png_bytes
from inksim.printing import honest_words
from inksim.reports import Proof, headline, proof_pdf, proof_picture
from inksim.shop import Shop
from inksim.ui import artwork_choice, cache, pickers
from inksim.ui.download import offer
from inksim.ui.page_frame import with_shop
from inksim.ui.pages import client_tonal, client_tonal_views, client_views
from inksim.ui.parts.route_views import choose_view
from inksim.ui.proofs import issued_here
from inksim.ui.style import band, note, pads, table, verdict


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        st.title("Show a client", width="content")
        upload = artwork_choice.choose_artwork()
    art = cache.ready(upload)
    tonal = art.flats.tonal
    # Places in the order of reading; the light is asked first, and stands under the answer.
    swatches, said, options = (st.container() for _ in range(3))
    with options.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        views, key = (
            (client_tonal_views.VIEWS, "view-tonal") if tonal else (client_views.VIEWS, "view")
        )
        looked_at = choose_view(views, key=key)
        viewing = pickers.light()
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
    if tonal:
        words = client_tonal.tonal(
            art, upload, shop=shop, garment=garment, viewing=viewing, looked_at=looked_at
        )
        with said:
            verdict(*words)
    else:
        _flat(art, shop=shop, garment=garment, viewing=viewing, looked_at=looked_at, said=said)
    _about(art)


def _flat(
    art: PreparedArtwork,
    *,
    shop: Shop,
    garment: str,
    viewing: Viewing,
    looked_at: str,
    said: DeltaGenerator,
) -> None:
    """Flat artwork: what is decided, color by color; then what one route alone would be."""
    if artwork_choice.prints_nothing(art):
        with said:
            verdict(f"Nothing is printed on {garment}.", "Every color is left bare by hand.")
        artwork_choice.choose_inks(art, [None] * len(art.flats.colours), shop=shop)
        return
    found = cache.answered(
        art,
        shop=shop,
        garment=garment,
        viewing=viewing,
        tolerance=shop.habits.tolerance_de00,
        inks=artwork_choice.inks_by_hand(art),
        keep_apart=artwork_choice.kept_apart(art),
    )
    way = found.decided.way
    with said:
        more = " ".join(told(found.decided.found, way)) if way else ""
        verdict(headline(found.decided.found), more)
    client_views.view(looked_at, art, found, shop=shop, viewing=viewing)
    if way is not None:
        if way.printed:
            _take_away(art, found, shop=shop, viewing=viewing)
        _colors(found, viewing, calibrated=shop.press.calibrated)
    artwork_choice.choose_apart(art, found.plans)
    if way is not None:
        client_views.compared(art, found, shop=shop, viewing=viewing)
        client_views.too_fine(art, found, viewing=viewing)
    artwork_choice.choose_inks(art, found.plans, shop=shop)


def _take_away(art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing) -> None:
    """The proof sheet, made when it is asked for."""
    proof = Proof(ready=art, answer=found, shop=shop, viewing=viewing, made=date.today())
    name = f"proof-{slug(Path(art.name).stem)}-{slug(found.garment.name)}"
    with st.container(horizontal=True):
        offer(
            "Proof sheet to sign (PDF)",
            lambda: proof_pdf(issued_here(proof)),
            file=f"{name}.pdf",
            first=True,
        )
        offer(
            "Proof as a picture (PNG)",
            lambda: png_bytes(proof_picture(issued_here(proof))),
            file=f"{name}.png",
        )


def _colors(found: ArtworkResult, viewing: Viewing, *, calibrated: bool) -> None:
    """Each color as decided: asked for, predicted, and how far it may stray."""
    st.header("Color by color")
    table(
        ("Artwork, print", "May come out as", "Ink", "Printed", "Verdict", "Expect",
         "Chance to land", "Against the artwork", "Data"),
        [_color_row(plan, viewing) for plan in found.plans if plan is not None],
        label="Color by color",
    )  # fmt: skip
    note(
        f"Compared under {viewing}, ΔE00. The band shows 9 prints in 10: nearest, middle and "
        "furthest from the artwork. "
        f"{honest_words(found.decided.data, calibrated=calibrated)}"
    )
    pickers.light_note(viewing)


def _color_row(plan: Plan, viewing: Viewing) -> list[str]:
    prediction, ink = plan.prediction, plan.build.ink
    asked, _ = plan.colour.target.hex(viewing)
    where = ROUTE_SHORT[plan.build.route]
    printed = f"{where}, as {plan.merged}" if plan.merged else where
    return [
        pads(
            [(asked, ""), (prediction.hex, "")],
            label=f"asked for {asked}, predicted {prediction.hex}",
        ),
        band(plan.interval.hexes),
        ink.name if ink else "none",
        printed,
        plan.verdict.mark if ink else "the cloth itself",
        plan.verdict.expected,
        plan.verdict.percent if ink else "–",
        against_drawn(plan),
        prediction.data,
    ]


def _about(art: PreparedArtwork) -> None:
    """Size and what reading the file has to say."""
    kind = "tonal" if art.flats.tonal else counted(len(art.flats.colours), "flat color")
    note(
        f"{art.name}: {art.width_mm / MM_PER_INCH:.1f} × {art.height_mm / MM_PER_INCH:.1f} in "
        f"({art.width_mm:.0f} × {art.height_mm:.0f} mm), {kind}. "
        "To share what you see, copy this page's address: it holds garment, light and view, and no "
        "artwork."
    )
    for said in art.notes:
        note(said)
