"""A job: colors with their areas, garments, quantity, press and costs; read from its text file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from inksim.artwork import NOT_PRINTED, Artwork, FlatColour, find_flats, read_artwork, sized_notes
from inksim.common import InputError, ShopFaults
from inksim.job.schema import JobArtworkEntry, JobColourEntry, JobEntry, JobPressEntry, Preference
from inksim.shop import CostsEntry, Shop, read_checked
from inksim.stock import Garment, Ink, Target, target_from_hex

T = TypeVar("T")
MM2_PER_CM2 = 100.0


@dataclass(frozen=True, kw_only=True, eq=False)
class JobColour:
    """One color to print: what it should look like, its area on one print, how far it may be off.

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
    base_choke_mm: how far a base stays back under its colors.
    costs: the shop's, with what the job states otherwise. prefer: what decides among ways that land
    about as surely. notes: what was taken from an artwork.
    """

    name: str
    invented: bool
    note: str
    garments: tuple[Garment, ...]
    quantity: int
    colours: tuple[JobColour, ...]
    press: JobPressEntry
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
    InputError : unreadable, or an artwork that is none.
    ShopFaults : every fault of it at once.
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
        press=entry.press,
        lines_per_inch=entry.lines_per_inch,
        cloth_m2=entry.cloth_m2_per_garment,
        base_choke_mm=entry.base_choke_mm,
        prints_per_hour=entry.prints_per_hour,
        costs=_costs(shop.costs, entry.costs),
        prefer=entry.prefer,
        notes=(*notes, *_line_notes(entry.lines_per_inch, most=shop.rules.most_lines_per_inch)),
    )


def _colour(entry: JobColourEntry, *, shop: Shop, tolerance: float) -> JobColour:
    target = shop.target(entry.target)
    return JobColour(
        name=entry.name or target.name,
        target=target,
        ink=None if entry.ink is None else _printable(shop.ink(entry.ink)),
        area_cm2=entry.area_cm2,
        tolerance=entry.tolerance_de00 or tolerance,
    )


def _printable(ink: Ink) -> Ink:
    """Refuse an ink that is no color to look at."""
    if ink.kind not in ("colour", "white-base"):
        raise InputError(
            f"'{ink.name}' is a {ink.kind.replace('-', ' ')}, not a color to print on top."
        )
    return ink


def _from_artwork(
    art: Artwork, entry: JobArtworkEntry, *, shop: Shop, tolerance: float
) -> tuple[list[JobColour], tuple[str, ...]]:
    """Take the flats of an artwork as the colors of a job, with their areas."""
    flats = find_flats(art)
    width = entry.width_mm or art.width_mm
    if width is None:
        raise InputError(
            f"'{art.name}' does not say its resolution; give width_mm, the width of the print."
        )
    cm2_per_px = (width / art.width_px) ** 2 / MM2_PER_CM2
    asked = {"#" + code.strip().lstrip("#").lower(): name for code, name in entry.inks.items()}
    inks = _mapped(flats.colours, asked, shop=shop)
    colours = [
        JobColour(
            name=flat.hex,
            target=target_from_hex(flat.hex),
            ink=inks.get(flat.hex),
            area_cm2=flat.pixels * cm2_per_px,
            tolerance=tolerance,
        )
        for flat in flats.colours
        if asked.get(flat.hex, "").lower() != NOT_PRINTED
    ]
    if not colours:
        raise InputError(f"'{art.name}' leaves nothing to print.")
    notes = sized_notes(art, instead=f"the job's width of {width:g} mm is taken")
    return colours, (*notes, *flats.notes)


def _mapped(
    colours: tuple[FlatColour, ...], names: Mapping[str, str], *, shop: Shop
) -> dict[str, Ink]:
    known = [flat.hex for flat in colours]
    strange = [code for code in names if code not in known]
    if strange:
        raise InputError(
            f"inks names {strange[0]}, which is no flat color of this artwork; "
            f"it has {', '.join(known)}."
        )
    return {
        code: _printable(shop.ink(name))
        for code, name in names.items()
        if name.lower() != NOT_PRINTED
    }


def _costs(shop: CostsEntry, job: CostsEntry | None) -> CostsEntry:
    """The shop's costs, with what the job states otherwise."""
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
