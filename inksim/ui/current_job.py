"""The job that the pages work on: a kept one, whose key the address carries, or one in memory.

In memory it is of the artwork uploaded in this session, or of the demo's, with what was wished of
it. Both are what a job's file says (`JobEntry`), and are made and decided by the commands' code.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import streamlit as st

from inksim.artwork import Artwork, read_artwork
from inksim.common import InputError, file_name, sentence, temporary_folder
from inksim.job import (
    DrawnJob,
    JobArtworkEntry,
    JobEntry,
    drawn_job,
    entry_in_memory,
    placed_artwork,
)
from inksim.ledger import (
    KeptJob,
    back_words,
    change_job,
    change_words,
    copy_job,
    new_job,
    open_job,
    undo_job,
)
from inksim.shop import Shop, is_demo
from inksim.stock import Target
from inksim.ui import cache, changes, passing_jobs
from inksim.ui.cache import Drawn, Upload
from inksim.ui.job_address import PARAM, from_address, mirror

OPEN = "open job"
UPLOADED, WISHES = "uploaded artwork", "wishes"
QUANTITY = 72
BY_HAND = ("inks", "routes", "tolerances")
"""What is set by hand for the colors of an artwork: tables by hex code."""
LISTED = "is a list of colors: there is no artwork"
Said = dict[str, Any]


@dataclass(frozen=True, kw_only=True, eq=False)
class CurrentJob:
    """A job as pages show it. kept: None in memory. upload: None of a list of colors."""

    shop: Shop
    entry: JobEntry
    kept: KeptJob | None
    upload: Upload | None

    @property
    def key(self) -> str:
        """Key of the kept job; '' of one in memory."""
        return self.kept.key if self.kept else ""

    @property
    def demo(self) -> bool:
        """Whether it is the demo's, which nobody asked for."""
        mine = self.upload
        if self.kept or mine is None or mine.name not in cache.demo_artworks():
            return False
        return cache.demo_artwork(mine.name).sha256 == mine.sha256

    @property
    def title(self) -> str:
        """What it is called: a kept job's name, else the artwork's file."""
        return self.upload.name if self.upload and not self.kept else self.entry.name

    @property
    def locked(self) -> str:
        """Why it cannot be changed here; '' if it can, as in memory it always can."""
        return changes.locked_reason(self.shop) if self.kept else ""

    @property
    def on_artwork(self) -> JobArtworkEntry:
        """What it says of its artwork.

        Raises
        ------
        InputError : a list of colors.
        """
        if self.entry.artwork is None:
            raise InputError(
                f"job '{self.entry.name}' {LISTED}; decide it on 'Decide about the base', or with "
                f"'inksim advise {self.key}'."
            )
        return self.entry.artwork

    @property
    def art(self) -> Drawn:
        """Its artwork as it is printed, ready to be drawn."""
        return self._art(self.on_artwork)

    @property
    def art_already(self) -> Drawn | None:
        """What `art` gives where it has been read; None where that would be waited for."""
        said = self.entry.artwork
        if said is None or self.upload is None:
            return None
        return cache.drawn_already(
            self.upload,
            width_mm=said.width_mm,
            background=said.background,
            assume=self.kept is None,
        )

    def _art(self, said: JobArtworkEntry) -> Drawn:
        assert self.upload is not None
        return cache.drawn(
            self.upload,
            width_mm=said.width_mm,
            background=said.background,
            assume=self.kept is None,
        )

    def pixels(self) -> Artwork:
        """Its artwork as it is printed, in full pixels: read again from its file."""
        said = self.on_artwork
        assert self.upload is not None
        placed = placed_artwork(
            read_artwork(self.upload.data, name=self.upload.name),
            width_mm=said.width_mm,
            background=said.background,
            assume=self.kept is None,
        )
        assert placed.artwork is not None  # it was made of it
        return placed.artwork

    def drawn(self, entry: JobEntry | None = None) -> DrawnJob:
        """The job checked against its shop, as commands have it; entry: if it said that instead."""
        said = entry or self.entry
        return drawn_job(
            said,
            folder=self.kept.folder if self.kept else Path(),
            shop=self.shop,
            file=self.kept.file.name if self.kept else "",
            placed=self._art(said.artwork).placed if said.artwork else None,
        )

    def targets(self) -> list[Target]:
        """What its colors should be."""
        return [colour.target for colour in self.drawn().job.colours]

    def on(self, garment: str) -> CurrentJob:
        """In memory, the job with this garment as its first; a kept job has its own."""
        if self.kept or self.upload is None:
            return self
        return in_memory(self.shop, self.upload, garment, wishes(self.upload))

    @property
    def comes_back(self) -> tuple[str, str]:
        """What taking back this visitor's last change brings back, and when it was made; or ''."""
        if self.kept is None or self.locked:
            return "", ""
        with changes.as_visitor():
            change = self.kept.last_change
        if change is None or not change.mine:
            return "", ""
        return back_words(self.kept.data, change.before), change.at

    def put(self, values: Mapping[str, Any], *, garments: Mapping[str, int] | None = None) -> None:
        """Set fields by dotted name, None takes one out; of a kept job in its file.

        garments: quantity by name, instead of those it has. What is wrong is said on the page.
        """
        changes.do(lambda: self._put(values, garments))

    def _put(self, values: Mapping[str, Any], garments: Mapping[str, int] | None) -> str:
        if self.locked:
            raise InputError(self.locked)
        if self.kept is None:
            self._wish(values, garments)
            return ""
        kept = self._as_left(self.kept)
        fresh = change_job(kept, values, garments=garments, check=self.drawn)
        if fresh.data == kept.data:
            return ""
        return f"Saved: {'; '.join(change_words(kept.data, fresh.data)) or 'comments'}."

    def _as_left(self, kept: KeptJob) -> KeptJob:
        """The kept job as this visitor's last change left it, where that was made to this one.

        While a page is still at work, its fields hold the job as it was before that change.
        """
        latest = open_job(own_folder(self.shop), kept.key)
        change = latest.last_change
        return latest if change and change.mine and change.before == kept.data else kept

    def _wish(self, values: Mapping[str, Any], garments: Mapping[str, int] | None) -> None:
        assert self.upload is not None
        before = wishes(self.upload)
        first = self.entry.garments[0]
        own: Said = {**before, **values}
        if garments is not None:
            own["also"] = {name: count for name, count in garments.items() if name != first}
        own = {field: value for field, value in own.items() if value is not None}
        if any(name.startswith("artwork.") for name in values):
            self._art(_entry(self.shop, self.upload, own, first).artwork or self.on_artwork)
        st.session_state[WISHES] = {f: v for f, v in own.items() if not _of_artwork(f)}
        mine = {f: v for f, v in own.items() if _of_artwork(f)}
        st.session_state[f"{WISHES} {self.upload.sha256}"] = mine

    def leave_background(self, background: str) -> None:
        """Leave a background out, or 'keep' it: what is by hand of colors that go, goes too."""
        said = self.on_artwork

        def work() -> str:
            art = said.model_copy(update={"background": background})
            stay = {flat.hex for flat in self._art(art).placed.flats.colours}
            values: Said = {"artwork.background": background}
            for table in BY_HAND:
                gone = [code for code in getattr(said, table) if code not in stay]
                values |= {f"artwork.{table}.{code}": None for code in gone}
            apart = [code for code in self.entry.keep_apart if code in stay]
            if apart != self.entry.keep_apart:
                values["keep_apart"] = apart
            return self._put(values, None)

        changes.do(work)

    def undo(self) -> None:
        """Take back this visitor's last change of a kept job."""

        def work() -> str:
            assert self.kept is not None
            fresh, _ = undo_job(self.kept)
            return sentence(back_words(self.kept.data, fresh.data))

        changes.do(work)

    def keep(self, *, name: str, garments: Mapping[str, int], more: Mapping[str, Any]) -> None:
        """Keep a job in memory under the shop, and go on with that one; more: client and so on."""

        def work() -> str:
            assert self.upload is not None
            fields = _fields(wishes(self.upload)) | {f: v for f, v in more.items() if v}
            placed = self.art.placed
            if placed.assumed:
                fields["artwork.width_mm"] = round(placed.width_mm, 1)
            by_hand: dict[str, Said] = {f"artwork.{table}": {} for table in BY_HAND}
            for field in [f for f in fields if f.count(".") > 1]:
                table, _, code = field.rpartition(".")
                by_hand[table][code] = fields.pop(field)
            fields |= {table: codes for table, codes in by_hand.items() if codes}
            with temporary_folder() as folder:
                file = folder / file_name(self.upload.name)
                file.write_bytes(self.upload.data)
                made = new_job(
                    own_folder(self.shop),
                    name=name,
                    artwork=file,
                    garments=garments,
                    fields=fields,
                    shop=self.shop,
                )
            go_to(made.key)
            said = f"Kept as job '{made.entry.name}'; this page's address opens it again."
            if placed.assumed:
                said += (
                    f" Its width, {placed.width_mm:.0f} mm, was assumed: give it under 'Size and "
                    "place'."
                )
            return said

        changes.do(work)

    def copy(self, *, name: str, garments: Mapping[str, int]) -> None:
        """Copy a kept job with its artwork, and go on with the copy."""

        def work() -> str:
            assert self.kept is not None
            made = copy_job(
                own_folder(self.shop), self.kept, name=name, garments=garments, shop=self.shop
            )
            go_to(made.key)
            return f"Job '{made.entry.name}' is a copy of '{self.entry.name}'."

        changes.do(work)


def own_folder(shop: Shop) -> Path | None:
    """The folder of a shop of one's own; None of the demo's, which keeps no jobs."""
    return None if is_demo(shop.folder) else shop.folder


def opened(shop: Shop) -> CurrentJob:
    """The job that the address names, else the one in memory.

    Raises
    ------
    InputError : the shop has no such job, or no artwork of that name has passed here. ShopFaults :
        its file cannot be read.
    """
    key = key_asked()
    if not key:
        _take_passed()
        upload = st.session_state.get(UPLOADED) or cache.demo_artwork()
        return in_memory(shop, upload, next(iter(shop.garments)), wishes(upload))
    kept = open_job(own_folder(shop), key)
    upload = None if kept.artwork is None else cache.kept_artwork(kept.artwork)
    return CurrentJob(shop=shop, entry=kept.entry, kept=kept, upload=upload)


def key_asked() -> str:
    """Key of the kept job that the address names, or that was open before; '' for none.

    Called on every page, so that a job is not lost on one that does not show it.
    """
    if WISHES not in st.session_state:
        st.session_state[WISHES] = from_address()
    asked = st.query_params.get(PARAM)
    if asked is None and passing_jobs.PARAM in st.query_params:
        asked = ""
    key = str(st.session_state.get(OPEN, "") if asked is None else asked)
    st.session_state[OPEN] = key
    return key


def _take_passed() -> None:
    """Take up the artwork that the address names, where this session has none of its own."""
    name = st.query_params.get(passing_jobs.PARAM, "")
    if not name or UPLOADED in st.session_state:
        return
    upload, own = passing_jobs.passed(name)
    st.session_state[UPLOADED] = upload
    run = {f: v for f, v in own.items() if not _of_artwork(f)}
    st.session_state[WISHES] = {**run, **st.session_state[WISHES]}
    st.session_state[f"{WISHES} {upload.sha256}"] = {f: own[f] for f in own if _of_artwork(f)}


def to_address() -> None:
    """Make the address of any page carry the job; what it names and is not here stays in it."""
    key, upload = key_of_session(), st.session_state.get(UPLOADED)
    name = "" if key else st.query_params.get(passing_jobs.PARAM, "")
    if upload is not None and not key:
        name = passing_jobs.pass_on(upload, wishes(upload))
    mirror(key, st.session_state.get(WISHES, {}), artwork=name)


def key_of_session() -> str:
    """Key of the kept job that is open in this session; '' for none."""
    return str(st.session_state.get(OPEN, ""))


def go_to(key: str) -> None:
    """Open a kept job; '' for the one in memory."""
    st.session_state[OPEN] = key
    if passing_jobs.PARAM in st.query_params:
        del st.query_params[passing_jobs.PARAM]
    if key:
        st.query_params[PARAM] = key
    elif PARAM in st.query_params:
        del st.query_params[PARAM]


def wishes(upload: Upload) -> Said:
    """What is wished of an artwork in this session, by dotted name, and of any run."""
    both = (WISHES, f"{WISHES} {upload.sha256}")
    return {f: v for name in both for f, v in st.session_state.get(name, {}).items()}


def _of_artwork(field: str) -> bool:
    return field.startswith("artwork.") or field == "keep_apart"


def in_memory(shop: Shop, upload: Upload, garment: str, own: Said) -> CurrentJob:
    """The job of an artwork that no shop keeps; own: what is wished of it by dotted name."""
    entry = _entry(shop, upload, own, garment)
    return CurrentJob(shop=shop, entry=entry, kept=None, upload=upload)


def _entry(shop: Shop, upload: Upload, own: Said, garment: str) -> JobEntry:
    """What a job in memory says, of wishes by dotted name."""
    also = {name: n for name, n in own.get("also", {}).items() if name != garment}
    count = own.get("quantity", QUANTITY)
    said: Said = {"artwork": {}}
    for dotted, value in _fields(own).items():
        *tables, last = dotted.split(".")
        place = said
        for table in tables:
            place = place.setdefault(table, {})
        place[last] = value
    said |= {"garments": [garment, *also], "quantity": {garment: count, **also}}
    return entry_in_memory(upload.name, shop=shop, said=said)


def _fields(own: Said) -> Said:
    """Wishes that are fields of a job's file as they stand."""
    return {f: v for f, v in own.items() if f not in ("also", "quantity")}


def use(upload: Upload) -> None:
    """Work on an artwork in memory."""
    st.session_state[UPLOADED] = upload
    go_to("")


def use_none() -> None:
    """Work on the demo's artwork again, or on the kept job that is open."""
    st.session_state.pop(UPLOADED, None)
    if passing_jobs.PARAM in st.query_params:
        del st.query_params[passing_jobs.PARAM]
