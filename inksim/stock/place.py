"""Places on a shirt that hold a print, and how large a print each holds."""

from __future__ import annotations

from typing import Literal, get_args

from inksim.common import MM_PER_INCH, InputError

Place = Literal["front", "back", "sleeve"]
PLACES: tuple[Place, ...] = get_args(Place)
USUAL_TOP_MM: dict[Place, float] = {"front": 60.0, "back": 75.0, "sleeve": 25.0}
"""Below the collar's lower edge; on the sleeve above its hem (common practice, no source)."""
MOST_MM: dict[Place, tuple[float, float]] = {
    "front": (480.0, 595.0),
    "back": (480.0, 677.0),
    "sleeve": (86.0, 150.0),
}
"""Width and height that hold a print, its distance from collar or hem included."""
ROUNDED_MM = MM_PER_INCH / 20
"""Sizes are said to a tenth of an inch: what rounds to a place's width fits it."""


def check_fit(
    place: Place, *, width_mm: float, height_mm: float, top_mm: float | None = None
) -> None:
    """Refuse a print that does not fit its place on the shirt (InputError)."""
    widest, longest = MOST_MM[place]
    distance = USUAL_TOP_MM[place] if top_mm is None else top_mm
    where = "above its hem" if place == "sleeve" else "below the collar"
    if not 0 <= distance < longest:
        raise InputError(
            f"a print {distance:g} mm {where} does not fit the {place} of the shirt; give from 0 "
            f"to less than {longest:g} mm, usually {USUAL_TOP_MM[place]:g}."
        )
    if not 10 <= width_mm <= widest + ROUNDED_MM or not height_mm <= longest - distance:
        raise InputError(
            f"a print {round(width_mm, 1):g} mm wide and {height_mm:.0f} mm high, {distance:g} mm "
            f"{where}, does not fit the {place} of the shirt; it holds 10 to {widest:g} mm across "
            f"and {longest - distance:g} mm from there on."
        )
