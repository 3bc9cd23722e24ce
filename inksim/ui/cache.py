"""Cache of the app: shop, prepared artworks, pictures; bounded, keyed on content.

Streamlit's own hash of a large array is a sample of it, so nothing here is keyed on an array: an
artwork is known by the SHA-256 of its file, a shop by its folder's files and their times.
"""

from __future__ import annotations

import hashlib
import os
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from threading import Lock
from typing import Any, Generic, TypeVar

import streamlit as st

from inksim.artwork import read_artwork
from inksim.colour import Viewing
from inksim.launch import SHOP_VARIABLE
from inksim.preview import (
    ArtworkResult,
    Key,
    PreparedArtwork,
    artwork_on,
    artwork_result,
    png_bytes,
    prepare_artwork,
    print_on,
)
from inksim.shop import Shop, demo_shop_folder, load_shop

DEMO_ARTWORK = "harvest-regatta.png"
T = TypeVar("T")
V = TypeVar("V")
Stamp = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class Upload:
    """A picture file in memory."""

    name: str
    data: bytes
    sha256: str


def shop_folder() -> Path:
    """The shop's folder: from the environment (see `inksim.launch`), else the demo shop's."""
    given = os.environ.get(SHOP_VARIABLE)
    return Path(given) if given else demo_shop_folder()


def shop_stamp(folder: Path) -> Stamp:
    """Name, time and size of each file of a shop: changes with every save."""
    found = sorted(folder.glob("*.toml"))
    return tuple((p.name, p.stat().st_mtime_ns, p.stat().st_size) for p in found)


@st.cache_resource(max_entries=4, show_spinner="Reading the shop …")
def _shop(folder: str, stamp: Stamp) -> Shop:
    del stamp  # part of the key only
    return load_shop(folder)


def open_shop() -> Shop:
    """The shop as its files are now."""
    folder = shop_folder()
    return _shop(str(folder), shop_stamp(folder) if folder.is_dir() else ())


def shop_key(shop: Shop) -> tuple[str, Stamp]:
    """What a shop is known by in the caches."""
    return str(shop.folder), shop_stamp(shop.folder)


@st.cache_resource(max_entries=2, show_spinner=False)
def _demo_artwork(path: str, stamp: int) -> Upload:
    del stamp
    return demo_file(Path(path).name)


def demo_artworks() -> list[str]:
    """Names of the artworks that come with the demo shop, the one to begin with first."""
    names = sorted(path.name for path in (demo_shop_folder() / "artwork").glob("*.png"))
    return sorted(names, key=lambda name: name != DEMO_ARTWORK)


def demo_artwork(name: str = DEMO_ARTWORK) -> Upload:
    """An artwork that comes with the demo shop."""
    path = demo_shop_folder() / "artwork" / name
    return _demo_artwork(str(path), path.stat().st_mtime_ns)


def demo_file(name: str = DEMO_ARTWORK) -> Upload:
    """The same, read outside of any session."""
    data = (demo_shop_folder() / "artwork" / name).read_bytes()
    return Upload(name, data, hashlib.sha256(data).hexdigest())


@st.cache_resource(max_entries=4, show_spinner="Reading and separating the artwork …")
def _ready(sha256: str, name: str, _data: bytes) -> PreparedArtwork:
    return found_or(sha256, lambda: prepare_artwork(read_artwork(_data, name=name)))


def ready(upload: Upload) -> PreparedArtwork:
    """An artwork read, separated and reduced: once per file."""
    return _ready(upload.sha256, upload.name, upload.data)


def answer_key(
    art: PreparedArtwork | Upload,
    *,
    shop: Shop,
    garment: str,
    viewing: Viewing,
    tolerance: float,
    chosen: tuple[tuple[str, str], ...] = (),
    keep_apart: tuple[str, ...] = (),
) -> Hashable:
    """What an answer is known by."""
    return art.sha256, art.name, shop_key(shop), garment, viewing, tolerance, chosen, keep_apart


def answered(
    art: PreparedArtwork,
    *,
    shop: Shop,
    garment: str,
    viewing: Viewing,
    tolerance: float,
    inks: Mapping[str, str] | None = None,
    keep_apart: tuple[str, ...] = (),
) -> ArtworkResult:
    """What becomes of an artwork on a garment.

    inks: chosen by hand, by hex code. keep_apart: codes of colors not to be printed as others.
    """
    chosen = tuple(sorted((inks or {}).items()))
    return _answer(
        answer_key(
            art, shop=shop, garment=garment, viewing=viewing, tolerance=tolerance, chosen=chosen,
            keep_apart=keep_apart,
        ),
        lambda: artwork_result(
            art,
            shop=shop,
            garment=shop.garment(garment),
            viewing=viewing,
            tolerance=tolerance,
            inks=dict(chosen),
            keep_apart=keep_apart,
        ),
    )  # fmt: skip


@st.cache_resource(max_entries=32, show_spinner=False)
def _answer(key: Hashable, _make: Callable[[], ArtworkResult]) -> ArtworkResult:
    return found_or(key, _make)


def pictures(
    art: PreparedArtwork,
    found: ArtworkResult,
    *,
    what: Sequence[Key | None],
    shop: Shop,
    viewing: Viewing,
    large: bool,
) -> list[bytes]:
    """PNG of each print asked for, or of the artwork as drawn (None), on the answer's garment."""
    reduced = art.large if large else art.small
    key = (art.sha256, shop_key(shop), found.garment.name, viewing, large)

    def draw(one: Key | None) -> bytes:
        if one is None:
            return png_bytes(artwork_on(reduced, found.garment, viewing))
        return png_bytes(print_on(reduced, found.by(one).look))

    def printed(one: Key | None) -> tuple[str, ...] | None:
        """How each flat is printed: a picture depends on nothing else of the answer."""
        if one is None:
            return None
        return tuple("" if plan is None else plan.prediction.words for plan in found.by(one).plans)

    return _shelf(large).take([((*key, printed(one)), partial(draw, one)) for one in what])


@st.cache_resource
def _shelf(large: bool) -> BoundedCache[bytes]:
    return BoundedCache(32 if large else 64)


class BoundedCache(Generic[V]):
    """At most `most` values by key, shared by all sessions."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Hashable, V] = OrderedDict()
        self._lock = Lock()

    def take(self, wanted: Sequence[tuple[Hashable, Callable[[], V]]]) -> list[V]:
        """The values of (key, how to make it), in order; what is missing is made in parallel."""
        with self._lock:
            found = {key: self._values[key] for key, _ in wanted if key in self._values}
        missing = {key: make for key, make in wanted if key not in found}
        if len(missing) == 1:
            ((key, make),) = missing.items()
            found[key] = make()
        elif missing:
            with ThreadPoolExecutor(max_workers=len(missing)) as beside:
                made = {key: beside.submit(make) for key, make in missing.items()}
                found |= {key: future.result() for key, future in made.items()}
        with self._lock:
            for key, _ in wanted:
                self._values[key] = found[key]
                self._values.move_to_end(key)
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return [found[key] for key, _ in wanted]

    def __len__(self) -> int:
        """How many values are kept."""
        return len(self._values)


_begun: dict[Hashable, Future[Any]] = {}


def found_or(key: Hashable, make: Callable[[], T]) -> T:
    """What was begun under a key, once; else it is made now."""
    begun = _begun.pop(key, None)
    if begun is None:
        return make()
    found: T = begun.result()
    return found


def begin(*keys: Hashable) -> tuple[Future[Any], ...]:
    """Promise what will be found under some keys."""
    promised = tuple(Future[Any]() for _ in keys)
    _begun.update(zip(keys, promised, strict=True))
    return promised
