"""Characterize inks from drawdowns: read, fit, save."""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Mapping, Sequence
from datetime import date
from typing import Any

import streamlit as st

from inksim.common import InksimError, counted, file_name, temporary_folder
from inksim.drawdowns import (
    Characterisation,
    Drawdowns,
    fit_sheet,
    inks_drafted,
    read_drawdowns,
)
from inksim.readings import format_names, reading_suffixes
from inksim.shop import Shop, open_draft, save
from inksim.ui import cache, cached_results, changes
from inksim.ui.changes import Done, locked_reason
from inksim.ui.pages.shop_colour import ask_scale, stated_scale
from inksim.ui.pages.shop_drawdowns_shown import show_fit
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_new_inks import ask_of_inks, known_inks, may_replace
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import note, plain

STORED, PLACE = "drawdowns stored", "drawdowns"
KNOWN_BY = ("stated in the files, or not known", "dry, µm", "wet, µm")
HELP = (
    "A row for each film and for each bare part of the card, with the spectrum and the columns "
    "ink (a name, or a recipe such as Ember 10 % + Chalk 90 %), backing (black, white, or a bare "
    "card's row) and, where known, thickness_um. All inks are fitted at once. A masstone and one "
    "tint in white, over black and over white, are a good start."
)


def from_drawdowns(shop: Shop) -> None:
    """Draw the part of the inks tab that characterizes inks from drawdowns."""
    with st.expander("Find inks from drawdowns"):
        said_here(shop, PLACE)
        note(HELP)
        files = st.file_uploader(
            f"Readings: {format_names()}",
            type=reading_suffixes(),
            accept_multiple_files=True,
            key="drawdowns",
        )
        left, middle, right = st.columns(3)
        how = left.selectbox("Film thickness", KNOWN_BY, key="drawdown-how")
        film_um = middle.number_input("of every film, µm", 0.5, 500.0, 50.0, key="drawdown-film")
        ask_scale("drawdown-scale", place=left)
        solids = right.number_input("Solids of new inks, % by volume", 1.0, 100.0, 34.0, key="dd-s")
        if not files:
            return
        given = tuple((file.name, file.getvalue()) for file in files)
        try:
            sheet, mark = _read(given, scale=stated_scale("drawdown-scale"))
            stated = ask_of_inks(shop, sheet.inks)
            fitted = _fitted(
                shop, sheet, mark, how=str(how), film_um=film_um, solids=solids / 100,
                densities=stated["density_g_cm3"],
            )  # fmt: skip
        except InksimError as error:
            st.error(plain(str(error)))
            return
        show_fit(sheet, fitted)
        if why := locked_reason(shop):
            note(f"Not saved: {why}")
            return
        if st.session_state.get(STORED) == (mark, open_draft(shop.folder, "ink").before):
            note(f"{', '.join(sheet.inks)}: stored as above.")
            return
        anyway = bool(fitted.check and not fitted.check.is_good) and st.checkbox(
            "Save all the same, with wider errors", key="drawdown-anyway"
        )
        if not may_replace(known_inks(shop, sheet.inks)):
            return
        if fitted.check and not (fitted.check.is_good or anyway):
            return
        st.button(
            f"Save {counted(len(sheet.inks), 'ink')} to the shop",
            type="primary",
            on_click=do,
            args=(
                lambda: _saved(
                    shop, sheet, fitted, mark, stated=stated, solids=solids / 100, anyway=anyway
                ),
                "", None, f"{PLACE} save",
            ),
        )  # fmt: skip
        changes.say_what_was_done(f"{PLACE} save")


def _read(given: Sequence[tuple[str, bytes]], *, scale: str | None) -> tuple[Drawdowns, Hashable]:
    """The sheet in the files, read once, and what it is known by."""
    digest = hashlib.sha256(b"".join(name.encode() + data for name, data in given)).hexdigest()

    def read() -> Drawdowns:
        with temporary_folder() as folder:
            paths = []
            for at, (name, data) in enumerate(given):  # two of one name are two
                place = folder / str(at)
                place.mkdir()
                paths.append(place / file_name(name))
                paths[-1].write_bytes(data)
            return read_drawdowns(paths, scale=scale)

    mark = ("drawdowns", digest, scale)
    return cached_results.fitted(mark, read), mark


def _fitted(
    shop: Shop,
    sheet: Drawdowns,
    mark: Hashable,
    *,
    how: str,
    film_um: float,
    solids: float,
    densities: Mapping[str, float],
) -> Characterisation:
    """Fit, once for the same sheet and statements."""

    def fit() -> Characterisation:
        own = {n: shop.inks[n].density_g_cm3 for n in sheet.inks if n in shop.inks}
        return fit_sheet(
            sheet,
            solids={name: _solids(shop, name, solids) for name in sheet.inks},
            densities={**own, **densities},
            thickness_um=film_um if how == KNOWN_BY[1] else None,
            wet_film_um=film_um if how == KNOWN_BY[2] else None,
        )

    film = None if how == KNOWN_BY[0] else film_um
    key = (mark, cache.shop_key(shop), how, film, solids, tuple(sorted(densities.items())))
    return cached_results.fitted(key, fit)


def _solids(shop: Shop, name: str, stated: float) -> float:
    return shop.inks[name].solids_by_volume if name in shop.inks else stated


def _saved(
    shop: Shop,
    sheet: Drawdowns,
    fitted: Characterisation,
    mark: Hashable,
    *,
    stated: Mapping[str, Mapping[str, Any]],
    solids: float,
    anyway: bool,
) -> Done:
    """Write all inks in one save: new ones whole, known ones with color and opacity alone."""
    known = known_inks(shop, sheet.inks)
    fresh = [ink for ink in sheet.inks if ink not in known]
    draft = inks_drafted(
        open_draft(shop.folder, "ink"),
        fitted,
        {ink: ink for ink in sheet.inks},
        sheet=sheet,
        shop=shop,
        stated={**stated, "solids_by_volume": dict.fromkeys(fresh, solids)},
        date=date.today().isoformat(),
        anyway=anyway,
    )
    save(draft)
    st.session_state[STORED] = (mark, draft.text.encode())
    names = ", ".join(sheet.inks)
    return Done(f"{names}: saved; the fit is within {fitted.mean_delta_e:.2f} ΔE00.", PLACE)
