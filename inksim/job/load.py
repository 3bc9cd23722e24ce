"""Read and check a job's file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from inksim.artwork import (
    Artwork,
    at_width,
    find_flats,
    read_artwork,
    sized_notes,
    without_background,
)
from inksim.common import InputError, ShopFaults
from inksim.job.from_artwork import colours_of_flats, printable
from inksim.job.job import Job, JobColour
from inksim.job.schema import JobArtworkEntry, JobColourEntry, JobEntry
from inksim.shop import Entry, Shop, read_checked
from inksim.stock import Target, target_from_hex, target_from_lab

T = TypeVar("T")
E = TypeVar("E", bound=Entry)


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
    file = Path(path)
    entry = read_checked(file, JobEntry, what="the job")
    faults: list[str] = []

    def found(where: str, find: Callable[[], T]) -> T | None:
        try:
            return find()
        except InputError as error:
            faults.append(f"{file.name}, {where}: {error}")
            return None

    garments = [found("garments", lambda n=n: shop.garment(n)) for n in entry.garments]  # type: ignore[misc]
    tolerance = entry.tolerance_de00 or shop.habits.tolerance_de00
    notes: tuple[str, ...] = ()
    if entry.artwork is None:
        colours = [
            found(f"color no. {at}", lambda c=c: _colour(c, shop=shop, tolerance=tolerance))  # type: ignore[misc]
            for at, c in enumerate(entry.color, start=1)
        ]
    else:
        art = read_artwork(file.parent / entry.artwork.file)
        of_art = entry.artwork
        drawn = found("artwork", lambda: _from_artwork(art, of_art, shop=shop, tolerance=tolerance))
        colours, notes = (list(drawn[0]), drawn[1]) if drawn else ([], ())
    names = [c.name for c in colours if c is not None]
    for name in sorted({n for n in names if names.count(n) > 1}):
        faults.append(
            f"{file.name}, color '{name}': there twice; give each [[color]] a name of its own."
        )
    if len(set(entry.garments)) < len(entry.garments):
        faults.append(f"{file.name}, garments: one stands there twice.")
    quantities = _quantities(entry, faults, name=file.name)
    faults += [
        f"{file.name}, keep_apart: the job has no color '{name}'."
        for name in entry.keep_apart
        if name not in names
    ]
    if faults:
        raise ShopFaults(faults, what="the job")
    return Job(
        name=entry.name,
        invented=entry.invented,
        note=entry.note,
        garments=tuple(g for g in garments if g is not None),
        quantities=quantities,
        colours=tuple(c for c in colours if c is not None),
        press=_overridden(shop.stations, entry.press),
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
        notes=(*notes, *_line_notes(entry.lines_per_inch, most=shop.rules.most_lines_per_inch)),
    )


def job_artwork(path: str | Path) -> Artwork | None:
    """The artwork that a job's file prints, at the width it states; None for a list of colors.

    Raises
    ------
    InputError, ShopFaults : as `load_job`.
    """
    file = Path(path)
    entry = read_checked(file, JobEntry, what="the job").artwork
    if entry is None:
        return None
    artwork = read_artwork(file.parent / entry.file)
    return at_width(artwork, entry.width_mm) if entry.width_mm else artwork


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
        ink=None if entry.ink is None else printable(shop.ink(entry.ink)),
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


def _from_artwork(
    art: Artwork, entry: JobArtworkEntry, *, shop: Shop, tolerance: float
) -> tuple[list[JobColour], tuple[str, ...]]:
    """Colors and notes of a job from the flats of an artwork, with their areas."""
    art = without_background(art, background=entry.background)
    flats = find_flats(art)
    width = entry.width_mm or art.width_mm
    if width is None:
        raise InputError(
            f"'{art.name}' does not say its resolution; give width_mm, the width of the print."
        )
    colours = colours_of_flats(
        flats,
        shop=shop,
        width_px=art.width_px,
        width_mm=width,
        tolerance=tolerance,
        inks=entry.inks,
        routes=entry.routes,
        tolerances=entry.tolerances,
        source="inks",
    )
    notes = sized_notes(art, instead=f"the job's width of {width:g} mm is taken")
    return list(colours), (*notes, *flats.notes)


def _overridden(shop: E, job: E | None) -> E:
    """A table of the shop's, field by field overridden by what the job states."""
    if job is None:
        return shop
    return shop.model_copy(update={f: getattr(job, f) for f in job.model_fields_set})


def _line_notes(lines_per_inch: float, *, most: float) -> tuple[str, ...]:
    if lines_per_inch <= most:
        return ()
    return (
        f"{lines_per_inch:g} lines/inch are finer than the {most:g} that are usual on garments "
        "(common practice, no source).",
    )
