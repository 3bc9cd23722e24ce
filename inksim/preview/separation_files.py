"""Separate an artwork file: plates, a picture of the print, a contact sheet.

A tonal picture is separated into halftones. Flat artwork is printed in solids, as it is decided,
unless inks or a base are named.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from inksim.artwork import Flats, find_flats, read_artwork, shrink_to
from inksim.colour import Viewing
from inksim.common import ROUTE_WORDS, Uint8Array
from inksim.decision import Answer
from inksim.job import job_of_artwork, told
from inksim.picture import SheetPanel
from inksim.preview.flat_routes import DECIDED, ArtworkResult, Key, job_colours
from inksim.preview.prepare import sketch_of
from inksim.preview.preview_request import SHEET_DPI, PrintRequest, print_request
from inksim.preview.route_drawings import (
    PANEL_PX,
    artwork_panel,
    decided_print,
    flat_drawings,
    tonal_panel,
)
from inksim.preview.tonal_print import (
    TonalPrint,
    TonalReach,
    close_up,
    draw_tonal,
    print_tonal,
    reach_map,
    reach_words,
)
from inksim.preview.views import MAP_PX, Views
from inksim.printing import Route
from inksim.separation import (
    DEFAULT_LINES_PER_INCH,
    MOST_INKS,
    Misfit,
    Plate,
    PlateFile,
    PlateSet,
    Screening,
    SeparationTable,
    chosen_set,
    fine_map,
    flat_plates,
    picture_colours,
    separation_table,
    tonal_plates,
    tonal_set,
    write_plates,
)
from inksim.shop import Shop, check_usable
from inksim.stock import Garment, Ink, Provenance


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparationRequest:
    """What is asked of a separation; what is None is chosen by the predicted print.

    misfit: choke and trap of the plates; register error of the picture of the print.
    """

    inks: Sequence[Ink] | None = None
    route: Route | None = None
    most_inks: int = MOST_INKS
    lines_per_inch: float = DEFAULT_LINES_PER_INCH
    misfit: Misfit = Misfit()
    kind: str = "png"
    screening: Screening | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparationResult:
    """What a separation wrote. chosen: what was chosen by the predicted print, in words.

    reach, reach_map: of a tonal print, with a picture of where it is out of reach; None for flats.
    found: the decision of flat artwork, None for a tonal print. data: the least sure of all.
    """

    artwork: str
    garment: Garment
    route: Key
    reach: TonalReach | None
    found: ArtworkResult | None
    data: Provenance
    plates: PlateSet
    files: tuple[PlateFile, ...]
    picture: Path
    reach_map: Path | None
    sheet: Path
    chosen: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Answers, one per flat color; none of a tonal print."""
        return self.found.decided.found.answers if self.found else ()


def write_separation(
    artwork_file: Path,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    wanted: SeparationRequest,
    viewing: Viewing,
    progress: Callable[[str], None] = lambda _: None,
) -> SeparationResult:
    """Separate an artwork file into plates; draw the print and a sheet.

    All input is read and checked before the first write; every file appears whole or not at all.

    Raises
    ------
    InputError : an artwork that cannot be read or prints nothing, inks that cannot be printed
        together, a route the cloth does not allow, and what `tonal_plates` and `write_plates`
        refuse.
    """
    progress(f"reading {artwork_file.name}")
    order = print_request(
        read_artwork(artwork_file), title=artwork_file.stem, shop=shop, garment=garment, out=out,
        viewing=viewing, progress=progress,
    )  # fmt: skip
    rgba, misfit = order.artwork.rgba, wanted.misfit
    if wanted.inks is None and wanted.route is None:
        flats = find_flats(order.artwork)
        if flats.colours and not flats.tonal:
            return _flat_separation(order, flats, wanted, progress=progress)
    colours = picture_colours(sketch_of(rgba), garment, viewing)
    progress("choosing what is not given")
    tonal = chosen_set(
        colours,
        shop=shop,
        garment=garment,
        inks=wanted.inks,
        route=wanted.route,
        most_inks=wanted.most_inks,
        lines_per_inch=wanted.lines_per_inch,
        viewing=viewing,
    )
    chosen = []
    if wanted.inks is None:
        chosen.append(f"inks: {', '.join(layer.ink.name for layer in tonal.colours)}")
    if wanted.route is None:
        chosen.append(f"base: {ROUTE_WORDS[tonal.route]}")
    progress("separating")
    made = print_tonal(rgba, tonal, viewing=viewing, tolerance=shop.habits.tolerance_de00)
    plates = tonal_plates(
        made.separation, dpi=order.dpi, choke_mm=misfit.choke_mm, trap_mm=misfit.trap_mm
    )
    files = write_plates(
        plates,
        out=out,
        stem=order.stem,
        kind=wanted.kind,  # type: ignore[arg-type]
        screening=wanted.screening,
        about=order.about("a plate, black where it prints", data=made.data),
        progress=progress,
    )
    progress("drawing the print")
    picture = draw_tonal(
        made, rgba, order.tile, viewing=viewing, px_per_mm=order.px_per_mm, misfit=misfit
    )
    return SeparationResult(
        artwork=order.artwork.name,
        garment=garment,
        route=tonal.route,
        reach=made.reach,
        found=None,
        data=made.data,
        plates=plates,
        files=files,
        picture=order.save(picture, "print", data=made.data),
        reach_map=order.save(
            reach_map(made, picture, most_px=MAP_PX), "out-of-reach", data=made.data, dpi=SHEET_DPI
        ),
        sheet=order.save_sheet(
            _panels(order, made, plates, picture, misfit=misfit),
            "separation",
            title=f"{order.title} on {garment.name}, separated",
            predicted="Predicted",
            more=f"; {tonal.lines_per_inch:g} lines/inch",
            data=made.data,
            remark=" Plates: red is finer than the mesh holds.",
            columns=4,
        ),
        chosen=tuple(chosen),
        notes=order.notes,
    )


def _flat_separation(
    order: PrintRequest,
    flats: Flats,
    wanted: SeparationRequest,
    *,
    progress: Callable[[str], None],
) -> SeparationResult:
    """Write the plates of flat artwork as it is decided, the print, and a sheet."""
    misfit = wanted.misfit
    progress("deciding")
    job = job_of_artwork(
        order.title,
        flats,
        width_px=order.artwork.width_px,
        width_mm=order.artwork.width_px / order.px_per_mm,
        shop=order.shop,
        garments=[order.garment],
        choke_mm=misfit.choke_mm,
    )
    found, way = decided_print(order, job, flats)
    plates = flat_plates(
        flats.labels,
        way.screens,
        job_colours(found.answer.job, flats),
        garment=order.garment,
        shop=order.shop,
        dpi=order.dpi,
        choke_mm=misfit.choke_mm,
        trap_mm=misfit.trap_mm,
    )
    data = found.decided.data
    files = write_plates(
        plates,
        out=order.out,
        stem=order.stem,
        kind=wanted.kind,  # type: ignore[arg-type]
        screening=wanted.screening,
        about=order.about("a plate, black where it prints", data=data),
        progress=progress,
    )
    progress("drawing the print")
    drawn = flat_drawings(order, Views(misfit=misfit), found)(DECIDED)
    return SeparationResult(
        artwork=order.artwork.name,
        garment=order.garment,
        route=DECIDED,
        reach=None,
        found=found,
        data=data,
        plates=plates,
        files=files,
        picture=order.save(drawn.full, "print", data=data),
        reach_map=None,
        sheet=order.save_sheet(
            [
                artwork_panel(order.artwork.rgba, order.cloth),
                drawn.panel,
                *(_plate_panel(plate, dpi=order.dpi) for plate in plates.plates),
            ],
            "separation",
            title=f"{order.title} on {order.garment.name}, separated",
            predicted="Predicted",
            data=data,
            remark=" Plates: red is finer than the mesh holds.",
            columns=4,
        ),
        chosen=(f"flat artwork, in solids: {found.decided.title.lower()}",),
        notes=(
            *order.notes,
            *flats.notes,
            *told(found.decided.found, way),
            *([drawn.note] if misfit.register_mm else []),
        ),
    )


def _panels(
    order: PrintRequest,
    made: TonalPrint,
    plates: PlateSet,
    picture: Uint8Array,
    *,
    misfit: Misfit,
) -> list[SheetPanel]:
    """Artwork, print, what is out of reach, the print at 1:1, and every plate."""
    rgba = order.artwork.rgba
    look = close_up(
        made.table.model,
        [plate.shirt for plate in plates.plates],
        order.tile,
        order.viewing,
        px_per_mm=order.px_per_mm,
        size_px=PANEL_PX,
        error_mm=misfit.register_mm,
    )
    return [
        artwork_panel(rgba, order.cloth),
        tonal_panel(made, picture),
        SheetPanel(
            picture=reach_map(made, picture, most_px=PANEL_PX),
            heading="Out of reach",
            lines=(*reach_words(made)[1:], "Hatched: the print is farther off than that."),
        ),
        SheetPanel(
            picture=look,
            heading="At full size",
            lines=(misfit.words(has_base=made.tonal.base is not None),),
        ),
        *(_plate_panel(plate, dpi=order.dpi) for plate in plates.plates),
    ]


def _plate_panel(plate: Plate, *, dpi: float) -> SheetPanel:
    """A plate with what its mesh cannot hold in red."""
    tints = f" and tints from {plate.least_tint:.0%}" if plate.least_tint else ""
    again = ", printed, flashed and printed again" if len(plate.goes) > 1 else ""
    return SheetPanel(
        picture=shrink_to(fine_map(plate, dpi=dpi), width=PANEL_PX, height=PANEL_PX),
        heading=plate.ink.name,
        lines=(
            f"{plate.coverage:.0%} of the picture, {plate.area_cm2:.0f} cm², "
            f"{plate.ink_g:.1f} g of wet ink{again}",
            f"Holds {plate.least_detail_mm:.2f} mm{tints}",
        ),
    )


def look_table(
    *,
    shop: Shop,
    garment: Garment,
    inks: Sequence[Ink],
    route: Route,
    lines_per_inch: float = DEFAULT_LINES_PER_INCH,
    viewing: Viewing,
) -> SeparationTable:
    """Invert the print model of named inks, for a look of theirs to be downloaded.

    Raises
    ------
    InputError : inks that cannot be printed together, or a route the cloth does not allow.
    """
    check_usable(route, garment=garment, shop=shop)
    tonal = tonal_set(shop, garment=garment, inks=inks, route=route, lines_per_inch=lines_per_inch)
    return separation_table(tonal, viewing=viewing)
