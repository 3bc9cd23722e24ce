"""The choices that pages share: a garment by its swatch, a light, an ink. Kept in the address."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

import streamlit as st

from inksim.colour import D50, Viewing, hex_code, readable_on, xyz
from inksim.common import Markup
from inksim.reports import POLYESTER
from inksim.shop import Shop
from inksim.ui.current_job import CurrentJob
from inksim.ui.parts.in_view import in_view
from inksim.ui.style import note, plain, show

START, LIGHT = "Coal Black", "Print booth"
LIGHTS = {
    "Print booth": Viewing("D50", 2),
    "Daylight": Viewing("D65", 10),
    "Store LED": Viewing("LED-B3", 10),
    "Store tubes": Viewing("F11", 10),
    "Home lamp": Viewing("A", 10),
}
"""Lights by the words of whoever stands in them; D50/2° and D65/10° are the trade's own."""


def garment_before(shop: Shop, job: CurrentJob) -> str:
    """The garment that was chosen, before the page asks; of those that a kept job prints on."""
    names = [shop.garment(name).name for name in job.entry.garments] if job.kept else None
    names = names or list(shop.garments)
    chosen = str(st.session_state.get("garment") or st.query_params.get("garment", START))
    return chosen if chosen in names else names[0]


def light_before(shop: Shop) -> Viewing:
    """The light that was chosen, before the page asks."""
    chosen = st.session_state.get("light") or st.query_params.get("light", LIGHT)
    return lights(shop).get(str(chosen), LIGHTS[LIGHT])


def cloth_hex(shop: Shop, garment: str, viewing: Viewing) -> str:
    """A garment's color on the screen."""
    code, _ = hex_code(xyz(shop.garment(garment).reflectance, viewing), viewing)
    return code


def view_before(views: Sequence[str], *, key: str) -> str:
    """How the print was looked at, before the page asks."""
    chosen = str(st.session_state.get(key) or st.query_params.get(key, views[0]))
    return chosen if chosen in views else views[0]


def garment(
    shop: Shop,
    *,
    viewing: Viewing,
    default: str = START,
    only: Sequence[str] = (),
    more: Callable[[str], None] = lambda chosen: None,
) -> str:
    """Choose a garment from true swatches of the stock, or of those that a job prints on.

    One row of them, light to dark, that scrolls. more: what else is asked under 'more'.
    """
    own = [shop.garment(name).name for name in only] or list(shop.garments)
    if st.session_state.get("garment", own[0]) not in own:  # of another job
        st.session_state["garment"] = own[0]
    names = _light_to_dark(shop, own)
    _swatch_style("garment", names, shop, viewing)
    with st.container(horizontal=True, vertical_alignment="bottom", key="garment-row"):
        chosen = str(
            st.pills(
                "Garment of the job" if only else "Garment",
                names,
                format_func=plain,
                default=default if default in own else own[0],
                required=True,
                key="garment",
                bind="query-params",
                persist_state="session",
                wrap=True,
            )
        )
        _more(names, [chosen], key="garment", more=lambda: more(chosen))
    _caution(shop, [chosen])
    return chosen


def _light_to_dark(shop: Shop, names: Sequence[str]) -> list[str]:
    return sorted(names, key=lambda name: -float(xyz(shop.garment(name).reflectance, D50)[1]))


def _more(
    names: Sequence[str],
    chosen: Sequence[str],
    *,
    key: str,
    more: Callable[[], None] = lambda: None,
) -> None:
    """The row's 'more': all of them in rows, and what else is asked of garments."""
    if len(names) < 2:
        return
    with st.popover("more"):
        whole = st.toggle(
            f"All {len(names)} garments in rows", key=f"{key}-whole", persist_state="session"
        )
        more()
    row = f".st-key-{key} :is([role='radiogroup'], [role='toolbar'])"
    if whole:
        show(Markup(f"<style>{row} {{ flex-wrap: wrap; }}</style>"))
    else:
        in_view(row, chosen=" ".join(chosen), key=f"in-view-{key}")


def garments(shop: Shop, *, viewing: Viewing, default: Sequence[str]) -> list[str]:
    """Choose several garments from true swatches of the stock."""
    names = _light_to_dark(shop, list(shop.garments))
    _swatch_style("garments", names, shop, viewing)
    with st.container(horizontal=True, vertical_alignment="bottom", key="garments-row"):
        chosen = st.pills(
            "Garments",
            names,
            format_func=plain,
            selection_mode="multi",
            default=[name for name in default if name in names] or names[:1],
            key="garments",
            bind="query-params",
            persist_state="session",
            wrap=True,
        )
        _more(names, chosen, key="garments")
    _caution(shop, chosen)
    return [name for name in names if name in chosen]


def _caution(shop: Shop, chosen: Sequence[str]) -> None:
    """Polyester is warned of where it is chosen."""
    if any(shop.garment(name).polyester > 0 for name in chosen):
        note(f"{POLYESTER} What helps is said under the cautions, at the foot of this page.")


def lights(shop: Shop) -> dict[str, Viewing]:
    """The lights to choose from by their words, the shop's own lamps last, seen at 2° as a booth's.

    A lamp that is called as one of the others is says that it is the shop's.
    """
    own = {
        f"{name}, own lamp" if name in LIGHTS else name: lamp for name, lamp in shop.lamps.items()
    }
    return LIGHTS | {words: Viewing(lamp, 2) for words, lamp in own.items()}


def light(shop: Shop) -> Viewing:
    """Choose the light the print is seen in."""
    known = lights(shop)
    words = st.segmented_control(
        "Light",
        list(known),
        format_func=plain,
        default=LIGHT,
        required=True,
        key="light",
        bind="query-params",
        persist_state="session",
        wrap=True,
        help="The light in which print and target are compared: "
        + "; ".join(f"{words} is {viewing}" for words, viewing in LIGHTS.items())
        + "".join(f"; {plain(words)} is the shop's own" for words in known if words not in LIGHTS)
        + ". A screen always adapts to its own white, so look for shifts, not for the tint.",
    )
    return known[str(words)]


def seen_under(shop: Shop, viewing: Viewing) -> str:
    """The light that a verdict holds for, to stand with it; '' of the print booth's."""
    if viewing == LIGHTS[LIGHT]:
        return ""
    words = next((words for words, one in lights(shop).items() if one == viewing), "another light")
    return f"Seen under '{words}', {viewing}."


def light_note(viewing: Viewing) -> None:
    """Say what another light than the booth's does to a color that is known by its code only."""
    if viewing != LIGHTS[LIGHT]:
        note(
            "A color known only by a code or L, a, b is taken to look alike under every light, and "
            "so is the artwork: only ink, cloth and what was read as a spectrum move. Look at the "
            "two halves of a swatch against each other."
        )


def tolerance(shop: Shop, *, width: int | Literal["stretch"] = "stretch") -> float:
    """Choose how far a print may be from its target; the shop's habit to start with."""
    return float(
        st.slider(
            "Tolerance, ΔE00",
            0.5,
            10.0,
            float(shop.habits.tolerance_de00),
            0.25,
            width=width,
            key="tolerance",
            bind="query-params",
            persist_state="session",
        )
    )


def _swatch_style(key: str, names: Sequence[str], shop: Shop, viewing: Viewing) -> None:
    """Give each choice the color of its cloth; a chosen one wears a frame and a check mark."""
    button = f".st-key-{key} [data-variant='pills']"
    chosen = ", ".join(f"{button}[aria-{state}='true']" for state in ("checked", "pressed"))
    rules = [
        f"{button} {{ border: 1px solid #6a6a6a; border-radius: 2px; min-height: 2.9rem;"
        f" margin: .2rem; }}",
        f":is({chosen}) {{ box-shadow: inset 0 0 0 .2rem #111, inset 0 0 0 .32rem #c6c6c6"
        " !important; }",
        f":is({chosen}) p::before {{ content: '✓ '; }}",
    ]
    for at, name in enumerate(names, start=1):
        code = cloth_hex(shop, name, viewing)
        one = f"{button}:nth-of-type({at})"
        rules.append(f"{one} {{ background: {code} !important; }}")
        rules.append(f"{one} p {{ color: {readable_on(code)} !important; }}")
    show(Markup(f"<style>{''.join(rules)}</style>"))
