"""Builds weighed all at once: the same as one by one, and how one is chosen among them."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.decision.build_evaluation import (
    COMFORT,
    Landing,
    against,
    as_good,
    choose_build,
    could_be_chosen,
    evaluate,
    route_to_take,
    work_class,
    work_of,
)
from inksim.decision.candidate_builds import BuildSpace, build_space
from inksim.printing.build import ROUTES
from inksim.printing.prediction import predict
from inksim.printing.uncertainty import Spread
from inksim.shop.load import load_shop
from inksim.stock.target import target_from_lab

SHOP = load_shop()
D50 = Viewing("D50", 2)
TARGET = target_from_lab([55.0, 50.0, 40.0], name="any")


def space(*garments: str) -> BuildSpace:
    return build_space(
        SHOP,
        garments=[SHOP.garment(g) for g in garments],
        inks=[SHOP.ink("Kiln Red"), SHOP.ink("Weir Teal")],
    )


def test_all_at_once_is_one_by_one() -> None:
    # The path through objects (predict) shares only the physics with weigh.
    some = space("Coal Black", "Mist Gray").take(np.arange(0, 340, 17))
    weighed = evaluate(some, press=SHOP.press, viewing=D50)
    landing = against(weighed, standard=TARGET.lab(D50), tolerance=4.0)
    sure = predict(some.builds(), press=SHOP.press, viewing=D50, target=TARGET, tolerance=4.0)
    for at, p in enumerate(sure):
        np.testing.assert_allclose(weighed.lab[at], p.lab, atol=1e-10)
        assert landing.distance[at] == pytest.approx(p.delta_e_2000)
        assert weighed.wet_um[at] == pytest.approx([p.base_wet_um, p.wet_um])
        assert weighed.dry_um[at] == pytest.approx([p.base_film_um, p.film_um])
        assert p.interval is not None
        assert landing.chance[at] == p.interval.within
        assert landing.spread.de_high[at] == pytest.approx(p.interval.de_high)
    assert landing.nominal.tolist() == [bool((p.delta_e_2000 or 0) <= 4.0) for p in sure]


def test_taking_keeps_every_column() -> None:
    weighed = evaluate(space("Coal Black"), press=SHOP.press, viewing=D50)
    part = weighed.take(np.array([7, 3]))
    np.testing.assert_array_equal(part.lab, weighed.lab[[7, 3]])
    np.testing.assert_array_equal(part.work, weighed.work[[7, 3]])
    assert part.space.build(0) == weighed.space.build(7)


def test_work_is_screens_then_flashes_then_strokes_then_ink() -> None:
    some = space("Coal Black")
    weighed = evaluate(some, press=SHOP.press, viewing=D50)
    work = work_of(some, wet_um=weighed.wet_um)
    np.testing.assert_array_equal(work, weighed.work)
    keys = []
    for at in np.argsort(work, kind="stable"):
        build = some.build(int(at))
        keys.append(
            (
                len(build.layers),
                sum(layer.flash for layer in build.layers[:-1]),
                sum(layer.passes for layer in build.layers),
                float(weighed.wet_um[at].sum()),
            )
        )
    assert keys == sorted(keys)


def landing_of(distance: list[float], chance: list[float], tolerance: float = 3.0) -> Landing:
    none = np.zeros((len(distance), 3))
    spread = Spread(
        lab_low=none,
        lab_high=none,
        de_low=none[:, 0],
        de_median=none[:, 0],
        de_high=none[:, 0],
        within=np.array(chance),
        corners=np.zeros((len(distance), 3, 3)),
    )
    return Landing(distance=np.array(distance), spread=spread, tolerance=tolerance)


GAIN = 0.15  # shared/rules.toml


@pytest.mark.parametrize(
    ("distance", "chance", "chosen"),
    [
        ([1.0, 0.5], [0.90, 0.95], 0),  # near the best: the cheaper
        ([1.0, 0.5], [0.60, 0.95], 1),  # not near: the surer
        ([2.95, 0.5], [0.45, 0.50], 1),  # nothing to spare: the one that leaves room
        ([2.95, 2.9], [0.45, 0.50], 0),  # none leaves room: the cheaper of the two
        ([1.5, 0.5], [0.35, 0.49], 0),  # below an even chance 14 points are not worth the work
        ([1.5, 0.5], [0.33, 0.49], 1),  # 16 are
        ([1.5, 0.5], [0.02, 0.10], 0),  # nor is a share of next to nothing
        ([9.0, 8.0], [0.0, 0.0], 1),  # none is nominal nor has a chance: the nearest
        ([8.2, 8.0], [0.0, 0.0], 0),  # about as near: the cheaper
        ([8.2, 8.0], [0.0, 0.2], 1),  # none is nominal: the chance counts
        ([9.0, 2.0], [0.9, 0.2], 1),  # of one route a nominal build goes before any that is not
    ],
)
def test_which_build_is_chosen(distance: list[float], chance: list[float], chosen: int) -> None:
    one_route, everything = np.zeros(2, dtype=np.intp), np.ones(2, dtype=bool)
    found = choose_build(
        landing_of(distance, chance),
        route=one_route,
        work=np.array([1.1, 2.4]),
        among=everything,
        gain=GAIN,
    )
    assert found == chosen


@pytest.mark.parametrize(
    ("nearest", "chance", "taken"),
    [
        ([2.7, 2.0, 0.3], [0.30, 0.34, 0.40], 0),  # a base that adds 10 points: straight
        ([2.7, 2.0, 0.3], [0.24, 0.30, 0.40], 0),  # white adds 10 points to discharge, that 6
        ([2.7, 2.0, 0.3], [0.16, 0.30, 0.40], 0),  # discharge adds 14 to straight: straight …
        ([2.7, 2.0, 0.3], [0.10, 0.30, 0.40], 1),  # … or 20
        ([2.7, 2.0, 0.3], [0.55, 0.60, 0.72], 1),  # above an even chance: near the best …
        ([2.7, 2.0, 0.3], [0.51, 0.65, 0.79], 1),  # … and no further down, …
        ([2.7, 2.0, 0.3], [0.44, 0.58, 0.72], 0),  # … but to one below it that a base adds 14 to
        ([3.9, 2.0, 0.3], [0.30, 0.20, 0.40], 0),  # not nominal, but near: its chance counts
        ([4.1, 2.0, 0.3], [0.39, 0.20, 0.40], 2),  # too far from the tolerance
        ([9.0, 3.2, 0.3], [0.00, 0.39, 0.40], 2),  # of two bases the nominal one
        ([38.0, 10.0, 6.0], [0.00, 0.00, 0.01], 2),  # however small chances are: no dark print
    ],
)
def test_which_route_is_taken(nearest: list[float], chance: list[float], taken: int) -> None:
    found = route_to_take(
        np.array(nearest), np.array(chance), routes=ROUTES, tolerance=3.0, gain=GAIN
    )
    assert found == taken


def test_below_an_even_chance_a_costlier_route_adds_what_the_rules_ask() -> None:
    rng = np.random.default_rng(3)
    for _ in range(500):
        chance, nearest = rng.random(3), rng.uniform(0.0, 6.0, 3)
        at = route_to_take(nearest, chance, routes=ROUTES, tolerance=3.0, gain=GAIN)
        room = max(3.0, nearest.min()) + 1.0
        weighed = nearest <= (3.0 if nearest.min() <= 3.0 else room)
        weighed[0] |= nearest[0] <= room  # straight: a base has to be worth its screen
        assert weighed[at]
        if chance[at] < 0.5:
            assert np.all(chance[:at][weighed[:at]] < chance[at] - GAIN)
        else:
            assert chance[at] >= chance[weighed].max() - GAIN


def test_of_equal_screens_flashes_and_strokes_the_surest_is_chosen() -> None:
    # a mesh that lays down less ink saves nothing that 12 points of chance are not worth
    route, everything = np.zeros(3, dtype=np.intp), np.ones(3, dtype=bool)
    landing = landing_of([1.5, 1.4, 0.5], [0.60, 0.72, 0.74])
    work = np.array([1.1003, 1.1007, 1.2005])
    assert work_class(work).tolist() == [11, 11, 12]
    found = choose_build(landing, route=route, work=work, among=everything, gain=GAIN)
    assert found == 1
    # to a point alike: the one with less ink
    alike = landing_of([1.5, 1.4, 0.5], [0.717, 0.72, 0.74])
    assert choose_build(alike, route=route, work=work, among=everything, gain=GAIN) == 0


def test_only_those_asked_for_are_chosen() -> None:
    landing, route = landing_of([0.1, 2.0, 9.0], [0.99, 0.5, 0.0]), np.zeros(3, dtype=np.intp)
    for among, chosen in (([False, True, True], 1), ([False, False, True], 2)):
        assert (
            choose_build(
                landing, route=route, work=1.0 + np.arange(3.0), among=np.array(among), gain=GAIN
            )
            == chosen
        )
    assert 0 < COMFORT < 1


@pytest.mark.parametrize("tolerance", [0.5, 3.0, 8.0])
def test_what_could_be_chosen_is_all_that_matters(tolerance: float) -> None:
    # The choice over every build is that over the few whose intervals are worked out: on real
    # builds, and on chances drawn at random, which no distance foretells.
    rng = np.random.default_rng(5)
    weighed = evaluate(space("Coal Black", "Mist Gray"), press=SHOP.press, viewing=D50)
    for target in SHOP.palette.values():
        landing = against(weighed, standard=target.lab(D50), tolerance=tolerance)
        for chance in (landing.chance, rng.random(len(weighed.space)) * rng.random()):
            judged = landing_of(landing.distance.tolist(), chance.tolist(), tolerance)
            route, work = weighed.space.route, weighed.work
            mask = could_be_chosen(landing.distance, route, tolerance=tolerance)
            by = [
                choose_build(judged, route=route, work=work, among=among, gain=GAIN)
                for among in (mask, np.ones(mask.size, dtype=np.bool_))
            ]
            assert by[0] == by[1]
            assert mask.sum() < mask.size


def test_what_is_as_good_is_never_far_from_the_best() -> None:
    rng = np.random.default_rng(3)
    for _ in range(200):
        chance, distance = rng.random(6), rng.uniform(0.0, 9.0, 6)
        good = as_good(distance, chance, tolerance=3.0, gain=GAIN)
        reached = distance <= (3.0 if distance.min() <= 3.0 else distance.min() + 0.5)
        assert good.any()
        assert not np.any(good & ~reached)
        assert np.all(chance[good] >= chance[reached].max() - GAIN)
