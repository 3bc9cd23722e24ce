"""Costs of a run: ink by weight, press time, screens, dryer energy.

What the shop's costs.toml does not state is left out of the sum and named in `missing`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import FloatArray, counted
from inksim.job.drying import WATER_G_CM3
from inksim.shop import CostsEntry
from inksim.stock import Handling, Ink, handling_of

CM_PER_UM = 1e-4
SECONDS_PER_HOUR = 3600.0


def ink_per_print_g(
    wet_um: FloatArray | float, *, area_cm2: FloatArray | float, density_g_cm3: FloatArray | float
) -> FloatArray:
    """Wet ink on one print, g: thickness × area × density."""
    return np.asarray(np.asarray(wet_um) * CM_PER_UM * area_cm2 * density_g_cm3)


def run_ink_g(
    print_g: FloatArray | float, *, quantity: float, waste_share: float, left_g: float
) -> FloatArray:
    """Wet ink to have ready for a run, g: printed, wasted, and left in the screen.

    print_g·quantity / (1 − waste) + left.
    """
    return np.asarray(np.asarray(print_g) * quantity / (1.0 - waste_share) + left_g)


def film_g_m2(
    wet_um: FloatArray | float,
    *,
    solids_by_volume: FloatArray | float,
    density_g_cm3: FloatArray | float,
) -> FloatArray:
    """Dry film weight, g/m²: wet film less its water; the measure of softness of hand.

    wet·[ρ − (1 − s)·ρ_water], all that is not solids taken to be water [assumption]; never below
    zero, which only contradicting data would give.
    """
    dry = np.asarray(density_g_cm3) - (1.0 - np.asarray(solids_by_volume)) * WATER_G_CM3
    return np.asarray(np.asarray(wet_um) * np.maximum(dry, 0.0))


@dataclass(frozen=True, kw_only=True)
class Rates:
    """Unit prices of a run in the shop's currency; 0 for those named in `missing`.

    per_screen: making and setting up. per_garment, per_stroke, per_flash: press time for one print.
    dearest: price per kg that an ink without one counts for in a search, so that it does not win
    for being free. low_cure: see `handling_of`.
    """

    currency: str
    per_screen: float
    per_garment: float
    per_stroke: float
    per_flash: float
    per_kwh: float
    missing: tuple[str, ...]
    dearest: float = 0.0
    low_cure: bool = False

    def ink_cost(self, ink: Ink, *, used_g: float, ready_g: float) -> float:
        """Cost of an ink used up, wet, and of what is mixed into all that is ready."""
        asked = handling_of(ink, low_cure=self.low_cure)
        price = self.dearest if ink.price_per_kg is None else ink.price_per_kg
        return mixture_cost(asked, price, used_g=used_g, ready_g=ready_g)

    @property
    def known(self) -> bool:
        """Whether anything but ink has a price."""
        return (
            self.per_screen + self.per_garment + self.per_stroke + self.per_flash + self.per_kwh > 0
        )


def rates_of(costs: CostsEntry) -> Rates:
    """Derive unit prices from a shop's costs."""
    hour = costs.labor_per_hour
    missing = []

    def timed(seconds: float | None, what: str) -> float:
        if seconds is None or hour is None:
            missing.append(what)
            return 0.0
        return seconds * hour / SECONDS_PER_HOUR

    def plain(price: float | None, what: str) -> float:
        if price is None:
            missing.append(what)
        return price or 0.0

    setup = costs.setup_minutes_per_screen
    return Rates(
        currency=costs.currency,
        per_screen=plain(costs.screen_making, "making screens")
        + timed(None if setup is None else 60.0 * setup, "setting up screens"),
        per_garment=timed(costs.seconds_per_garment, "loading garments"),
        per_stroke=timed(costs.seconds_per_pass, "press time of strokes"),
        per_flash=timed(costs.seconds_per_flash, "press time of flashes"),
        per_kwh=plain(costs.energy_per_kwh, "energy of the dryer"),
        missing=tuple(missing),
    )


@dataclass(frozen=True, kw_only=True)
class CostItem:
    """One line of a bill."""

    name: str
    amount: float
    how: str


@dataclass(frozen=True, kw_only=True)
class Bill:
    """Costs of a run, item by item; `missing` names what is not in the sum."""

    currency: str
    items: tuple[CostItem, ...]
    missing: tuple[str, ...]
    quantity: int

    @property
    def amounts(self) -> dict[str, float]:
        """Every line's amount by its name."""
        return {item.name: item.amount for item in self.items}

    @property
    def total(self) -> float:
        """Sum of the items."""
        return sum(item.amount for item in self.items)

    @property
    def per_print(self) -> float:
        """Cost of one print."""
        return self.total / self.quantity


def mixture_cost(
    handling: Handling, price_per_kg: float, *, used_g: float, ready_g: float
) -> float:
    """Cost of the ink used up, and of all that is mixed in for what is ready: it does not keep."""
    ink_g, _ = handling.parts_g(used_g)
    _, additive_g = handling.parts_g(ready_g)
    mixed = additive_g * (handling.additive_price_per_kg or 0.0)
    return (ink_g * price_per_kg + mixed) / 1000.0


@dataclass(frozen=True, kw_only=True)
class InkUse:
    """One ink of a run, wet, with what is mixed in.

    print_g: on one print. run_g: used up by the run, what stays in the screens with it. ready_g: to
    have ready, so that the screens stay flooded to the last print. price_per_kg: if known.
    handling: what is mixed in, its pot life and cure.
    """

    name: str
    print_g: float
    run_g: float
    ready_g: float
    price_per_kg: float | None
    handling: Handling

    @property
    def additive_g(self) -> float:
        """What is mixed in, of all that is to be ready: it does not keep."""
        return self.handling.parts_g(self.ready_g)[1]

    @property
    def cost(self) -> float:
        """Cost of what is used up, and of all that is mixed in; 0 for what has no price."""
        return mixture_cost(
            self.handling, self.price_per_kg or 0.0, used_g=self.run_g, ready_g=self.ready_g
        )

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What of it has no price, in words."""
        said = [f"price of '{self.name}'"] if self.price_per_kg is None else []
        if self.handling.additive and self.handling.additive_price_per_kg is None:
            said.append(f"price of the {self.handling.additive} in '{self.name}'")
        return tuple(said)


def bill(
    rates: Rates,
    *,
    quantity: int,
    screens: int,
    strokes: int,
    flashes: int,
    inks: Sequence[InkUse],
    dryer_kwh: float,
    runs: int = 1,
) -> Bill:
    """Make the bill of a job. strokes, flashes: of one print, all screens together.

    runs: times that each shirt is loaded.
    """
    unpriced = [words for ink in inks for words in ink.unpriced]
    ink_g = sum(ink.run_g for ink in inks if ink.price_per_kg is not None)
    ink_cost = sum(ink.cost for ink in inks)
    press = runs * rates.per_garment + strokes * rates.per_stroke + flashes * rates.per_flash
    items = (
        CostItem(name="screens", amount=screens * rates.per_screen, how=counted(screens, "screen")),
        CostItem(name="ink", amount=ink_cost, how=f"{ink_g / 1000.0:.2f} kg wet, waste included"),
        CostItem(
            name="press time",
            amount=quantity * press,
            how=f"{counted(strokes, 'stroke')}, {counted(flashes, 'flash')}; "
            f"{counted(quantity, 'print')}{f', in {runs} runs' if runs > 1 else ''}",
        ),
        CostItem(name="dryer energy", amount=dryer_kwh * rates.per_kwh, how=f"{dryer_kwh:.1f} kWh"),
    )
    return Bill(
        currency=rates.currency,
        items=tuple(item for item in items if item.amount > 0),
        missing=(*rates.missing, *unpriced),
        quantity=quantity,
    )
