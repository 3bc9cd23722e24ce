"""Jobs in memory by what they are: what an address names of one that no shop keeps.

A server holds the last few, so that a reload, a second tab and a shared link find the artwork and
what was wished of it; after that they are gone, and the page says so.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping
from pathlib import Path
from threading import Lock
from typing import Any, NamedTuple

import streamlit as st

from inksim.common import InputError, json_text
from inksim.ui import cache
from inksim.ui.cache import Upload

PARAM = "artwork"
MOST = 64
MOST_BYTES = 512 * 1024 * 1024
"""Of all artworks together; the oldest go first."""


class Passing(NamedTuple):
    """An artwork, and what is wished of it by dotted name."""

    upload: Upload
    wishes: Mapping[str, Any]


class _Held:
    def __init__(self) -> None:
        self._jobs: OrderedDict[str, Passing] = OrderedDict()
        self._lock = Lock()

    def add(self, name: str, job: Passing) -> None:
        with self._lock:
            self._jobs[name] = job
            self._jobs.move_to_end(name)
            while len(self._jobs) > 1 and (len(self._jobs) > MOST or self._bytes() > MOST_BYTES):
                self._jobs.popitem(last=False)

    def get(self, name: str) -> Passing | None:
        with self._lock:
            return self._jobs.get(name)

    def _bytes(self) -> int:
        return sum({j.upload.sha256: len(j.upload.data) for j in self._jobs.values()}.values())


@st.cache_resource(show_spinner=False)
def _held() -> _Held:
    return _Held()


def pass_on(upload: Upload, wishes: Mapping[str, Any]) -> str:
    """Keep a job for an address to name, and return the name; '' of the demo's first artwork."""
    said = json_text(dict(sorted(wishes.items())), indent=None)
    if not wishes and _is_demo(upload):
        return "" if upload.name == cache.DEMO_ARTWORK else Path(upload.name).stem
    name = hashlib.sha256(f"{upload.sha256} {upload.name} {said}".encode()).hexdigest()[:20]
    _held().add(name, Passing(upload, dict(wishes)))
    return name


def passed(name: str) -> Passing:
    """The artwork that an address names.

    Raises
    ------
    InputError : it is not on this machine, or no longer.
    """
    found = _held().get(name)
    if found is not None:
        return found
    for demo in cache.demo_artworks():
        if Path(demo).stem == name:
            return Passing(cache.demo_artwork(demo), {})
    raise InputError(
        "the artwork that this address names is not on this machine, or no longer: use the file "
        "again, and keep it as a job so that its address lasts."
    )


def _is_demo(upload: Upload) -> bool:
    names = cache.demo_artworks()
    return upload.name in names and cache.demo_artwork(upload.name).sha256 == upload.sha256
