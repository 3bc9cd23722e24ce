"""The demonstration: every flat of the demo artwork decided on a range of garments, and drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from inksim.artwork import Assignment, assign_inks, find_flats, read_artwork
from inksim.colour import Viewing, lab as lab_of
from inksim.decision import Advice, advise, discharge_barrier
from inksim.preview.preview_files import PreviewResult, write_previews
from inksim.shop import Shop, demo_shop_folder
from inksim.stock import Garment, target_from_hex

ARTWORK = Path("artwork") / "harvest-regatta.png"


@dataclass(frozen=True, kw_only=True, eq=False)
class DemoRow:
    """The decisions for one garment, one per printed flat of the artwork."""

    garment: Garment
    colors: tuple[Assignment, ...]
    advice: tuple[Advice, ...]

    @property
    def decided(self) -> Iterator[tuple[Assignment, Advice]]:
        """Each printed flat with its decision."""
        return zip((each for each in self.colors if each.ink), self.advice, strict=True)


@dataclass(frozen=True, kw_only=True, eq=False)
class DemoResult:
    """What the demonstration found and wrote."""

    shop: Shop
    rows: tuple[DemoRow, ...]
    previews: tuple[PreviewResult, ...]


def telling_garments(shop: Shop) -> list[Garment]:
    """Pick shirts that show the range: lightest, a light and a dark gray, black, one that will not
    discharge.
    """
    viewing = Viewing()
    by_lightness = sorted(shop.garments.values(), key=lambda g: -lab_of(g.reflectance, viewing)[0])
    picked = [by_lightness[0]]
    for wanted in (72.0, 38.0):
        picked.append(
            min(by_lightness, key=lambda g: abs(lab_of(g.reflectance, viewing)[0] - wanted))
        )
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
    flats = find_flats(read_artwork(artwork_file))
    rows = []
    for garment in telling_garments(shop):
        progress(f"deciding for {garment.name}")
        colors = assign_inks(flats, shop=shop, garment=garment)
        advice = tuple(
            advise(
                shop,
                garment=garment,
                ink=color.ink,
                target=target_from_hex(color.flat.hex),
                tolerance=shop.habits.tolerance_de00,
            )
            for color in colors
            if color.ink is not None
        )
        rows.append(DemoRow(garment=garment, colors=colors, advice=advice))
    by_lightness = sorted(rows, key=lambda r: lab_of(r.garment.reflectance, Viewing())[0])
    shown = [by_lightness[-1].garment, _darkest_discharging(rows) or by_lightness[0].garment]
    previews = [
        write_previews(artwork_file, shop=shop, garment=g, out=out, progress=progress)
        for g in shown
    ]
    return DemoResult(shop=shop, rows=tuple(rows), previews=tuple(previews))


def _darkest_discharging(rows: list[DemoRow]) -> Garment | None:
    able = [r.garment for r in rows if not discharge_barrier(r.garment)]
    return min(able, key=lambda g: lab_of(g.reflectance, Viewing())[0], default=None)
