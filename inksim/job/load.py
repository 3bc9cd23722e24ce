"""Read and check a job's file, or make a job in memory of an artwork alone: by the same code."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from inksim.artwork import KEEP, Artwork, Flats, read_artwork
from inksim.common import InputError, ShopFaults
from inksim.decision import on_top
from inksim.job.from_artwork import colours_of_flats
from inksim.job.job import Job, JobColour
from inksim.job.placed import PlacedArtwork, misfit_note, placed_artwork
from inksim.job.schema import BASE_CHOKE_MM, JobArtworkEntry, JobColourEntry, JobEntry
from inksim.shop import Entry, Shop, StationsEntry, checked, read_checked
from inksim.stock import Garment, Ink, Target, target_from_hex, target_from_lab

T = TypeVar("T")
E = TypeVar("E", bound=Entry)


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnJob:
    """A job with what it prints.

    artwork: at its width, its background as the job says; flats: of it. None of a list of colors,
    and artwork where its pixels are not kept.
    """

    entry: JobEntry
    job: Job
    artwork: Artwork | None = None
    flats: Flats | None = None

    @property
    def tonal(self) -> bool:
        """Whether it is a picture in halftones, which no decision on flat colors is of."""
        return self.flats is not None and self.flats.tonal

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be said of the artwork: of a picture not what is true of flats alone."""
        of_flats = self.flats.notes if self.flats is not None and self.tonal else ()
        return tuple(note for note in self.job.notes if note not in of_flats)


def load_job(path: str | Path, *, shop: Shop) -> Job:
    """Read and check a job's file.

    Parameters
    ----------
    path : a TOML file; shared/jobs has examples, with each field explained.
    shop : that has the garments, inks and targets it names.

    Raises
    ------
    InputError : unreadable, or an invalid artwork.
    ShopFaults : every fault of the file at once.
    """
    return load_drawn_job(path, shop=shop).job


def load_drawn_job(path: str | Path, *, shop: Shop) -> DrawnJob:
    """Read and check a job's file with the artwork it prints: see `load_job`."""
    file = Path(path)
    entry = read_checked(file, JobEntry, what="the job")
    return drawn_job(entry, folder=file.parent, shop=shop, file=file.name)


def job_in_memory(
    artwork: Path,
    *,
    shop: Shop,
    garments: Sequence[Garment],
    width_mm: float | None = None,
    background: str = KEEP,
    inks: Mapping[str, str] | None = None,
    tolerance: float | None = None,
    client: str = "",
    choke_mm: float | None = None,
) -> DrawnJob:
    """The job of an artwork that no file says more of: one print on each garment.

    width_mm: what its resolution makes it, or one assumed and said, if not given. background,
    inks: see `JobArtworkEntry`; inks from a mapping. tolerance: the shop's habit if not given;
    choke_mm: the usual.

    Raises
    ------
    InputError, ShopFaults : as `load_job`.
    """
    entry = entry_in_memory(
        artwork.name,
        shop=shop,
        said={
            "client": client,
            "garments": [garment.name for garment in garments],
            "quantity": 1,
            "tolerance_de00": tolerance,
            "base_choke_mm": BASE_CHOKE_MM if choke_mm is None else choke_mm,
            "artwork": {"width_mm": width_mm, "background": background, "inks": dict(inks or {})},
        },
    )
    placed = placed_artwork(
        read_artwork(artwork), width_mm=width_mm, background=background, assume=True
    )
    return drawn_job(entry, folder=Path(), shop=shop, placed=placed, source="the mapping")


def entry_in_memory(file: str, *, shop: Shop, said: Mapping[str, Any]) -> JobEntry:
    """What a job in memory says, checked as its file would be.

    file: the artwork's; said: fields as job.toml has them, but for its name.

    Raises
    ------
    ShopFaults : a field that would be a fault.
    """
    whole = {
        **said,
        "name": "artwork",
        "invented": shop.invented,
        "artwork": {**said["artwork"], "file": file},
    }
    entry = checked(whole, JobEntry, file=file, what="the job")
    # A file may be called what no shop would call a job.
    return entry.model_copy(update={"name": Path(file).stem})


def drawn_job(
    entry: JobEntry,
    *,
    folder: Path,
    shop: Shop,
    file: str = "",
    placed: PlacedArtwork | None = None,
    source: str = "inks",
) -> DrawnJob:
    """Check what a job says against its shop, with the artwork it prints.

    folder: that paths of the job are relative to. file: as faults name it, '' in memory. placed:
    the artwork as the job prints it, if it has been read. source: what holds the inks, as messages
    say it.

    Raises
    ------
    InputError, ShopFaults : as `load_job`.
    """
    faults: list[str] = []
    where_from = f"{file}, " if file else ""

    def found(where: str, find: Callable[[], T]) -> T | None:
        try:
            return find()
        except InputError as error:
            if not file:
                raise
            faults.append(f"{where_from}{where}: {error}")
            return None

    garments = [found("garments", lambda n=n: shop.garment(n)) for n in entry.garments]  # type: ignore[misc]
    habit = shop.habits.tolerance_de00
    tolerance = habit if entry.tolerance_de00 is None else entry.tolerance_de00
    halftone: list[Ink | None] = []
    if entry.artwork is None:
        placed = None
        colours = [
            found(f"color no. {at}", lambda c=c: _colour(c, shop=shop, tolerance=tolerance))  # type: ignore[misc]
            for at, c in enumerate(entry.color, start=1)
        ]
    else:
        of_art = entry.artwork
        if placed is None:
            read = read_artwork(folder / of_art.file)
            placed = found(
                "artwork",
                lambda: placed_artwork(
                    read, width_mm=of_art.width_mm, background=of_art.background
                ),
            )
        art = placed
        made = art and found("artwork", lambda: _colours(art, of_art, shop, tolerance, source))
        colours = list(made or ())
        halftone = [found("artwork", lambda n=n: shop.ink(n)) for n in of_art.halftone_inks]  # type: ignore[misc]
        if halftone and art and not art.flats.tonal:
            faults.append(f"{where_from}artwork: it is flat; give inks by color, no halftone_inks.")
    names = [c.name for c in colours if c is not None]
    for name in sorted({n for n in names if names.count(n) > 1}):
        faults.append(
            f"{where_from}color '{name}': there twice; give each [[color]] a name of its own."
        )
    if len(set(entry.garments)) < len(entry.garments):
        faults.append(f"{where_from}garments: one stands there twice.")
    quantities = _quantities(entry, faults, name=file)
    faults += [
        f"{where_from}keep_apart: the job has no color '{name}'."
        for name in entry.keep_apart
        if name not in names
    ]
    if faults:
        raise ShopFaults(faults, what="the job")
    job = Job(
        name=entry.name,
        invented=entry.invented,
        note=entry.note,
        garments=tuple(g for g in garments if g is not None),
        quantities=quantities,
        colours=tuple(c for c in colours if c is not None),
        press=press_of(entry, shop=shop),
        lines_per_inch=entry.lines_per_inch,
        cloth_m2=entry.cloth_m2_per_garment,
        base_choke_mm=entry.base_choke_mm,
        prints_per_hour=entry.prints_per_hour,
        costs=_overridden(shop.costs, entry.costs),
        prefer=entry.prefer,
        merge=entry.merge,
        keep_apart=tuple(entry.keep_apart),
        client=entry.client,
        reference=entry.reference,
        notes=(
            *(_art_notes(placed, entry.artwork) if placed and entry.artwork else ()),
            *_line_notes(entry.lines_per_inch, most=shop.rules.most_lines_per_inch),
        ),
        halftone_inks=tuple(ink for ink in halftone if ink is not None),
    )
    if placed is None:
        return DrawnJob(entry=entry, job=job)
    return DrawnJob(entry=entry, job=job, artwork=placed.artwork, flats=placed.flats)


def _quantities(entry: JobEntry, faults: list[str], *, name: str) -> tuple[int, ...]:
    """Prints on each garment, in order; what is wrong is added to the faults."""
    if isinstance(entry.quantity, int):
        return (entry.quantity,) * len(entry.garments)
    own = {key.casefold(): count for key, count in entry.quantity.items()}
    known = {each.casefold() for each in entry.garments}
    for key in entry.quantity:
        if key.casefold() not in known:
            faults.append(f"{name}, quantity: '{key}' is no garment of the job.")
    for each in entry.garments:
        if each.casefold() not in own:
            faults.append(f"{name}, quantity: '{each}' has none; give one a garment.")
    return tuple(own.get(each.casefold(), 0) for each in entry.garments)


def _colour(entry: JobColourEntry, *, shop: Shop, tolerance: float) -> JobColour:
    target = _target(entry, shop=shop)
    return JobColour(
        name=entry.name or target.name,
        target=target,
        ink=None if entry.ink is None else on_top(shop.ink(entry.ink)),
        route=entry.route,
        area_cm2=entry.area_cm2,
        tolerance=entry.tolerance_de00 or tolerance,
    )


def _target(entry: JobColourEntry, *, shop: Shop) -> Target:
    """What the color should be, by the one of its three fields that is given."""
    if entry.hex is not None:
        return target_from_hex(entry.hex)
    if entry.lab is not None:
        values = ", ".join(f"{v:g}" for v in entry.lab)
        return target_from_lab(entry.lab, name=entry.name or f"Lab {values}")
    assert entry.target is not None  # the schema asks for exactly one
    return shop.target(entry.target)


def _colours(
    art: PlacedArtwork, entry: JobArtworkEntry, shop: Shop, tolerance: float, source: str
) -> tuple[JobColour, ...]:
    """Colors of a job from the flats of an artwork, with their areas."""
    return colours_of_flats(
        art.flats,
        shop=shop,
        width_px=art.width_px,
        width_mm=art.width_mm,
        tolerance=tolerance,
        inks=entry.inks,
        routes=entry.routes,
        tolerances=entry.tolerances,
        source=source,
    )


def press_of(entry: JobEntry, *, shop: Shop) -> StationsEntry:
    """The press that a job is printed on: the shop's, but for what the job states."""
    return _overridden(shop.stations, entry.press)


def _overridden(shop: E, job: E | None) -> E:
    """A table of the shop's, field by field overridden by what the job states."""
    if job is None:
        return shop
    return shop.model_copy(update={f: getattr(job, f) for f in job.model_fields_set})


def _art_notes(placed: PlacedArtwork, said: JobArtworkEntry) -> tuple[str, ...]:
    misfit = misfit_note(placed, place=said.place, top_mm=said.top_mm)
    return (*placed.notes, *((misfit,) if misfit else ()), *placed.flats.notes)


def _line_notes(lines_per_inch: float, *, most: float) -> tuple[str, ...]:
    if lines_per_inch <= most:
        return ()
    return (
        f"{lines_per_inch:g} lines/inch are finer than the {most:g} that are usual on garments "
        "(common practice, no source).",
    )
