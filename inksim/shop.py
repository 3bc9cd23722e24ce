"""A shop: a folder of text files on one side, checked inks, garments and screens on the other."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

import numpy as np
from pydantic import BaseModel, ValidationError

from inksim.appearance import Viewing, lab_from_hex, reflectance_from_lab
from inksim.errors import InputError, ShopFaults, unknown
from inksim.garment import BRIGHTEST, Garment
from inksim.ink import Ink, ink_from_look
from inksim.kubelka_munk import Array
from inksim.press import MEANINGS, Parameter, Press, Strength
from inksim.screen import CM_PER_INCH, Screen
from inksim.shop_schema import (
    AboutEntry,
    ColourEntry,
    CostsEntry,
    GarmentEntry,
    GarmentFile,
    HabitsEntry,
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
from inksim.spectra import WAVELENGTHS_NM
from inksim.stock import Provenance
from inksim.target import (
    Target,
    parse_target,
    target_from_hex,
    target_from_lab,
    target_from_reflectance,
)

D50 = Viewing(light="D50", observer=2)
M = TypeVar("M", bound=BaseModel)
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class Shop:
    """What a shop owns, by name, in the order of its files.

    The inks are as the press prints them: where readings of prints told that an ink is stronger or
    weaker than its entry, its K and S are the entry's times `Press.strengths`.
    """

    folder: Path
    name: str
    scenario: str
    invented: bool
    inks: Mapping[str, Ink]
    garments: Mapping[str, Garment]
    screens: Mapping[str, Screen]
    press: Press
    habits: HabitsEntry
    targets: Mapping[str, Target]
    palette: Mapping[str, Target] = field(default_factory=dict)
    rules: RulesEntry = RulesEntry()
    costs: CostsEntry = CostsEntry()

    @property
    def before(self) -> Shop:
        """The shop before its press was calibrated: inks as filed, the press's first parameters."""
        strengths = {s.ink: s for s in self.press.strengths}
        filed = {
            name: ink.times(K=1.0 / strengths[name].K.value, S=1.0 / strengths[name].S.value)
            if name in strengths
            else ink
            for name, ink in self.inks.items()
        }
        return replace(self, inks=MappingProxyType(filed), press=self.press.before)

    def ink(self, name: str) -> Ink:
        """Find an ink by name, or say which one is near."""
        return _find(self.inks, name, what="ink")

    def garment(self, name: str) -> Garment:
        """Find a garment by name, or say which one is near."""
        return _find(self.garments, name, what="garment")

    def screen(self, name: str) -> Screen:
        """Find a screen by its name or by its thread count per inch."""
        if name in self.screens:
            return self.screens[name]
        try:
            count = float(name)
        except ValueError:
            return _find(self.screens, name, what="screen")
        for screen in self.screens.values():
            if abs(screen.threads_per_inch - count) < 0.75:
                return screen
        return _find(self.screens, name, what="screen")

    def screen_near(self, threads_per_inch: float, *, ink: Ink | None = None) -> Screen:
        """Return the screen nearest a thread count, among those the ink prints through.

        Raises
        ------
        InputError : the shop has no screen, or none this ink prints through.
        """
        usable = [s for s in self.screens.values() if ink is None or prints_through(ink, s)]
        if not usable:
            limits = (
                f"ink '{ink.name}' prints through {ink.coarsest_threads_per_inch:.0f} to "
                f"{ink.finest_threads_per_inch:.0f} threads/inch, and no screen of this shop is in "
                "that range"
                if ink
                else "this shop has no screens"
            )
            raise InputError(f"{limits}; add one to screens.toml.")
        return min(usable, key=lambda s: abs(s.threads_per_inch - threads_per_inch))

    def base_ink(self, kind: str) -> Ink:
        """Return the shop's first ink of a kind, such as 'white-base'."""
        for ink in self.inks.values():
            if ink.kind == kind:
                return ink
        raise InputError(f"this shop has no ink of kind '{kind}'; add one to inks.toml.")

    def target(self, text: str) -> Target:
        """Read a target: a name from targets.toml or palette.toml, a hex code, or L,a,b."""
        for named in (self.targets, self.palette):
            for name, target in named.items():
                if name.lower() == text.strip().lower():
                    return target
        parsed = parse_target(text)
        if parsed is not None:
            return parsed
        raise InputError(
            str(unknown(text, [*self.targets, *self.palette], what="target color"))
            + " A target may also be a hex code (#rrggbb) or Lab under D50 (62,48,50)."
        )


def prints_through(ink: Ink, screen: Screen) -> bool:
    """Whether an ink's limits allow a screen (half a thread per inch of tolerance)."""
    return (
        ink.coarsest_threads_per_inch - 0.5
        <= screen.threads_per_inch
        <= ink.finest_threads_per_inch + 0.5
    )


def _find(entries: Mapping[str, T], name: str, *, what: str) -> T:
    for known, entry in entries.items():
        if known.lower() == name.strip().lower():
            return entry
    raise unknown(name, entries, what=what)


def demo_shop_folder() -> Path:
    """Return the demo shop's folder: beside the package in a checkout, inside it once installed."""
    package = Path(__file__).resolve().parent
    for folder in (package.parent / "shared", package / "demo"):
        if (folder / "shop.toml").is_file():
            return folder
    raise InputError("the demo shop is not installed with inksim; give your own with --shop DIR.")


class _Faults(list[str]):
    """Faults of a whole shop, gathered so that a person mends them in one go.

    broken: names of entries left out for their faults; what refers to one is not a second fault.
    """

    def __init__(self) -> None:
        super().__init__()
        self.broken: set[str] = set()

    def attempt(self, where: str, make: Callable[[], T]) -> T | None:
        """Run a constructor; its refusal becomes a fault."""
        try:
            return make()
        except InputError as error:
            self.append(f"{where}: {error}")
            return None


def _entry_label(document: Mapping[str, Any], location: tuple[Any, ...]) -> str:
    """Word a pydantic location: ('ink', 3, 'K', 12) → "ink 'ember', K at 520 nm"."""
    words: list[str] = []
    here: Any = document
    for step in location:
        if isinstance(step, int) and isinstance(here, list):
            inside = here[step] if step < len(here) else None
            if isinstance(inside, dict):
                words[-1] += f" '{inside['name']}'" if "name" in inside else f" no. {step + 1}"
            elif len(here) == len(WAVELENGTHS_NM):
                words[-1] += f" at {WAVELENGTHS_NM[step]:.0f} nm"
            else:
                words[-1] += f" value {step + 1}"
            here = inside
        else:
            words.append(str(step))
            here = here.get(step) if isinstance(here, dict) else None
    return ", ".join(words) or "file"


def _word(fault: Mapping[str, Any]) -> str:
    """Say a pydantic fault in words, with the value where it is short."""
    message = str(fault["msg"]).removeprefix("Value error, ")
    if fault["type"] == "extra_forbidden":
        return "this field is not known; check its spelling"
    if fault["type"] == "missing":
        return "this field is missing"
    value = repr(fault.get("input"))
    shown = f" (it is {value})" if len(value) <= 40 and fault["type"] != "value_error" else ""
    first = message[0] if message[1:2] == " " else message[0].lower()  # "K and S", not "k and S"
    return first + message[1:] + shown


def _parse(path: Path) -> dict[str, Any]:
    """Read one TOML file.

    Raises
    ------
    InputError : missing, unreadable, not UTF-8 or not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise InputError(f"the file is missing from {path.parent}") from None
    except UnicodeDecodeError as error:
        raise InputError(f"not UTF-8 text (byte {error.start}); save it as UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"not TOML: {error}") from None
    except (ValueError, RecursionError):
        raise InputError("not TOML that a shop can mean: too deep, or a number too long") from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}") from None


def _read(folder: Path, file: str, model: type[M], faults: _Faults, *, needed: bool) -> M | None:
    """Read and check one file; its faults are added to the others, its sound entries kept."""
    if not needed and not (folder / file).exists():
        return model()
    document = faults.attempt(file, lambda: _parse(folder / file))
    if document is None:
        return None
    try:
        return model.model_validate(document)
    except ValidationError as error:
        faults += faults_in_words(document, error, file=file)
        return _sound_entries(document, model, error, faults)


def faults_in_words(document: Mapping[str, Any], error: ValidationError, *, file: str) -> list[str]:
    """Say every fault that pydantic found as 'file, entry, field: fault'."""
    said = []
    for fault, more in _by_field(error):
        others = f", and so for {more} more values" if more else ""
        said.append(f"{file}, {_entry_label(document, fault['loc'])}: {_word(fault)}{others}")
    return said


def _by_field(error: ValidationError) -> list[tuple[Mapping[str, Any], int]]:
    """Each fault once for a whole spectrum, with how many more of its values have it."""
    groups: dict[tuple[Any, ...], list[Mapping[str, Any]]] = {}
    for fault in error.errors():
        loc = fault["loc"]
        field = loc[:-1] if len(loc) > 3 and isinstance(loc[-1], int) else loc
        groups.setdefault((*field, fault["type"]), []).append(fault)
    return [(faults[0], len(faults) - 1) for faults in groups.values()]


def read_checked(path: Path, model: type[M], *, what: str) -> M:
    """Read and check one TOML file that stands by itself, such as a job.

    Raises
    ------
    ShopFaults : unreadable, or every fault of it at once.
    """
    if not path.is_file():
        raise InputError(f"{what} cannot be read: there is no file '{path}'.")
    try:
        document = _parse(path)
    except InputError as error:
        raise InputError(f"{what} '{path}' is {error}.") from None
    try:
        return model.model_validate(document)
    except ValidationError as error:
        faults = faults_in_words(document, error, file=path.name)
        raise ShopFaults(faults, what=what) from None


def _sound_entries(
    document: Mapping[str, Any], model: type[M], error: ValidationError, faults: _Faults
) -> M | None:
    """Read a file of entries again without the faulty ones, so that the rest is checked too."""
    if any(field.default != [] for field in model.model_fields.values()):
        return None  # one table, not a list of entries
    faulty = {fault["loc"][:2] for fault in error.errors()}
    kept: dict[str, list[Any]] = {}
    for kind in model.model_fields:
        entries = document.get(kind, [])
        if not isinstance(entries, list):
            return None
        kept[kind] = [e for at, e in enumerate(entries) if (kind, at) not in faulty]
        faults.broken.update(
            str(e.get("name")) for e in entries if isinstance(e, dict) and e not in kept[kind]
        )
    return model.model_validate(kept)


def _spectrum(entry: ColourEntry) -> tuple[Array, Provenance]:
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


def _garment(entry: GarmentEntry, cloths: Mapping[str, Array], broken: set[str]) -> Garment:
    reflectance, data = _spectrum(entry)
    readings: dict[str, Array | None] = {}
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


def _checked_press(entry: PressEntry, faults: _Faults) -> Press | None:
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
    entries: list[Any], make: Callable[[Any], T], *, file: str, what: str, faults: _Faults
) -> Mapping[str, T]:
    """Turn entries into domain objects by name; a name used twice is a fault."""
    made: dict[str, T] = {}
    for entry in entries:
        where = f"{file}, {what} '{entry.name}'"
        if entry.name in made:
            faults.append(f"{where}, name: used twice; give each {what} its own name")
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
    faults = _Faults()
    about = _read(root, "shop.toml", AboutEntry, faults, needed=True)
    ink_file = _read(root, "inks.toml", InkFile, faults, needed=True)
    garment_file = _read(root, "garments.toml", GarmentFile, faults, needed=True)
    screen_file = _read(root, "screens.toml", ScreenFile, faults, needed=True)
    press_file = _read(root, "press.toml", PressEntry, faults, needed=True)
    target_file = _read(root, "targets.toml", TargetFile, faults, needed=False)
    palette_file = _read(root, "palette.toml", TargetFile, faults, needed=False)
    rules = _read(root, "rules.toml", RulesEntry, faults, needed=False)
    costs = _read(root, "costs.toml", CostsEntry, faults, needed=False)

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
