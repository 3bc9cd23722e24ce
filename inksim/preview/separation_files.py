"""From a tonal artwork file to plates, a picture of the print, a sheet, and a report (level 12)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from inksim.artwork import Artwork, printed_at, read_artwork, save_png
from inksim.colour import Viewing
from inksim.common import (
    MM_PER_INCH,
    ROUTE_TITLES,
    ROUTE_WORDS,
    InputError,
    Uint8Array,
    slug,
)
from inksim.picture import SheetPanel, compose_sheet, knit_tile
from inksim.preview.tonal_preview import (
    TonalPrint,
    TonalReach,
    close_up,
    picture_of,
    pressed_picture,
    print_tonal,
    reach_map,
    reach_of,
    reach_words,
    tonal_panel,
)
from inksim.preview.views import MAP_PX
from inksim.preview.write import PANEL_PX, artwork_panel
from inksim.printing import Route, honest_words
from inksim.separation import (
    MOST_INKS,
    Misfit,
    PlateFile,
    PlateSet,
    Screening,
    SeparationTable,
    chosen_set,
    fine_map,
    picture_colours,
    separation_table,
    tonal_plates,
    tonal_set,
    write_plates,
)
from inksim.shop import Shop, usable_routes
from inksim.stock import Garment, Ink

CLOSE_UP_PX = 620


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparationRequest:
    """What is asked of a separation; what is None is chosen by the predicted print."""

    inks: Sequence[Ink] | None = None
    route: Route | None = None
    most_inks: int = MOST_INKS
    lines_per_inch: float = 45.0
    choke_mm: float = 0.0
    trap_mm: float = 0.0
    register_mm: float = 0.0
    kind: str = "png"
    screening: Screening | None = None

    def __post_init__(self) -> None:
        """Refuse a register error that is no register error, and edges out of reason."""
        assert self.misfit is not None

    @property
    def misfit(self) -> Misfit:
        """How the plates lie."""
        return Misfit(register_mm=self.register_mm, choke_mm=self.choke_mm, trap_mm=self.trap_mm)


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparationResult:
    """What a separation wrote. chosen: what was chosen by the predicted print, in words.

    reach_map: picture of where the print is out of reach.
    """

    artwork: str
    garment: Garment
    route: Route
    reach: TonalReach
    plates: PlateSet
    files: tuple[PlateFile, ...]
    picture: Path
    reach_map: Path
    sheet: Path
    chosen: tuple[str, ...]
    notes: tuple[str, ...]


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
    InputError : an artwork that cannot be read or prints nothing, and all that `chosen_set`,
        `tonal_plates` and `write_plates` refuse.
    """
    progress(f"reading {artwork_file.name}")
    artwork = read_artwork(artwork_file)
    dpi, notes = printed_at(artwork)
    colours = picture_colours(artwork.rgba, garment, viewing)
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
    tile = knit_tile(px_per_mm=dpi / MM_PER_INCH)
    progress("separating")
    made = print_tonal(artwork.rgba, tonal, viewing=viewing, tolerance=shop.habits.tolerance_de00)
    plates = tonal_plates(
        made.separation, dpi=dpi, choke_mm=wanted.choke_mm, trap_mm=wanted.trap_mm
    )
    stem = f"{slug(artwork_file.stem)}--{slug(garment.name)}"
    files = write_plates(
        plates,
        out=out,
        stem=stem,
        kind=wanted.kind,  # type: ignore[arg-type]
        screening=wanted.screening,
        progress=progress,
    )
    progress("drawing the print")
    picture = (
        pressed_picture(made, tile, viewing, dpi=dpi, misfit=wanted.misfit)
        if wanted.misfit
        else picture_of(made, artwork.rgba, tile)
    )
    path = save_png(out / f"{stem}--print.png", picture, dpi=dpi)
    far = reach_map(made, artwork.rgba, most_px=MAP_PX)
    page = _sheet(
        made, plates, artwork, picture, tile, wanted=wanted, viewing=viewing, shop=shop, dpi=dpi
    )
    return SeparationResult(
        artwork=artwork.name,
        garment=garment,
        route=tonal.route,
        reach=reach_of(made),
        plates=plates,
        files=files,
        picture=path,
        reach_map=save_png(out / f"{stem}--out-of-reach.png", far, dpi=150),
        sheet=save_png(out / f"{stem}--separation.png", page, dpi=150),
        chosen=tuple(chosen),
        notes=notes,
    )


def _sheet(
    made: TonalPrint,
    plates: PlateSet,
    artwork: Artwork,
    picture: Uint8Array,
    tile: Uint8Array,
    *,
    wanted: SeparationRequest,
    viewing: Viewing,
    shop: Shop,
    dpi: float,
) -> Uint8Array:
    """Artwork, print, what is out of reach, the print at 1:1, and every plate."""
    import numpy as np

    look = close_up(
        made.table.model,
        [plate.shirt for plate in plates.plates],
        tile,
        viewing,
        dpi=dpi,
        size_px=CLOSE_UP_PX,
        error_mm=wanted.register_mm,
    )
    panels = [
        artwork_panel(artwork.rgba, np.array(made.table.cloth, dtype=np.uint8)),
        tonal_panel(made, picture, heading=ROUTE_TITLES[made.tonal.route], most_px=PANEL_PX),
        SheetPanel(
            picture=reach_map(made, artwork.rgba, most_px=PANEL_PX),
            heading="Out of reach",
            lines=(*reach_words(made)[1:], "Black: the print is farther off than that."),
        ),
        SheetPanel(
            picture=look,
            heading="At full size",
            lines=(wanted.misfit.words(has_base=made.tonal.base is not None),),
        ),
    ]
    for plate in plates.plates:
        lines = [
            f"{plate.coverage:.0%} of the picture, {plate.area_cm2:.0f} cm², "
            f"{plate.ink_g:.1f} g of wet ink",
            f"Holds {plate.least_detail_mm:.2f} mm and tints from {plate.least_tint:.0%}",
        ]
        panels.append(
            SheetPanel(
                picture=_reduced(fine_map(plate, dpi=dpi)),
                heading=plate.ink.name,
                lines=tuple(lines),
            )
        )
    honest = honest_words(made.data, calibrated=shop.press.calibrated)
    return compose_sheet(
        panels,
        title=f"{Path(artwork.name).stem} on {made.tonal.garment.name}, separated",
        subtitle=f"Predicted, {viewing.light}/{viewing.observer}°, from the inks of {shop.name}; "
        f"{made.tonal.lines_per_inch:g} lines/inch",
        footnote=f"{honest} A screen or a sheet of paper is not a strike-off: the first "
        " print on the real garment decides. Plates: red is finer than the mesh holds.",
        width_px=2000,
        columns=4,
    )


def _reduced(picture: Uint8Array) -> Uint8Array:
    from inksim.artwork import shrink_to

    return shrink_to(picture, width=PANEL_PX, height=PANEL_PX)


def look_table(
    *,
    shop: Shop,
    garment: Garment,
    inks: Sequence[Ink],
    route: Route,
    lines_per_inch: float,
    viewing: Viewing,
) -> SeparationTable:
    """The separation table of named inks, for taking their look away."""
    if route not in usable_routes(garment, shop=shop):
        raise InputError(
            f"garment '{garment.name}' has no discharge data, so a discharge base cannot be "
            "predicted on it; choose white or none."
        )
    tonal = tonal_set(shop, garment=garment, inks=inks, route=route, lines_per_inch=lines_per_inch)
    return separation_table(tonal, viewing=viewing)
