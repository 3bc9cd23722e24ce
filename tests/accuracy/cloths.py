"""Prints on measured cloth

The demo shop's inks (invented) on 33 measured textiles (real): what must hold whatever the ink.
A screen that carries no ink leaves the textile exactly as it was read. A white so thick that it
hides looks the same on all of them. An ink's thickest print looks as its own thick film, whose face
scatters nothing: so does the press's here.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.optics.kubelka_munk import external_from_internal, reflectance_from_ks
from inksim.printing.build import Build, Layer
from inksim.printing.swatches import swatch
from inksim.shop.load import load_shop
from inksim.stock.garment import Garment
from inksim.stock.press import Parameter, Press
from inksim.stock.screen import Screen
from tests.accuracy import Row, row
from tests.accuracy.recovery import samples
from tests.conftest import read_textiles

ORDER = 60
VIEWING = Viewing()
CLOTHS = "33 textiles of Vrhel, Gershon & Iwan 1994"
NOTHING_UM, THICK_UM, HIDING_UM = 1e-12, 2e3, 2e4  # wet deposits: none, 2 mm, and 2 cm


@cache
def _garments() -> tuple[Garment, ...]:
    names, readings = read_textiles().names, samples()["textiles"]
    white = readings[np.argmax(lab(readings, VIEWING)[:, 0])]  # as if undyed: for discharge
    return tuple(
        Garment(
            name=name,
            reflectance=reflectance,
            fibers={"cotton": 1.0},
            undyed=white,
            discharge_grade=4,
            data="measured",
        )
        for name, reflectance in zip(names, readings, strict=True)
    )


def _prints(ink_name: str, wet_um: float) -> np.ndarray:
    """External reflectance (33, 31) of an ink on every textile, straight."""
    screen = Screen(
        name="any", threads_per_cm=43.0, thread_um=80.0, ink_volume_cm3_m2=max(wet_um, NOTHING_UM)
    )
    layer = Layer(ink=load_shop().inks[ink_name], screen=screen)
    builds = [Build(garment=garment, layers=(layer,)) for garment in _garments()]
    return swatch(builds, press=Press(name="generic", surface_haze=Parameter(0.0, 0.0)))


def _spread(reflectance: np.ndarray) -> np.ndarray:
    """How far each is from their mean, ΔE00."""
    return delta_e_2000(lab(reflectance.mean(axis=0), VIEWING), lab(reflectance, VIEWING))


def rows() -> list[Row]:
    """Limits of a print on measured cloth."""
    shop = load_shop()
    bare = lab(np.stack([garment.reflectance for garment in _garments()]), VIEWING)
    untouched, thick, own = [], [], []
    for name, ink in shop.inks.items():
        untouched.append(delta_e_2000(bare, lab(_prints(name, 0.0), VIEWING)))
        if ink.kind in ("discharge-base", "clear-base") or ink.S.min() <= 0:
            continue
        printed = _prints(name, HIDING_UM)
        thick.append(_spread(printed))
        film = external_from_internal(reflectance_from_ks(ink.K / ink.S))
        own.append(delta_e_2000(lab(film, VIEWING), lab(printed, VIEWING)))
    white = _prints(shop.base_ink("white-base").name, THICK_UM)
    return [
        row(
            "No ink: the textile as it was read",
            CLOTHS,
            untouched,
            limits={"worst": 1e-6},
        ),
        row(
            "White base, 2 mm wet: the same color on every textile",
            CLOTHS,
            _spread(white),
            limits={"worst": 0.05},
        ),
        row(
            "Every scattering ink, 2 cm wet: the same color on every textile",
            CLOTHS,
            thick,
            limits={"worst": 0.05},
        ),
        row(
            "the same against R∞ = 1 + K/S − √((K/S)² + 2K/S)",
            "Kubelka & Munk 1931",
            own,
            limits={"worst": 0.05},
        ),
    ]
