"""What another choice gave is gone while this one's answer is worked out."""

from __future__ import annotations

from streamlit.delta_generator import DeltaGenerator

from inksim.colour import Viewing
from inksim.common import InksimError
from inksim.ui import cached_results
from inksim.ui.current_job import CurrentJob


def cleared(*places: DeltaGenerator, known: bool) -> tuple[DeltaGenerator, ...]:
    """Places to write an answer in, by one `container` each; emptied unless it is known already.

    They have to be emptied before the work begins, and written to after: what is emptied and
    written to at once keeps what stood there.
    """
    return places if known else tuple(place.empty() for place in places)


def known(job: CurrentJob, *, garment: str, viewing: Viewing) -> bool:
    """Whether nothing has to be worked out for what is said; so, too, where that is a fault."""
    art = job.art_already
    if job.entry.artwork is not None and art is None:
        return False
    try:
        whole = job.drawn().job
    except InksimError:
        return True
    if art is None or not art.placed.flats.tonal:
        return cached_results.decided_already(job.shop, whole, viewing=viewing) is not None
    cloth = job.shop.garment(garment)
    own = whole.on(cloth)
    return bool(
        cached_results.tonal_already(art.ready, own, shop=job.shop, garment=cloth, viewing=viewing)
    )
