"""Every sensible build: the index arithmetic against nested loops, the table against its builds."""

from __future__ import annotations

import itertools
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from inksim.common.errors import InputError
from inksim.decision.build_evaluation import space_errors
from inksim.decision.candidate_builds import BuildSpace, build_space, why_none
from inksim.decision.discharge import discharge_barrier
from inksim.printing.build import ROUTES, BuildTable, tabulate
from inksim.printing.uncertainty import errors_of_builds
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry
from inksim.shop.shop import Shop

SHOP = load_shop()
COLOURS = [ink for ink in SHOP.inks.values() if ink.kind == "color"]


def space_of(shop: Shop, garment: str, ink: str, **more: Any) -> BuildSpace:
    return build_space(shop, garments=[shop.garment(garment)], inks=[shop.ink(ink)], **more)


def with_rules(**changed: Any) -> Shop:
    return replace(SHOP, rules=RulesEntry(**changed))


def words(space: BuildSpace) -> set[tuple[Any, ...]]:
    """Each build in words that a set can hold."""
    found = set()
    for build in space.builds():
        base = build.base
        under = base and (base.ink.name, base.screen.name, base.passes, base.flash)
        top = build.colour
        found.add((build.route, under, top.ink.name, top.screen.name, top.passes))
    return found


def by_hand(garment: str, ink_name: str, lines: float = 0.0) -> set[tuple[Any, ...]]:
    """The same with loops, from the trade facts: common practice, no source."""
    ink, cloth, found = SHOP.ink(ink_name), SHOP.garment(garment), set()

    def through(one: Any, screen: Any) -> bool:
        count = screen.threads_per_inch
        return bool(
            one.coarsest_threads_per_inch - 0.5 <= count <= one.finest_threads_per_inch + 0.5
        )

    sport = garment == "Anvil Black Sport"  # dyed polyester: its whites have to block its dye
    ink_is_white = ink.kind == "white-base"
    screens = [s for s in SHOP.screens.values() if through(ink, s)]
    screens = [s for s in screens if not lines or s.threads_per_inch / lines >= 3.5]
    for screen, passes in itertools.product(screens, (1, 2)):
        coarsest, finest = (105, 165) if ink_is_white else (155, 332)
        if ink_is_white and ink.blocks_dye != sport:
            continue
        if coarsest <= screen.threads_per_inch <= finest:
            found.add(("straight", None, ink.name, screen.name, passes))
    for base in SHOP.inks.values():
        white = base.kind == "white-base"
        if not white and (base.kind != "discharge-base" or discharge_barrier(cloth)):
            continue
        if white and (garment == "Flour White" or base.blocks_dye != sport):
            continue
        for under, passes, over in itertools.product(
            SHOP.screens.values(), (1, 2) if white else (1,), screens
        ):
            if through(base, under) and 105 <= under.threads_per_inch <= 165:
                if ink_is_white and not 105 <= over.threads_per_inch <= 332:
                    continue
                if ink_is_white and white and (base, under) != (ink, over):
                    continue  # white over white: the same screen, flashed, one stroke more
                layer = (base.name, under.name, passes, white)
                found.add((base.kind, layer, ink.name, over.name, 1))
    return found


@pytest.mark.parametrize("lines", [0.0, 45.0, 55.0])
@pytest.mark.parametrize("garment", ["Coal Black", "Anvil Black Sport", "Flour White"])
@pytest.mark.parametrize(
    "ink", ["Lantern Orange", "Oatcake Cream", "Chalk White Base", "Sluice White Base"]
)
def test_the_builds_are_those_of_nested_loops(garment: str, ink: str, lines: float) -> None:
    space = space_of(SHOP, garment, ink, lines_per_inch=lines)
    assert words(space) == by_hand(garment, ink, lines)
    assert len(space) == len(words(space))  # each once


def test_many_inks_and_garments_are_their_single_spaces_in_order() -> None:
    garments = [SHOP.garment(n) for n in ("Coal Black", "Ferry Royal", "Mist Gray")]
    whole = build_space(SHOP, garments=garments, inks=COLOURS)
    assert np.all(np.diff(whole.garment) >= 0)
    for at, garment in enumerate(garments):
        part = whole.take(whole.garment == at)
        singles = [build_space(SHOP, garments=[garment], inks=[ink]) for ink in COLOURS]
        assert words(part) == set().union(*map(words, singles))


@pytest.mark.parametrize("routes", [ROUTES, ("straight",), ("white-base",), ("discharge-base",)])
def test_the_table_is_the_one_of_its_builds(routes: Any) -> None:
    garments = [SHOP.garment(n) for n in ("Coal Black", "Ferry Royal")]
    space = build_space(SHOP, garments=garments, inks=COLOURS[:4], routes=routes)
    assert set(space.route) <= {ROUTES.index(r) for r in routes}
    fast, slow = space.table(), tabulate(space.builds())
    for field in fields(BuildTable):
        np.testing.assert_array_equal(getattr(fast, field.name), getattr(slow, field.name))


def test_a_space_is_as_unsure_as_its_builds() -> None:
    mixed = replace(SHOP.ink("Kiln Red"), data="measured", error=None)
    read = replace(SHOP.garment("Coal Black"), data="measured")
    space = build_space(SHOP, garments=[read, SHOP.garment("Mist Gray")], inks=[mixed, COLOURS[0]])
    fast, slow = space_errors(space), errors_of_builds(space.builds(), layers=2)
    for of_layer in ("sds", "basis", "names"):
        one, two = (
            np.where(
                (e.ink < 0).reshape(*e.ink.shape, *[1] * (np.ndim(getattr(e, of_layer)) - 1)),
                "" if of_layer == "names" else 0.0,
                np.asarray(getattr(e, of_layer))[e.ink],
            )
            for e in (fast, slow)
        )
        np.testing.assert_array_equal(one, two)
    for of_cloth in ("cloths", "left"):
        one, two = (getattr(e, of_cloth)[e.cloth] for e in (fast, slow))
        np.testing.assert_array_equal(one, two)
    assert len(np.unique(fast.sds[:, 0])) == 2  # measured, and as the demo's entries say


def test_taking_keeps_the_builds() -> None:
    space = space_of(SHOP, "Coal Black", "Kiln Red")
    some = space.take(np.array([5, 2]))
    assert words(some) == words(space.take(slice(2, 6, 3)))
    assert some.build(0) == space.build(5)
    assert [b.route for b in space.builds([0, 1])] == [space.build(0).route, space.build(1).route]


def test_an_empty_space_has_no_table() -> None:
    space = space_of(SHOP, "Ferry Royal", "Kiln Red", routes=["discharge-base"])
    assert len(space) == 0
    with pytest.raises(InputError, match="no build to evaluate"):
        space.table()


def test_a_shop_without_bases_still_prints_straight() -> None:
    bare = replace(SHOP, inks={i.name: i for i in COLOURS})
    assert set(space_of(bare, "Coal Black", "Kiln Red").route) == {0}
    said = why_none(bare, garment=SHOP.garment("Coal Black"), ink=COLOURS[0], route="white-base")
    assert said == "this shop has no ink of kind 'white-base'"


# -- The shop changes the rules


def test_a_rule_that_is_not_kept_is_not_applied() -> None:
    free = with_rules(not_kept=["white base is flashed", "discharge is printed wet on wet"])
    strict, loose = (words(space_of(s, "Coal Black", "Kiln Red")) for s in (SHOP, free))
    added = loose - strict
    assert strict < loose
    assert {(w[0], w[1][3]) for w in added if w[1]} == {
        ("white-base", False), ("discharge-base", True)
    }  # fmt: skip
    other_dye = with_rules(not_kept=["dye discharges"])
    assert len(space_of(other_dye, "Clover Green", "Kiln Red", routes=["discharge-base"]))


def test_the_numbers_are_the_shops() -> None:
    for changed, route, of in [
        ({"finest_on_cloth_threads_per_inch": 200}, "straight", lambda w: float(w[3]) <= 200),
        ({"most_passes_on_cloth": 1}, "straight", lambda w: w[4] == 1),
        ({"finest_base_threads_per_inch": 130}, "white-base", lambda w: float(w[1][1]) <= 130),
        ({"most_passes_white_base": 1}, "white-base", lambda w: w[1][2] == 1),
    ]:
        default = words(space_of(SHOP, "Coal Black", "Kiln Red", routes=[route]))
        own = words(space_of(with_rules(**changed), "Coal Black", "Kiln Red", routes=[route]))
        assert own == {w for w in default if of(w)}
        assert own < default
    assert not len(
        space_of(
            with_rules(least_discharge_grade=5), "Slate Gray", "Kiln Red", routes=["discharge-base"]
        )
    )


# -- Why there is none


@pytest.mark.parametrize(
    ("garment", "why"),
    [
        ("Ferry Royal", "grade is at least 3 of 5: royal blues"),
        ("Anvil Black Sport", "at least half of the cloth is cotton"),
        ("Flour White", "moves the bare cloth by at least"),
        ("Coal Black", ""),
    ],
)
def test_the_rule_that_forbids_every_build_is_named(garment: str, why: str) -> None:
    said = why_none(
        SHOP, garment=SHOP.garment(garment), ink=SHOP.ink("Kiln Red"), route="discharge-base"
    )
    assert (why in said) if why else said == ""
    assert said.count(":") <= 1  # one rule is enough


def test_rules_that_only_together_forbid_every_build_are_all_named() -> None:
    # 110 lines/inch need 385 threads/inch, which no screen here has; 60 need 210, which the ink's
    # own limit of 200 forbids only together with the halftone's.
    cloth = SHOP.garment("Coal Black")
    coarse = replace(SHOP.ink("Kiln Red"), finest_threads_per_inch=200.0)
    said = why_none(SHOP, garment=cloth, ink=coarse, route="straight", lines_per_inch=60)
    assert "3.5 threads of mesh" in said
    assert "limits of the ink" in said
