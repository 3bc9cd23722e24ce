"""Tonal separation

Artwork made of printable colors must come back; and on photographs the separation that inverts the
print model must print nearer to the artwork than two that do not know the model.

The photographs are those that come with scikit-image. Each is reduced to 256 pixels and judged by
blocks of 8 × 8 pixels, mean light against mean light, which is what the eye makes of dots. All
three separations print through the same model (four inks, 45 lines/inch, n and dot growth of the
demo press) on the same shirts:

- inverted: `inksim.separate`;
- nearest ink: every pixel becomes the nearest of the bare cloth, the bare base and the solids, the
  error carried to its neighbors (Floyd-Steinberg, by Pillow); the dots are taken as they are,
  side by side and without any growth, which favors it;
- fixed curve: yellow, pink and blue as the complements of blue, green and red, black from the least
  of the three, base from the brightest channel; dot growth is taken out perfectly, which favors it.

A white shirt is L* 92 and a solid base on black is L* 81: whatever is lighter in a photograph is
out of reach of all three.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image
from skimage import data

from inksim.colour.cielab import delta_e_2000
from inksim.colour.lights import weights
from inksim.colour.srgb import decode_srgb, encode_srgb, linear_srgb, srgb8, xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz_from_lab
from inksim.optics.halftone import yule_nielsen
from inksim.optics.unevenness import quantile_nodes
from inksim.separation.halftone_print import TonalModel, quick_xyz, tonal_lab, tonal_set
from inksim.separation.tonal_separation import SeparationTable, separate_picture, separation_table
from inksim.shop.load import load_shop
from tests.accuracy import Detail, Row, row

ORDER = 36
SLOW = True
D50 = Viewing()
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")
PRINTS = {"white shirt": ("Flour White", "straight"), "black shirt": ("Coal Black", "white-base")}
COLOURED = {**PRINTS, "yellow shirt": ("Kingcup Yellow", "white-base")}
PHOTOGRAPHS = {
    "astronaut": data.astronaut,
    "coffee": data.coffee,
    "cat": data.chelsea,
    "rocket": data.rocket,
    "deep field": data.hubble_deep_field,
}
SIDE, BLOCK = 256, 8
METHODS = ("inverted", "nearest ink", "fixed curve")


@cache
def table(shirt: str) -> SeparationTable:
    """Four inks on a shirt."""
    shop = load_shop()
    garment, route = COLOURED[shirt]
    inks = [shop.ink(name) for name in INKS]
    tonal = tonal_set(shop, garment=shop.garment(garment), inks=inks, route=route)  # type: ignore[arg-type]
    return separation_table(tonal)


@cache
def photograph(name: str) -> np.ndarray:
    """A photograph (h, w, 3) of at most 256 pixels, sides whole blocks."""
    image = Image.fromarray(PHOTOGRAPHS[name]())
    image.thumbnail((SIDE, SIDE), Image.Resampling.BOX)
    small = np.asarray(image)
    rows, columns = (side // BLOCK * BLOCK for side in small.shape[:2])
    return small[:rows, :columns]


def blocks(light: np.ndarray) -> np.ndarray:
    """Means (b, 3) over blocks of light (h, w, 3)."""
    rows, columns = (side // BLOCK for side in light.shape[:2])
    cut = light.reshape(rows, BLOCK, columns, BLOCK, 3)
    return cut.mean(axis=(1, 3)).reshape(-1, 3)


def asked(rgb: np.ndarray) -> np.ndarray:
    """CIELAB (b, 3) of the photograph's blocks."""
    light = blocks(decode_srgb(rgb / 255.0))
    return lab_from_xyz(xyz_from_srgb8(255.0 * encode_srgb(light), D50), D50)


def printed(model: TonalModel, coverages: np.ndarray) -> np.ndarray:
    """CIELAB (b, 3) of the blocks of a halftone (h, w, C)."""
    seen = quick_xyz(model, coverages.reshape(-1, coverages.shape[2]), D50)
    return lab_from_xyz(blocks(seen.reshape(*coverages.shape[:2], 3)), D50)


def inverted(rgb: np.ndarray, made: SeparationTable) -> np.ndarray:
    """The print of this project's separation."""
    rgba = np.dstack([rgb, np.full(rgb.shape[:2], 255, dtype=np.uint8)])
    coverages = separate_picture(rgba, made).coverages / 255.0
    return printed(made.model, np.moveaxis(coverages, 0, -1))


def nearest_ink(rgb: np.ndarray, made: SeparationTable) -> np.ndarray:
    """The print of a dither to the nearest solid: areas of primaries, block by block."""
    model = made.model
    solids = [np.zeros(model.plates)]
    under = np.zeros(model.plates)
    if model.has_base:
        under[0] = 1.0
        solids.append(under)
    solids += [under + np.eye(model.plates)[model.has_base + ink] for ink in range(model.inks)]
    colours, _ = srgb8(quick_xyz(model, np.array(solids), D50), D50)
    palette = Image.new("P", (1, 1))
    filled = [*colours.tolist(), *[colours[0].tolist()] * (256 - len(colours))]
    palette.putpalette([code for colour in filled for code in colour])
    dithered = Image.fromarray(rgb).quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG)
    which = np.asarray(dithered)
    which = np.where(which < len(solids), which, 0)
    rows, columns = (side // BLOCK for side in which.shape)
    cut = which.reshape(rows, BLOCK, columns, BLOCK).transpose(0, 2, 1, 3).reshape(-1, BLOCK**2)
    areas = np.stack([(cut == at).mean(axis=1) for at in range(len(solids))], axis=1)
    shares = np.array([model.weights(solid) for solid in solids])
    q, weight = quantile_nodes(8)
    light = sum(
        at * yule_nielsen(areas, shares @ R, n=model.n)
        for at, R in zip(weight, model.primaries(q), strict=True)
    )
    return lab_from_xyz(light @ weights("D50", 2), D50)


def fixed_curve(rgb: np.ndarray, made: SeparationTable) -> np.ndarray:
    """The print of complements with black and a base from the brightest channel."""
    code = rgb / 255.0
    blue, pink, yellow = np.moveaxis(1.0 - code, -1, 0)
    black = np.minimum(np.minimum(blue, pink), yellow)
    left = np.maximum(1.0 - black, 1e-6)
    plates = [(yellow - black) / left, (pink - black) / left, (blue - black) / left, black]
    if made.model.has_base:
        plates.insert(0, code.max(axis=-1))
    return printed(made.model, np.stack(plates, axis=-1))


@cache
def errors(shirt: str, photo: str, method: str) -> np.ndarray:
    """ΔE00 of every block."""
    rgb, made = photograph(photo), table(shirt)
    made_by = {"inverted": inverted, "nearest ink": nearest_ink, "fixed curve": fixed_curve}
    return delta_e_2000(asked(rgb), made_by[method](rgb, made))


@cache
def round_trip(shirt: str) -> np.ndarray:
    """ΔE00 of prints of random coverages that were separated as artwork, 8 bits a channel."""
    made = table(shirt)
    rng = np.random.default_rng(5)
    coverages = np.clip(1.5 * rng.random((6000, made.model.plates)) - 0.25, 0.0, 1.0)
    wanted = tonal_lab(made.model, coverages, D50)
    light = linear_srgb(xyz_from_lab(wanted, D50), D50)
    inside = np.all((light >= 0.0) & (light <= 1.0), axis=1)
    rgba = np.full((1, int(inside.sum()), 4), 255, dtype=np.uint8)
    rgba[0, :, :3] = np.rint(255.0 * encode_srgb(light[inside]))
    found = separate_picture(rgba, made).coverages[:, 0].T / 255.0
    return delta_e_2000(wanted[inside], tonal_lab(made.model, found, D50))


def rows() -> list[Row]:
    """Round trips, and photographs by three separations."""
    made = [
        row(
            f"Printable colors separated and printed again, {shirt}",
            "known truth: random coverages of four inks through the print model",
            round_trip(shirt),
            limits={"median": 1.0, "p95": 3.0},
        )
        for shirt in COLOURED
    ]
    for shirt in PRINTS:
        others = {
            method: np.concatenate([errors(shirt, photo, method) for photo in PHOTOGRAPHS])
            for method in METHODS
        }
        least = min(float(others[method].mean()) for method in METHODS[1:])
        made.append(
            row(
                f"Photographs on a {shirt}, model inverted",
                "scikit-image's photographs; promised is the better of the two other separations",
                others["inverted"],
                limits={"mean": round(least, 2)},
            )
        )
    return made


def details() -> list[Detail]:
    """Every photograph by every separation."""
    cells = []
    for shirt in PRINTS:
        for photo in PHOTOGRAPHS:
            found = [errors(shirt, photo, method) for method in METHODS]
            cells.append([f"{photo}, {shirt}", *(f"{e.mean():.1f}" for e in found)])
    return [
        Detail(
            title="Photographs by three separations, mean ΔE00",
            text="Blocks of 8 × 8 pixels of the predicted print against the photograph.",
            head=["photograph", *METHODS],
            cells=cells,
        )
    ]
