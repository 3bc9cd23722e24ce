"""Costs, habits and trade rules of a shop: values, provenance, and forms to change them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple, get_args

import streamlit as st

from inksim.common import CM_PER_INCH, counted
from inksim.decision import RULES
from inksim.shop import Draft, RuleName, Shop, open_draft, save
from inksim.ui.pages.shop_colour import Fields, optional_number
from inksim.ui.pages.shop_forms import do, locked_reason
from inksim.ui.style import note, table

BY_HAND = "entered by hand"
SOURCE = "Where these come from"


def costs(shop: Shop) -> None:
    """Costs."""
    _shown("Costs", COSTS, shop.costs, money=shop.costs.currency)
    _change(shop, "costs", "costs.toml", COSTS, shop.costs, money=shop.costs.currency)


def habits(shop: Shop) -> None:
    """Habits."""
    _shown("Habits", HABITS, shop.habits)
    _change(shop, "habits", "press.toml", HABITS, shop.habits, prefix="habits.")


def rules(shop: Shop) -> None:
    """Limits of the trade rules, what each rule asks and why, and which are not kept."""
    _shown("Rules of the trade", LIMITS, shop.rules)
    table(
        ("Rule", "Asks", "Why", "Kept here"),
        [
            [rule.name, rule.asks, f"{rule.why} ({rule.source})",
             "✕ no" if rule.name in shop.rules.not_kept else "● yes"]
            for rule in RULES
        ],
        label="What each rule asks, and why",
    )  # fmt: skip
    _change(shop, "rules", "rules.toml", LIMITS, shop.rules,
            rules=get_args(RuleName))  # fmt: skip


def _shown(label: str, asked: Mapping[str, Asked], held: Any, *, money: str = "") -> None:
    """Table of a file's numbers, and their source."""
    st.header(label)
    rows = [[each.what, _value(each, getattr(held, name), money)] for name, each in asked.items()]
    table(("What", "Value"), rows, label=label)
    note(f"Where these come from: {held.source or 'as inksim came, common practice or invented'}.")


def _value(asked: Asked, value: Any, money: str) -> str:
    """A value with its unit; a mesh in threads/cm too."""
    if value is None:
        return "not known, left out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    unit = asked.unit.replace("money", money)
    shown = f"{asked.times * value:g}"
    if unit == "threads/in":
        return f"{shown} threads/in ({value / CM_PER_INCH:.0f}/cm)"
    return f"{shown} {unit}".strip()


def _change(
    shop: Shop,
    label: str,
    file: str,
    asked: Mapping[str, Asked],
    held: Any,
    *,
    prefix: str = "",
    money: str = "",
    rules: Sequence[str] = (),
) -> None:
    """The form: every number as it is, and where it comes from."""
    if locked_reason(shop):
        return
    with st.expander(f"Change the {label}"):
        draft = open_draft(shop.folder, file)
        key = f"{label} {hash(draft.before)}"
        with st.form(f"form {key}", border=False):
            columns = st.columns(2)
            for at, (name, each) in enumerate(asked.items()):
                with columns[at % 2]:
                    optional = type(held).model_fields[name].default is None
                    _ask(
                        each,
                        getattr(held, name),
                        key=f"{key} {name}",
                        money=money,
                        optional=optional,
                    )
            if rules:
                st.multiselect("Rules that this shop does not keep", rules,
                               default=held.not_kept, key=f"{key} not_kept")  # fmt: skip
            ask_source(held.source, key)
            names = [*asked, *(["not_kept"] if rules else [])]
            st.form_submit_button(
                f"Save the {label}",
                on_click=do,
                args=(lambda: _saved(draft, names, asked, held, key=key, prefix=prefix),),
            )


def _ask(asked: Asked, value: Any, *, key: str, money: str, optional: bool) -> None:
    unit = asked.unit.replace("money", money)
    label = f"{asked.what}, {unit}" if unit else asked.what
    if optional:
        shown = "" if value is None else f"{asked.times * value:g}"
        st.text_input(label, shown, placeholder="not known", key=key)
    elif isinstance(value, bool):
        st.checkbox(label, value, key=key)
    elif isinstance(value, str):
        st.text_input(label, value, key=key)
    elif isinstance(value, int):
        st.number_input(label, 1, None, value, key=key)
    else:
        shown_value = float(f"{asked.times * value:.6g}")
        st.number_input(label, 0.0, None, shown_value, step=None, format="%g", key=key)


def ask_source(source: str, key: str) -> None:
    """Ask where changed values come from."""
    st.text_input(
        f"{SOURCE}: who read or decided them (the day is added)", _undated(source),
        placeholder=BY_HAND, key=f"{key} source",
    )  # fmt: skip


def _saved(
    draft: Draft,
    names: Iterable[str],
    asked: Mapping[str, Asked],
    held: Any,
    *,
    key: str,
    prefix: str,
) -> str:
    values: Fields = {}
    for name in names:
        old, new = getattr(held, name), st.session_state[f"{key} {name}"]
        if type(held).model_fields[name].default is None:
            new = optional_number(str(new), what=asked[name].what)
        if isinstance(new, float):
            new = float(f"{new / asked[name].times:.6g}")
        if new != old:
            values[f"{prefix}{name}"] = new
    said = origin(str(st.session_state[f"{key} source"]), old=held.source)
    return written(draft, values, source=f"{prefix}source", said=said)


def written(draft: Draft, values: Fields, *, source: str, said: str) -> str:
    """Save changed values with where they come from and the day."""
    if not values:
        return f"Nothing was changed in {draft.file}."
    save(draft.set({**values, source: f"{said}; {date.today().isoformat()}"}))
    are = "is" if len(values) == 1 else "are"
    return f"{counted(len(values), 'value')} {are} saved in {draft.file}."


def origin(said: str, *, old: str) -> str:
    """Where changed values come from, as typed; an old origin left standing is not theirs."""
    typed, old = _undated(said), _undated(old)
    if typed and typed == old and not old.endswith(BY_HAND):
        return f"{old}; since then {BY_HAND}"
    return typed or BY_HAND


def _undated(source: str) -> str:
    return re.sub(r";? *\d{4}-\d\d-\d\d$", "", source.strip())


class Asked(NamedTuple):
    """A number as it is asked for: what and unit; times: shown over filed (100 for percent)."""

    what: str
    unit: str = ""
    times: float = 1.0


COSTS: Mapping[str, Asked] = {
    "currency": Asked("Currency"),
    "screen_making": Asked("Making a screen: film, emulsion, exposing, reclaiming", "money"),
    "setup_minutes_per_screen": Asked("Setting a screen up and cleaning it", "min"),
    "labor_per_hour": Asked("Labor", "money/h"),
    "seconds_per_garment": Asked("Loading and unloading a garment", "s"),
    "seconds_per_pass": Asked("A pass", "s"),
    "seconds_per_flash": Asked("A flash", "s"),
    "energy_per_kwh": Asked("Energy", "money/kWh"),
    "dryer_efficiency": Asked("Share of the dryer's energy that reaches the shirts", "%", 100),
    "waste_share": Asked("Spoiled prints and ink wiped off", "%", 100),
    "ink_left_g_per_screen": Asked("Ink left in a screen and on its tools", "g"),
}
HABITS: Mapping[str, Asked] = {
    "straight_threads_per_inch": Asked("Mesh straight on the cloth", "threads/in"),
    "straight_passes": Asked("Passes straight on the cloth"),
    "over_base_threads_per_inch": Asked("Mesh of a color over a base", "threads/in"),
    "over_base_passes": Asked("Passes of a color over a base"),
    "white_base_threads_per_inch": Asked("Mesh of a white base", "threads/in"),
    "white_base_passes": Asked("Passes of a white base"),
    "white_base_flash": Asked("A white base is flashed"),
    "discharge_base_threads_per_inch": Asked("Mesh of a discharge base", "threads/in"),
    "discharge_base_passes": Asked("Passes of a discharge base"),
    "discharge_base_flash": Asked("A discharge base is flashed"),
    "tolerance_de00": Asked("A color lands within", "ΔE00"),
}
LIMITS: Mapping[str, Asked] = {
    "coarsest_on_cloth_threads_per_inch": Asked("Coarsest mesh on bare cloth", "threads/in"),
    "finest_on_cloth_threads_per_inch": Asked("Finest mesh on bare cloth", "threads/in"),
    "most_passes_on_cloth": Asked("Most passes of a color on bare cloth"),
    "most_passes_over_base": Asked("Most passes of a color over a base"),
    "coarsest_base_threads_per_inch": Asked("Coarsest mesh of a base", "threads/in"),
    "finest_base_threads_per_inch": Asked("Finest mesh of a base", "threads/in"),
    "most_passes_white_base": Asked("Most passes of a white base"),
    "most_passes_discharge_base": Asked("Most passes of a discharge base"),
    "least_cellulose_share": Asked("Least cotton and other cellulose for a discharge", "%", 100),
    "least_discharge_grade": Asked("Least discharge grade, of 5"),
    "least_dye_de00": Asked("Least change of the cloth that a discharge is worth", "ΔE00"),
    "least_threads_per_line": Asked("Least threads for a line of a halftone"),
    "comfortable_threads_per_line": Asked("Comfortable threads for a line of a halftone"),
    "most_lines_per_inch": Asked("Most lines of a halftone", "lines/in"),
}
