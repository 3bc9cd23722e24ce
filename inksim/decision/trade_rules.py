"""Rules of the trade: which builds a printer would consider, and why not the others.

A rule has a name, a demand, a reason and a source. Its numbers are in the shop's rules.toml
(`RulesEntry`), where a shop may change them or drop a rule. Which builds keep one: `rules_kept`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inksim.common import BoolArray
from inksim.decision import rules_kept as kept
from inksim.decision.rules_kept import Choices
from inksim.shop import RulesEntry

PRACTICE = "common practice, no source"


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


RULES: tuple[Rule, ...] = (
    Rule(
        name="screen suits ink",
        asks="every screen is inside the limits of the ink that goes through it",
        why="particles and rheology clog a mesh that is too fine and flood one that is too coarse",
        source="the ink maker's limits, in inks.toml",
        about="screens",
        fields=(),
        keeps=kept.screen_suits_ink,
    ),
    Rule(
        name="passes suit ink",
        asks="no screen takes more strokes than its ink allows",
        why="more strokes of the same screen smear and fill in",
        source="max_passes in inks.toml",
        about="screens",
        fields=(),
        keeps=kept.passes_suit_ink,
    ),
    Rule(
        name="mesh on bare cloth",
        asks="straight on the cloth a color goes through about 160 to 330 threads/inch",
        why="coarser lays down a stiff film that is hard to cure; finer leaves too little to cover",
        source=PRACTICE,
        about="screens",
        fields=("coarsest_on_cloth_threads_per_inch", "finest_on_cloth_threads_per_inch"),
        keeps=kept.mesh_on_cloth,
    ),
    Rule(
        name="passes of the color",
        asks="at most two passes on bare cloth, one over a base",
        why="a base already fills the fibers, so a second stroke over it only smears and slows",
        source=PRACTICE,
        about="screens",
        fields=("most_passes_on_cloth", "most_passes_over_base"),
        keeps=kept.passes_of_colour,
    ),
    Rule(
        name="mesh of the base",
        asks="a base goes through about 110 to 160 threads/inch",
        why="it has to lay down enough to hide the cloth or to reach its dye",
        source=PRACTICE,
        about="screens",
        fields=("coarsest_base_threads_per_inch", "finest_base_threads_per_inch"),
        keeps=kept.mesh_of_base,
    ),
    Rule(
        name="passes of the base",
        asks="a white base takes one or two passes, a discharge base one",
        why="a discharge base that soaks the shirt does not dry and activate evenly",
        source=PRACTICE,
        about="screens",
        fields=("most_passes_white_base", "most_passes_discharge_base"),
        keeps=kept.passes_of_base,
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
        keeps=kept.mesh_of_white,
    ),
    Rule(
        name="white base is flashed",
        asks="a white base is flashed before the color",
        why="wet white mixes into the color over it and tints it",
        source=PRACTICE,
        about="screens",
        fields=(),
        keeps=kept.white_flashed,
    ),
    Rule(
        name="discharge is printed wet on wet",
        asks="a discharge base is not flashed",
        why="it works in the dryer, with steam from its own water; a flash starts it too early",
        source=PRACTICE,
        about="screens",
        fields=(),
        keeps=kept.discharge_wet_on_wet,
    ),
    Rule(
        name="threads per halftone line",
        asks="a halftone has at least 3.5 threads of mesh for each of its lines",
        why="with fewer, small dots fall between threads and the mesh shows as moiré",
        source=PRACTICE,
        about="screens",
        fields=("least_threads_per_line",),
        keeps=kept.threads_per_line,
    ),
    Rule(
        name="discharge needs cellulose",
        asks="at least half of the cloth is cotton or another cellulosic fiber",
        why="a discharge agent reaches the dyes of cellulose; polyester keeps its own",
        source=PRACTICE,
        about="cloth",
        fields=("least_cellulose_share",),
        keeps=kept.cellulose,
    ),
    Rule(
        name="discharge is known",
        asks="the cloth has a discharged reading, or its undyed color and a grade",
        why="two shirts that look alike may discharge quite differently",
        source="this model cannot predict it otherwise",
        about="cloth",
        fields=(),
        keeps=kept.discharge_known,
    ),
    Rule(
        name="dye discharges",
        asks="the dye's discharge grade is at least 3 of 5",
        why="royal blues, turquoises, kelly greens and some reds leave a strong tint",
        source=PRACTICE,
        about="cloth",
        fields=("least_discharge_grade",),
        keeps=kept.dye_discharges,
    ),
    Rule(
        name="there is dye to take out",
        asks="a full discharge moves the bare cloth by at least ΔE00 3",
        why="a screen and an activator for a change nobody sees are wasted",
        source=PRACTICE,
        about="cloth",
        fields=("least_dye_de00",),
        keeps=kept.dye_to_take_out,
    ),
    Rule(
        name="a base has something to cover",
        asks="a white base goes under cloth that is at least ΔE00 8 from white",
        why="a white shirt is white enough",
        source=PRACTICE,
        about="cloth",
        fields=("least_to_cover_de00",),
        keeps=kept.something_to_cover,
    ),
    Rule(
        name="polyester needs a base that blocks its dye",
        asks="on dyed cloth of at least half polyester a white is one that blocks dye, cured low",
        why="heat turns the dye of polyester into vapor, which tints a white in hours or in weeks",
        source=PRACTICE,
        about="cloth",
        fields=("polyester_share_for_blocking", "least_to_cover_de00"),
        keeps=kept.dye_blocked,
    ),
    Rule(
        name="a base that blocks dye is kept for polyester",
        asks="on other cloth a white is one that does not block dye, if the shop has one",
        why="what blocks dye costs more, is grayer, and can leave a ghost on cotton it lies on",
        source=PRACTICE,
        about="cloth",
        fields=("polyester_share_for_blocking", "least_to_cover_de00"),
        keeps=kept.blocking_kept,
    ),
    Rule(
        name="the cloth is a color too",
        asks="a color within the tolerance of the cloth, or white on a white cloth, is left bare",
        why="nobody prints a shirt's own color on it",
        source=PRACTICE,
        about="color",
        fields=(),
        keeps=kept.every_build,
    ),
    Rule(
        name="a hue is not printed in white",
        asks="a color of more than C* 20 gets a color ink, though a white may be nearer; and white "
        "cloth no white",
        why="what is asked for is the hue",
        source=PRACTICE,
        about="color",
        fields=("hue_chroma",),
        keeps=kept.every_build,
    ),
    Rule(
        name="a dark color needs no base",
        asks="a color up to L* 30 and darker than the cloth goes straight, if that is as near",
        why="a base makes the ground lighter; what is darker than the cloth is reached without",
        source=PRACTICE,
        about="color",
        fields=("dark_color_lightness",),
        keeps=kept.every_build,
    ),
    Rule(
        name="an ink stands the discharge",
        asks="nothing goes wet into or onto an active discharge that does not stand it",
        why="what takes the dye out of the cloth takes the color out of many pigments too",
        source="stands_discharge in inks.toml, by the ink maker",
        about="screens",
        fields=(),
        keeps=kept.stands_discharge,
    ),
    Rule(
        name="few inks in a mix",
        asks="a mix has at most four inks",
        why="each weighing adds its error, and a mix of many is duller and harder to repeat",
        source=PRACTICE,
        about="mix",
        fields=("most_inks_in_mix",),
        keeps=kept.every_build,
    ),
    Rule(
        name="a part can be weighed",
        asks="each part of a mix weighs at least 1 g, ten steps of the scale",
        why="a part of few steps is off by as much as the color may be",
        source=PRACTICE,
        about="mix",
        fields=("least_part_g", "scale_step_g"),
        keeps=kept.every_build,
    ),
    Rule(
        name="pigment keeps its binder",
        asks="a concentrate of pigment is no more of a mix than its maker allows, the rest base",
        why="with too little binder around it pigment rubs and washes off, and the ink skins",
        source="most_in_mix in inks.toml, by the ink maker",
        about="mix",
        fields=(),
        keeps=kept.every_build,
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
