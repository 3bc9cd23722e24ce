"""Files to take away, made when they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

KINDS = {
    ".csv": "text/csv",
    ".cube": "application/octet-stream",
    ".icc": "application/octet-stream",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".txt": "text/plain",
    ".zip": "application/zip",
}


def offer(
    words: str, made: bytes | Callable[[], bytes | str], *, file: str, first: bool = False
) -> None:
    """A button that hands over a file and does not run the page again. first: the one to press."""
    st.download_button(
        words,
        made,
        file_name=file,
        mime=KINDS[Path(file).suffix],
        on_click="ignore",
        type="primary" if first else "secondary",
    )
