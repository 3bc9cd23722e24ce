"""Costs, habits and trade rules of a shop: shown with where they come from, and changed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from typing import Any, get_args

import streamlit as st

from inksim.common import CM_PER_INCH, InputError, counted
from inksim.decision import RULES
from inksim.shop import Asked, Draft, RuleName, Shop, numbers_asked, open_draft, save
from inksim.ui import changes
from inksim.ui.changes import Done, FieldFaults, beside, locked_reason
from inksim.ui.pages.shop_colour import Fields, optional_number
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_typed import as_drawn, form_key
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import note, table

BY_HAND = "entered by hand"
SOURCE = "Where these come from"


def costs(shop: Shop) -> None:
    """What things cost here."""
    _shown("Costs", shop.costs, money=shop.costs.currency)
    _change(shop, "costs", "costs.toml", shop.costs, money=shop.costs.currency)


def stations(shop: Shop) -> None:
    """How many screens and flashes fit on the press."""
    _shown("Stations and flash units", shop.stations)
    _change(shop, "stations", "press.toml", shop.stations, prefix="stations.")


def habits(shop: Shop) -> None:
    """What the shop usually does."""
    _shown("Habits", shop.habits)
    _change(shop, "habits", "press.toml", shop.habits, prefix="habits.")


def rules(shop: Shop) -> None:
    """The numbers in the trade's rules, what each asks and why, and which are not kept."""
    _shown("Rules of the trade", shop.rules)
    left_out = shop.rules.not_kept
    kept = f"✕ not kept here: {', '.join(left_out)}" if left_out else "● all kept here"
    note(f"{counted(len(RULES), 'rule')}, {kept}.")
    with st.expander("What each rule asks, and why"):
        table(
            ("Rule", "Kept here", "Asks", "Why"),
            [
                [rule.name, "✕ no" if rule.name in left_out else "● yes", rule.asks,
                 f"{rule.why} ({rule.source})"]
                for rule in RULES
            ],
            label="What each rule asks, and why",
        )  # fmt: skip
    _change(shop, "rules", "rules.toml", shop.rules, rules=get_args(RuleName))


def _shown(label: str, held: Any, *, money: str = "") -> None:
    """A file's numbers in words, and where they come from."""
    st.header(label)
    rows = [
        [each.what, _value(each, getattr(held, name), money)]
        for name, each in numbers_asked(type(held)).items()
    ]
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
    held: Any,
    *,
    prefix: str = "",
    money: str = "",
    rules: Sequence[str] = (),
) -> None:
    """The form: every number as it is, and where it comes from."""
    if locked_reason(shop):
        return
    said_here(shop, label)
    with st.expander(f"Change the {label}"):
        draft = open_draft(shop.folder, file)
        key = form_key(label, draft)
        with st.form(f"form {key}", border=False):
            columns = st.columns(2)
            for at, (name, each) in enumerate(numbers_asked(type(held)).items()):
                with columns[at % 2]:
                    _ask(each, getattr(held, name), key=f"{key} {name}", money=money)
                    beside(f"{key} {name}")
            if rules:
                st.multiselect("Rules that this shop does not keep", rules,
                               default=held.not_kept, key=f"{key} not_kept")  # fmt: skip
            ask_source(held.source, key)
            st.form_submit_button(
                f"Save the {label}",
                on_click=do,
                args=(
                    lambda: Done(_saved(draft, held, key=key, prefix=prefix), label),
                    label, draft, f"form {label}",
                ),
            )  # fmt: skip
            changes.say_what_was_done(f"form {label}")
        as_drawn(key)


def _ask(asked: Asked, value: Any, *, key: str, money: str) -> None:
    unit = asked.unit.replace("money", money)
    label = f"{asked.what}, {unit}" if unit else asked.what
    if asked.optional:
        shown = "" if value is None else f"{asked.times * value:g}"
        st.text_input(label, shown, placeholder="not known", key=key)
    elif isinstance(value, bool):
        st.checkbox(label, value, key=key)
    elif isinstance(value, str):
        st.text_input(label, value, key=key)
    elif isinstance(value, int):
        st.number_input(label, asked.least, None, value, key=key)
    else:
        shown_value = float(f"{asked.times * value:.6g}")
        st.number_input(label, 0.0, None, shown_value, step=None, format="%g", key=key)


def ask_source(source: str, key: str) -> None:
    """Ask where changed values come from."""
    st.text_input(
        f"{SOURCE}: who read or decided them (the day is added)", _undated(source),
        placeholder=BY_HAND, key=f"{key} source",
    )  # fmt: skip


def _saved(draft: Draft, held: Any, *, key: str, prefix: str) -> str:
    words = numbers_asked(type(held))
    values: Fields = {}
    faults: dict[str, str] = {}
    for name in type(held).model_fields:
        if name == "source" or f"{key} {name}" not in st.session_state:
            continue
        new = st.session_state[f"{key} {name}"]
        if name in words and words[name].optional:
            try:
                new = optional_number(str(new), what=words[name].what)
            except InputError as error:
                faults[f"{key} {name}"] = str(error)
                continue
        if isinstance(new, float):
            new = float(f"{new / words[name].times:.6g}")
        if new != getattr(held, name):
            values[f"{prefix}{name}"] = new
    if faults:
        raise FieldFaults(faults)
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
    whole = source.strip()
    plain = re.sub(r"\d{4}-\d\d-\d\d$", "", whole)
    return whole if plain == whole else plain.rstrip(" ").removesuffix(";")
