"""What a worker does: the jobs of one artwork, asked of the rooms that answer for one.

An artwork is read and its palette found once for all its jobs; each garment is then decided from
the palette and its areas, and drawn by looking the palette up in the reduced picture.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from inksim.artwork import Artwork, Flats, find_flats, read_artwork
from inksim.batch.palette import Palette
from inksim.batch.task import Art, Item, ItemOutcome, Made, ShopFiles, Task, TaskOutcome, Wanted
from inksim.common import (
    InksimError,
    InputError,
    Uint8Array,
    cut,
    now,
    temporary_folder,
    write_whole,
)
from inksim.job import (
    DrawnJob,
    GarmentAnswer,
    Job,
    JobAnswer,
    JobEntry,
    decide_job,
    drawn_job,
    entry_in_memory,
    placed_artwork,
)
from inksim.ledger import Issued, open_job
from inksim.preview import (
    PreparedArtwork,
    TonalResult,
    png_bytes,
    prepare_artwork,
    print_on,
    result_of_garment,
    tonal_in_a_word,
    tonal_result,
)
from inksim.printing import file_words, honest_words
from inksim.reports import (
    BaseProof,
    ProofAsked,
    ProofMade,
    document,
    flat_proof,
    in_a_word,
    issued_together,
    keep_decided,
    picture_proof,
    proof_pdf,
    said_of,
)
from inksim.separation import press_barrier
from inksim.shop import Shop, checked, load_shop
from inksim.stock import Provenance, least_sure

T = TypeVar("T")
LONG_S = 5.0
_KEPT: dict[str, tuple[Hashable, Any]] = {}
"""The last shop, artwork and reduced artwork of this process: by what, its key and itself."""


def _once(what: str, key: Hashable, make: Callable[[], T]) -> T:
    """Return what was made last for this key, or make it; one of a kind is kept.

    So is the fault of an artwork that was read, as one with too many flats; not one that may pass.
    """
    kept = _KEPT.get(what)
    if kept is None or kept[0] != key:
        _KEPT.pop(what, None)  # before the next one takes its memory
        try:
            kept = (key, make())
        except InputError as error:
            if what != "placed" or isinstance(error, _Unread):
                raise
            kept = (key, error)
        _KEPT[what] = kept
    if isinstance(kept[1], InputError):
        raise InputError(str(kept[1]))
    made: T = kept[1]
    return made


class _Unread(InputError):
    """An artwork that cannot be read now."""


class Palettes:
    """The palettes of a task's artwork: those it came with, and those found now."""

    def __init__(self, task: Task) -> None:
        self.known, self.share = task.palettes, task.share
        self.found: list[Palette] = []

    def flats(self, art: Artwork, *, background: str) -> Flats:
        """The flats of an artwork, whose background is left out as asked."""
        if background in self.known:
            return self.known[background].unpacked()
        flats = find_flats(art)
        if self.share:
            self.found.append(Palette.of(flats, background=background))
        return flats


def work(task: Task) -> TaskOutcome:
    """Do some jobs; whatever is wrong with one becomes its fault.

    After `LONG_S` the rest goes back unworked, so that halftones are recorded as they come.
    """
    palettes, items, start = Palettes(task), list[ItemOutcome](), 0.0
    for item in task.items:
        items.append(_done(task, item, palettes))
        start = start or time.perf_counter()  # the first one reads the artwork for all
        if time.perf_counter() - start > LONG_S:
            break
    return TaskOutcome(items=items, palettes=palettes.found)


def _done(task: Task, item: Item, palettes: Palettes) -> ItemOutcome:
    start = time.perf_counter()
    try:
        found, files = _worked(task, item, palettes)
        if task.through:
            files = [made.left_in(task.through, f"{item.key}-{n}") for n, made in enumerate(files)]
    except InksimError as error:
        return ItemOutcome(key=item.key, fault=cut(str(error)))
    except MemoryError:
        return ItemOutcome(
            key=item.key, fault="not enough memory for this picture; make it smaller."
        )
    except Exception as error:  # one job's fault stops no other
        said = f"a fault of inksim itself ({type(error).__name__}: {error}); please report it."
        return ItemOutcome(key=item.key, fault=cut(said))
    return ItemOutcome(
        key=item.key, found=found, files=tuple(files), seconds=time.perf_counter() - start
    )


def _shop(files: ShopFiles) -> Shop:
    with temporary_folder() as folder:
        for name, data in files.files.items():
            write_whole(folder / name, data)
        return load_shop(folder)


def _read(art: Art) -> Artwork:
    try:
        read = read_artwork(art.data if art.path is None else art.path, name=art.name)  # type: ignore[arg-type]
    except InputError as error:
        raise _Unread(str(error)) from None
    if read.sha256 != art.sha256:
        raise _Unread(
            f"artwork '{art.name}' was changed while the batch ran; run it again when it is "
            "finished."
        )
    return read


@dataclass(frozen=True, kw_only=True, eq=False)
class _Opened:
    """One job of a task, opened. place: of its artwork, by all that it depends on."""

    drawn: DrawnJob
    shop: Shop
    task: Task
    item: Item
    place: Hashable

    @property
    def wanted(self) -> Wanted:
        """What is asked of it."""
        return self.task.wanted

    @property
    def ready(self) -> PreparedArtwork:
        """Its artwork, separated and reduced."""
        drawn = self.drawn
        assert drawn.artwork is not None  # asked for of artworks alone
        art = drawn.artwork
        return _once("reduced", self.place, lambda: prepare_artwork(art, drawn.flats))

    def about(self, garment: str, data: Provenance) -> str:
        """What a picture says of itself."""
        what = f"{self.drawn.job.name} on {garment}, {self.wanted.viewing}: as decided"
        return file_words(what, data=data, calibrated=self.shop.press.calibrated)

    @property
    def asked(self) -> ProofAsked:
        """Fields that its proofs have in common."""
        return ProofAsked(
            ready=self.ready, shop=self._own_shop(), viewing=self.wanted.viewing,
            made=date.today(), said=said_of(self.drawn.entry),
        )  # fmt: skip

    def _own_shop(self) -> Shop:
        """The shop, in its own folder where its proof is numbered there."""
        home = self.task.home
        if home is None or self.item.proof.draft:
            return self.shop
        if ShopFiles.of(home).digest != self.task.shop.digest:
            raise InputError(
                "the shop was changed while the batch ran; run it again when it is finished."
            )
        return replace(self.shop, folder=home)

    def keep(self, answer: JobAnswer) -> None:
        """Keep what was decided with the job whose proof is numbered, as `inksim proof` does."""
        home, proof = self.task.home, self.item.proof
        if home is None or proof.draft:
            return
        with suppress(InputError):  # a shop that one may only look at
            keep_decided(open_job(home, proof.job), answer, shop=self._own_shop(), made=now())

    def issued(self, proofs: list[BaseProof]) -> list[BaseProof]:
        """Its proofs with the shop's next number, or as drafts that say why."""
        proof = self.item.proof
        if proof.draft:
            return [replace(each, issued=Issued(why=proof.draft)) for each in proofs]
        return issued_together(proofs, job=proof.job)


def _worked(task: Task, item: Item, palettes: Palettes) -> tuple[dict[str, Any], list[Made]]:
    shop = _once("shop", task.shop.digest, lambda: _shop(task.shop))
    if item.in_memory:
        said = dict(item.said)
        name = said.pop("name", None)
        entry = entry_in_memory(item.file, shop=shop, said=said)
        entry = entry.model_copy(update={"name": name}) if name else entry
    else:
        entry = checked(dict(item.said), JobEntry, file=item.file, what="the job")
    placed, place = None, None
    if entry.artwork is not None:
        if task.art is None:
            raise InputError("the job names no artwork's file that could be read.")
        art, of_art = task.art, entry.artwork
        place = (art.name, art.sha256, of_art.width_mm, of_art.background, item.in_memory)
        placed = _once("placed", place, lambda: placed_artwork(
                _read(art), width_mm=of_art.width_mm, background=of_art.background,
                assume=item.in_memory, find=partial(palettes.flats, background=of_art.background),
            ))  # fmt: skip
    drawn = drawn_job(
        entry, folder=Path(), shop=shop, file="" if item.in_memory else item.file, placed=placed
    )
    job = _Opened(drawn=drawn, shop=shop, task=task, item=item, place=place)
    by_hand = entry.artwork is not None and bool(entry.artwork.inks)
    if drawn.tonal and by_hand and task.wanted.proofs:
        raise InputError("the artwork is tonal: inks by hand are those of flat colors.")
    garments, files = _tonal(job) if drawn.tonal and not by_hand else _flat(job)
    found = {
        "job": drawn.job.name,
        "invented": drawn.job.invented,
        "garments": garments,
        "honest": honest_words(
            least_sure(*(each["data"] for each in garments)), calibrated=shop.press.calibrated
        ),
        "notes": list(drawn.job.notes if by_hand else drawn.notes),
    }
    return found, files


def _flat(job: _Opened) -> tuple[list[dict[str, Any]], list[Made]]:
    """Flat colors: those of an artwork, or a list."""
    drawn, shop, wanted = job.drawn, job.shop, job.wanted
    answer = decide_job(drawn.job, shop=shop, viewing=wanted.viewing)
    files: list[Made] = []
    if drawn.artwork is not None and drawn.flats is not None:
        if wanted.pictures:
            for found in answer.garments:
                if found.best is not None:
                    shown = result_of_garment(answer, found, drawn.flats, shop=shop).decided
                    picture = print_on(job.ready.large, shown.look)
                    files.append(_picture(job, found.garment.name, picture, shown.data))
        if wanted.proofs:
            asked = job.asked
            job.keep(answer)
            files += _proof(job, (partial(flat_proof, asked, answer, f) for f in answer.garments))
    return [_garment(found) for found in answer.garments], files


def _garment(found: GarmentAnswer) -> dict[str, Any]:
    best = found.best
    return {
        "garment": found.garment.name,
        "quantity": found.job.quantity,
        "said": in_a_word(found),
        "why_not": found.barrier,
        "verdict": document(best.verdict) if best and best.printed else None,
        "nominal": found.nominal,
        "data": best.data if best else found.garment.data,
        "cost": document(best.bill) if best else None,
        "answers": document(found.answers),
        "tonal": None,
    }


def _tonal(job: _Opened) -> tuple[list[dict[str, Any]], list[Made]]:
    """A picture in halftones: no color of it has an answer by itself."""
    drawn = job.drawn
    shown = [
        tonal_result(
            job.ready,
            shop=job.shop,
            garment=garment,
            viewing=job.wanted.viewing,
            tolerance=drawn.job.colours[0].tolerance,
            inks=drawn.job.halftone_inks,
            press=drawn.job.press,
        )
        for garment in drawn.job.garments
    ]
    files: list[Made] = []
    if job.wanted.pictures:
        files += [_picture(job, s.garment.name, s.best.picture, s.best.reach.data) for s in shown]
    if job.wanted.proofs:
        asked = job.asked
        makers = (partial(picture_proof, asked, drawn.job.on(s.garment), s) for s in shown)
        files += _proof(job, makers)
    return [_tonal_garment(each, drawn.job.on(each.garment)) for each in shown], files


def _tonal_garment(shown: TonalResult, job: Job) -> dict[str, Any]:
    return {
        "garment": shown.garment.name,
        "quantity": job.quantity,
        "said": tonal_in_a_word(shown, job.press),
        "why_not": press_barrier(len(shown.inks), shown.best.route, job.press),
        "verdict": None,
        "nominal": shown.best.reach.nominal,
        "data": shown.best.reach.data,
        "cost": None,
        "answers": [],
        "tonal": {"route": shown.best.route, **document(shown.best.reach)},
    }


def _picture(job: _Opened, garment: str, picture: Uint8Array, data: Provenance) -> Made:
    about = job.about(garment, data)
    png = png_bytes(picture, about=about)
    return Made(kind="picture", garment=garment, suffix=".png", data=png)


def _proof(job: _Opened, garments: Iterator[Callable[[], ProofMade]]) -> list[Made]:
    """One document of all garments that are printed; none where there is nothing."""
    proofs: list[BaseProof] = []
    left_out = []
    for make in garments:
        try:
            made = make()
        except InputError as error:
            left_out.append(str(error))
        else:
            if made.proof is None:
                left_out.append(made.said[0])
            else:
                proofs.append(made.proof)
    if not proofs:
        return []
    proofs = job.issued(proofs)
    seal = proofs[0].issued
    assert seal is not None  # it was issued, or says why not
    sheet = proof_pdf(*proofs, left_out=left_out)
    return [
        Made(
            kind="proof", garment="", suffix=".pdf", data=sheet, number=seal.number, said=seal.words
        )
    ]
