"""Routes that are drawn one by one, written as lossless pictures and a sheet of them (level 10)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from inksim.artwork import Artwork, Assignment, laid_on_ground, reduce_light, save_png
from inksim.colour import Viewing, srgb8, xyz
from inksim.common import MM_PER_INCH, ROUTE_TITLES, BoolArray, Uint8Array, slug
from inksim.picture import SheetPanel, compose_sheet, knit_tile, reduction_factor
from inksim.preview.tonal_preview import TonalReach
from inksim.preview.views import Views, beyond_words, write_views
from inksim.printing import Prediction, Route, honest_words
from inksim.shop import Shop, usable_routes
from inksim.stock import Garment, Provenance, least_sure

PANEL_PX = 620
Window = tuple[slice, slice]


@dataclass(frozen=True, kw_only=True, eq=False)
class PreviewRequest:
    """What is to be drawn, on what, how it is looked at, and where it goes.

    stem: the artwork's file name without its ending. dpi: at which the artwork is printed.
    """

    artwork: Artwork
    stem: str
    shop: Shop
    garment: Garment
    out: Path
    dpi: float
    viewing: Viewing
    views: Views
    progress: Callable[[str], None]

    @property
    def px_per_mm(self) -> float:
        """Pixels of the artwork to a millimeter of the print."""
        return self.dpi / MM_PER_INCH

    @cached_property
    def tile(self) -> Uint8Array:
        """The cloth at the artwork's resolution."""
        return knit_tile(px_per_mm=self.px_per_mm)


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteDrawing:
    """One route, drawn.

    full: at the artwork's full size. small: reduced, to lie on a shirt. beyond: where (H, W) a
    screen cannot show it, or None for no map of it; share: of the print. data: the least sure of
    its numbers. note: what is to be said of this route by itself.
    """

    full: Uint8Array
    small: Uint8Array
    panel: SheetPanel
    beyond: BoolArray | None
    share: float
    data: Provenance
    predictions: tuple[Prediction | None, ...] = ()
    reach: TonalReach | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteFile:
    """One route's full-size picture: predictions of its flats, or the reach of a tonal print.

    beyond: share of the print whose color a screen cannot show. views: other pictures, by what.
    """

    route: Route
    path: Path
    predictions: tuple[Prediction | None, ...]
    reach: TonalReach | None = None
    beyond: float = 0.0
    views: tuple[tuple[str, Path], ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class PreviewResult:
    """What a preview wrote."""

    artwork: str
    garment: Garment
    assignments: tuple[Assignment, ...]
    routes: tuple[RouteFile, ...]
    sheet: Path
    notes: tuple[str, ...]


def write_routes(
    order: PreviewRequest,
    draw: Callable[[Route], RouteDrawing],
    *,
    notes: tuple[str, ...],
    assignments: tuple[Assignment, ...] = (),
    window: Window | None = None,
    patches: str = "",
) -> PreviewResult:
    """Write every route that the garment allows as soon as it is drawn, and the sheet of them all.

    window: part of the artwork to show pixel for pixel as well. patches: what patches of color on
    the sheet mean.
    """
    artwork, garment, views = order.artwork, order.garment, order.views
    stem = f"{slug(order.stem)}--{slug(garment.name)}"
    files, said, sure = [], list(notes), []
    panels = [_artwork_panel(order)]
    close = [] if window is None else [_close_artwork_panel(order, window)]
    for route in usable_routes(garment, shop=order.shop):
        title = ROUTE_TITLES[route]
        order.progress(f"drawing {title.lower()} at {artwork.width_px}×{artwork.height_px}")
        drawn = draw(route)
        if drawn.note:
            said.append(f"{title}: {drawn.note}")
        path = save_png(order.out / f"{stem}--{route}.png", drawn.full, dpi=order.dpi)
        shown = write_views(
            views,
            artwork=artwork,
            garment=garment,
            viewing=order.viewing,
            drawn=drawn.small,
            tile=order.tile,
            dpi=order.dpi,
            beyond=drawn.beyond,
            path=path,
        )
        files.append(
            RouteFile(
                route=route,
                path=path,
                predictions=drawn.predictions,
                reach=drawn.reach,
                beyond=drawn.share,
                views=shown,
            )
        )
        sure.append(drawn.data)
        lines = (*drawn.panel.lines, *beyond_words(drawn.share))
        panels.append(replace(drawn.panel, lines=lines))
        if window is not None:
            lie = views.misfit.words(has_base=route != "straight")
            close.append(_close_panel(drawn.full[window][..., :3], lie, dpi=order.dpi))
    seen = order.viewing
    page = compose_sheet(
        [*panels, *close],
        title=f"{order.stem} on {garment.name}",
        subtitle=f"Predicted prints, {seen.light}/{seen.observer}°, from the inks of "
        f"{order.shop.name}",
        footnote=_footnote(least_sure(*sure), shop=order.shop) + patches,
        width_px=2000,
        columns=1 + len(files),
    )
    return PreviewResult(
        artwork=artwork.name,
        garment=garment,
        assignments=assignments,
        routes=tuple(files),
        sheet=save_png(order.out / f"{stem}--sheet.png", page, dpi=150),
        notes=tuple(said),
    )


def _artwork_panel(order: PreviewRequest) -> SheetPanel:
    """The artwork as drawn; bare, the garment's color."""
    return artwork_panel(order.artwork.rgba, _cloth(order))


def artwork_panel(rgba: Uint8Array, cloth: Uint8Array) -> SheetPanel:
    """An artwork (H, W, 4) as its client drew it, on the garment's color."""
    return SheetPanel(
        picture=_reduced_on(rgba, cloth),
        heading="The artwork as drawn",
        lines=("What the client sent, on the garment's color.",),
    )


def _close_artwork_panel(order: PreviewRequest, window: Window) -> SheetPanel:
    """A window of the artwork at 1:1."""
    return SheetPanel(
        picture=_reduced_on(order.artwork.rgba[window], _cloth(order)),
        heading="The artwork, pixel for pixel",
        lines=("Where most edges meet.",),
    )


def _cloth(order: PreviewRequest) -> Uint8Array:
    cloth, _ = srgb8(xyz(order.garment.reflectance, order.viewing), order.viewing)
    return cloth


def _close_panel(picture: Uint8Array, lie: str, *, dpi: float) -> SheetPanel:
    """A window of the print at 1:1, with how its plates lie, in words."""
    size_mm = picture.shape[1] / dpi * MM_PER_INCH
    return SheetPanel(
        picture=np.ascontiguousarray(picture),
        heading="Pixel for pixel",
        lines=(lie, f"The window is {size_mm:.0f} mm wide on the shirt."),
    )


def _reduced_on(rgba: Uint8Array, cloth: Uint8Array) -> Uint8Array:
    factor = reduction_factor(rgba.shape[:2], max_px=PANEL_PX)
    return laid_on_ground(reduce_light(rgba, factor), cloth)


def _footnote(data: Provenance, *, shop: Shop) -> str:
    return (
        f"{honest_words(data, calibrated=shop.press.calibrated)} A screen or a sheet of paper is "
        "not a strike-off: the first print on the real garment decides."
    )
