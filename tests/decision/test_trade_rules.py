"""The rules of the trade one by one: what each keeps, what it breaks, how a shop changes it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from inksim.common.errors import ShopFaults
from inksim.decision.discharge import discharge_barrier, discharge_facts
from inksim.decision.rules_kept import DISCHARGE, NOTHING_KNOWN, READ, STRAIGHT, WHITE, Choices
from inksim.decision.trade_rules import PRACTICE, RULES, broken, kept_rules
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.shop.schema import RuleName, RulesEntry

SHOP = load_shop()
BY_NAME = {rule.name: rule for rule in RULES}
NONE = float("nan")


def choice(**given: Any) -> Choices:
    """One build that keeps every rule: color over a flashed white base on cotton."""
    sound: dict[str, Any] = {
        "route": WHITE, "threads_per_inch": 230.0, "passes": 1.0, "ink_coarsest": 125.0,
        "ink_finest": 305.0, "ink_max_passes": 2.0, "base_threads_per_inch": 110.0,
        "base_passes": 1.0, "base_coarsest": 80.0, "base_finest": 200.0, "base_max_passes": 2.0,
        "flash": True, "cellulose_share": 1.0, "discharge_grade": 5.0, "dye_de00": 50.0,
        "ink_is_white": False, "ink_stands_discharge": True, "blocks_dye": False,
        "polyester_share": 0.0, "de00_from_white": 60.0,
    }  # fmt: skip
    lines = given.pop("lines_per_inch", 0.0)
    plain = given.pop("has_plain_white", True)
    if given.get("route") == STRAIGHT:
        given |= {f: NONE for f in sound if f.startswith("base_")}
    columns = {name: np.array([value]) for name, value in (sound | given).items()}
    return Choices(lines_per_inch=lines, has_plain_white=plain, **columns)


WHITE_STRAIGHT: dict[str, Any] = {
    "route": STRAIGHT, "ink_is_white": True, "threads_per_inch": 110.0, "ink_coarsest": 80.0,
    "ink_finest": 200.0,
}  # fmt: skip
WHITE_OVER: dict[str, Any] = {**WHITE_STRAIGHT, "route": WHITE}
SPORT: dict[str, Any] = {"polyester_share": 1.0}


# One case each: (rule, build that keeps it, build that breaks it). Common practice, no source.
CASES: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("screen suits ink", {"threads_per_inch": 305.4}, {"threads_per_inch": 330.0}),
    # a label is rounded to a whole thread, no more
    ("screen suits ink", {"threads_per_inch": 124.6}, {"threads_per_inch": 124.0}),
    ("screen suits ink", {"base_threads_per_inch": 80.0}, {"base_threads_per_inch": 201.0}),
    ("screen suits ink", {}, {"threads_per_inch": 110.0}),
    ("screen suits ink", {}, {"base_threads_per_inch": 230.0}),
    ("passes suit ink", {"passes": 2.0}, {"passes": 3.0}),
    ("passes suit ink", {}, {"base_passes": 3.0}),
    (
        "mesh on bare cloth",
        {"route": STRAIGHT, "threads_per_inch": 330.0},
        {"route": STRAIGHT, "threads_per_inch": 355.0},
    ),
    (
        "mesh on bare cloth",
        {"threads_per_inch": 140.0},
        {"route": STRAIGHT, "threads_per_inch": 140.0},
    ),
    ("passes of the color", {"route": STRAIGHT, "passes": 2.0}, {"passes": 2.0}),
    ("passes of the color", {}, {"route": STRAIGHT, "passes": 3.0}),
    ("mesh of the base", {"base_threads_per_inch": 160.0}, {"base_threads_per_inch": 230.0}),
    ("mesh of the base", {}, {"base_threads_per_inch": 80.0}),
    ("passes of the base", {"base_passes": 2.0}, {"route": DISCHARGE, "base_passes": 2.0}),
    ("white base is flashed", {}, {"flash": False}),
    (
        "discharge is printed wet on wet",
        {"route": DISCHARGE, "flash": False},
        {"route": DISCHARGE, "flash": True},
    ),
    (
        "threads per halftone line",
        {"lines_per_inch": 65.0},  # 230 / 65 = 3.54
        {"lines_per_inch": 66.0},  # 3.48
    ),
    ("discharge needs cellulose", {"cellulose_share": 0.0}, {"route": DISCHARGE,
        "cellulose_share": 0.4}),
    ("discharge is known", {"discharge_grade": NOTHING_KNOWN}, {"route": DISCHARGE,
        "discharge_grade": NOTHING_KNOWN}),
    ("dye discharges", {"route": DISCHARGE, "discharge_grade": 3.0}, {"route": DISCHARGE,
        "discharge_grade": 2.0}),
    ("dye discharges", {"route": DISCHARGE, "discharge_grade": READ}, {"route": DISCHARGE,
        "discharge_grade": 1.0}),
    ("there is dye to take out", {"route": DISCHARGE, "dye_de00": 3.0}, {"route": DISCHARGE,
        "dye_de00": 2.9}),
    # a white straight on the cloth does what a base does; over one it may be finer
    ("mesh of a white", WHITE_STRAIGHT, WHITE_STRAIGHT | {"threads_per_inch": 196.0}),
    ("mesh of a white", WHITE_OVER | {"threads_per_inch": 196.0},
     WHITE_OVER | {"threads_per_inch": 80.0}),
    ("mesh of a white", WHITE_OVER | {"route": DISCHARGE, "threads_per_inch": 110.0},
     WHITE_OVER | {"route": DISCHARGE, "threads_per_inch": 355.0}),
    ("mesh on bare cloth", WHITE_STRAIGHT, {"route": STRAIGHT, "threads_per_inch": 110.0}),
    ("passes of the color", WHITE_STRAIGHT | {"passes": 2.0}, WHITE_OVER | {"passes": 2.0}),
    ("a base has something to cover", {"de00_from_white": 8.0}, {"de00_from_white": 7.9}),
    ("a base has something to cover", {"route": STRAIGHT, "de00_from_white": 4.0},
     {"de00_from_white": 4.0}),
    ("polyester needs a base that blocks its dye", SPORT | {"blocks_dye": True}, SPORT),
    ("polyester needs a base that blocks its dye", {"polyester_share": 0.49},
     {"polyester_share": 0.5}),
    # white polyester has no dye; a color without white in it is no base
    ("polyester needs a base that blocks its dye", SPORT | {"de00_from_white": 7.9}, SPORT),
    ("polyester needs a base that blocks its dye", SPORT | {"route": STRAIGHT},
     SPORT | WHITE_STRAIGHT),
    ("a base that blocks dye is kept for polyester", SPORT | {"blocks_dye": True},
     {"blocks_dye": True}),
    ("a base that blocks dye is kept for polyester",
     {"blocks_dye": True, "has_plain_white": False}, {"blocks_dye": True}),
    ("an ink stands the discharge", {"ink_stands_discharge": False},
     {"route": DISCHARGE, "ink_stands_discharge": False}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "kept", "breaking"), CASES)
def test_a_rule_keeps_and_breaks(name: str, kept: dict[str, Any], breaking: dict[str, Any]) -> None:
    rule, limits = BY_NAME[name], RulesEntry()
    assert rule.keeps(choice(**kept), limits).tolist() == [True]
    assert rule.keeps(choice(**breaking), limits).tolist() == [False]


def test_every_rule_has_a_case_a_reason_and_a_source() -> None:
    # those about the color asked for are tested in test_answer.py, about a mix in tests/mixing
    others = {rule.name for rule in RULES if rule.about in ("color", "mix")}
    assert {name for name, *_ in CASES} | others == set(BY_NAME)
    for rule in RULES:
        assert len(rule.why) > 20
        assert rule.asks
        assert rule.source == PRACTICE or "inks.toml" in rule.source or "model" in rule.source


def test_the_sound_build_keeps_all_rules() -> None:
    assert not broken(choice(), RulesEntry(), rules=RULES).any()


def test_every_number_of_the_rules_file_belongs_to_a_rule() -> None:
    advisory = {
        "not_kept", "comfortable_threads_per_line", "most_lines_per_inch", "most_total_coverage",
        "source", "light_before_dark", "least_line_on_knit_mm",
    }  # fmt: skip
    # of the choice among builds, which no rule about a build has to keep
    advisory |= {"least_chance_gain", "dark_color_lightness"}
    used = {field for rule in RULES for field in rule.fields}
    assert used | advisory == set(RulesEntry.model_fields)


def test_the_file_can_switch_off_every_rule_but_what_the_model_needs() -> None:
    names = list(get_args(RuleName))
    of_a_colour = {"the cloth is a color too", "a dark color needs no base"}  # not of its builds
    assert {*names, "discharge is known"} == set(BY_NAME) | of_a_colour
    assert [r.name for r in kept_rules(RulesEntry(not_kept=names))] == ["discharge is known"]


def test_the_demo_shop_writes_out_the_defaults() -> None:
    assert SHOP.rules == RulesEntry()


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('not_kept = ["always smile"]', "rules.toml, not_kept value 1: must be"),
        ("finest_on_cloth_threads_per_inch = -3", "finest_on_cloth_threads_per_inch"),
        ("finest_base_threads_per_inch = 50", "above the finest, 50"),
        ("finest_basement = 50", "this field is not known"),
    ],
)
def test_a_faulty_rules_file_is_told(tmp_path: Path, line: str, fault: str) -> None:
    folder = tmp_path / "shop"
    shutil.copytree(demo_shop_folder(), folder, ignore=shutil.ignore_patterns("artwork"))
    (folder / "rules.toml").write_text(line + "\n", encoding="utf-8")
    with pytest.raises(ShopFaults) as caught:
        load_shop(folder)
    assert len(caught.value.faults) == 1
    assert fault in caught.value.faults[0]


def test_a_shop_without_the_file_keeps_the_trades_rules(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    shutil.copytree(demo_shop_folder(), folder, ignore=shutil.ignore_patterns("artwork"))
    (folder / "rules.toml").unlink()
    assert load_shop(folder).rules == RulesEntry()


# -- Discharge


def test_a_reading_of_the_discharged_cloth_beats_every_rule_about_its_dye() -> None:
    royal = SHOP.garment("Ferry Royal")
    read = replace(royal, discharged=SHOP.garment("Mist Gray").reflectance)
    assert discharge_facts(read).grade == READ
    assert discharge_barrier(royal)
    assert discharge_barrier(read) == ""


def test_the_barrier_follows_the_shops_rules() -> None:
    green, blend = SHOP.garment("Clover Green"), SHOP.garment("Ember Heather")
    assert "grade 2 of 5" in discharge_barrier(green)
    assert discharge_barrier(green, limits=RulesEntry(not_kept=["dye discharges"])) == ""
    assert discharge_barrier(green, limits=RulesEntry(least_discharge_grade=2)) == ""
    assert "60%" in discharge_barrier(blend, limits=RulesEntry(least_cellulose_share=0.7))
    unknown = replace(green, discharge_grade=None)
    everything = RulesEntry(not_kept=list(get_args(RuleName)))
    assert "no discharge grade" in discharge_barrier(unknown, limits=everything)
