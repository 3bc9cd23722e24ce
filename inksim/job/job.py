"""A job (colors with areas, garments, quantity, press, costs), and reading it from its file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from inksim.artwork import Artwork, find_flats, mapped_inks, read_artwork, sized_notes
from inksim.common import KIND_WORDS, InputError, ShopFaults
from inksim.job.schema import JobArtworkEntry, JobColourEntry, JobEntry, Preference
from inksim.shop import CostsEntry, Entry, Shop, StationsEntry, read_checked
from inksim.stock import Garment, Ink, Target, target_from_hex, target_from_lab

T = TypeVar("T")
E = TypeVar("E", bound=Entry)
MM2_PER_CM2 = 100.0


@dataclass(frozen=True, kw_only=True, eq=False)
class JobColour:
    """One color to print: target, printed area on one print, tolerance (ΔE00).

    ink: None where the decision chooses it from the shop.
    """

    name: str
    target: Target
    ink: Ink | None
    area_cm2: float
    tolerance: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Job:
    """A job, checked against its shop.

    lines_per_inch: of a halftone, 0 for solid areas. cloth_m2: cloth of one garment, for the dryer.
    base_choke_mm: choke of a base under its colors. press, costs: the shop's, or the job's own.
    prefer: criterion among ways that land about as surely. notes: assumptions on the artwork.
    """

    name: str
    invented: bool
    note: str
    garments: tuple[Garment, ...]
    quantity: int
    colours: tuple[JobColour, ...]
    press: StationsEntry
    lines_per_inch: float
    cloth_m2: float
    base_choke_mm: float
    prints_per_hour: float | None
    costs: CostsEntry
    prefer: Preference
    notes: tuple[str, ...] = ()

    @property
    def area_cm2(self) -> float:
        """Printed area of one print."""
        return sum(colour.area_cm2 for colour in self.colours)


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
    if faults:
        raise ShopFaults(faults, what="the job")
    return Job(
        name=entry.name,
        invented=entry.invented,
        note=entry.note,
        garments=tuple(g for g in garments if g is not None),
        quantity=entry.quantity,
        colours=tuple(c for c in colours if c is not None),
        press=_overridden(shop.stations, entry.press),
        lines_per_inch=entry.lines_per_inch,
        cloth_m2=entry.cloth_m2_per_garment,
        base_choke_mm=entry.base_choke_mm,
        prints_per_hour=entry.prints_per_hour,
        costs=_overridden(shop.costs, entry.costs),
        prefer=entry.prefer,
        notes=(*notes, *_line_notes(entry.lines_per_inch, most=shop.rules.most_lines_per_inch)),
    )


def _colour(entry: JobColourEntry, *, shop: Shop, tolerance: float) -> JobColour:
    target = _target(entry, shop=shop)
    return JobColour(
        name=entry.name or target.name,
        target=target,
        ink=None if entry.ink is None else _printable(shop.ink(entry.ink)),
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


def _printable(ink: Ink) -> Ink:
    """Refuse an ink that is not a color to print on top."""
    if ink.kind not in ("colour", "white-base"):
        raise InputError(f"'{ink.name}' is a {KIND_WORDS[ink.kind]}, not a color to print on top.")
    return ink


def _from_artwork(
    art: Artwork, entry: JobArtworkEntry, *, shop: Shop, tolerance: float
) -> tuple[list[JobColour], tuple[str, ...]]:
    """Colors and notes of a job from the flats of an artwork, with their areas."""
    flats = find_flats(art)
    width = entry.width_mm or art.width_mm
    if width is None:
        raise InputError(
            f"'{art.name}' does not say its resolution; give width_mm, the width of the print."
        )
    cm2_per_px = (width / art.width_px) ** 2 / MM2_PER_CM2
    mapped = mapped_inks(flats, entry.inks, shop=shop, source="inks")
    inks = {code: _printable(ink) for code, ink in mapped.items() if ink is not None}
    colours = [
        JobColour(
            name=flat.hex,
            target=target_from_hex(flat.hex),
            ink=inks.get(flat.hex),
            area_cm2=flat.pixels * cm2_per_px,
            tolerance=tolerance,
        )
        for flat in flats.colours
        if flat.hex in inks or flat.hex not in mapped
    ]
    if not colours:
        raise InputError(f"'{art.name}' leaves nothing to print.")
    notes = sized_notes(art, instead=f"the job's width of {width:g} mm is taken")
    return colours, (*notes, *flats.notes)


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
