"""How routes and files are called (level 1)."""

from __future__ import annotations

import re

ROUTE_TITLES = {
    "straight": "Straight on the cloth",
    "discharge-base": "Over a discharge base",
    "white-base": "Over a white base",
}


def slug(name: str) -> str:
    """'Coal Black' → 'coal-black'."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "unnamed"
