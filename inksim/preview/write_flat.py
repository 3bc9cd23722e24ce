"""A flat artwork drawn by each route, color by color (level 11)."""

from __future__ import annotations

import numpy as np

from inksim.artwork import Assignment, Flats
from inksim.colour import rgb8_from_hex
from inksim.common import ROUTE_TITLES, Uint8Array
from inksim.picture import (
    SheetPanel,
    Swatch,
    recolour,
    reduce_labels,
    reduce_tile,
    reduction_factor,
    render_flat,
    window_on_edges,
)
from inksim.preview.off_register import move_words, pressed_labels, pressed_look
from inksim.preview.route_picture import RoutePicture, route_picture
from inksim.preview.write import PANEL_PX, PreviewRequest, PreviewResult, RouteDrawing, write_routes
from inksim.printing import Route
from inksim.stock import least_sure


def write_flat(
    order: PreviewRequest,
    flats: Flats,
    assignments: tuple[Assignment, ...],
    *,
    notes: tuple[str, ...],
) -> PreviewResult:
    """Write the pictures of a flat artwork, with its plates as they lie on the press."""
    tile, misfit = order.tile, order.views.misfit
    # What covers a reduced pixel is, in register, the same for every route: worked out once.
    factor = even_factor(flats.labels.shape, tile, max_px=PANEL_PX)
    coverage = reduce_labels(flats.labels, factor)
    weave = reduce_tile(tile, factor, coverage.shape)

    def draw(route: Route) -> RouteDrawing:
        picture = route_picture(
            assignments,
            shop=order.shop,
            garment=order.garment,
            route=route,
            viewing=order.viewing,
        )
        labels, look, covers, moved = flats.labels, picture.look, coverage, ""
        inside = look.in_gamut
        share = sum(
            flat.area_share for at, flat in enumerate(flats.colours, start=1) if not inside[at]
        )
        if misfit:
            lying = pressed_labels(
                labels,
                assignments,
                base=None if route == "straight" else order.shop.base_ink(route),
                px_per_mm=order.px_per_mm,
                misfit=misfit,
            )
            look = pressed_look(
                lying, shop=order.shop, garment=order.garment, route=route, viewing=order.viewing
            )
            labels, covers = lying.labels, reduce_labels(lying.labels, factor)
            moved = move_words(lying, px_per_mm=order.px_per_mm)
        small = recolour(covers, weave, look)
        printed = (p.data for p in picture.predictions if p is not None)
        return RouteDrawing(
            full=render_flat(labels, look, tile),
            small=small,
            panel=_panel(picture, small, assignments, order.shop.habits.tolerance_de00),
            beyond=~inside[flats.labels] if order.views.beyond_screen else None,
            share=share,
            data=least_sure(order.garment.data, *printed),
            predictions=picture.predictions,
            note=moved,
        )

    return write_routes(
        order,
        draw,
        notes=notes,
        assignments=assignments,
        window=window_on_edges(flats.labels, size_px=PANEL_PX) if misfit else None,
        patches=" Patches: left asked for, right predicted.",
    )


def even_factor(shape: tuple[int, ...], tile: Uint8Array, *, max_px: int) -> int:
    """Whole factor that brings a picture to max_px or up to a third less.

    Of those the one that divides the cloth's tile most evenly: the reduced cloth then repeats soon,
    which is many times faster.
    """
    least = reduction_factor((shape[0], shape[1]), max_px=max_px)
    factors = range(least, max(least, least * 3 // 2) + 1)
    return max(factors, key=lambda factor: (np.gcd(tile.shape[0], factor) / factor, -factor))


def _panel(
    picture: RoutePicture, small: Uint8Array, assignments: tuple[Assignment, ...], tolerance: float
) -> SheetPanel:
    """A route's picture with how far each color is from the artwork."""
    swatches, landed, printed = [], 0, 0
    for assignment, prediction in zip(assignments, picture.predictions, strict=True):
        if prediction is None or prediction.delta_e_2000 is None:
            continue
        printed += 1
        landed += prediction.delta_e_2000 <= tolerance
        swatches.append(
            Swatch(
                print=_rgb(prediction.hex),
                asked=assignment.flat.rgb,
                text=f"{prediction.build.colour.ink.name}, "
                f"ΔE00\N{NO-BREAK SPACE}{prediction.delta_e_2000:.1f}",
            )
        )
    return SheetPanel(
        picture=small,
        heading=ROUTE_TITLES[picture.route],
        verdict=f"{landed} of {printed} colors within ΔE00 {tolerance:g}",
        met=bool(printed) and landed == printed,
        lines=_build_lines(picture),
        swatches=tuple(swatches),
    )


def _build_lines(picture: RoutePicture) -> tuple[str, ...]:
    """Say the base once, then the meshes of the colors."""
    printed = [p for p in picture.predictions if p is not None]
    if not printed:
        return ("Nothing is printed.",)
    base = printed[0].build.base
    meshes = sorted(
        {(p.build.colour.screen.threads_per_inch, p.build.colour.passes) for p in printed}
    )
    colors = ", ".join(f"{mesh:.0f} ×{passes}" for mesh, passes in meshes)
    lines = [f"Colors through {colors} threads/inch"]
    if base is not None:
        flash = ", flashed" if base.flash else ", wet on wet"
        lines.insert(
            0,
            f"{base.ink.name} through {base.screen.threads_per_inch:.0f} ×{base.passes}{flash}",
        )
    return tuple(lines)


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(code).tolist()
    return red, green, blue
