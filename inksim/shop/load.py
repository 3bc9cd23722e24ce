"""TODO first line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from inksim.colour import D50, lab_from_hex, reflectance_from_lab
from inksim.common import CM_PER_INCH, PACKAGE, FloatArray, InputError, ShopFaults, unknown
from inksim.shop.faults import Faults, read_file
from inksim.shop.schema import (
    AboutEntry,
    ColourEntry,
    CostsEntry,
    GarmentEntry,
    GarmentFile,
    InkEntry,
    InkFile,
    ParameterEntry,
    PressEntry,
    RulesEntry,
    ScreenEntry,
    ScreenFile,
    TargetEntry,
    TargetFile,
)
from inksim.shop.shop import Shop, T
from inksim.stock import (
    BRIGHTEST,
    MEANINGS,
    Garment,
    Ink,
    Parameter,
    Press,
    Provenance,
    Screen,
    Strength,
    Target,
    ink_from_look,
    target_from_hex,
    target_from_lab,
    target_from_reflectance,
)


def demo_shop_folder() -> Path:
    """Return the demo shop's folder: beside the package in a checkout, inside it once installed."""
    for folder in (PACKAGE.parent / "shared", PACKAGE / "demo"):
        if (folder / "shop.toml").is_file():
            return folder
    raise InputError("the demo shop is not installed with inksim; give your own with --shop DIR.")


def _spectrum(entry: ColourEntry) -> tuple[FloatArray, Provenance]:
    """Reflectance of an entry: its reading, or one recovered from its Lab or hex."""
    if entry.reflectance is not None:
        return np.array(entry.reflectance), entry.data or "measured"
    coordinates = (
        np.array(entry.lab) if entry.lab is not None else lab_from_hex(str(entry.hex), D50)
    )
    recovered = reflectance_from_lab(coordinates, D50, where="its color")
    # Paper white (#ffffff) is brighter than a cloth with a surface can be: held at that limit.
    return np.clip(
        recovered, 1e-4, BRIGHTEST
    ), "invented" if entry.data == "invented" else "recovered"


def _ink(entry: InkEntry) -> Ink:
    common = entry.model_dump(exclude={"K", "S", "lab", "hex", "film_um", "data"})
    if entry.K is not None and entry.S is not None:
        return Ink(
            **common, K=np.array(entry.K), S=np.array(entry.S), data=entry.data or "measured"
        )
    coordinates = (
        np.array(entry.lab) if entry.lab is not None else lab_from_hex(str(entry.hex), D50)
    )
    look = reflectance_from_lab(coordinates, D50, where="its color")
    K, S = ink_from_look(look, film_um=entry.film_um)
    return Ink(**common, K=K, S=S, data="invented" if entry.data == "invented" else "recovered")


def _garment(entry: GarmentEntry, cloths: Mapping[str, FloatArray], broken: set[str]) -> Garment:
    reflectance, data = _spectrum(entry)
    readings: dict[str, FloatArray | None] = {}
    for use in ("undyed", "discharged"):
        name = getattr(entry, use)
        if name is not None and name not in cloths and name not in broken:
            raise InputError(f"{use}: {unknown(name, cloths, what='cloth')}")
        readings[use] = cloths.get(name) if name is not None else None
    return Garment(
        name=entry.name,
        reflectance=reflectance,
        fibres=entry.fibres,
        discharge_grade=entry.discharge_grade,
        weight_g_m2=entry.weight_g_m2,
        data=data,
        source=entry.source,
        note=entry.note,
        **readings,
    )


def _screen(entry: ScreenEntry) -> Screen:
    per_cm = entry.threads_per_cm or (entry.threads_per_inch or 0.0) / CM_PER_INCH
    return Screen(
        threads_per_cm=per_cm, **entry.model_dump(exclude={"threads_per_inch", "threads_per_cm"})
    )


def _target(entry: TargetEntry) -> Target:
    return replace(_target_color(entry), source=entry.source)


def _target_color(entry: TargetEntry) -> Target:
    if entry.reflectance is not None:
        return target_from_reflectance(
            entry.reflectance, name=entry.name, data=entry.data or "measured", note=entry.note
        )
    if entry.lab is not None:
        return target_from_lab(
            entry.lab, name=entry.name, data=entry.data or "measured", note=entry.note
        )
    return target_from_hex(
        str(entry.hex), name=entry.name, data=entry.data or "recovered", note=entry.note
    )


def press_of(entry: PressEntry) -> Press:
    """Make a press of its file: with what calibration left, and the press before it."""
    found = entry.calibration
    if found is None:
        return Press(
            name=entry.name,
            calibrated=entry.calibrated,
            source=entry.source,
            **_parameters(entry.parameters),
        )
    return Press(
        name=entry.name,
        calibrated=entry.calibrated,
        source=entry.source,
        model_sd=found.model_sd,
        ink_sd_factor=found.ink_sd_factor,
        strengths=tuple(
            Strength(e.name, Parameter(e.K.value, e.K.sd), Parameter(e.S.value, e.S.sd), e.mark)
            for e in found.ink
        ),
        correlation=found.correlation,
        prior=Press(name=entry.name, **_parameters(found.prior)) if found.prior else None,
        **_parameters(entry.parameters),
    )


def _parameters(entries: Mapping[str, ParameterEntry]) -> dict[str, Any]:
    return {name: Parameter(p.value, p.sd) for name, p in entries.items()}


def _printed(ink: Ink, strength: Strength | None) -> Ink:
    return ink.times(K=strength.K.value, S=strength.S.value) if strength else ink


def holds(strength: Strength, inks: Mapping[str, Ink]) -> bool:
    """Whether an ink still is the one that a strength was found for."""
    ink = inks.get(strength.ink)
    return ink is not None and strength.mark in ("", ink.mark)


def _checked_press(entry: PressEntry, faults: Faults) -> Press | None:
    """Check every parameter by itself first, so that each fault is told."""
    before = len(faults)
    prior = entry.calibration.prior if entry.calibration else {}
    for table, entries in (("parameters", entry.parameters), ("calibration, prior", prior)):
        for name, parameter in entries.items():
            where = f"press.toml, {table}, {name}"
            if name in MEANINGS:
                alone = PressEntry(name=entry.name, parameters={name: parameter})
                faults.attempt(where, lambda alone=alone: press_of(alone))  # type: ignore[misc]
            else:
                faults.append(f"{where}: not known; the parameters are {', '.join(MEANINGS)}")
    if len(faults) > before:
        return None
    return faults.attempt("press.toml", lambda: press_of(entry))


def _named(
    entries: list[Any], make: Callable[[Any], T], *, file: str, what: str, faults: Faults
) -> Mapping[str, T]:
    """Turn entries into domain objects by name; a name used twice is a fault.

    Names are looked up whatever their capitals, so two that differ in those only are one.
    """
    made: dict[str, T] = {}
    seen: dict[str, str] = {}
    for entry in entries:
        where = f"{file}, {what} '{entry.name}'"
        first = seen.setdefault(entry.name.lower(), entry.name)
        if entry.name in made or first != entry.name:
            also = "" if first == entry.name else f" (also as '{first}')"
            faults.append(f"{where}, name: used twice{also}; give each {what} its own name")
            continue
        result = faults.attempt(where, lambda entry=entry: make(entry))  # type: ignore[misc]
        if result is None:
            faults.broken.add(entry.name)
        else:
            made[entry.name] = result
    return MappingProxyType(made)


def load_shop(folder: str | Path | None = None) -> Shop:
    """Read and check a shop's folder; None is the demo shop.

    Returns
    -------
    Shop

    Raises
    ------
    InputError : no such folder.
    ShopFaults : every fault of every file at once, as 'file, entry, field: fault'.
    """
    root = Path(folder) if folder is not None else demo_shop_folder()
    if not root.is_dir():
        raise InputError(
            f"there is no shop folder '{root}'; a shop is a folder with shop.toml in it."
        )
    faults = Faults()
    about = read_file(root, "shop.toml", AboutEntry, faults, needed=True)
    ink_file = read_file(root, "inks.toml", InkFile, faults, needed=True)
    garment_file = read_file(root, "garments.toml", GarmentFile, faults, needed=True)
    screen_file = read_file(root, "screens.toml", ScreenFile, faults, needed=True)
    press_file = read_file(root, "press.toml", PressEntry, faults, needed=True)
    target_file = read_file(root, "targets.toml", TargetFile, faults, needed=False)
    palette_file = read_file(root, "palette.toml", TargetFile, faults, needed=False)
    rules = read_file(root, "rules.toml", RulesEntry, faults, needed=False)
    costs = read_file(root, "costs.toml", CostsEntry, faults, needed=False)

    def named(
        entries: list[Any], make: Callable[[Any], T], file: str, what: str
    ) -> Mapping[str, T]:
        return _named(entries, make, file=file, what=what, faults=faults)

    cloths = named(
        garment_file.cloth if garment_file else [],
        lambda e: _spectrum(e)[0],
        "garments.toml",
        "cloth",
    )
    inks = named(ink_file.ink if ink_file else [], _ink, "inks.toml", "ink")
    garments = named(
        garment_file.garment if garment_file else [],
        lambda e: _garment(e, cloths, faults.broken),
        "garments.toml",
        "garment",
    )
    screens = named(screen_file.screen if screen_file else [], _screen, "screens.toml", "screen")
    targets = named(target_file.target if target_file else [], _target, "targets.toml", "target")
    palette = named(palette_file.target if palette_file else [], _target, "palette.toml", "target")
    press = _checked_press(press_file, faults) if press_file else None
    if faults or not (about and press and press_file and rules and costs):
        raise ShopFaults(faults)
    press = press.with_strengths(lambda strength: holds(strength, inks))
    strengths = {s.ink: s for s in press.strengths}
    return Shop(
        folder=root,
        name=about.name,
        scenario=about.scenario,
        invented=about.invented,
        inks=MappingProxyType({n: _printed(ink, strengths.get(n)) for n, ink in inks.items()}),
        garments=garments,
        screens=screens,
        press=press,
        habits=press_file.habits,
        targets=targets,
        palette=palette,
        rules=rules,
        costs=costs,
    )
