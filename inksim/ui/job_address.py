"""What the address says of the job: the key of a kept one; of one in memory, the run."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import streamlit as st

from inksim.job import Preference
from inksim.ui import passing_jobs

PREFERENCES: dict[str, Preference] = {
    "Least work": "work",
    "Least cost": "cost",
    "Softest hand": "softness",
    "Best chance": "chance",
}


class Number(NamedTuple):
    """A number of a job: its field, and the least and most that a page takes."""

    field: str
    least: float
    most: float
    whole: bool = False


NUMBERS = {
    "job-quantity": Number("quantity", 1, 1_000_000, whole=True),
    "job-stations": Number("press.stations", 1, 24, whole=True),
    "job-flashes": Number("press.flashes", 0, 8, whole=True),
    "job-choke": Number("base_choke_mm", 0, 20),
    "job-tolerance": Number("tolerance_de00", 0.1, 100),
}
PREFER = "job-prefer"
PARAM = "job"
"""The key of a kept job."""


JS = """
let waiting;
export default function({ data }) {
  clearTimeout(waiting);
  waiting = setTimeout(() => {  // after Streamlit has written its own
    const url = new URL(location.href);
    for (const [name, value] of Object.entries(data.wanted)) {
      if (value === null) url.searchParams.delete(name); else url.searchParams.set(name, value);
    }
    history.replaceState(history.state, "", url);
  }, 300);
}
"""


def from_address() -> dict[str, Any]:
    """Read the address to fields by dotted name; what makes no sense is left out."""
    found: dict[str, Any] = {}
    for name, number in NUMBERS.items():
        try:
            value = float(st.query_params.get(name, ""))
        except ValueError:
            continue
        if number.least <= value <= number.most:
            found[number.field] = int(value) if number.whole else value
    if (words := st.query_params.get(PREFER, "")) in PREFERENCES:
        found["prefer"] = PREFERENCES[words]
    return found


def mirror(key: str, fields: Mapping[str, Any], *, artwork: str = "") -> None:
    """Make the address say the job's key, or these fields of a run in memory, and nothing else.

    artwork: what passes on the one in memory, see `passing_jobs`.

    It is replaced, not added to: an entry for each page in the browser's history would lead back
    to that page only. Streamlit's own `st.query_params` adds one.
    """
    said: dict[str, str] = {PARAM: key} if key else {}
    if not key:
        said |= {passing_jobs.PARAM: artwork} if artwork else {}
        said |= {
            name: f"{fields[number.field]:g}"
            for name, number in NUMBERS.items()
            if number.field in fields
        }
        words = {preference: words for words, preference in PREFERENCES.items()}
        said |= {PREFER: words[fields["prefer"]]} if "prefer" in fields else {}
    now = {
        name: st.query_params.get(name) for name in (PARAM, passing_jobs.PARAM, *NUMBERS, PREFER)
    }
    wanted = {name: said.get(name) for name in now}
    if wanted == now:
        return
    _component()(data={"wanted": wanted, "once": secrets.token_hex(4)}, key="job-address")


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_address", js=JS)
