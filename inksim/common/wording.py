"""Words said everywhere: routes, kinds of ink, counts, names of files."""

from __future__ import annotations

import re

ROUTE_NAMES = {
    "straight": "straight",
    "discharge-base": "discharge base",
    "white-base": "white base",
    "none": "none",
}
"""As a cell of a table."""
ROUTE_WORDS = {
    "straight": "straight on the cloth",
    "discharge-base": "over a discharge base",
    "white-base": "over a white base",
}
"""Inside a sentence."""
ROUTE_TITLES = {route: words.capitalize() for route, words in ROUTE_WORDS.items()}
"""As a title, or at the start of a sentence."""
KIND_WORDS = {
    "colour": "color",
    "white-base": "white base",
    "discharge-base": "discharge base",
    "clear-base": "clear base",
}


def counted(number: int, one: str) -> str:
    """'1 screen', '3 flashes'."""
    many = f"{one}es" if one.endswith(("sh", "ss")) else f"{one}s"
    return f"{number} {one if number == 1 else many}"


def slug(name: str) -> str:
    """'Coal Black' → 'coal-black'."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "unnamed"
