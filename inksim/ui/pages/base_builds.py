"""Builds of one ink on one garment: one by hand, and all in a chart and a table."""

from __future__ import annotations

from typing import Any, TypedDict

import streamlit as st

from inksim.colour import Viewing, hex_from_rgb8, readable_on, srgb8, xyz_from_lab
from inksim.common import ROUTE_TITLES, counted, sentence, visible
from inksim.decision import NO_BASE, Evaluated, Landing, against, verdict_of, whole_percent
from inksim.printing import ROUTES, Prediction, Route, predict
from inksim.shop import Shop, usable_routes, usual_build
from inksim.stock import Garment, Ink, Screen, Target, prints_through
from inksim.ui import cached_results, pickers
from inksim.ui.charts import chance_chart
from inksim.ui.style import note, print_on_cloth, show

USUAL = "as this shop usually does"


class Question(TypedDict):
    """One ink on one garment against one target."""

    garment: Garment
    ink: Ink
    target: Target
    tolerance: float
    viewing: Viewing


def _mesh(label: str, shop: Shop, ink: Ink, key: str) -> Screen | None:
    """Choose a screen the ink prints through; None for the usual one."""
    screens = {s.words: s for s in shop.screens.values() if prints_through(ink, s)}
    chosen = st.selectbox(label, [USUAL, *screens], key=key, persist_state="session")
    return screens.get(str(chosen))


def try_one(
    shop: Shop,
    *,
    advised: Route,
    garment: Garment,
    ink: Ink,
    target: Target,
    tolerance: float,
    viewing: Viewing,
) -> None:
    """Choose route, mesh, passes and flash, and see the print move at once."""
    asked, shown = st.columns(2)
    with asked:
        titles = {ROUTE_TITLES[route]: route for route in usable_routes(garment, shop=shop)}
        route: Route = titles[
            str(
                st.radio(
                    "Route",
                    list(titles),
                    index=list(titles).index(ROUTE_TITLES[advised]),
                    key=f"try-route-{advised}-{garment.name}",
                    horizontal=True,
                )
            )
        ]
        screen = _mesh("Mesh of the color", shop, ink, "try-mesh")
        usual = usual_build(shop, garment=garment, ink=ink, route=route).colour.passes
        passes = int(
            st.slider(
                "Passes of the color", 1, ink.max_passes + 1, usual, key=f"try-passes-{route}"
            )
        )
        base_screen, flash = None, None
        if route != "straight":
            base = shop.base_ink(route, garment=garment)
            base_screen = _mesh("Mesh of the base", shop, base, "try-base-mesh")
            flash = st.toggle("Flash the base", route == "white-base", key=f"try-flash-{route}")
    build = usual_build(
        shop,
        garment=garment,
        ink=ink,
        route=route,
        screen=screen,
        passes=passes,
        base_screen=base_screen,
        flash=flash,
    )
    (print_,) = predict(
        [build], press=shop.press, viewing=viewing, target=target, tolerance=tolerance
    )
    with shown:
        _tried(
            print_,
            target=target,
            cloth=pickers.cloth_hex(shop, garment.name, viewing),
        )


def _tried(print_: Prediction, *, target: Target, cloth: str) -> None:
    """The tried build as a swatch on its cloth, with its numbers."""
    asked, _ = target.hex(print_.viewing)
    said = verdict_of(print_.interval) if print_.interval is not None else None
    show(print_on_cloth(print_.hex, print_.interval, asked=asked, cloth=cloth, said=said))
    note(
        f"Nominally ΔE00 {print_.delta_e_2000:.1f}. {print_.words}. {film_words(print_)} "
        f"{sentence(f'{print_.data} data')}"
    )


def film_words(print_: Prediction) -> str:
    """Dry and wet film of a print, contrast ratio and show-through."""
    base = f", base {print_.base_film_um:.1f} µm" if print_.build.base else ""
    return (
        f"Dry film: color {print_.film_um:.1f} µm{base}. Wet ink "
        f"{print_.wet_um + print_.base_wet_um:.0f} cm³/m². Contrast ratio "
        f"{print_.contrast_ratio:.2f}; {print_.show_through:.0%} of the cloth's lightness shows."
    )


def show_all(
    shop: Shop, *, said: str, garment: Garment, ink: Ink, target: Target, tolerance: float,
    viewing: Viewing,
) -> None:  # fmt: skip
    """Every build that the rules of the trade allow: a chart, and a table to sort.

    said: what is advised, with its verdict, for whoever hears the chart.
    """
    evaluated = cached_results.evaluated(shop, garment=garment.name, ink=ink.name, viewing=viewing)
    landing = against(evaluated, standard=target.lab(viewing), tolerance=tolerance)
    rows = _rows(evaluated, landing)
    note(
        f"{counted(len(rows), 'build')} of this shop's screens that the rules of the trade allow. "
        "Each point is one, in the color it would print."
    )
    st.altair_chart(
        chance_chart(rows), width="stretch", theme=None,
        alt=visible(f"Chance to land against wet ink, one point for each build; advised: {said}"),
    )  # fmt: skip
    coloured = rows.style.map(_as_swatch, subset=["Print"]).format(
        {"ΔE00": "{:.1f}", "Low": "{:.1f}", "High": "{:.1f}", "Wet ink": "{:.0f}",
         "Dry film": "{:.1f}"}
    )  # fmt: skip
    st.dataframe(
        coloured,
        hide_index=True,
        column_config={
            "Chance": st.column_config.ProgressColumn(
                "Chance to land, %", format="%.0f", min_value=0, max_value=100, color="#3d3d3d"
            ),
            "ΔE00": st.column_config.NumberColumn("Expect ΔE00"),
            "Low": st.column_config.NumberColumn("9 in 10 from"),
            "High": st.column_config.NumberColumn("to"),
            "Wet ink": st.column_config.NumberColumn("Wet ink, cm³/m²"),
            "Dry film": st.column_config.NumberColumn("Dry film, µm"),
        },
        alt=f"All builds of {ink.name} on {garment.name}; click a head to sort",
    )


def _as_swatch(code: str) -> str:
    return f"background-color: {code}; color: {readable_on(code)}"


def _rows(evaluated: Evaluated, landing: Landing) -> Any:
    """All builds as a table, the surest first."""
    import numpy as np
    import pandas as pd

    space, viewing = evaluated.space, evaluated.viewing
    mesh = np.array([round(screen.threads_per_inch) for screen in space.screens])
    based = space.base != NO_BASE
    rgb, _ = srgb8(xyz_from_lab(evaluated.lab, viewing), viewing)
    titles = np.array([ROUTE_TITLES[route] for route in ROUTES])
    table = pd.DataFrame(
        {
            "Print": [hex_from_rgb8(row) for row in rgb],
            "Route": titles[space.route],
            "Mesh": mesh[space.screen],
            "Passes": space.passes,
            "Base mesh": np.where(based, mesh[np.where(based, space.base_screen, 0)], 0),
            "Base passes": space.base_passes,
            "ΔE00": landing.spread.de_median,
            "Low": landing.spread.de_low,
            "High": landing.spread.de_high,
            "Chance": whole_percent(landing.chance),
            "Wet ink": evaluated.wet_um.sum(axis=1),
            "Dry film": evaluated.dry_um.sum(axis=1),
        }
    )
    return table.sort_values(["Chance", "Wet ink"], ascending=[False, True]).reset_index(drop=True)
