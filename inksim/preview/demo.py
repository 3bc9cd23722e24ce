"""The demonstration: every flat of the demo artwork decided on a range of garments, and drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from inksim.artwork import find_flats, printed_at, read_artwork
from inksim.colour import Viewing, lab as lab_of
from inksim.common import MM_PER_INCH
from inksim.decision import discharge_barrier
from inksim.job import JobAnswer, decide_job, job_of_artwork
from inksim.preview.preview_files import PreviewResult, write_previews
from inksim.shop import Shop, demo_shop_folder
from inksim.stock import Garment

ARTWORK = Path("artwork") / "harvest-regatta.png"


@dataclass(frozen=True, kw_only=True, eq=False)
class DemoResult:
    """What the demonstration found and wrote. answer: the artwork decided on telling garments."""

    shop: Shop
    answer: JobAnswer
    previews: tuple[PreviewResult, ...]


def telling_garments(shop: Shop) -> list[Garment]:
    """Pick shirts that show the range: lightest, a light and a dark gray, black, one that will not
    discharge.
    """
    by_lightness = sorted(shop.garments.values(), key=lambda g: -_lightness(g))
    picked = [by_lightness[0]]
    for wanted in (72.0, 38.0):
        picked.append(min(by_lightness, key=lambda g: abs(_lightness(g) - wanted)))
    discharging = [g for g in by_lightness if g.discharge_is_known and not discharge_barrier(g)]
    barred = [g for g in by_lightness if discharge_barrier(g) and g.discharge_grade == 1]
    picked += discharging[-1:] + barred[:1] + barred[-1:]
    return list(dict.fromkeys(picked))


def run_demo(
    shop: Shop, *, out: Path, progress: Callable[[str], None] = lambda _: None
) -> DemoResult:
    """Decide for every flat of the demo artwork on telling garments; draw the two extremes.

    Raises
    ------
    InputError : no artwork in the shop's folder nor in the demo shop's.
    """
    artwork_file = next(
        (f for f in (shop.folder / ARTWORK, demo_shop_folder() / ARTWORK) if f.is_file()),
        shop.folder / ARTWORK,
    )
    artwork = read_artwork(artwork_file)
    dpi, _ = printed_at(artwork)
    garments = telling_garments(shop)
    progress(f"deciding for {', '.join(garment.name for garment in garments)}")
    job = job_of_artwork(
        artwork_file.stem,
        find_flats(artwork),
        width_px=artwork.width_px,
        width_mm=artwork.width_px / dpi * MM_PER_INCH,
        shop=shop,
        garments=garments,
    )
    answer = decide_job(job, shop=shop)
    able = [found.garment for found in answer.garments if found.best is not None]
    dark = [garment for garment in able if not discharge_barrier(garment)] or able
    shown = dict.fromkeys([max(able, key=_lightness), min(dark, key=_lightness)]) if able else {}
    previews = [
        write_previews(artwork_file, shop=shop, garment=g, out=out, progress=progress)
        for g in shown
    ]
    return DemoResult(shop=shop, answer=answer, previews=tuple(previews))


def _lightness(garment: Garment) -> float:
    return float(lab_of(garment.reflectance, Viewing())[0])
