"""Rules of the trade: which builds a printer would consider, and why not the others.

A rule has a name, a demand, a reason and a source. Its numbers are in the shop's rules.toml
(`RulesEntry`), where a shop may change them or drop a rule. Rules take columns of plain numbers,
one entry per build, and return a mask of the builds that keep them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.optics import external_from_internal, reflectance_from_ks
from inksim.printing import ROUTES, discharged_ks
from inksim.shop import RulesEntry
from inksim.stock import Garment

STRAIGHT, DISCHARGE, WHITE = range(len(ROUTES))
PRACTICE = "common practice, no source"
NOTHING_KNOWN, READ = 0.0, 6.0
"""`discharge_grade` of a cloth without discharge data, and of one whose discharge was read."""
HALF_THREAD = 0.5
"""Threads/inch by which a screen may miss an ink's limits: labels are rounded."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Choices:
    """Builds as columns (N,), one entry per build; counts in threads/inch, NaN where there is none.

    route: index into ROUTES. ink_*, base_*: the limits of the color and of the base ink.
    ink_is_white: whether the color is a white base printed as one. ink_stands_discharge: whether
    the color stands an active discharge. blocks_dye: whether the ink
    that lies on the cloth does; has_plain_white: whether the shop has a white base that does not.
    lines_per_inch: of the artwork's halftone, 0 for solid areas. cellulose_share 0..1;
    discharge_grade 1..5, `READ` or `NOTHING_KNOWN`; dye_de00: ΔE00 of the bare cloth before
    and after a full discharge. polyester_share 0..1; de00_from_white: ΔE00 between cloth and
    white, see `Garment`.
    """

    route: IndexArray
    threads_per_inch: FloatArray
    passes: FloatArray
    ink_coarsest: FloatArray
    ink_finest: FloatArray
    ink_max_passes: FloatArray
    ink_is_white: BoolArray
    ink_stands_discharge: BoolArray
    base_threads_per_inch: FloatArray
    base_passes: FloatArray
    base_coarsest: FloatArray
    base_finest: FloatArray
    base_max_passes: FloatArray
    flash: BoolArray
    blocks_dye: BoolArray
    has_plain_white: bool
    lines_per_inch: float
    cellulose_share: FloatArray
    discharge_grade: FloatArray
    dye_de00: FloatArray
    polyester_share: FloatArray
    de00_from_white: FloatArray


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One rule of the trade.

    asks, why: for a reader. about: 'screens' rules depend on ink, screens and press only, 'cloth'
    rules on the garment too, 'color' rules on the color asked for (`decision.answer`), 'mix' rules
    on inks mixed for it (`mixing`). fields: its numbers in rules.toml.
    keeps(choices, limits): mask (N,) of the builds that keep it.
    """

    name: str
    asks: str
    why: str
    source: str
    about: Literal["screens", "cloth", "color", "mix"]
    fields: tuple[str, ...]
    keeps: Callable[[Choices, RulesEntry], BoolArray]


def _inside(
    value: FloatArray, coarsest: FloatArray | float, finest: FloatArray | float
) -> BoolArray:
    """Whether coarsest ≤ value ≤ finest; True where there is no value."""
    return np.asarray(np.isnan(value) | ((value >= coarsest) & (value <= finest)))


def _screen_suits_ink(c: Choices, _: RulesEntry) -> BoolArray:
    return _inside(
        c.threads_per_inch, c.ink_coarsest - HALF_THREAD, c.ink_finest + HALF_THREAD
    ) & _inside(c.base_threads_per_inch, c.base_coarsest - HALF_THREAD, c.base_finest + HALF_THREAD)


def _passes_suit_ink(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray(
        (c.passes <= c.ink_max_passes) & _inside(c.base_passes, 1.0, c.base_max_passes)
    )


def _mesh_on_cloth(c: Choices, r: RulesEntry) -> BoolArray:
    low, high = r.coarsest_on_cloth_threads_per_inch, r.finest_on_cloth_threads_per_inch
    return np.asarray(
        (c.route != STRAIGHT) | c.ink_is_white | _inside(c.threads_per_inch, low, high)
    )


def _mesh_of_white(c: Choices, r: RulesEntry) -> BoolArray:
    low, base = r.coarsest_base_threads_per_inch, r.finest_base_threads_per_inch
    high = np.where(c.route == STRAIGHT, base, r.finest_on_cloth_threads_per_inch)
    return np.asarray(~c.ink_is_white | _inside(c.threads_per_inch, low, high))


def _passes_of_colour(c: Choices, r: RulesEntry) -> BoolArray:
    straight = np.where(c.ink_is_white, r.most_passes_white_base, r.most_passes_on_cloth)
    return np.asarray(c.passes <= np.where(c.route == STRAIGHT, straight, r.most_passes_over_base))


def _mesh_of_base(c: Choices, r: RulesEntry) -> BoolArray:
    return _inside(
        c.base_threads_per_inch,
        r.coarsest_base_threads_per_inch,
        r.finest_base_threads_per_inch,
    )


def _passes_of_base(c: Choices, r: RulesEntry) -> BoolArray:
    most = np.where(c.route == WHITE, r.most_passes_white_base, r.most_passes_discharge_base)
    return _inside(c.base_passes, 1.0, most.astype(np.float64))


def _white_flashed(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != WHITE) | c.flash)


def _discharge_wet_on_wet(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | ~c.flash)


def _threads_per_line(c: Choices, r: RulesEntry) -> BoolArray:
    if c.lines_per_inch <= 0:
        return np.ones(c.route.shape, dtype=np.bool_)
    return np.asarray(c.threads_per_inch / c.lines_per_inch >= r.least_threads_per_line)


def _cellulose(c: Choices, r: RulesEntry) -> BoolArray:
    read = c.discharge_grade == READ
    return np.asarray(
        (c.route != DISCHARGE) | read | (c.cellulose_share >= r.least_cellulose_share)
    )


def _discharge_known(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | (c.discharge_grade > NOTHING_KNOWN))


def _dye_discharges(c: Choices, r: RulesEntry) -> BoolArray:
    unknown = c.discharge_grade == NOTHING_KNOWN
    return np.asarray(
        (c.route != DISCHARGE) | unknown | (c.discharge_grade >= r.least_discharge_grade)
    )


def _dye_to_take_out(c: Choices, r: RulesEntry) -> BoolArray:
    graded = (c.discharge_grade > NOTHING_KNOWN) & (c.discharge_grade < READ)
    return np.asarray((c.route != DISCHARGE) | ~graded | (c.dye_de00 >= r.least_dye_de00))


def _something_to_cover(c: Choices, r: RulesEntry) -> BoolArray:
    return np.asarray((c.route != WHITE) | (c.de00_from_white >= r.least_to_cover_de00))


def _white_on_cloth(c: Choices) -> BoolArray:
    """Whether a white lies on the cloth, as a base or as a color."""
    return np.asarray((c.route == WHITE) | ((c.route == STRAIGHT) & c.ink_is_white))


def _migrates(c: Choices, r: RulesEntry) -> BoolArray:
    return np.asarray(
        r.dye_migrates(polyester_share=c.polyester_share, de00_from_white=c.de00_from_white)
    )


def _dye_blocked(c: Choices, r: RulesEntry) -> BoolArray:
    return ~_white_on_cloth(c) | ~_migrates(c, r) | c.blocks_dye


def _blocking_kept(c: Choices, r: RulesEntry) -> BoolArray:
    if not c.has_plain_white:
        return np.ones(c.route.shape, dtype=np.bool_)
    return ~_white_on_cloth(c) | _migrates(c, r) | ~c.blocks_dye


def _stands_discharge(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | c.ink_stands_discharge)


def _of_the_mix(c: Choices, _: RulesEntry) -> BoolArray:
    """A rule about what is mixed breaks no build: see `mixing`."""
    return np.ones(c.route.shape, dtype=np.bool_)


def _of_the_color(c: Choices, _: RulesEntry) -> BoolArray:
    """A rule about the color asked for breaks no build: see `decision.answer`."""
    return np.ones(c.route.shape, dtype=np.bool_)


RULES: tuple[Rule, ...] = (
    Rule(
        name="screen suits ink",
        asks="every screen is inside the limits of the ink that goes through it",
        why="particles and rheology clog a mesh that is too fine and flood one that is too coarse",
        source="the ink maker's limits, in inks.toml",
        about="screens",
        fields=(),
        keeps=_screen_suits_ink,
    ),
    Rule(
        name="passes suit ink",
        asks="no screen takes more strokes than its ink allows",
        why="more strokes of the same screen smear and fill in",
        source="max_passes in inks.toml",
        about="screens",
        fields=(),
        keeps=_passes_suit_ink,
    ),
    Rule(
        name="mesh on bare cloth",
        asks="straight on the cloth a color goes through about 160 to 330 threads/inch",
        why="coarser lays down a stiff film that is hard to cure; finer leaves too little to cover",
        source=PRACTICE,
        about="screens",
        fields=("coarsest_on_cloth_threads_per_inch", "finest_on_cloth_threads_per_inch"),
        keeps=_mesh_on_cloth,
    ),
    Rule(
        name="passes of the color",
        asks="at most two passes on bare cloth, one over a base",
        why="a base already fills the fibers, so a second stroke over it only smears and slows",
        source=PRACTICE,
        about="screens",
        fields=("most_passes_on_cloth", "most_passes_over_base"),
        keeps=_passes_of_colour,
    ),
    Rule(
        name="mesh of the base",
        asks="a base goes through about 110 to 160 threads/inch",
        why="it has to lay down enough to hide the cloth or to reach its dye",
        source=PRACTICE,
        about="screens",
        fields=("coarsest_base_threads_per_inch", "finest_base_threads_per_inch"),
        keeps=_mesh_of_base,
    ),
    Rule(
        name="passes of the base",
        asks="a white base takes one or two passes, a discharge base one",
        why="a discharge base that soaks the shirt does not dry and activate evenly",
        source=PRACTICE,
        about="screens",
        fields=("most_passes_white_base", "most_passes_discharge_base"),
        keeps=_passes_of_base,
    ),
    Rule(
        name="mesh of a white",
        asks="a white printed as a color goes through the mesh of a base, over a base also through "
        "that of a color",
        why="it has to hide the cloth as a base does; over a base it only has to even it out",
        source=PRACTICE,
        about="screens",
        fields=(
            "coarsest_base_threads_per_inch",
            "finest_base_threads_per_inch",
            "finest_on_cloth_threads_per_inch",
        ),
        keeps=_mesh_of_white,
    ),
    Rule(
        name="white base is flashed",
        asks="a white base is flashed before the color",
        why="wet white mixes into the color over it and tints it",
        source=PRACTICE,
        about="screens",
        fields=(),
        keeps=_white_flashed,
    ),
    Rule(
        name="discharge is printed wet on wet",
        asks="a discharge base is not flashed",
        why="it works in the dryer, with steam from its own water; a flash starts it too early",
        source=PRACTICE,
        about="screens",
        fields=(),
        keeps=_discharge_wet_on_wet,
    ),
    Rule(
        name="threads per halftone line",
        asks="a halftone has at least 3.5 threads of mesh for each of its lines",
        why="with fewer, small dots fall between threads and the mesh shows as moiré",
        source=PRACTICE,
        about="screens",
        fields=("least_threads_per_line",),
        keeps=_threads_per_line,
    ),
    Rule(
        name="discharge needs cellulose",
        asks="at least half of the cloth is cotton or another cellulosic fiber",
        why="a discharge agent reaches the dyes of cellulose; polyester keeps its own",
        source=PRACTICE,
        about="cloth",
        fields=("least_cellulose_share",),
        keeps=_cellulose,
    ),
    Rule(
        name="discharge is known",
        asks="the cloth has a discharged reading, or its undyed color and a grade",
        why="two shirts that look alike may discharge quite differently",
        source="this model cannot predict it otherwise",
        about="cloth",
        fields=(),
        keeps=_discharge_known,
    ),
    Rule(
        name="dye discharges",
        asks="the dye's discharge grade is at least 3 of 5",
        why="royal blues, turquoises, kelly greens and some reds leave a strong tint",
        source=PRACTICE,
        about="cloth",
        fields=("least_discharge_grade",),
        keeps=_dye_discharges,
    ),
    Rule(
        name="there is dye to take out",
        asks="a full discharge moves the bare cloth by at least ΔE00 3",
        why="a screen and an activator for a change nobody sees are wasted",
        source=PRACTICE,
        about="cloth",
        fields=("least_dye_de00",),
        keeps=_dye_to_take_out,
    ),
    Rule(
        name="a base has something to cover",
        asks="a white base goes under cloth that is at least ΔE00 8 from white",
        why="a white shirt is white enough",
        source=PRACTICE,
        about="cloth",
        fields=("least_to_cover_de00",),
        keeps=_something_to_cover,
    ),
    Rule(
        name="polyester needs a base that blocks its dye",
        asks="on dyed cloth of at least half polyester a white is one that blocks dye, cured low",
        why="heat turns the dye of polyester into vapor, which tints a white in hours or in weeks",
        source=PRACTICE,
        about="cloth",
        fields=("polyester_share_for_blocking", "least_to_cover_de00"),
        keeps=_dye_blocked,
    ),
    Rule(
        name="a base that blocks dye is kept for polyester",
        asks="on other cloth a white is one that does not block dye, if the shop has one",
        why="what blocks dye costs more, is grayer, and can leave a ghost on cotton it lies on",
        source=PRACTICE,
        about="cloth",
        fields=("polyester_share_for_blocking", "least_to_cover_de00"),
        keeps=_blocking_kept,
    ),
    Rule(
        name="the cloth is a color too",
        asks="a color within the tolerance of the cloth, or white on a white cloth, is left bare",
        why="nobody prints a shirt's own color on it",
        source=PRACTICE,
        about="color",
        fields=(),
        keeps=_of_the_color,
    ),
    Rule(
        name="a hue is not printed in white",
        asks="a color of more than C* 20 gets a color ink, though a white may be nearer; and white "
        "cloth no white",
        why="what is asked for is the hue",
        source=PRACTICE,
        about="color",
        fields=("hue_chroma",),
        keeps=_of_the_color,
    ),
    Rule(
        name="a dark color needs no base",
        asks="a color up to L* 30 and darker than the cloth goes straight, if that is as near",
        why="a base makes the ground lighter; what is darker than the cloth is reached without",
        source=PRACTICE,
        about="color",
        fields=("dark_color_lightness",),
        keeps=_of_the_color,
    ),
    Rule(
        name="an ink stands the discharge",
        asks="nothing goes wet into or onto an active discharge that does not stand it",
        why="what takes the dye out of the cloth takes the color out of many pigments too",
        source="stands_discharge in inks.toml, by the ink maker",
        about="screens",
        fields=(),
        keeps=_stands_discharge,
    ),
    Rule(
        name="few inks in a mix",
        asks="a mix has at most four inks",
        why="each weighing adds its error, and a mix of many is duller and harder to repeat",
        source=PRACTICE,
        about="mix",
        fields=("most_inks_in_mix",),
        keeps=_of_the_mix,
    ),
    Rule(
        name="a part can be weighed",
        asks="each part of a mix weighs at least 1 g, ten steps of the scale",
        why="a part of few steps is off by as much as the color may be",
        source=PRACTICE,
        about="mix",
        fields=("least_part_g", "scale_step_g"),
        keeps=_of_the_mix,
    ),
    Rule(
        name="pigment keeps its binder",
        asks="a concentrate of pigment is no more of a mix than its maker allows, the rest base",
        why="with too little binder around it pigment rubs and washes off, and the ink skins",
        source="most_in_mix in inks.toml, by the ink maker",
        about="mix",
        fields=(),
        keeps=_of_the_mix,
    ),
)


def kept_rules(limits: RulesEntry) -> tuple[Rule, ...]:
    """Return the rules that a shop keeps, with those that the model itself needs."""
    needed = {"discharge is known"}
    return tuple(r for r in RULES if r.name in needed or r.name not in limits.not_kept)


def own_numbers(rule: Rule, limits: RulesEntry) -> str:
    """Name a shop's own numbers of a rule where they differ from those in `asks`."""
    usual = RulesEntry()
    own = [f for f in rule.fields if getattr(limits, f) != getattr(usual, f)]
    said = ", ".join(f"{field} = {getattr(limits, field):g}" for field in own)
    return f" (in this shop's rules.toml {said})" if own else ""


def broken(choices: Choices, limits: RulesEntry, *, rules: tuple[Rule, ...]) -> BoolArray:
    """Mask (R, N): rule r is broken by build n."""
    if not rules:
        return np.zeros((0, choices.route.size), dtype=np.bool_)
    return np.stack([~rule.keeps(choices, limits) for rule in rules])


@dataclass(frozen=True, kw_only=True)
class DischargeFacts:
    """Discharge data of a garment as the rules test them: see `Choices`."""

    cellulose_share: float
    grade: float
    dye_de00: float


def discharge_facts(garment: Garment) -> DischargeFacts:
    """Collect a garment's discharge data; the dye's ΔE00 is under D50/2°, 0 where not known."""
    grade = NOTHING_KNOWN
    if garment.discharged is not None:
        grade = READ
    elif garment.undyed is not None and garment.discharge_grade is not None:
        grade = float(garment.discharge_grade)
    moved = 0.0
    if grade != NOTHING_KNOWN:
        cloth = external_from_internal(reflectance_from_ks(discharged_ks(garment)))
        seen = Viewing()
        moved = float(delta_e_2000(lab_of(garment.reflectance, seen), lab_of(cloth, seen)))
    return DischargeFacts(cellulose_share=garment.cellulose, grade=grade, dye_de00=moved)


def discharge_barrier(garment: Garment, *, limits: RulesEntry | None = None) -> str:
    """Explain why a discharge base cannot work on a garment by the shop's rules; '' if it can."""
    rules = {rule.name for rule in kept_rules(limits or RulesEntry())}
    at = limits or RulesEntry()
    facts = discharge_facts(garment)
    if facts.grade == READ:
        return ""
    if "discharge needs cellulose" in rules and facts.cellulose_share < at.least_cellulose_share:
        return (
            f"discharge only reaches cotton and other cellulose; '{garment.name}' has "
            f"{garment.cellulose:.0%} of it"
        )
    if facts.grade == NOTHING_KNOWN:
        return f"'{garment.name}' has no discharge grade or undyed cloth on file; test a swatch"
    if "dye discharges" in rules and facts.grade < at.least_discharge_grade:
        return f"the dye of '{garment.name}' does not discharge (grade {facts.grade:.0f} of 5)"
    if "there is dye to take out" in rules and facts.dye_de00 < at.least_dye_de00:
        return f"'{garment.name}' has hardly any dye to take out"
    return ""
