"""What every writer of prints needs: the artwork read, shop, garment, light, folder, cloth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from inksim.artwork import Artwork, printed_at, save_png
from inksim.colour import Viewing, srgb8, xyz
from inksim.common import MM_PER_INCH, STRIKE_OFF, Uint8Array, slug
from inksim.picture import SheetPanel, compose_sheet, knit_tile
from inksim.printing import file_words, honest_words
from inksim.shop import Shop
from inksim.stock import Garment, Provenance

SHEET_DPI = 150


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintRequest:
    """An artwork that was read, and all that is needed to draw and write prints of it.

    title: the artwork's file name without its ending. dpi: at which the artwork is printed.
    notes: what is to be said of its size.
    """

    artwork: Artwork
    title: str
    dpi: float
    notes: tuple[str, ...]
    shop: Shop
    garment: Garment
    viewing: Viewing
    out: Path
    progress: Callable[[str], None]

    @property
    def px_per_mm(self) -> float:
        """Pixels of the artwork to a millimeter of the print."""
        return self.dpi / MM_PER_INCH

    @cached_property
    def tile(self) -> Uint8Array:
        """The cloth at the artwork's resolution."""
        return knit_tile(px_per_mm=self.px_per_mm)

    @cached_property
    def cloth(self) -> Uint8Array:
        """The garment's color (3,) on a screen."""
        return srgb8(xyz(self.garment.reflectance, self.viewing), self.viewing)[0]

    @property
    def stem(self) -> str:
        """How the name of every file begins."""
        return f"{slug(self.title)}--{slug(self.garment.name)}"

    def about(self, what: str, *, data: Provenance) -> str:
        """What a file of this print says of itself."""
        return file_words(
            f"{self.artwork.name} on {self.garment.name}, {self.viewing}: {what}",
            data=data,
            calibrated=self.shop.press.calibrated,
        )

    def save(
        self, picture: Uint8Array, what: str, *, data: Provenance, dpi: float | None = None
    ) -> Path:
        """Write one picture of the print, at the artwork's resolution if no other is given."""
        file = self.out / f"{self.stem}--{what}.png"
        return save_png(file, picture, dpi=dpi or self.dpi, about=self.about(what, data=data))

    def save_sheet(
        self,
        panels: Sequence[SheetPanel],
        what: str,
        *,
        title: str,
        predicted: str,
        more: str = "",
        data: Provenance,
        remark: str,
        columns: int,
    ) -> Path:
        """Write a sheet of panels that says in which light they are seen and on whose data."""
        page = compose_sheet(
            panels,
            title=title,
            subtitle=f"{predicted}, {self.viewing}, from the inks of {self.shop.name}{more}",
            footnote=f"{honest_words(data, calibrated=self.shop.press.calibrated)} {STRIKE_OFF}"
            f"{remark}",
            width_px=2000,
            columns=columns,
        )
        return self.save(page, what, data=data, dpi=SHEET_DPI)


def print_request(
    artwork: Artwork,
    *,
    title: str,
    shop: Shop,
    garment: Garment,
    out: Path,
    viewing: Viewing,
    progress: Callable[[str], None],
) -> PrintRequest:
    """What is asked to be printed of an artwork that was read, in its own size or one assumed."""
    dpi, notes = printed_at(artwork)
    return PrintRequest(
        artwork=artwork,
        title=title,
        dpi=dpi,
        notes=notes,
        shop=shop,
        garment=garment,
        viewing=viewing,
        out=out,
        progress=progress,
    )
