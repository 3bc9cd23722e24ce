"""Cached results of the app: reaches, gamuts, builds, decisions, fits, tonal prints; bounded."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_WORDS
from inksim.decision import (
    Answer,
    Evaluated,
    Gamut,
    GarmentReach,
    answers_on,
    build_space,
    evaluate,
    gamut,
    reach,
)
from inksim.job import GarmentAnswer, Job, JobAnswer, decide_job, mixed_instead
from inksim.mixing import Instead, recipes_instead
from inksim.picture import Look
from inksim.preview import (
    ArtworkResult,
    FineArt,
    PreparedArtwork,
    TonalResult,
    artwork_on,
    build_look,
    fine_art,
    job_colours,
    png_bytes,
    result_of_garment,
    tonal_result,
    tonal_run,
)
from inksim.printing import Route, file_words
from inksim.separation import PlateRun
from inksim.shop import Shop
from inksim.stock import Garment, Target
from inksim.ui.bounded_cache import BoundedCache
from inksim.ui.cache import shop_key, worked_out, worked_through
from inksim.ui.progress import SHORT, Step, stoppable, unwatched

T = TypeVar("T")
RECIPES = "Looking for recipes …"
WEIGHING = "Weighing every ink on"


@st.cache_resource(show_spinner=False)
def _kept(what: str, most: int, most_mb: float) -> BoundedCache[Any]:
    """The results of a kind, kept between reruns and shared by all sessions."""
    del what  # part of the key only
    return BoundedCache(most, most_mb=most_mb)


def palette_on(
    shop: Shop,
    targets: Sequence[Target],
    *,
    garments: Sequence[str],
    tolerance: float,
    viewing: Viewing,
) -> list[list[Answer]]:
    """One column per garment, in order, of one answer per target, in order."""
    reaches: BoundedCache[GarmentReach] = _kept("reaches", 64, 256)

    def column(name: str) -> list[Answer]:
        found = worked_out(
            reaches,
            (shop_key(shop), name, viewing),
            lambda: reach(shop, garment=shop.garment(name), viewing=viewing),
            words=WEIGHING,
        )
        return answers_on(found, targets, tolerance=tolerance)

    def make(step: Step) -> list[list[Answer]]:
        columns = []
        for at, name in enumerate(garments):
            step(f"{WEIGHING} {name}", at / len(garments))
            columns.append(column(name))
        return columns

    key = _palette_key(shop, targets, tuple(garments), tolerance, viewing)
    turn = stoppable(key, turns=SHORT, words=WEIGHING)
    return worked_through(_palettes(), key, make, turn=turn)


def palette_already(
    shop: Shop,
    targets: Sequence[Target],
    *,
    garments: Sequence[str],
    tolerance: float,
    viewing: Viewing,
) -> bool:
    """Whether that has been worked out."""
    key = _palette_key(shop, targets, tuple(garments), tolerance, viewing)
    return bool(_palettes().found(key))


def _palettes() -> BoundedCache[list[list[Answer]]]:
    return _kept("palettes", 32, 64)


def _palette_key(shop: Shop, targets: Sequence[Target], *others: Hashable) -> Hashable:
    return (shop_key(shop), tuple(_target_key(each) for each in targets), *others)


def _target_key(target: Target) -> Hashable:
    spectrum = None if target.reflectance is None else target.reflectance.tobytes()
    return target.name, target.lab_d50.tobytes(), spectrum


def garment_gamut(shop: Shop, *, garment: str, viewing: Viewing) -> Gamut:
    """What the shop's inks, tints and mixtures of two reach on a garment."""
    return worked_out(
        _gamuts(),
        (shop_key(shop), garment, viewing),
        lambda: gamut(shop, garment=shop.garment(garment), viewing=viewing),
        words="Printing every ink, tint and mixture …",
    )


def gamut_already(shop: Shop, *, garment: str, viewing: Viewing) -> bool:
    """Whether that has been worked out."""
    return bool(_gamuts().found((shop_key(shop), garment, viewing)))


def _gamuts() -> BoundedCache[Gamut]:
    return _kept("gamuts", 28, 64)


def evaluated(shop: Shop, *, garment: str, ink: str, viewing: Viewing) -> Evaluated:
    """Every build of an ink on a garment, whatever the target."""

    def make() -> Evaluated:
        space = build_space(shop, garments=[shop.garment(garment)], inks=[shop.ink(ink)])
        return evaluate(space, press=shop.press, viewing=viewing)

    kept: BoundedCache[Evaluated] = _kept("evaluated", 64, 128)
    key = (shop_key(shop), garment, ink, viewing)
    return worked_out(kept, key, make, words="Weighing every build of the ink …")


def job_key(shop: Shop, job: Job, *, viewing: Viewing) -> Hashable:
    """Key of the decision for a job: everything it depends on."""
    colours = tuple(
        (c.name, _target_key(c.target), c.ink and c.ink.name, c.area_cm2, c.tolerance, c.route)
        for c in job.colours
    )
    return (
        shop_key(shop), job.name, tuple(g.name for g in job.garments), job.quantities,
        colours, job.press.model_dump_json(), job.costs.model_dump_json(), job.prefer, job.merge,
        job.keep_apart, job.base_choke_mm, job.cloth_m2, job.lines_per_inch, job.prints_per_hour,
        job.client, job.reference, job.note, job.notes, viewing,
    )  # fmt: skip


def decided(shop: Shop, job: Job, *, viewing: Viewing) -> JobAnswer:
    """The decision for a job."""
    key = job_key(shop, job, viewing=viewing)
    return worked_through(
        _decided(),
        key,
        lambda step: decide_job(job, shop=shop, viewing=viewing, step=step),
        turn=stoppable(key, turns=SHORT, words="Weighing the ways to print it"),
    )


def decided_already(shop: Shop, job: Job, *, viewing: Viewing) -> JobAnswer | None:
    """What `decided` gives where it has been worked out; None where that would be waited for."""
    return _decided().get(job_key(shop, job, viewing=viewing))


def _decided() -> BoundedCache[JobAnswer]:
    return _kept("decided", 32, 256)


def instead(shop: Shop, answer: Answer, *, viewing: Viewing) -> Instead | None:
    """The recipes for an answer of a palette that does not land."""
    key = (
        shop_key(shop), _target_key(answer.target), answer.garment.name,
        viewing, answer.interval.tolerance,
    )  # fmt: skip
    kept: BoundedCache[Instead | None] = _kept("instead", 64, 64)
    return worked_out(
        kept, key, lambda: recipes_instead(shop, answer, viewing=viewing), words=RECIPES
    )


def job_instead(
    shop: Shop, job: Job, answer: JobAnswer, found: GarmentAnswer
) -> tuple[Instead | None, ...]:
    """The recipes for the colors of a way that do not land."""
    key = (found.garment.name, found.chosen, job_key(shop, job, viewing=answer.viewing))
    kept: BoundedCache[tuple[Instead | None, ...]] = _kept("mixed instead", 32, 64)
    return worked_out(kept, key, lambda: mixed_instead(shop, answer, found), words=RECIPES)


def printed(
    shop: Shop, job: Job, *, art: PreparedArtwork, garment: str, viewing: Viewing
) -> ArtworkResult:
    """What becomes of a job's artwork on one of its garments, as the whole job is decided."""

    def make() -> ArtworkResult:
        found = next(each for each in answer.garments if each.garment.name == garment)
        return result_of_garment(answer, found, art.flats, shop=shop)

    answer = decided(shop, job, viewing=viewing)
    kept: BoundedCache[ArtworkResult] = _kept("printed", 32, 128)
    return kept.take([((art.key, garment, job_key(shop, job, viewing=viewing)), make)])[0]


def fitted(key: Hashable, make: Callable[[], T]) -> T:
    """The fit of some drawdowns, known by their files and by what is stated of them."""
    kept: BoundedCache[T] = _kept("fits", 16, 64)
    return worked_out(kept, key, make, words="Fitting, and again without each recipe …")


def read_photo_once(key: Hashable, make: Callable[[], T]) -> T:
    """What was read from a picture, by its file and what is marked in it; one at a time is held."""
    kept: BoundedCache[T] = _kept("photos", 6, 256)
    return worked_out(kept, key, make, words="Finding the chart, and reading through it …")


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalPngs:
    """A tonal print's pictures, packed: the artwork on the garment, each route, its map."""

    artwork: bytes
    prints: Mapping[Route, bytes]
    maps: Mapping[Route, bytes]


@st.cache_resource(show_spinner=False)
def _tonal_shelf() -> BoundedCache[tuple[TonalResult, TonalPngs]]:
    return BoundedCache(12, most_mb=256)


def tonal_key(
    art: PreparedArtwork, job: Job, *, shop: Shop, garment: Garment, viewing: Viewing
) -> Hashable:
    """Key of the halftones of a job on a garment."""
    inks = tuple(ink.name for ink in job.halftone_inks)
    return (
        art.key, shop_key(shop), garment.name, viewing, job.colours[0].tolerance,
        job.press.model_dump_json(), inks,
    )  # fmt: skip


def tonal_already(
    art: PreparedArtwork, job: Job, *, shop: Shop, garment: Garment, viewing: Viewing
) -> TonalResult | None:
    """What `tonal` gives where it has been worked out; None where that would be waited for."""
    key = tonal_key(art, job, shop=shop, garment=garment, viewing=viewing)
    found = _tonal_shelf().get(key)
    return None if found is None else found[0]


def tonal(
    art: PreparedArtwork,
    job: Job,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    watched: bool = True,
    first: Callable[[TonalResult, TonalPngs], None] = lambda shown, pngs: None,
) -> tuple[TonalResult, TonalPngs]:
    """A job's tonal artwork on a garment, in its inks, which are chosen if it names none.

    It takes some ten seconds. watched: the page tells what it is at, and it can be stopped between
    its steps; else nobody looks on, as where a file is made. first: given the best route alone,
    before the others are worked out; not where all are known.
    """
    tolerance, press = job.colours[0].tolerance, job.press
    inks = job.halftone_inks
    key = tonal_key(art, job, shop=shop, garment=garment, viewing=viewing)

    packed: dict[Route, tuple[bytes, bytes]] = {}
    artwork: list[bytes] = []

    def pngs(shown: TonalResult) -> TonalPngs:
        if not artwork:
            artwork.append(png_bytes(artwork_on(art.large, garment, viewing)))
        for each in shown.routes:
            if each.route not in packed:
                about = file_words(
                    f"{art.name} on {garment.name}, {viewing}, {ROUTE_WORDS[each.route]}",
                    data=each.reach.data,
                    calibrated=shop.press.calibrated,
                )
                packed[each.route] = png_bytes(each.picture, about=about), png_bytes(each.map)
        return TonalPngs(
            artwork=artwork[0],
            prints={each.route: packed[each.route][0] for each in shown.routes},
            maps={each.route: packed[each.route][1] for each in shown.routes},
        )

    def make(step: Step) -> tuple[TonalResult, TonalPngs]:
        shown = tonal_result(
            art,
            shop=shop,
            garment=garment,
            viewing=viewing,
            tolerance=tolerance,
            inks=inks,
            press=press,
            step=step,
            first=lambda best: first(best, pngs(best)),
        )
        return shown, pngs(shown)

    turn = stoppable(key) if watched else unwatched()
    return worked_through(_tonal_shelf(), key, make, turn=turn)


def run_of_tonal(
    art: PreparedArtwork, shown: TonalResult, job: Job, *, shop: Shop, viewing: Viewing
) -> PlateRun:
    """What a tonal print takes; job: on this garment alone."""
    inks = tuple(ink.name for ink in shown.inks)
    press, choke_mm = job.press, job.base_choke_mm
    key = (
        art.key, shop_key(shop), shown.garment.name, viewing, inks, job.quantity,
        press.model_dump_json(), choke_mm,
    )  # fmt: skip
    kept: BoundedCache[PlateRun] = _kept("runs", 32, 64)
    return worked_out(
        kept,
        key,
        lambda: tonal_run(
            art,
            shown,
            shop=shop,
            quantity=job.quantity,
            press=press,
            choke_mm=choke_mm,
        ),
        words="Counting screens and ink …",
    )


def too_fine(
    art: PreparedArtwork, found: ArtworkResult, *, viewing: Viewing
) -> tuple[tuple[str, ...], bytes | None]:
    """What of the decided print is too fine for mesh and cloth, in words and as a PNG."""
    way, answer = found.decided.way, found.decided.found
    screens = way.screens if way else ()
    meshes = tuple((s.screen.name, s.choke_mm, s.over, s.shows) for s in screens)
    key = (art.key, job_colours(answer.job, found.flats), meshes, shop_key(found.shop))
    same: BoundedCache[FineArt] = _kept("fine art", 8, 64)  # for every garment printed so

    def check() -> FineArt:
        return fine_art(answer, found.flats, dpi=art.dpi, shop=found.shop)

    def make() -> tuple[tuple[str, ...], bytes | None]:
        (fine,) = same.take([(key, check)])
        picture = fine.picture_of(art, found.garment, viewing) if fine else None
        return fine.words, None if picture is None else png_bytes(picture)

    kept: BoundedCache[tuple[tuple[str, ...], bytes | None]] = _kept("too fine", 64, 32)
    return kept.take([((*key, found.garment.name, viewing), make)])[0]


def bare_cloth(shop: Shop, garment: Garment, viewing: Viewing) -> Look:
    """The look of a garment with nothing printed on it."""
    key = (garment.name, garment.reflectance.tobytes(), viewing)
    kept: BoundedCache[Look] = _kept("bare cloths", 32, 32)
    make = partial(build_look, [], garment=garment, press=shop.press.values, viewing=viewing)
    return kept.take([(key, make)])[0]
