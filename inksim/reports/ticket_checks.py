"""What a press ticket asks to be checked before the run."""

from __future__ import annotations

from collections.abc import Sequence

from inksim.job import PressScreen
from inksim.optics import mesh_ratio
from inksim.reports.cautions import SWATCH_RESTS
from inksim.shop import Shop
from inksim.stock import LOW_CURE_WAIT_HOURS, Garment


def checks_for(
    screens: Sequence[PressScreen],
    *,
    shop: Shop,
    garment: Garment,
    lines_per_inch: float,
    promised: bool,
) -> tuple[str, ...]:
    """What to check before the run; common practice, no source."""
    kinds = {s.ink.kind for s in screens}
    said = [
        "Garments are the lot that was predicted or read; count and sizes are right.",
        "Every mesh is the one written here; stencils are water-resistant and hardened.",
        "Screens stay flooded between prints; ink is at room temperature and stirred.",
    ]
    if any(s.flash for s in screens):
        said.append(
            "A flashed film is dry to the touch, no more, and has cooled before the next screen."
        )
    if "discharge-base" in kinds:
        said.append(
            "The activator is mixed in today, by the data sheet's share; what is left over is not "
            "kept. The base goes wet on wet. A swatch of this lot has been discharged."
        )
    if garment.polyester > 0:
        said.append(
            f"Polyester: a print of this lot has lain warm for {SWATCH_RESTS} and its dye has not "
            "come through."
        )
    if any(s.run > 1 for s in screens):
        said.append("Every shirt of the first run is cured, cool and flat before the second.")
    under = {at for s in screens if s.base and s.run == 1 for at in s.over}
    if any(s.run > 1 and under & set(s.shows) for s in screens):
        said.append(
            "Ink holds less well on a base that is cured: one shirt through both runs has been "
            "rubbed, stretched and washed."
        )
    said += _tight_meshes(shop, screens, lines_per_inch=lines_per_inch)
    if not promised:
        said.append(
            "Not every color can be promised: the client has agreed to what is expected, or to a "
            "strike-off."
        )
    said += [
        "The first print on this very garment is read and written below before the run goes on.",
        f"A print cured low has lain {LOW_CURE_WAIT_HOURS:g} h and been wash-tested: plan for it."
        if shop.dye_migrates(garment)
        else "A cured print has been wash-tested.",
    ]
    return tuple(said)


def _tight_meshes(
    shop: Shop, screens: Sequence[PressScreen], *, lines_per_inch: float
) -> list[str]:
    """Warn of meshes with few threads for a halftone's lines."""
    if lines_per_inch <= 0:
        return []
    comfortable = shop.rules.comfortable_threads_per_line
    ratios = {
        s.ink.name: mesh_ratio(s.screen.threads_per_inch, lines_per_inch=lines_per_inch)
        for s in screens
        if not s.base
    }
    tight = [f"{name} {ratio:.1f}" for name, ratio in ratios.items() if ratio < comfortable]
    if not tight:
        return []
    return [
        f"Threads per halftone line are below {comfortable:g} ({', '.join(tight)}): look for "
        "moiré on the first print."
    ]
