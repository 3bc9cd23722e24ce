"""Load a shop: text files to checked inks, garments, screens, press and targets."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from inksim.colour import D50, lab as lab_of, lab_from_hex, reflectance_from_lab
from inksim.common import CM_PER_INCH, PACKAGE, FloatArray, InputError, ShopFaults, unknown
from inksim.shop.faults import Faults, read_file
from inksim.shop.ink_schema import InkEntry, InkFile, LookEntry
from inksim.shop.lamps import lamps_of
from inksim.shop.load_press import checked_press, holds, lacks, printed_as
from inksim.shop.migration import FORMAT, format_of, what_changed
from inksim.shop.press_schema import PressEntry
from inksim.shop.schema import (
    AboutEntry,
    ColourEntry,
    CostsEntry,
    Entry,
    GarmentEntry,
    GarmentFile,
    RulesEntry,
    ScreenEntry,
    ScreenFile,
    TargetEntry,
    TargetFile,
)
from inksim.shop.shop import Shop, T
from inksim.stock import (
    BRIGHTEST,
    PHOTO,
    USUAL_DENSITY_G_CM3,
    Garment,
    Ink,
    Known,
    Provenance,
    Screen,
    SpectralError,
    Target,
    error_of,
    ink_from_look,
    solids_of,
    target_from_hex,
    target_from_lab,
    target_from_reflectance,
    with_film_sd,
)

SCREEN_WHITE_CLOTH = 0.88
"""External reflectance of white cotton without brightener, L* 95 [memory]: the most that a cloth
known by a hex code is taken to reflect."""
FILES: Mapping[str, tuple[type[Entry], bool]] = MappingProxyType(
    {
        "shop.toml": (AboutEntry, True),
        "inks.toml": (InkFile, True),
        "garments.toml": (GarmentFile, True),
        "screens.toml": (ScreenFile, True),
        "press.toml": (PressEntry, True),
        "targets.toml": (TargetFile, False),
        "palette.toml": (TargetFile, False),
        "rules.toml": (RulesEntry, False),
        "costs.toml": (CostsEntry, False),
    }
)
"""What each file of a shop holds, and whether a shop needs it."""
KINDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "ink": ("inks.toml", "ink"),
        "garment": ("garments.toml", "garment"),
        "cloth": ("garments.toml", "cloth"),
        "screen": ("screens.toml", "screen"),
        "target": ("targets.toml", "target"),
        "palette": ("palette.toml", "target"),
    }
)
"""Kinds of entries: the file and the table that hold them."""


LOOK_NOT_MEASURED = "said to be measured, taken as recovered: a look alone tells no K and S"
"""What is assumed of an ink with one spectrum and ``data = "measured"``."""


def demo_shop_folder() -> Path:
    """Return the demo shop's folder: beside the package in a checkout, inside it once installed."""
    for folder in (PACKAGE.parent / "shared", PACKAGE / "demo"):
        if (folder / "shop.toml").is_file():
            return folder
    raise InputError("the demo shop is not installed with inksim; give your own with --shop DIR.")


def _made(noun: type[T], entry: Entry, **own: Any) -> T:
    """Make a noun from its entry by the names they share; own: fields that differ."""
    shared = {name: value for name, value in entry if name in noun.__dataclass_fields__}  # type: ignore[attr-defined]
    return noun(**{**shared, **own})


def _recovered(entry: ColourEntry | InkEntry | LookEntry) -> tuple[FloatArray, Provenance]:
    """Reflectance of an entry known by its look, recovered from a Lab or hex."""
    said = getattr(entry, "data", None)
    data: Provenance = said if said in ("invented", PHOTO) else "recovered"
    if entry.reflectance is not None:
        return np.array(entry.reflectance), data
    coordinates = (
        np.array(entry.lab) if entry.lab is not None else lab_from_hex(str(entry.hex), D50)
    )
    return reflectance_from_lab(coordinates, D50, where="its color"), data


def _spectrum(entry: ColourEntry) -> tuple[FloatArray, Provenance]:
    """Reflectance of an entry: its reading, or one recovered from its Lab or hex."""
    if entry.reflectance is not None:
        return np.array(entry.reflectance), entry.data or "measured"
    recovered, data = _recovered(entry)
    # A screen's white (#ffffff) is brighter than any cloth: its color says "white", no more.
    brightest = BRIGHTEST if entry.hex is None else SCREEN_WHITE_CLOTH
    return np.clip(recovered, 1e-4, brightest), data


def ink_of(entry: InkEntry) -> Ink:
    """Make an ink of its entry: of its K and S, or of its look and what is known of its opacity.

    Raises
    ------
    InputError : solids that cannot be.
    """
    stated = "density_g_cm3" in entry.model_fields_set
    density = entry.density_g_cm3
    if not stated:
        density = USUAL_DENSITY_G_CM3.get(entry.kind, density)
    solids = solids_of(
        entry.kind,
        by_volume=entry.solids_by_volume,
        by_weight=entry.solids_by_weight,
        density_g_cm3=density if stated else None,
        usual_density_g_cm3=density,
        dry_density_g_cm3=entry.dry_density_g_cm3,
        volatile_g_cm3=entry.volatile_density_g_cm3,
    )
    own: dict[str, Any] = {"solids_by_volume": solids.by_volume, "density_g_cm3": density}
    if not stated:
        own["usual"] = (f"density of {density:g} g/cm³ taken by kind",)
    assumed = (solids.assumed,) if solids.assumed else ()
    if entry.K is not None and entry.S is not None:
        K, S = np.array(entry.K), np.array(entry.S)
        error = SpectralError(**dict(entry.error)) if entry.error is not None else None
        data = entry.data or "measured"
        ink = _made(Ink, entry, K=K, S=S, data=data, error=error, assumed=assumed, **own)
        return replace(ink, error=with_film_sd(error_of(ink), solids.sd)) if solids.sd else ink
    white, data = _recovered(entry)
    black = entry.over_black
    look = ink_from_look(
        white,
        kind=entry.kind,
        film_um=entry.film_um,
        over_black=None if black is None else lab_of(_recovered(black)[0], D50),
        contrast_ratio=entry.contrast_ratio,
        contrast_film_um=entry.contrast_film_um,
        covers=entry.covers,
        known=_known(entry),
        known_black=None if black is None else _known(black),
        noise=entry.noise,
        noise_black=None if black is None else black.noise,
        film_sd=solids.sd,
    )
    if data == PHOTO and (black is None or black.hex is not None):
        data = "recovered"  # one look alone tells no S
    # its spectrum may be a reading; K and S worked out of one film over white are not
    demoted = (LOOK_NOT_MEASURED,) if entry.data == "measured" else ()
    assumed = (*look.assumed, *assumed, *demoted)
    return _made(
        Ink, entry, K=look.K, S=look.S, data=data, error=look.error, assumed=assumed, **own
    )


def _known(look: InkEntry | LookEntry) -> Known:
    """What a look is known by."""
    if look.reflectance is not None:
        return "spectrum"
    if look.noise is not None:
        return PHOTO
    return "lab" if look.lab is not None else "hex"


def _cloth(entry: ColourEntry) -> Target:
    reflectance, data = _spectrum(entry)
    made = target_from_reflectance(reflectance.tolist(), name=entry.name)
    return replace(made, data=data, source=entry.source, note=entry.note)


def _garment(entry: GarmentEntry, cloths: Mapping[str, Target], broken: set[str]) -> Garment:
    reflectance, data = _spectrum(entry)
    readings: dict[str, FloatArray | None] = {}
    for use in ("undyed", "discharged"):
        name = getattr(entry, use)
        if name is not None and name not in cloths and name not in broken:
            raise InputError(f"{use}: {unknown(name, cloths, what='cloth')}")
        readings[use] = cloths[name].reflectance if name in cloths else None
    return _made(Garment, entry, reflectance=reflectance, data=data, noise=entry.noise, **readings)


def _screen(entry: ScreenEntry) -> Screen:
    per_cm = entry.threads_per_cm or (entry.threads_per_inch or 0.0) / CM_PER_INCH
    return _made(Screen, entry, threads_per_cm=per_cm)


def _target(entry: TargetEntry) -> Target:
    if entry.reflectance is not None:
        made = target_from_reflectance(entry.reflectance, name=entry.name)
    elif entry.lab is not None:
        made = target_from_lab(entry.lab, name=entry.name)
    else:
        made = target_from_hex(str(entry.hex), name=entry.name)
    return replace(made, data=entry.data or made.data, source=entry.source, note=entry.note)


def _named(
    kind: str, make: Callable[[Any], T], held: Mapping[str, Any], faults: Faults
) -> Mapping[str, T]:
    """Make the nouns of a kind of entry, by name; a name used twice is a fault.

    Names are looked up whatever their capitals, so two that differ in those only are one.
    """
    file, what = KINDS[kind]
    made: dict[str, T] = {}
    seen: dict[str, str] = {}
    for entry in getattr(held[file], what) if held[file] else ():
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
    InputError : no such folder, or a shop of a newer format than this inksim knows.
    ShopFaults : every fault of every file at once, as 'file, entry, field: fault'.
    """
    root = Path(folder) if folder is not None else demo_shop_folder()
    try:
        there = root.is_dir()
        (root / "shop.toml").exists()  # a folder that may not be searched is told here
    except OSError as error:
        raise InputError(f"the shop '{root}' cannot be read: {error.strerror}.") from None
    if not there:
        raise InputError(
            f"there is no shop folder '{root}'; a shop is a folder with shop.toml in it."
        )
    format_ = format_of(root)
    faults = Faults()
    held: dict[str, Any] = {
        file: read_file(root, file, model, faults, needed=needed)
        for file, (model, needed) in FILES.items()
    }

    def named(kind: str, make: Callable[[Any], T]) -> Mapping[str, T]:
        return _named(kind, make, held, faults)

    cloths = named("cloth", _cloth)
    inks = named("ink", ink_of)
    garments = named("garment", lambda entry: _garment(entry, cloths, faults.broken))
    screens = named("screen", _screen)
    targets = named("target", _target)
    palette = named("palette", _target)
    lamps = lamps_of(root, faults)
    press = checked_press(held["press.toml"], faults) if held["press.toml"] else None
    if faults or press is None:
        raise ShopFaults(faults)
    kept = press.with_strengths(lambda strength: holds(strength, inks))
    lost = [s.ink for s in press.strengths if s not in kept.strengths and s.ink in inks]
    press = kept
    strengths = {s.ink: s for s in press.strengths}
    return Shop(
        folder=root,
        **dict(held["shop.toml"]),
        changes=what_changed(
            format_, folder=root, inks=inks, calibrated=press.calibrated, lost=lost
        ),
        press_lacks=lacks(held["press.toml"]),
        inks=MappingProxyType({n: printed_as(ink, strengths.get(n)) for n, ink in inks.items()}),
        garments=garments,
        cloths=cloths,
        screens=screens,
        press=press,
        habits=held["press.toml"].habits,
        stations=held["press.toml"].stations,
        targets=targets,
        palette=palette,
        lamps=lamps,
        entered=_entered(held),
        rules=held["rules.toml"],
        costs=held["costs.toml"],
    )


def _entered(held: Mapping[str, Any]) -> Mapping[tuple[str, str], str]:
    """Hex codes as entered, by kind and name."""
    return MappingProxyType(
        {
            (kind, entry.name): entry.hex
            for kind, (file, what) in KINDS.items()
            for entry in getattr(held[file], what)
            if getattr(entry, "hex", None) is not None
        }
    )


def changes_of(folder: Path) -> tuple[str, ...]:
    """Return what changed for a shop since its format, in words; nothing of one with faults."""
    if format_of(folder) >= FORMAT:
        return ()
    try:
        return load_shop(folder).changes
    except ShopFaults:
        return ()
