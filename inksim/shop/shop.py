"""A shop: its inks, garments, screens, press and targets, by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from inksim.colour import Lamp
from inksim.common import InputError, unknown
from inksim.shop.migration import FORMAT
from inksim.shop.schema import (
    CostsEntry,
    HabitsEntry,
    RulesEntry,
    StationsEntry,
)
from inksim.stock import (
    Garment,
    Ink,
    Press,
    Recipe,
    Screen,
    Target,
    parse_target,
    prints_through,
    stored_recipe,
)

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class Shop:
    """What a shop owns, by name, in the order of its files.

    `shop.ink(name)`, `shop.garment(name)`, `shop.screen(name)` and `shop.target(text)` find one by
    its name, or say which is near. `load_shop` makes a shop of its folder.

    format: of its files; changes: what changed since that format, in words, if it is an older one.
    press_lacks: parameters that were not there yet when its press was calibrated.
    entered: hex codes as the entries give them, by kind and name.
    cloths: undyed and discharged ones that garments refer to, each as a color.
    lamps: those that it read itself, of its booth or a client's store.

    The inks are as the press prints them: where readings of prints told that an ink is stronger or
    weaker than its entry, or of another shape, its K and S are the entry's moved by
    `Press.strengths`.
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
    cloths: Mapping[str, Target] = field(default_factory=dict)
    lamps: Mapping[str, Lamp] = field(default_factory=dict)
    rules: RulesEntry = RulesEntry()
    costs: CostsEntry = CostsEntry()
    stations: StationsEntry = StationsEntry()
    format: int = FORMAT
    changes: tuple[str, ...] = ()
    press_lacks: tuple[str, ...] = ()
    entered: Mapping[tuple[str, str], str] = field(default_factory=dict)

    @property
    def before(self) -> Shop:
        """The shop before its press was calibrated: inks as filed, the press's first parameters."""
        strengths = {s.ink: s for s in self.press.strengths}
        filed = {
            name: strengths[name].filed(ink) if name in strengths else ink
            for name, ink in self.inks.items()
        }
        return replace(self, inks=MappingProxyType(filed), press=self.press.before)

    @property
    def colour_inks(self) -> tuple[Ink, ...]:
        """The inks that print a color by themselves, no bases among them."""
        return tuple(ink for ink in self.inks.values() if ink.kind == "color")

    @property
    def top_inks(self) -> tuple[Ink, ...]:
        """The inks that can be a color: colors, whites, and discharge bases left as they are."""
        return tuple(ink for ink in self.inks.values() if ink.kind != "clear-base")

    def ink(self, name: str) -> Ink:
        """Find an ink by name; the error suggests a near one."""
        return _find(self.inks, name, what="ink")

    def recipe_of(self, ink: Ink | None) -> Recipe | None:
        """The recipe of a stored mix; None of any other ink, and where a part of it is gone."""
        if ink is None:
            return None
        return stored_recipe(ink, self.inks, step_g=self.rules.scale_step_g)

    def garment(self, name: str) -> Garment:
        """Find a garment by name; the error suggests a near one."""
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

    def dye_migrates(self, garment: Garment) -> bool:
        """Whether a garment is dyed polyester by this shop's rules, and so asks for a low cure."""
        return bool(
            self.rules.dye_migrates(
                polyester_share=garment.polyester, de00_from_white=garment.de00_from_white
            )
        )

    def base_ink(self, kind: str, *, garment: Garment | None = None) -> Ink:
        """Return the shop's first ink of a kind, such as 'white-base'.

        garment: that it goes on; on dyed polyester a base that blocks its dye goes first, on other
        cloth one that does not.
        """
        found = [ink for ink in self.inks.values() if ink.kind == kind]
        blocks = garment is not None and self.dye_migrates(garment)
        for ink in sorted(found, key=lambda ink: ink.blocks_dye != blocks):
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


def _find(entries: Mapping[str, T], name: str, *, what: str) -> T:
    for known, entry in entries.items():
        if known.lower() == name.strip().lower():
            return entry
    raise unknown(name, entries, what=what)
