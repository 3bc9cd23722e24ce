"""Dryer load of a print: water to evaporate, heat, and the usual cure window.

Per print, Q = m_w·[c_w·(100 − T₀) + L] + m_f·q_w + m_f·c_f·(T_cure − T₀), with m_w the water of ink
and cloth, m_f the dry fiber, L the latent heat, q_w the heat of sorption of the fiber's moisture, c
the heat capacities. Losses to air, belt and oven are in the dryer's efficiency. Left out: the dry
ink film (a few grams) and the heating of steam from 100 °C to the oven's temperature (5 % of L).

Sources
-------
IAPWS-IF97 steam tables, from memory: L at 100 °C 2256.4 kJ/kg, h_f 83.9 kJ/kg at 20 °C and
419.1 kJ/kg at 100 °C, water 0.998 g/cm³ at 20 °C.
Moisture regain: ASTM D1909, commercial regains, from memory; lyocell, modal and hemp as viscose
and linen [assumption].
Heat capacity and heat of wetting of dry fibers: Morton & Hearle, Physical Properties of Textile
Fibers, Tables 6.1 and 8.1; middle of a range where one is given; elastane, acrylic's heat capacity,
lyocell, modal, linen's and hemp's heat capacity as their nearest neighbor [assumption].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from inksim.common import FloatArray
from inksim.stock import Garment, Ink

LATENT_KJ_KG = 2256.4
WATER_KJ_KG_K = (419.1 - 83.9) / 80.0
"""Mean heat capacity of water from 20 to 100 °C, from its enthalpies: 4.19."""
WATER_G_CM3 = 0.998
ROOM_CELSIUS, BOILING_CELSIUS = 20.0, 100.0
KJ_PER_KWH = 3600.0


class Fibre(NamedTuple):
    """Moisture regain (g water per g dry fiber), heat capacity (J/g K), heat of wetting (J/g)."""

    regain: float
    capacity: float
    wetting: float


FIBRE_DATA: Mapping[str, Fibre] = MappingProxyType(
    {
        "cotton": Fibre(0.085, 1.285, 46.0),
        "viscose": Fibre(0.11, 1.47, 106.0),
        "linen": Fibre(0.12, 1.285, 55.0),
        "lyocell": Fibre(0.11, 1.47, 106.0),
        "modal": Fibre(0.11, 1.47, 106.0),
        "hemp": Fibre(0.12, 1.285, 55.0),
        "polyester": Fibre(0.004, 1.03, 5.0),
        "elastane": Fibre(0.013, 1.03, 5.0),
        "nylon": Fibre(0.045, 1.445, 31.0),
        "acrylic": Fibre(0.015, 1.03, 7.0),
        "wool": Fibre(0.136, 1.36, 113.0),
        "silk": Fibre(0.11, 1.38, 69.0),
    }
)


class CureWindow(NamedTuple):
    """Film temperature and dwell time to cure."""

    low_celsius: float
    high_celsius: float
    low_fahrenheit: float
    high_fahrenheit: float
    least_s: float
    most_s: float


CURE = CureWindow(160.0, 166.0, 320.0, 330.0, 90.0, 120.0)
"""Common practice, no source; the ink maker's data sheet overrides it."""
CURE_CELSIUS = 163.0
"""Middle of the window, to which the cloth is heated."""


@dataclass(frozen=True, kw_only=True)
class DryerLoad:
    """Dryer load of one print: water in g, heat into print and cloth in kJ."""

    ink_water_g: float
    cloth_water_g: float
    water_kj: float
    bound_kj: float
    cloth_kj: float

    @property
    def water_g(self) -> float:
        """Water to evaporate."""
        return self.ink_water_g + self.cloth_water_g

    @property
    def total_kj(self) -> float:
        """Heat for one print."""
        return self.water_kj + self.bound_kj + self.cloth_kj

    def kwh(self, prints: float, *, efficiency: float) -> float:
        """Energy drawn by the dryer for a number of prints."""
        return self.total_kj * prints / KJ_PER_KWH / efficiency

    def kilowatts(self, *, prints_per_hour: float) -> float:
        """Heat flow into the shirts at a printing rate."""
        return self.total_kj * prints_per_hour / KJ_PER_KWH


def ink_water_g_m2(
    wet_um: FloatArray | float, *, solids_by_volume: FloatArray | float
) -> FloatArray:
    """Water in a wet film, g/m²: everything but solids counts as water [assumption].

    wet_um: µm = cm³/m².
    """
    return np.asarray(np.asarray(wet_um) * (1.0 - np.asarray(solids_by_volume)) * WATER_G_CM3)


def film_water_g(ink: Ink, wet_g: float) -> float:
    """Water in so many grams of an ink, wet: everything but solids counts as water [assumption]."""
    return wet_g / ink.density_g_cm3 * (1.0 - ink.solids_by_volume) * WATER_G_CM3


def water_heat_kj(water_g: float, *, from_celsius: float = ROOM_CELSIUS) -> float:
    """Heat to warm water to 100 °C and evaporate it: m·[c·(100 − T₀) + L]."""
    warm = WATER_KJ_KG_K * (BOILING_CELSIUS - from_celsius)
    return water_g / 1000.0 * (warm + LATENT_KJ_KG)


def _of_cloth(garment: Garment) -> Fibre:
    """Mean of the fiber data, by share of dry mass."""
    rows = [(share, FIBRE_DATA[fibre]) for fibre, share in garment.fibers.items()]
    means = (sum(share * getattr(data, f) for share, data in rows) for f in Fibre._fields)
    return Fibre(*means)


def dryer_load(
    ink_water_g: float,
    *,
    garment: Garment,
    cloth_g: float,
    room_celsius: float = ROOM_CELSIUS,
    cure_celsius: float = CURE_CELSIUS,
) -> DryerLoad:
    """Compute the dryer load of one print.

    Parameters
    ----------
    ink_water_g : water of all films.
    cloth_g : mass of the garment as it lies on the shelf, moisture included.
    """
    fibre = _of_cloth(garment)
    dry_g = cloth_g / (1.0 + fibre.regain)
    moisture = cloth_g - dry_g
    return DryerLoad(
        ink_water_g=ink_water_g,
        cloth_water_g=moisture,
        water_kj=water_heat_kj(ink_water_g + moisture, from_celsius=room_celsius),
        bound_kj=dry_g * fibre.wetting / 1000.0,
        cloth_kj=dry_g * fibre.capacity * (cure_celsius - room_celsius) / 1000.0,
    )
