"""The shop's stock as a list: every entry with its color."""

from __future__ import annotations

from typing import Any

from inksim.colour import D50, hex_code, lab as lab_of, xyz
from inksim.common import FloatArray
from inksim.printing import Build, on_card, tabulate
from inksim.shop.ink_opacity import ANY_CLOTH
from inksim.shop.settings import settings_listed
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import Place, usual_layer
from inksim.stock import CARD_WHITE, Ink


def _round(lab: FloatArray) -> list[float]:
    return [round(float(v), 2) for v in lab]


def _seen(reflectance: FloatArray, entered: str | None) -> dict[str, Any]:
    """How it looks, and the code it was entered by, which may be of a film on other white."""
    code, _ = hex_code(xyz(reflectance, D50), D50)
    return {"lab": _round(lab_of(reflectance, D50)), "hex": code, "entered": entered}


def ink_look(shop: Shop, ink: Ink) -> FloatArray:
    """External reflectance (31,) of an ink's usual film over a white card (Y 80)."""
    place: Place = "white_base" if ink.is_base else "over_base"
    layer = usual_layer(shop, ink, place, passes=1)
    # The card replaces the cloth; a discharge base counts as a film.
    table = tabulate([Build(garment=ANY_CLOTH, layers=(layer,))])
    look: FloatArray = on_card(table, shop.press.values, card=CARD_WHITE)[0]
    return look


def catalogue(shop: Shop) -> dict[str, Any]:
    """List a shop: inks (look of the usual film on a white card), garments, screens, targets.

    entered : the hex code of an entry that was given by one, as it was given.
    """
    inks = [
        {
            "name": ink.name,
            "kind": ink.kind,
            **_seen(ink_look(shop, ink), shop.entered.get(("ink", ink.name))),
            "data": ink.data,
            "assumed": list(ink.assumed),
            "solids_by_volume": ink.solids_by_volume,
            "blocks_dye": ink.blocks_dye,
            "finest_threads_per_inch": ink.finest_threads_per_inch,
        }
        for ink in shop.inks.values()
    ]
    garments = [
        {
            "name": garment.name,
            **_seen(garment.reflectance, shop.entered.get(("garment", garment.name))),
            "cotton": garment.cotton,
            "fibers": dict(garment.fibers),
            "discharge_grade": garment.discharge_grade,
            "data": garment.data,
            "note": garment.note,
        }
        for garment in shop.garments.values()
    ]
    screens = [
        {
            "name": screen.name,
            "threads_per_inch": round(screen.threads_per_inch, 1),
            "threads_per_cm": round(screen.threads_per_cm, 1),
            "thread_um": screen.thread_um,
            "opening_um": round(screen.mesh_opening_um, 1),
            "open_area": round(screen.open_area, 3),
            "ink_volume_cm3_m2": round(screen.volume_cm3_m2, 1),
        }
        for screen in shop.screens.values()
    ]
    targets = [
        {
            "name": t.name,
            "lab": _round(t.lab_d50),
            "hex": t.hex_d50,
            "entered": shop.entered.get(("target", t.name)),
            "data": t.data,
        }
        for t in shop.targets.values()
    ]
    return {
        "name": shop.name,
        "invented": shop.invented,
        "scenario": shop.scenario.strip(),
        "inks": inks,
        "garments": garments,
        "screens": screens,
        "targets": targets,
        "press": {"name": shop.press.name, "calibrated": shop.press.calibrated},
        "stations": shop.stations.model_dump(exclude={"source"}),
        "settings": settings_listed(shop),
    }
