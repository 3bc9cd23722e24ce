"""The kept jobs of a shop by key, in words; read again when a file changes."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from inksim.common import InksimError
from inksim.ledger import kept_keys, open_job


@st.cache_data(max_entries=4096, show_spinner=False)
def _words(folder: str, key: str, stamp: tuple[int, int]) -> str:
    del stamp  # part of the key only
    try:
        kept = open_job(Path(folder), key)
    except InksimError:
        return f"{key}: its file cannot be read"
    entry = kept.entry
    return " – ".join(each for each in (entry.name, entry.whose, ", ".join(entry.garments)) if each)


def kept_list(folder: Path | None) -> dict[str, str]:
    """'Mill logo – Weir Mill, PO 12 – Coal Black' by key, the last changed first."""
    if folder is None:
        return {}
    stamps = {}
    for key in kept_keys(folder):
        try:
            found = (folder / "jobs" / key / "job.toml").stat()
        except OSError:  # removed since it was listed
            continue
        stamps[key] = (found.st_mtime_ns, found.st_size)
    newest = sorted(stamps, key=lambda key: stamps[key], reverse=True)
    return {key: _words(str(folder), key, stamps[key]) for key in newest}
