"""Whether a discharge base can work on a garment: what is known of its dye, against the rules."""

from __future__ import annotations

from dataclasses import dataclass

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.decision.rules_kept import NOTHING_KNOWN, READ
from inksim.decision.trade_rules import kept_rules
from inksim.optics import external_from_internal, reflectance_from_ks
from inksim.printing import discharged_ks
from inksim.shop import RulesEntry
from inksim.stock import Garment


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
