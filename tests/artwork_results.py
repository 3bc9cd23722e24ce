"""An artwork decided on one garment, without a job's file: what tests of pictures begin with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inksim.colour import Viewing
from inksim.job.from_artwork import job_of_artwork
from inksim.preview.flat_routes import ArtworkResult, result_of_job
from inksim.preview.prepare import PreparedArtwork
from inksim.shop import Shop
from inksim.stock import Garment


def artwork_result(
    ready: PreparedArtwork,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    tolerance: float,
    inks: Mapping[str, str] | None = None,
    width_mm: float | None = None,
    merge: bool = True,
    keep_apart: Sequence[str] = (),
) -> ArtworkResult:
    """Decide how an artwork is printed on a garment.

    Parameters
    ----------
    inks : ink names by the hex code of a flat ('none' leaves it out), before the decision's.
    width_mm : of the print; the artwork's own if not given.
    merge, keep_apart : whether colors that the press has no screen for may be printed as others,
        and the codes of those that may not.

    Raises
    ------
    InputError : an unknown ink or flat, nothing left to print, or no color ink in the shop.
    """
    job = job_of_artwork(
        ready.name,
        ready.flats,
        width_px=ready.width_px,
        width_mm=width_mm or ready.width_mm,
        shop=shop,
        garments=[garment],
        tolerance=tolerance,
        inks=inks,
        merge=merge,
        keep_apart=keep_apart,
    )
    return result_of_job(job, ready.flats, garment=garment, shop=shop, viewing=viewing)
