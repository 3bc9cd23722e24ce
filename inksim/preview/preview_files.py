"""Preview an artwork file by every route: full-size pictures and a contact sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from inksim.artwork import Assignment, assign_inks, find_flats, read_mapping
from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_TITLES
from inksim.decision import Verdict
from inksim.picture import SheetPanel, Window, window_on_edges
from inksim.preview.preview_request import PrintRequest, read_request
from inksim.preview.route_drawings import (
    PANEL_PX,
    RouteDrawing,
    artwork_panel,
    flat_drawings,
    tonal_drawings,
)
from inksim.preview.tonal_print import TonalReach
from inksim.preview.views import Views, beyond_words, check_views, write_views
from inksim.printing import Prediction, Route
from inksim.shop import Shop, usable_routes
from inksim.stock import Garment, least_sure


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteFile:
    """One route's full-size picture: predictions of its flats, or the reach of a tonal print.

    verdict: on all flats together, None of a tonal print.
    beyond: share of the print whose color a screen cannot show. views: other pictures, by what.
    """

    route: Route
    path: Path
    predictions: tuple[Prediction | None, ...]
    verdict: Verdict | None = None
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


def write_previews(
    artwork_file: Path,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    mapping: Path | None = None,
    viewing: Viewing | None = None,
    views: Views | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PreviewResult:
    """Write a PNG of each route at the artwork's full size, what else is asked for, and a sheet.

    Every file appears whole or not at all. All input is read and checked before the first write.

    Raises
    ------
    InputError : an artwork that cannot be read, a mapping that does not fit it, an unknown ink.
    """
    names = read_mapping(mapping) if mapping else {}
    order = read_request(
        artwork_file,
        shop=shop,
        garment=garment,
        out=out,
        viewing=viewing or Viewing(),
        progress=progress,
    )
    views = views or Views()
    check_views(views, artwork=order.artwork, dpi=order.dpi)
    flats = find_flats(order.artwork)
    if flats.tonal and mapping is None:
        draw, said = tonal_drawings(order, views)
        return _write_routes(order, views, draw, notes=(*order.notes, said))
    assignments = assign_inks(flats, shop=shop, garment=garment, mapping=names)
    return _write_routes(
        order,
        views,
        flat_drawings(order, views, flats, assignments),
        notes=(*order.notes, *flats.notes),
        assignments=assignments,
        window=window_on_edges(flats.labels, size_px=PANEL_PX) if views.misfit else None,
        patches=" Patches: left asked for, right predicted.",
    )


def _write_routes(
    order: PrintRequest,
    views: Views,
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
    artwork, garment = order.artwork, order.garment
    files, said, sure = [], list(notes), []
    panels, close = [artwork_panel(artwork.rgba, order.cloth)], []
    if window is not None:
        close.append(
            artwork_panel(
                artwork.rgba[window],
                order.cloth,
                heading="The artwork, pixel for pixel",
                line="Where most edges meet.",
            )
        )
    for route in usable_routes(garment, shop=order.shop):
        title = ROUTE_TITLES[route]
        order.progress(f"drawing {title.lower()} at {artwork.width_px}×{artwork.height_px}")
        drawn = draw(route)
        if drawn.note:
            said.append(f"{title}: {drawn.note}")
        path = order.save(drawn.full, route, data=drawn.data)
        files.append(
            RouteFile(
                route=route,
                path=path,
                predictions=drawn.predictions,
                verdict=drawn.verdict,
                reach=drawn.reach,
                beyond=drawn.share,
                views=write_views(
                    views, order, drawn.small, beyond=drawn.beyond, path=path, data=drawn.data
                ),
            )
        )
        sure.append(drawn.data)
        lines = (*drawn.panel.lines, *beyond_words(drawn.share))
        panels.append(replace(drawn.panel, lines=lines))
        if window is not None:
            lie = views.misfit.words(has_base=route != "straight")
            close.append(_close_panel(drawn, window, lie, dpi=order.dpi))
    return PreviewResult(
        artwork=artwork.name,
        garment=garment,
        assignments=assignments,
        routes=tuple(files),
        sheet=order.save_sheet(
            [*panels, *close],
            "sheet",
            title=f"{order.title} on {garment.name}",
            predicted="Predicted prints",
            data=least_sure(*sure),
            remark=patches,
            columns=1 + len(files),
        ),
        notes=tuple(said),
    )


def _close_panel(drawn: RouteDrawing, window: Window, lie: str, *, dpi: float) -> SheetPanel:
    """A window of the print at 1:1, with how its plates lie, in words."""
    picture = np.ascontiguousarray(drawn.full[window][..., :3])
    size_mm = picture.shape[1] / dpi * MM_PER_INCH
    return SheetPanel(
        picture=picture,
        heading="Pixel for pixel",
        lines=(lie, f"The window is {size_mm:.0f} mm wide on the shirt."),
    )
