"""Words for routes, kinds of ink and counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module

VERSION: str = import_module("inksim").__version__  # its stub names every room: a circle of types
PROGRAM = f"inksim {VERSION}"
"""What made a document: it stands on every one, so that a number can be made again."""
ROUTE_NAMES = {
    "decided": "as decided",
    "bare": "bare cloth",
    "straight": "straight",
    "discharge-base": "discharge base",
    "white-base": "white base",
}
"""As a cell of a table."""
ROUTE_WORDS = {
    "decided": "as decided",
    "bare": "left bare",
    "straight": "straight on the cloth",
    "discharge-base": "over a discharge base",
    "white-base": "over a white base",
    "in-white": "in white",
    "discharged": "discharged, nothing over it",
}
"""Inside a sentence; the last two of a base that is the color itself."""
ROUTE_TITLES = {route: words.capitalize() for route, words in ROUTE_WORDS.items()}
"""As a title, or at the start of a sentence."""
ROUTE_SHORT = {
    "decided": "as decided",
    "bare": "left bare",
    "straight": "straight",
    "discharge-base": "over discharge",
    "white-base": "over white",
    "in-white": "in white",
    "discharged": "discharged",
}
"""In a picture."""
KIND_WORDS = {
    "color": "color",
    "white-base": "white base",
    "discharge-base": "discharge base",
    "clear-base": "clear base",
}
NOT_A_PROOF = "A prediction by inksim, not a proof."
"""In a file that may travel without the words beside it."""
STRIKE_OFF = (
    "A screen or a sheet of paper is not a strike-off: the first print on the real garment decides."
)


def counted(number: int, one: str) -> str:
    """'1 screen', '3 flashes'."""
    many = f"{one}es" if one.endswith(("sh", "ss")) else f"{one}s"
    return f"{number} {one if number == 1 else many}"


def listed(words: Sequence[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def counted_routes(routes: Sequence[str], words: Mapping[str, str] = ROUTE_WORDS) -> str:
    """'2 straight on the cloth, 1 over a white base'; where all go alike, no number."""
    if len(set(routes)) == 1:
        return words[routes[0]]
    return ", ".join(f"{n} {words[route]}" for route in words if (n := routes.count(route)))


def on_garment(name: str, garment: str) -> str:
    """'Harvest regatta on Coal Black'; what is named so already keeps its name."""
    ending = f" on {garment}"
    return name if name.lower().endswith(ending.lower()) else f"{name}{ending}"


def lab_words(lab: Iterable[float]) -> str:
    """Lab to one decimal: '52.1 +40.3 -7.0'."""
    lightness, a, b = lab
    return f"{lightness:.1f} {a:+.1f} {b:+.1f}"


def hex_key(code: str) -> str:
    """'#c9342f' of any way to write a hex code, such as 'C9342F': how a flat color is named."""
    return "#" + code.strip().lstrip("#").lower()


def sentence(words: str) -> str:
    """'the mesh is too fine' → 'The mesh is too fine.'"""
    return f"{words[:1].upper()}{words[1:]}."


def capital(words: str) -> str:
    """As a sentence opens: 'the mesh …' → 'The mesh …'; a file's name stays as it is."""
    name = "." in words.split(" ", 1)[0].rstrip(".,:;")
    return words if name else f"{words[:1].upper()}{words[1:]}"
