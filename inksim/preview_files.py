"""From an artwork file to lossless pictures of each route and a sheet that shows them together."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from inksim.appearance import Viewing, rgb8_from_hex, srgb8, xyz
from inksim.artwork import MM_PER_INCH, Artwork, read_artwork
from inksim.build import Route
from inksim.fibre import knit_tile
from inksim.flats import find_flats
from inksim.garment import Garment
from inksim.ink_choice import choose_inks, picture_colours
from inksim.maps import window_on_edges
from inksim.picture import Picture, decode8, encode8, fit, save_png
from inksim.predict import Prediction, honest_words, usable_routes
from inksim.pressed import move_words, pressed_labels, pressed_look
from inksim.preview import (
    Assignment,
    RoutePicture,
    assign_inks,
    read_mapping,
    route_picture,
)
from inksim.render import recolour, reduce_labels, reduce_tile, reduction_factor, render_flat
from inksim.sheet import Panel, Swatch, compose_sheet
from inksim.shop import Shop
from inksim.stock import Provenance, least_sure
from inksim.tonal import DEFAULT_LINES_PER_INCH, tonal_set
from inksim.tonal_picture import beyond_screen
from inksim.tonal_preview import (
    Reach,
    picture_of,
    pressed_picture,
    print_tonal,
    reach_of,
    tonal_panel,
)
from inksim.views import SHIRT_PX, Views, beyond_words, check_views, share_beyond, write_views

ASSUMED_DPI = 300.0
PANEL_PX = 620
SHARE_PX = 1_000_000
"""Pixels from which the share of a tonal print beyond the screen is worked out."""
ROUTE_TITLES = {
    "straight": "Straight on the cloth",
    "discharge-base": "Over a discharge base",
    "white-base": "Over a white base",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteFile:
    """One route's full-size picture: predictions of its flats, or the reach of a tonal print.

    beyond: share of the print whose color a screen cannot show. views: other pictures, by what.
    """

    route: Route
    path: Path
    predictions: tuple[Prediction | None, ...]
    reach: Reach | None = None
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


def slug(name: str) -> str:
    """'Coal Black' → 'coal-black'."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "unnamed"


def _nothing(_: str) -> None:
    return None


def write_previews(
    artwork_file: Path,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    mapping: Path | None = None,
    viewing: Viewing | None = None,
    views: Views | None = None,
    progress: Callable[[str], None] = _nothing,
) -> PreviewResult:
    """Write a PNG of each route at the artwork's full size, what else is asked for, and a sheet.

    Every file appears whole or not at all. All input is read and checked before the first write.

    Raises
    ------
    InputError : an artwork that cannot be read, a mapping that does not fit it, an unknown ink.
    """
    seen, also = viewing or Viewing(), views or Views()
    names = read_mapping(mapping) if mapping else {}
    progress(f"reading {artwork_file.name}")
    artwork = read_artwork(artwork_file)
    notes = list(artwork.notes)
    if artwork.dpi is None:
        notes.append(f"The file does not say its resolution: {ASSUMED_DPI:.0f} dpi is assumed.")
    dpi = artwork.dpi or ASSUMED_DPI
    check_views(also, artwork=artwork, dpi=dpi)
    flats = find_flats(artwork)
    if flats.tonal and mapping is None:
        return _tonal_previews(
            artwork,
            stem=artwork_file.stem,
            shop=shop,
            garment=garment,
            out=out,
            dpi=dpi,
            viewing=seen,
            views=also,
            notes=notes,
            progress=progress,
        )
    notes += flats.notes
    assignments = assign_inks(flats, shop=shop, garment=garment, mapping=names)
    tile = knit_tile(px_per_mm=dpi / MM_PER_INCH)
    stem = f"{slug(artwork_file.stem)}--{slug(garment.name)}"
    files, panels = [], [_artwork_panel(artwork, garment, seen)]
    # What covers a reduced pixel is, in register, the same for every route: worked out once.
    factor = even_factor(flats.labels.shape, tile, max_px=PANEL_PX)
    coverage = reduce_labels(flats.labels, factor)
    weave = reduce_tile(tile, factor, coverage.shape)
    window = window_on_edges(flats.labels, size_px=PANEL_PX)
    close = [_artwork_panel(artwork, garment, seen, window)]
    for route in usable_routes(garment, shop=shop):
        progress(f"drawing {ROUTE_TITLES[route].lower()} at {artwork.width_px}×{artwork.height_px}")
        picture = route_picture(assignments, shop=shop, garment=garment, route=route, viewing=seen)
        labels, look, covers = flats.labels, picture.look, coverage
        inside = look.in_gamut
        share = sum(
            flat.area_share for at, flat in enumerate(flats.colours, start=1) if not inside[at]
        )
        beyond = ~inside[labels] if also.beyond_screen else None
        if also.misfit:
            base = None if route == "straight" else shop.base_ink(route)
            lying = pressed_labels(
                labels, assignments, base=base, px_per_mm=dpi / MM_PER_INCH, misfit=also.misfit
            )
            look = pressed_look(lying, shop=shop, garment=garment, route=route, viewing=seen)
            labels, covers = lying.labels, reduce_labels(lying.labels, factor)
            moved = move_words(lying, px_per_mm=dpi / MM_PER_INCH)
            notes.append(f"{ROUTE_TITLES[route]}: {moved}")
        full = render_flat(labels, look, tile)
        path = save_png(out / f"{stem}--{route}.png", full, dpi=dpi)
        said = also.misfit.words(has_base=route != "straight")
        close.append(_close_panel(full[window][..., :3], said, dpi=dpi))
        small = recolour(covers, weave, look)
        shown = write_views(
            also,
            artwork=artwork,
            garment=garment,
            viewing=seen,
            drawn=small,
            tile=tile,
            dpi=dpi,
            beyond=beyond,
            path=path,
        )
        files.append(
            RouteFile(
                route=route,
                path=path,
                predictions=picture.predictions,
                beyond=share,
                views=shown,
            )
        )
        panels.append(_route_panel(picture, small, assignments, shop.habits.tolerance_de00, share))
    if also.misfit:
        panels += close
    page = compose_sheet(
        panels,
        title=f"{artwork_file.stem} on {garment.name}",
        subtitle=f"Predicted prints, {seen.light}/{seen.observer}°, from the inks of {shop.name}",
        footnote=_footnote(_least_sure_data(files, garment), shop=shop),
        width_px=2000,
        columns=1 + len(files),
    )
    sheet_path = save_png(out / f"{stem}--sheet.png", page, dpi=150)
    return PreviewResult(
        artwork=artwork_file.name,
        garment=garment,
        assignments=assignments,
        routes=tuple(files),
        sheet=sheet_path,
        notes=tuple(notes),
    )


def _tonal_previews(
    artwork: Artwork,
    *,
    stem: str,
    shop: Shop,
    garment: Garment,
    out: Path,
    dpi: float,
    viewing: Viewing,
    views: Views,
    notes: list[str],
    progress: Callable[[str], None],
) -> PreviewResult:
    """Pictures of a tonal artwork, each route as halftones of the inks that come nearest to it.

    The inks are chosen over a white base, so that they are chosen for their own colors and all
    routes are shown with the same ones.
    """
    colours = picture_colours(artwork.rgba, garment, viewing)
    progress("choosing inks")
    inks = choose_inks(
        colours,
        shop=shop,
        garment=garment,
        route="white-base",
        lines_per_inch=DEFAULT_LINES_PER_INCH,
        viewing=viewing,
    )
    named = ", ".join(ink.name for ink in inks)
    notes.append(f"This is tonal artwork: it is printed as halftones of {named}.")
    tile = knit_tile(px_per_mm=dpi / MM_PER_INCH)
    name = f"{slug(stem)}--{slug(garment.name)}"
    files, panels = [], [_artwork_panel(artwork, garment, viewing)]
    # Of a large picture a share of it is known well enough from every second or third pixel.
    every = max(1, int((artwork.width_px * artwork.height_px / SHARE_PX) ** 0.5))
    some = np.ascontiguousarray(artwork.rgba[::every, ::every])
    for route in usable_routes(garment, shop=shop):
        progress(f"drawing {ROUTE_TITLES[route].lower()} at {artwork.width_px}×{artwork.height_px}")
        tonal = tonal_set(shop, garment=garment, inks=inks, route=route)
        made = print_tonal(
            artwork.rgba, tonal, viewing=viewing, tolerance=shop.habits.tolerance_de00
        )
        picture = (
            pressed_picture(made, tile, viewing, dpi=dpi, misfit=views.misfit)
            if views.misfit
            else picture_of(made, artwork.rgba, tile)
        )
        path = save_png(out / f"{name}--{route}.png", picture, dpi=dpi)
        beyond = beyond_screen(artwork.rgba, made.look) if views.beyond_screen else None
        shown = write_views(
            views,
            artwork=artwork,
            garment=garment,
            viewing=viewing,
            drawn=fit(picture, width=SHIRT_PX, height=SHIRT_PX),
            tile=tile,
            dpi=dpi,
            beyond=beyond,
            path=path,
        )
        files.append(
            RouteFile(
                route=route,
                path=path,
                predictions=(),
                reach=reach_of(made),
                beyond=share_beyond(beyond_screen(some, made.look), some[..., 3] > 0),
                views=shown,
            )
        )
        panel = tonal_panel(made, picture, heading=ROUTE_TITLES[route], most_px=PANEL_PX)
        lines = (*panel.lines, *beyond_words(files[-1].beyond))
        panels.append(replace(panel, lines=lines))
    page = compose_sheet(
        panels,
        title=f"{stem} on {garment.name}",
        subtitle=f"Predicted prints, {viewing.light}/{viewing.observer}°, from the inks of "
        f"{shop.name}",
        footnote=_footnote(
            least_sure(*(f.reach.data for f in files if f.reach)), shop=shop, patches=False
        ),
        width_px=2000,
        columns=1 + len(files),
    )
    return PreviewResult(
        artwork=artwork.name,
        garment=garment,
        assignments=(),
        routes=tuple(files),
        sheet=save_png(out / f"{name}--sheet.png", page, dpi=150),
        notes=tuple(notes),
    )


def even_factor(shape: tuple[int, ...], tile: Picture, *, max_px: int) -> int:
    """Whole factor that brings a picture to max_px or up to a third less.

    Of those the one that divides the cloth's tile most evenly: the reduced cloth then repeats soon,
    which is many times faster.
    """
    least = reduction_factor((shape[0], shape[1]), max_px=max_px)
    factors = range(least, max(least, least * 3 // 2) + 1)
    return max(factors, key=lambda factor: (np.gcd(tile.shape[0], factor) / factor, -factor))


def _artwork_panel(
    artwork: Artwork,
    garment: Garment,
    viewing: Viewing,
    window: tuple[slice, slice] | None = None,
) -> Panel:
    """Show the artwork as drawn, or a window of it at 1:1; bare, the garment's color."""
    cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
    if window is not None:
        return Panel(
            picture=reduced_on(artwork.rgba[window], cloth, most_px=PANEL_PX),
            heading="The artwork, pixel for pixel",
            lines=("Where most edges meet.",),
        )
    return Panel(
        picture=reduced_on(artwork.rgba, cloth, most_px=PANEL_PX),
        heading="The artwork as drawn",
        lines=("What the client sent, on the garment's color.",),
    )


def _close_panel(picture: Picture, lie: str, *, dpi: float) -> Panel:
    """A window of the print at 1:1, with how its plates lie, in words."""
    size_mm = picture.shape[1] / dpi * MM_PER_INCH
    return Panel(
        picture=np.ascontiguousarray(picture),
        heading="Pixel for pixel",
        lines=(lie, f"The window is {size_mm:.0f} mm wide on the shirt."),
    )


def reduced_on(rgba: Picture, ground: Picture, *, most_px: int) -> Picture:
    """Lay a picture (H, W, 4) on a ground color and reduce it by a whole factor in linear light.

    Of large blocks every second or third pixel is looked at, at least 3 × 3 of them.
    """
    step = max(1, -(-max(rgba.shape[:2]) // most_px))
    every = max(1, step // 3)
    high, wide = (max(1, side // step) for side in rgba.shape[:2])
    # A picture thinner than a block is one block.
    block = (min(step, rgba.shape[0]), min(step, rgba.shape[1]))
    small = np.empty((high, wide, 3), dtype=np.uint8)
    behind = decode8(ground)
    for row in range(high):
        strip = rgba[row * block[0] : (row + 1) * block[0] : every, : wide * block[1]]
        cut = strip.reshape(len(strip), wide, block[1], 4)[:, :, ::every]
        alpha = cut[..., 3:].astype(np.float32) / 255.0
        light = decode8(cut[..., :3]) * alpha + behind * (1.0 - alpha)
        small[row] = encode8(light.mean(axis=(0, 2)))
    return small


def _route_panel(
    picture: RoutePicture,
    small: Picture,
    assignments: tuple[Assignment, ...],
    tolerance: float,
    beyond: float,
) -> Panel:
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
    return Panel(
        picture=small,
        heading=ROUTE_TITLES[picture.route],
        verdict=f"{landed} of {printed} colors within ΔE00 {tolerance:g}",
        met=bool(printed) and landed == printed,
        lines=(*_build_lines(picture), *beyond_words(beyond)),
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


def _least_sure_data(files: list[RouteFile], garment: Garment) -> Provenance:
    printed = (p.data for f in files for p in f.predictions if p is not None)
    return least_sure(garment.data, *printed)


def _footnote(data: Provenance, *, shop: Shop, patches: bool = True) -> str:
    key = " Patches: left asked for, right predicted." if patches else ""
    honest = honest_words(data, calibrated=shop.press.calibrated)
    return (
        f"{honest} A screen or a sheet of paper is not a strike-off: the first print "
        f"on the real garment decides.{key}"
    )


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(code).tolist()
    return red, green, blue
