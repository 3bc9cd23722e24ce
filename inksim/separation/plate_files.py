"""Write plates: gray PNG or TIFF as seen on film, or screened to 1-bit TIFF."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from inksim.artwork import png_info
from inksim.common import (
    MM_PER_INCH,
    NOT_A_PROOF,
    PROGRAM,
    InputError,
    Uint8Array,
    slug,
    visible,
    write_whole,
)
from inksim.separation.dots import Screening, screened, screened_size
from inksim.separation.fine_lines import too_fine
from inksim.separation.plates import Plate, PlateSet

Format = Literal["png", "tiff"]
FORMATS: tuple[str, ...] = get_args(Format)
SOLID, LOST = (90, 90, 90), (220, 40, 40)


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateFile:
    """One written plate: gray at the artwork's size, or black and white if `screened`."""

    plate: Plate
    path: Path
    screened: bool
    angle_deg: float | None


def write_plates(
    plates: PlateSet,
    *,
    out: Path,
    stem: str,
    kind: Format = "png",
    screening: Screening | None = None,
    about: str = NOT_A_PROOF,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[PlateFile, ...]:
    """Write a gray plate for every ink, black where it prints; with `screening` 1-bit TIFFs too.

    Every file appears whole or not at all, with its resolution and, after the name of the plate's
    ink, with what is to be said `about` all of them.

    Raises
    ------
    InputError : an unknown kind of file, more pixels than can be screened, or plates without an
        angle.
    """
    if kind not in FORMATS:
        raise InputError(f"plates cannot be written as '{kind}'; choose {' or '.join(FORMATS)}.")
    angles: tuple[float, ...] = ()
    if screening is not None:
        angles = screening.angles_of([plate.ink.name for plate in plates.plates])
        for plate in plates.plates:
            screened_size(plate.film, plate_dpi=plates.dpi, dpi=screening.dpi)
    made = []
    for at, plate in enumerate(plates.plates, start=1):
        name = f"{stem}--plate-{at}-{slug(plate.ink.name)}"
        progress(f"writing the plate of {plate.ink.name}")
        words = f"{plate.ink.name}: {about}"
        path = _save(out / f"{name}.{kind}", 255 - plate.film, dpi=plates.dpi, about=words)
        made.append(PlateFile(plate=plate, path=path, screened=False, angle_deg=None))
        if screening is not None:
            angle = angles[at - 1]
            path = save_screened(
                out / f"{name}--{screening.lines_per_inch:g}lpi.tiff",
                plate.film,
                plate_dpi=plates.dpi,
                screening=screening,
                angle_deg=angle,
                about=words,
            )
            made.append(PlateFile(plate=plate, path=path, screened=True, angle_deg=angle))
    return tuple(made)


def save_screened(
    path: Path,
    plate: Uint8Array,
    *,
    plate_dpi: float,
    screening: Screening,
    angle_deg: float,
    about: str = NOT_A_PROOF,
) -> Path:
    """Write one screened plate as a 1-bit TIFF, Group 4 (ITU-T T.6), black where it prints."""
    from PIL import Image

    rows, columns = screened_size(plate, plate_dpi=plate_dpi, dpi=screening.dpi)
    packed = b"".join(
        np.packbits(~strip, axis=1).tobytes()
        for strip in screened(plate, plate_dpi=plate_dpi, screening=screening, angle_deg=angle_deg)
    )
    image = Image.frombytes("1", (columns, rows), packed)
    return _whole(
        path,
        lambda packed: image.save(
            packed,
            format="TIFF",
            compression="group4",
            dpi=(screening.dpi, screening.dpi),
            description=visible(about),
            software=PROGRAM,
        ),
    )


def fine_map(plate: Plate, *, dpi: float) -> Uint8Array:
    """Picture (H, W, 3) of a plate, gray on white, with what its mesh cannot hold in red."""
    lost = too_fine(plate.shirt, detail_px=plate.least_detail_mm * dpi / MM_PER_INCH)
    if plate.least_tint:
        lost |= (plate.shirt > 0) & (plate.shirt <= plate.least_tint * 255.0)
    tint = 255 - (plate.shirt.astype(np.uint16) * (255 - SOLID[0]) // 255).astype(np.uint8)
    picture = np.repeat(tint[..., None], 3, axis=-1)
    picture[lost] = LOST
    return picture


def _save(path: Path, pixels: Uint8Array, *, dpi: float, about: str) -> Path:
    from PIL import Image

    image = Image.fromarray(pixels)
    if path.suffix == ".png":
        return _whole(
            path,
            lambda packed: image.save(
                packed, format="PNG", dpi=(dpi, dpi), compress_level=1, pnginfo=png_info(about)
            ),
        )
    return _whole(
        path,
        lambda packed: image.save(
            packed,
            format="TIFF",
            dpi=(dpi, dpi),
            compression="tiff_lzw",
            description=visible(about),
            software=PROGRAM,
        ),
    )


def _whole(path: Path, save: Callable[[io.BytesIO], None]) -> Path:
    """Write what is saved as a whole file; the folder is made."""
    packed = io.BytesIO()
    save(packed)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, packed.getvalue())
    return path
