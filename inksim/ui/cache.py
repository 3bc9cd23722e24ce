"""Cache of the app: shop, prepared artworks, pictures; bounded, keyed on content.

Streamlit's own hash of a large array is a sample of it, so nothing here is keyed on an array: an
artwork is known by the SHA-256 of its file, a shop by its folder's files and their times.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Hashable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar
from weakref import WeakKeyDictionary

import streamlit as st

from inksim.artwork import Artwork, Flats, in_turn, read_artwork
from inksim.colour import Viewing
from inksim.common import InputError
from inksim.job import PlacedArtwork, placed_artwork
from inksim.launch import SHOP_VARIABLE
from inksim.preview import (
    ArtworkResult,
    Key,
    PreparedArtwork,
    artwork_on,
    png_bytes,
    prepare_artwork,
    print_on,
)
from inksim.shop import Shop, demo_shop_folder, lamp_files, load_shop
from inksim.ui.bounded_cache import BoundedCache
from inksim.ui.progress import Step, in_turn as one_at_a_time

DEMO_ARTWORK = "harvest-regatta.png"
T = TypeVar("T")
Stamp = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class Upload:
    """A picture file in memory."""

    name: str
    data: bytes
    sha256: str


DEMO_LOOK = "looks at the demo shop"
"""In a session that does: what it chose in its own shop (see `demo_look`)."""


def served_folder() -> Path:
    """The shop's folder: from the environment (see `inksim.launch`), else the demo shop's."""
    given = os.environ.get(SHOP_VARIABLE)
    return Path(given) if given else demo_shop_folder()


def shop_folder() -> Path:
    """The shop's folder for this session: the demo shop's while that is looked at."""
    return demo_shop_folder() if DEMO_LOOK in st.session_state else served_folder()


def shop_stamp(folder: Path) -> Stamp:
    """Name, time and size of each file of a shop: changes with every save."""
    found = (*sorted(folder.glob("*.toml")), *lamp_files(folder))
    return tuple((p.name, p.stat().st_mtime_ns, p.stat().st_size) for p in found)


_stamps: WeakKeyDictionary[Shop, Stamp] = WeakKeyDictionary()


@st.cache_resource(max_entries=4, show_spinner=False)
def _shop(folder: str, stamp: Stamp) -> Shop:
    shop = load_shop(folder)
    _stamps[shop] = stamp
    return shop


def open_shop(folder: Path | None = None) -> Shop:
    """The shop as its files are now; folder: not this session's, but that one."""
    folder = folder or shop_folder()
    return _shop(str(folder), shop_stamp(folder) if folder.is_dir() else ())


def shop_key(shop: Shop) -> tuple[str, Stamp]:
    """Key of a shop in the caches: its files as they were when it was read.

    Somebody may save while work that began before is going on.
    """
    return str(shop.folder), _stamps.get(shop) or shop_stamp(shop.folder)


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
    """Read an artwork of the demo shop outside of any session."""
    data = (demo_shop_folder() / "artwork" / name).read_bytes()
    return Upload(name, data, hashlib.sha256(data).hexdigest())


@dataclass(frozen=True, kw_only=True, eq=False)
class Drawn:
    """An artwork as a job prints it, ready to be drawn; its full pixels are not kept."""

    placed: PlacedArtwork
    ready: PreparedArtwork


def _drawn_key(upload: Upload, width_mm: float | None, background: str, assume: bool) -> Hashable:
    return upload.sha256, upload.name, width_mm, background, assume


def _placed_and_ready(
    upload: Upload, *, width_mm: float | None, background: str, assume: bool
) -> Drawn:
    """Read, place and separate an artwork, and reduce it: seconds."""
    made: list[PreparedArtwork] = []

    def find(art: Artwork) -> Flats:
        made.append(prepare_artwork(art))  # cloth and flats side by side
        return made[0].flats

    art = read_artwork(upload.data, name=upload.name)
    with in_turn(art.width_px, art.height_px):
        placed = placed_artwork(
            art, width_mm=width_mm, background=background, assume=assume, find=find
        )
    return Drawn(placed=replace(placed, artwork=None), ready=made[0])


def drawn(upload: Upload, *, width_mm: float | None, background: str, assume: bool = True) -> Drawn:
    """An artwork read, separated and reduced: once per file, width and background.

    assume: a width where nobody says it.
    """
    return worked_out(
        _drawn(),
        _drawn_key(upload, width_mm, background, assume),
        lambda: _placed_and_ready(upload, width_mm=width_mm, background=background, assume=assume),
        words="Reading and separating the artwork …",
    )


def drawn_already(
    upload: Upload, *, width_mm: float | None, background: str, assume: bool = True
) -> Drawn | None:
    """What `drawn` gives where it has been read; None where that would have to be waited for."""
    return _drawn().get(_drawn_key(upload, width_mm, background, assume))


@st.cache_resource(show_spinner=False)
def _drawn() -> BoundedCache[Drawn]:
    return BoundedCache(8, most_mb=400)


def worked_out(cache: BoundedCache[T], key: Hashable, make: Callable[[], T], *, words: str) -> T:
    """What is kept under a key, or made now, in turn with what others ask for; words: what it is.

    make asks for nothing else that is worked out in turn.
    """
    return worked_through(cache, key, lambda step: make(), turn=one_at_a_time(words))


def worked_through(
    cache: BoundedCache[T],
    key: Hashable,
    make: Callable[[Step], T],
    *,
    turn: AbstractContextManager[Step],
) -> T:
    """The same of work that tells how far it is; turn: that it waits for."""
    for kept in cache.found(key):
        return kept
    with turn as step, cache.alone(key):
        for kept in cache.found(key):  # somebody else has asked for the same before
            return kept
        made = make(step)
        cache.put(key, made)
        return made


@st.cache_resource(max_entries=4, show_spinner=False)
def _kept_artwork(path: str, stamp: tuple[int, int]) -> Upload:
    del stamp  # part of the key only
    file = Path(path)
    try:
        data = file.read_bytes()
    except OSError as error:
        raise InputError(
            f"artwork '{file.name}' of job '{file.parent.name}' cannot be read: {error.strerror}."
        ) from None
    return Upload(file.name, data, hashlib.sha256(data).hexdigest())


def kept_artwork(path: Path) -> Upload:
    """The artwork of a kept job, as its file is now."""
    found = path.stat() if path.is_file() else None
    return _kept_artwork(str(path), (found.st_mtime_ns, found.st_size) if found else (0, 0))


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
    key = (art.key, shop_key(shop), found.garment.name, viewing, large)

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


@st.cache_resource(show_spinner=False)
def _shelf(large: bool) -> BoundedCache[bytes]:
    return BoundedCache(128, most_mb=128 if large else 32)


@st.cache_resource(show_spinner=False)
def thumbs() -> BoundedCache[str]:
    """Small pictures for the bar of a job, base64."""
    return BoundedCache(64, most_mb=8)
