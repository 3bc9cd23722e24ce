"""What of a decided flat print is too narrow for mesh and cloth, in words and as places."""

from __future__ import annotations

import numpy as np

from inksim.artwork import Flats
from inksim.common import Uint8Array
from inksim.job import Plan
from inksim.picture import SheetPanel, marked
from inksim.preview.flat_routes import ArtworkResult
from inksim.preview.preview_request import PrintRequest
from inksim.preview.route_drawings import PANEL_PX
from inksim.separation import FineParts, fine_parts, least_gap_mm, least_line_mm, spread

WORTH_TELLING = 0.001
"""Share of a flat's area, or of the print's, from which lines or gaps are told [assumption]."""


def fine_in_print(found: ArtworkResult, *, dpi: float) -> FineParts | None:
    """Lines and gaps that do not hold, each color by the mesh it is printed through.

    None where nothing is printed. What is left bare is cloth, and what stands between prints a gap.
    """
    plans = [plan if plan and not plan.build.bare else None for plan in found.plans]
    meshes = [plan.build.layers[-1].screen for plan in plans if plan]
    if not meshes:
        return None
    return fine_parts(
        _printed(found.flats, plans),
        flats=len(plans),
        dpi=dpi,
        line_mm=[least_line_mm(plan.build.layers[-1].screen) if plan else 0.0 for plan in plans],
        gap_mm=max(least_gap_mm(screen) for screen in meshes),
    )


def _printed(flats: Flats, plans: list[Plan | None]) -> Uint8Array:
    """The labels (H, W), of what is left bare 0."""
    labels = flats.labels.copy()
    for number, plan in enumerate(plans, start=1):
        if plan is None:
            labels[labels == number] = 0
    return labels


def fine_words(found: ArtworkResult, fine: FineParts | None) -> tuple[str, ...]:
    """'#e8622c has lines down to 0.09 mm, and its mesh on this cloth holds 0.30 mm: …'."""
    if fine is None:
        return ()
    said = []
    for plan, share, thin in zip(found.plans, fine.line_shares, fine.thinnest_mm, strict=True):
        if plan is None or plan.build.bare or thin is None or share < WORTH_TELLING:
            continue
        least = least_line_mm(plan.build.layers[-1].screen)
        said.append(
            f"{plan.colour.name} has lines down to {thin:.2f} mm, and its mesh on this cloth holds "
            f"{least:.2f} mm: {share:.1%} of it may not print."
        )
    if fine.narrowest_mm is not None and fine.gap_share >= WORTH_TELLING:
        said.append(
            f"Gaps between prints are as narrow as {fine.narrowest_mm:.2f} mm: they may fill in."
        )
    return tuple(said)


def narrow_panel(order: PrintRequest, found: ArtworkResult) -> SheetPanel | None:
    """Where the print is too narrow to hold, black on the artwork; None where all of it holds."""
    fine = fine_in_print(found, dpi=order.dpi)
    words = fine_words(found, fine)
    if fine is None or not words:
        return None
    step = max(1, -(-max(fine.places.shape) // PANEL_PX))
    # drawn wider, so that a hairline is seen in a reduced picture
    wide = spread(fine.places.astype(np.uint8) * np.uint8(255), radius_px=float(min(step + 1, 64)))
    red, green, blue = order.cloth.tolist()
    return SheetPanel(
        picture=marked(order.artwork.rgba, wide > 0, cloth=(red, green, blue), most_px=PANEL_PX),
        heading="Too narrow to print",
        lines=words,
    )
