"""The decision for a whole job: the trade's facts, the press's limits, what is said and why."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.common.wording import ROUTE_WORDS
from inksim.decision.build_evaluation import evaluate
from inksim.decision.candidate_builds import build_space
from inksim.decision.joint_chance import joint_chance
from inksim.decision.one_colour import advise
from inksim.decision.verdict import word_for
from inksim.job.costs import InkUse
from inksim.job.decide import GarmentAnswer, decide_job
from inksim.job.job import Job, JobColour
from inksim.job.reasons import reasons_for, what_helps
from inksim.printing.build import lower
from inksim.printing.prediction import predict_nominal
from inksim.printing.swatches import mean_reflectance
from inksim.shop.load import load_shop
from inksim.shop.schema import CostsEntry, StationsEntry
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.press import MEANINGS, MODEL_LAB_SD, Parameter
from inksim.stock.spectral_error import SpectralError
from inksim.stock.stock_error import error_of, error_of_cloth
from inksim.stock.target import Target, target_from_lab

SHOP = load_shop()
D50 = Viewing()
Asked = tuple[str | Target, str | None]


def job_of(garment: str, *colours: Asked, tolerance: float = 4.0, **more: Any) -> Job:
    given: dict[str, Any] = {
        "name": "any", "invented": True, "note": "", "garments": (SHOP.garment(garment),),
        "quantities": (50,), "press": StationsEntry(stations=8, flashes=1), "lines_per_inch": 0.0,
        "cloth_m2": 0.9, "base_choke_mm": 0.4, "prints_per_hour": None, "costs": SHOP.costs,
        "prefer": "cost",
    }  # fmt: skip
    wanted = tuple(
        JobColour(
            name=f"color {at}",
            target=SHOP.target(target) if isinstance(target, str) else target,
            ink=None if ink is None else SHOP.ink(ink),
            area_cm2=100.0,
            tolerance=tolerance,
        )
        for at, (target, ink) in enumerate(colours)
    )
    return Job(**(given | more), colours=wanted)


def only(job: Job, *, shop: Shop = SHOP) -> GarmentAnswer:
    (found,) = decide_job(job, shop=shop).garments
    return found


def routes(found: GarmentAnswer) -> list[str]:
    assert found.best is not None
    return [plan.build.route for plan in found.best.plans]


ORANGE, TEAL, CREAM = ("Regatta Orange", "Lantern Orange"), ("River Teal", None), ("Oatcake", None)


# -- Trade facts (common practice, no source) as decisions


def test_bright_colors_that_must_be_exact_on_black_share_one_white_base() -> None:
    found = only(job_of("Coal Black", ORANGE, CREAM))
    assert routes(found) == ["white-base", "white-base"]
    assert found.best is not None
    assert len(found.best.way.grounds) == 1  # one screen for both
    assert found.best.way.screens == 3
    assert found.nominal


def test_the_same_colors_on_white_need_none() -> None:
    found = only(job_of("Flour White", ORANGE, CREAM))
    assert routes(found) == ["straight", "straight"]
    assert found.best is not None
    assert found.best.way.flashes == 0


def test_a_soft_hand_with_a_wide_tolerance_takes_discharge() -> None:
    soft = job_of("Estuary Navy", ("Choir Plum", "Damson Purple"), tolerance=8.0, prefer="softness")
    assert routes(only(soft)) == ["discharge-base"]


@pytest.mark.parametrize("garment", ["Ferry Royal", "Lagoon Turquoise", "Anvil Black Sport"])
def test_undischargeable_cloth_is_never_discharged(garment: str) -> None:
    found = only(job_of(garment, ORANGE, TEAL, CREAM, tolerance=15.0))
    assert found.alternatives
    for way in found.alternatives:
        assert all(plan.build.route != "discharge-base" for plan in way.plans)


def test_a_deep_color_on_light_gray_goes_straight_while_a_pale_one_takes_a_base() -> None:
    # Two colors of one job, decided jointly: only the one that needs it pays for a base. The deep
    # one's target is what its ink prints on white.
    on_white = usual_build(
        SHOP,
        garment=SHOP.garment("Flour White"),
        ink=SHOP.ink("Damson Purple"),
        route="straight",
        screen=SHOP.screen("230"),
        passes=2,
    )
    (print_on_white,) = predict_nominal([on_white], press=SHOP.press.values, viewing=D50)
    deep = target_from_lab(print_on_white.lab, name="as on white")
    job = job_of("Mist Gray", (deep, "Damson Purple"), CREAM)
    wide = replace(job.colours[0], tolerance=5.0)
    found = only(replace(job, colours=(wide, job.colours[1])))
    assert routes(found)[0] == "straight"
    assert routes(found)[1] != "straight"
    assert found.nominal


# -- The press


def test_without_a_flash_there_is_no_white_base() -> None:
    found = only(job_of("Coal Black", ORANGE, press=StationsEntry(stations=6, flashes=0)))
    for way in found.alternatives:
        assert "white-base" not in [plan.build.route for plan in way.plans]
        assert way.way.flashes == 0
    assert not found.nominal


def test_too_few_stations_for_a_base_go_without_and_say_what_is_missed() -> None:
    found = only(job_of("Coal Black", ORANGE, press=StationsEntry(stations=1, flashes=1)))
    assert routes(found) == ["straight"]
    assert not found.nominal


THREE = (ORANGE, ("Oven Red", "Kiln Red"), ("Barley", "Barley Yellow"))


def test_more_colors_than_stations_are_merged_or_printed_in_two_runs() -> None:
    job = job_of("Flour White", *THREE, press=StationsEntry(stations=2, flashes=1))
    found = only(job)
    assert found.alternatives
    for way in found.alternatives:
        merged = sum(len(group) - 1 for group in way.way.merged)
        assert way.way.screens == 3 - merged
        assert way.way.runs == (1 if merged else 2)
    assert {way.way.runs for way in found.alternatives} == {1, 2}
    apart = only(replace(job, merge=False))
    assert {way.way.runs for way in apart.alternatives} == {2}
    assert all(not plan.merged for way in apart.alternatives for plan in way.plans)


def test_what_two_runs_cannot_print_says_what_would_make_it_printable() -> None:
    job = job_of("Flour White", *THREE, press=StationsEntry(stations=1, flashes=0), merge=False)
    found = only(job)
    assert found.best is None
    assert found.answers == ()
    assert "the press has 1 station and 0 flash units" in found.barrier
    assert "let colors be merged" in found.barrier
    merged = only(replace(job, merge=True))
    assert merged.best is not None  # as it says


def test_an_ink_without_any_allowed_screen_is_refused_in_a_sentence() -> None:
    coarse = replace(
        SHOP.ink("Kiln Red"), coarsest_threads_per_inch=30.0, finest_threads_per_inch=60.0
    )
    shop = replace(SHOP, inks={**SHOP.inks, "Kiln Red": coarse})
    job = job_of("Coal Black", ORANGE)
    red = replace(job.colours[0], ink=coarse)
    with pytest.raises(InputError, match="'Kiln Red' prints through 30 to 60"):
        decide_job(replace(job, colours=(red,)), shop=shop)


def test_a_halftone_too_fine_for_every_mesh_cannot_be_printed() -> None:
    found = only(job_of("Coal Black", ORANGE, lines_per_inch=100.0))
    assert found.best is None
    assert "at 100 lines/inch" in found.barrier
    assert "threads of mesh for each" in found.barrier


# -- Costs


def test_the_ways_are_ranked_without_costs_and_that_is_said() -> None:
    free = {n: replace(i, price_per_kg=None) for n, i in SHOP.inks.items()}
    shop = replace(SHOP, inks=free, costs=CostsEntry())
    job = job_of("Coal Black", ("Regatta Orange", None), costs=CostsEntry())
    found = only(job, shop=shop)
    assert routes(found) == ["white-base"]
    assert found.best is not None
    assert found.best.bill.total == 0.0
    assert "making screens" in found.best.bill.missing
    assert any("price of" in name for name in found.best.bill.missing)
    works = [way.way.work for way in found.alternatives]
    assert works[:-1] == sorted(works[:-1])  # and last that of the color by itself
    assert min(works) >= 1.0  # at least the work of one screen
    # but for what is mixed into a discharge, whose price the shop states
    plain = [way for way in found.alternatives if not any(u.handling.additive for u in way.inks)]
    assert {way.way.cost for way in plain} == {0.0}


def test_a_bill_is_the_ways_cost_and_what_every_way_has_in_common() -> None:
    found = only(job_of("Coal Black", ORANGE, CREAM))
    gaps = [way.bill.total - way.way.cost for way in found.alternatives]
    assert np.ptp(gaps) < 1e-9
    per_garment = SHOP.costs.seconds_per_garment or 0.0
    assert gaps[0] > 50 * per_garment / 3600 * (SHOP.costs.labor_per_hour or 0.0)


def test_more_prints_need_more_ink_and_cost_less_each() -> None:
    few, many = (only(job_of("Coal Black", ORANGE, quantities=(q,))).best for q in (10, 1000))
    assert few is not None
    assert many is not None
    assert sum(u.run_g for u in many.inks) > sum(u.run_g for u in few.inks)
    assert many.bill.per_print < few.bill.per_print
    assert [u.print_g for u in many.inks] == pytest.approx([u.print_g for u in few.inks])


def test_the_ink_of_a_base_covers_all_its_colors() -> None:
    found = only(job_of("Coal Black", ORANGE, CREAM))
    assert found.best is not None
    uses = {u.name: u for u in found.best.inks}
    base = uses["Chalk White Base"]
    assert isinstance(base, InkUse)
    per_colour = []
    for plan in found.best.plans:
        under = plan.build.base
        assert under is not None
        wet = plan.prediction.base_wet_um
        per_colour.append(wet * 1e-4 * plan.colour.area_cm2 * under.ink.density_g_cm3)
    assert base.print_g == pytest.approx(sum(per_colour))
    assert next(iter(uses)) == "Chalk White Base"  # printed first, told first


def test_a_heavier_job_asks_more_of_the_dryer() -> None:
    light, heavy = (only(job_of(garment, ORANGE)).best for garment in ("Flour White", "Coal Black"))
    assert light is not None
    assert heavy is not None
    assert heavy.dryer.ink_water_g > light.dryer.ink_water_g


# -- The choice


@pytest.mark.parametrize("prefer", ["work", "cost", "softness", "chance"])
def test_what_a_job_prefers_decides_among_what_lands_as_surely(prefer: Any) -> None:
    found = only(job_of("Coal Black", ORANGE, CREAM, prefer=prefer))
    assert found.best is not None
    least = min(w.way.beaten for w in found.alternatives)
    weighed = [w for w in found.alternatives if w.way.beaten == least]
    # of each color how far it is beyond what it could be; nobody is left far behind (1 ΔE00)
    missed = np.array([[max(0.0, -plan.margin) for plan in w.plans] for w in found.alternatives])
    beyond = dict(zip(map(id, found.alternatives), (missed - missed.min(0)).max(1), strict=True))
    near = min(beyond[id(w)] for w in weighed) + 1.0
    weighed = [w for w in weighed if beyond[id(w)] <= near]
    assert found.best in weighed
    surest = max(w.way.chance_a_colour for w in weighed)
    rivals = [w for w in weighed if w.way.chance_a_colour >= surest - SHOP.rules.least_chance_gain]
    by = {"work": lambda w: int(w.way.work / 0.1 + 1e-6), "cost": lambda w: w.way.cost,
          "softness": lambda w: w.way.film_g, "chance": lambda w: w.way.risk}[prefer]  # fmt: skip
    assert by(found.best) <= min(map(by, rivals))
    if found.best not in rivals:  # below an even chance one that saves a screen, as for one color
        assert found.best.way.screens < min(w.way.screens for w in rivals)
        assert max(w.way.chance_a_colour for w in rivals) < 0.5 + SHOP.rules.least_chance_gain


def test_no_way_told_is_beaten_by_another() -> None:
    found = only(job_of("Mist Gray", ORANGE, CREAM))
    rows = [
        (w.way.cost, w.way.film_g, w.way.risk, -w.nominal, w.way.work) for w in found.alternatives
    ]
    for one in rows:
        assert not any(
            all(a <= b for a, b in zip(two, one, strict=True)) and two != one for two in rows
        )
    marks = {m for w in found.alternatives for m in w.marks}
    assert marks == {"least work", "cheapest", "softest", "surest"}


def test_a_job_of_one_color_lands_where_the_decision_for_that_color_does() -> None:
    # What the ink prints over a discharged black. Of its prints on light gray, one that lies just
    # outside the tolerance is cheaper, softer and surer than any that lies inside.
    ink, garment = SHOP.ink("Damson Purple"), SHOP.garment("Mist Gray")
    on_black = usual_build(
        SHOP,
        garment=SHOP.garment("Coal Black"),
        ink=ink,
        route="discharge-base",
        screen=SHOP.screen("180"),
        passes=1,
        base_screen=SHOP.screen("160"),
        flash=True,
    )
    (print_on_black,) = predict_nominal([on_black], press=SHOP.press.values, viewing=D50)
    deep = target_from_lab(print_on_black.lab, name="as on discharged black")
    alone = advise(SHOP, garment=garment, ink=ink, target=deep, tolerance=2.0)
    assert alone.nominal
    found = only(job_of("Mist Gray", (deep, "Damson Purple"), tolerance=2.0, prefer="work"))
    assert found.best is not None
    assert found.best.plans[0].answer.words == alone.best.words
    assert found.best.plans[0].verdict.chance == pytest.approx(alone.verdict.chance, abs=1e-9)
    assert found.best.plans[0].nominal == alone.chosen.nominal


def test_an_ink_that_is_not_given_is_chosen_from_the_shop() -> None:
    found = only(job_of("Flour White", ("River Teal", None), ("Barley", None)))
    assert found.best is not None
    inks = [plan.build.colour.ink.name for plan in found.best.plans]
    assert inks == ["Weir Teal", "Barley Yellow"]


# -- The chance that all land


def _off(error: SpectralError, rng: np.random.Generator) -> np.ndarray:
    """ln K and ln S (2, 31) that an ink is off."""
    common = np.array([error.K, error.S]) * rng.standard_normal(2)
    return common[:, None] + np.tensordot(rng.standard_normal(len(error.shapes)), error.shapes, 1)


def test_the_joint_chance_is_that_of_a_large_monte_carlo() -> None:
    # The whole model, press drawn once for all colors, every ink, the cloth and the model's error
    # on their own; 2000 draws: a standard error of 1.1 points. The second-order response and its
    # 128 × 64 fixed points are allowed 5 points.
    shop = replace(SHOP, press=replace(SHOP.press, release=Parameter(0.6, 0.10)))
    garment = SHOP.garment("Coal Black")
    inks = [SHOP.ink("Lantern Orange"), SHOP.ink("Barley Yellow")]
    space = build_space(shop, garments=[garment], inks=inks, routes=["white-base"])
    first = [int(np.flatnonzero(space.ink == at)[20]) for at in (0, 1)]
    pair = space.take(np.array(first))
    weighed = evaluate(pair, press=shop.press, viewing=D50)
    standards = weighed.lab + np.array([[2.0, -1.0, 3.0], [-1.0, 2.0, 2.0]])
    tolerances = np.array([6.0, 6.0])
    found = joint_chance(weighed.response, standards=standards, tolerances=tolerances)

    rng = np.random.default_rng(7)
    table, names = pair.table(), shop.press.values._fields
    draws, landed = 2000, np.empty((2000, 2), dtype=bool)
    layers = [[layer.ink for layer in build.layers] for build in pair.builds()]
    dyes = error_of_cloth(garment)
    for at in range(draws):
        values = [
            float(np.clip(p.value + p.sd * rng.standard_normal(), least, most)) if p.sd else p.value
            for p, least, most in ((getattr(shop.press, n), *_range(n)) for n in names)
        ]
        off = np.array([[_off(error_of(ink), rng) for ink in inks] for inks in layers])
        dye = dyes.ks * rng.standard_normal() + rng.standard_normal(len(dyes.shapes)) @ dyes.shapes
        moved = replace(
            table,
            K=table.K * np.exp(off[:, :, 0]),
            S=table.S * np.exp(off[:, :, 1]),
            cloth_ks=table.cloth_ks * np.exp(dye),
        )
        spectra = mean_reflectance(lower(moved, type(shop.press.values)(*values)))
        seen = lab(spectra, D50) + MODEL_LAB_SD * rng.standard_normal((2, 3))
        landed[at] = delta_e_2000(standards, seen) <= tolerances
    assert found == pytest.approx(float(landed.all(axis=1).mean()), abs=0.05)
    product = float(np.prod(landed.mean(axis=0)))
    assert found >= product - 0.03  # colors of one press succeed together


def _range(name: str) -> tuple[float, float]:
    return MEANINGS[name].least, MEANINGS[name].most


# -- Reasons and help


def test_every_color_has_its_margin_interval_chance_and_two_reasons() -> None:
    answer = decide_job(job_of("Coal Black", ORANGE, CREAM), shop=SHOP)
    (found,) = answer.garments
    for said in reasons_for(SHOP, answer, found):
        assert "expect about ΔE00" in said.outcome
        assert "chance within 4" in said.outcome
        assert "inside" in said.outcome
        of_routes = [r for r in said.reasons if r.startswith(tuple(ROUTE_WORDS.values()))]
        assert len(of_routes) == 2
        assert said.help == ""
        assert all("ΔE00" in reason or "not possible" in reason for reason in said.reasons)


def test_a_miss_says_how_close_and_what_would_help() -> None:
    # Straight only: one station. The cloth is the limit, and a lighter one is named.
    job = job_of("Coal Black", ORANGE, press=StationsEntry(stations=1, flashes=0))
    answer = decide_job(job, shop=SHOP)
    (found,) = answer.garments
    (said,) = reasons_for(SHOP, answer, found)
    assert "cannot promise" in said.outcome
    assert "outside" in said.outcome
    assert "even chance" in said.help
    assert any("no flash unit" in reason for reason in said.reasons)
    tight = decide_job(replace(job, press=StationsEntry(stations=1, flashes=1)), shop=SHOP)
    (said,) = reasons_for(SHOP, tight, tight.garments[0])
    assert any("too few stations" in reason for reason in said.reasons)
    # The ink lands over white: neither it nor the cloth is at fault, least of all a black polyester
    # shirt would help that needs the same base.
    (said,) = reasons_for(SHOP, answer, found)
    assert "The press is the limit: over a white base it would land" in said.help
    assert "a press with a flash unit and 3 stations would help" in said.help


@pytest.mark.parametrize("tolerance", [0.01, 4.0])
def test_where_nothing_lands_the_nearest_is_printed_not_the_cheapest(tolerance: float) -> None:
    # Common practice, no source: a color out of reach is printed as near as it comes. No ink of the
    # shop is this violet; straight on black it cannot even be seen.
    standard = target_from_lab([60.0, 90.0, -60.0], name="out of gamut")
    target = "Regatta Orange" if tolerance < 1.0 else standard
    found = only(job_of("Coal Black", (target, "Foxglove Pink"), tolerance=tolerance))
    assert found.best is not None
    assert found.best.nominal == 0
    off = [plan.prediction.delta_e_2000 or 0.0 for way in found.alternatives for plan in way.plans]
    assert (found.best.plans[0].prediction.delta_e_2000 or 0.0) <= min(off) + 1.0


def test_a_farther_ink_is_not_named_as_the_nearest() -> None:
    job = job_of("Coal Black", ORANGE, tolerance=0.01)
    answer = decide_job(job, shop=SHOP)
    (said,) = reasons_for(SHOP, answer, answer.garments[0])
    assert "nearest is" not in said.help  # the job's own ink comes nearer than any other


def test_the_chance_of_one_color_is_said_once() -> None:
    # The chance of the way and of its one color are of one event.
    alone = only(job_of("Coal Black", ORANGE)).alternatives
    both = only(job_of("Coal Black", ORANGE, CREAM)).alternatives
    assert alone
    assert both
    for way in alone:
        assert way.verdict.chance == way.plans[0].verdict.chance
    for way in both:
        weakest = min(way.plans, key=lambda plan: plan.verdict.chance)
        assert way.verdict.chance <= weakest.verdict.chance
        assert way.weakest is weakest
        assert way.verdict.median_de00 == weakest.verdict.median_de00
        assert way.verdict.word == word_for(way.verdict.chance)


def test_the_limit_is_ink_or_cloth_or_both() -> None:
    job = job_of("Coal Black", ORANGE)

    def limit(target: str | Target, ink: str, garment: str, tolerance: float = 4.0) -> str:
        (asked,) = job_of(garment, (target, ink), tolerance=tolerance).colours
        return what_helps(
            SHOP, colour=asked, ink=SHOP.ink(ink), garment=SHOP.garment(garment), job=job,
            viewing=D50,
        ).limit  # fmt: skip

    # a teal target with an orange ink: another ink lands
    assert limit("River Teal", "Lantern Orange", "Coal Black") == "ink"
    # nothing here is that green
    impossible = target_from_lab([70.0, -90.0, 70.0], name="laser green")
    assert limit(impossible, "Orchard Green", "Coal Black") == "ink and cloth"


def test_the_nearest_shirt_that_would_do_is_named() -> None:
    # No base inks: bright orange lands on light shirts only.
    shop = replace(SHOP, inks={n: i for n, i in SHOP.inks.items() if not i.is_base})
    (asked,) = job_of("Coal Black", ORANGE).colours
    found = what_helps(
        shop, colour=asked, ink=SHOP.ink("Lantern Orange"), garment=SHOP.garment("Coal Black"),
        job=job_of("Coal Black", ORANGE), viewing=D50,
    )  # fmt: skip
    assert found.limit == "cloth"
    assert "'Flour White'" in found.words or "'Oat Natural'" in found.words


def test_a_decision_tells_how_far_it_is_and_can_be_stopped() -> None:
    job = job_of("Coal Black", ORANGE)
    job = replace(job, garments=(*job.garments, SHOP.garment("Flour White")), quantities=(50, 50))
    told: list[tuple[str, float]] = []

    def step(words: str, done: float) -> None:
        told.append((words, done))
        if done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        decide_job(job, shop=SHOP, step=step)
    assert {done for _, done in told} == {0.0, 0.5}
    assert told[-1][0].endswith("Flour White")
