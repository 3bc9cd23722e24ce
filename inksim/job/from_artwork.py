"""Make a job of an artwork: its flat colors with their areas and inks."""

from __future__ import annotations

from collections.abc import Sequence

from inksim.artwork import Assignment
from inksim.common import InputError
from inksim.job.job import MM2_PER_CM2, Job, JobColour
from inksim.job.schema import CLOTH_M2, Preference
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, target_from_hex


def job_of_artwork(
    name: str,
    assignments: Sequence[Assignment],
    *,
    width_px: int,
    shop: Shop,
    garment: Garment,
    quantity: int,
    tolerance: float,
    width_mm: float,
    choke_mm: float,
    press: StationsEntry,
    prefer: Preference,
) -> Job:
    """Make a job of an artwork printed at a width; unprinted colors are left out.

    Raises
    ------
    InputError : nothing is printed.
    """
    cm2_per_px = (width_mm / width_px) ** 2 / MM2_PER_CM2
    inks = [each.ink.name for each in assignments if each.ink is not None]
    colours = tuple(
        JobColour(
            # two flats of one ink are told apart by their codes
            name=each.ink.name
            if inks.count(each.ink.name) == 1
            else f"{each.ink.name} for {each.flat.hex}",
            target=target_from_hex(each.flat.hex),
            ink=each.ink,
            area_cm2=each.flat.pixels * cm2_per_px,
            tolerance=tolerance,
        )
        for each in assignments
        if each.ink is not None
    )
    if not colours:
        raise InputError(f"'{name}' leaves nothing to print; give a color an ink.")
    return Job(
        name=f"{name} on {garment.name}",
        invented=shop.invented,
        note="",
        garments=(garment,),
        quantity=quantity,
        colours=colours,
        press=press,
        lines_per_inch=0.0,
        cloth_m2=CLOTH_M2,
        base_choke_mm=choke_mm,
        prints_per_hour=None,
        costs=shop.costs,
        prefer=prefer,
    )
