"""What was typed into a form over a file that somebody else has changed meanwhile: it stays.

A form's widgets have its key in theirs, and the key has the file's version in it: so a form shows
the file as it is, and is filled anew when it changes. What differs from how it was drawn was typed,
and is carried into the form over the newer file; the rest of that form is as somebody else left it.
"""

from __future__ import annotations

from typing import Any

import streamlit as st

from inksim.shop import Draft, open_draft

UPLOADS = " reading"
"""End of the keys of file pickers: no program may fill one."""
_TYPED = object()


def form_key(form: str, draft: Draft) -> str:
    """Key of a form over a file as it was read, at the start of its widgets' keys."""
    return f"{form} {hash(draft.before)}"


def as_drawn(key: str) -> None:
    """Remember how a form was drawn first; called when its widgets have been."""
    drawn: dict[str, Any] = st.session_state.setdefault(f"drawn {key}", {})
    for name, value in _widgets(key).items():
        drawn.setdefault(name, value)


def keep_typed(form: str, draft: Draft) -> None:
    """Carry what was typed into the form over the file as it is now."""
    key, now = form_key(form, draft), form_key(form, open_draft(draft.folder, draft.file))
    drawn = st.session_state.get(f"drawn {key}", {})
    for name, value in _widgets(key).items():
        if name in drawn and drawn[name] != value:
            st.session_state[f"{now}{name}"] = value
            st.session_state.setdefault(f"drawn {now}", {})[name] = _TYPED


def _widgets(key: str) -> dict[str, Any]:
    """Values of a form's widgets, by the rest of their keys; a view would look each key up anew."""
    return {
        str(name).removeprefix(key): value
        for name, value in st.session_state.to_dict().items()
        if str(name).startswith(f"{key} ") and not str(name).endswith(UPLOADS)
    }
