"""Builds weighed all at once: the same as one by one, and how one is chosen among them."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.decision.build_evaluation import (
    COMFORT,
    Landing,
    against,
    choose_build,
    effort_ranks,
    evaluate,
    near_best,
)
from inksim.decision.candidate_builds import BuildSpace, build_space
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
    assert landing.lands.tolist() == [bool((p.delta_e_2000 or 0) <= 4.0) for p in sure]


def test_taking_keeps_every_column() -> None:
    weighed = evaluate(space("Coal Black"), press=SHOP.press, viewing=D50)
    part = weighed.take(np.array([7, 3]))
    np.testing.assert_array_equal(part.lab, weighed.lab[[7, 3]])
    np.testing.assert_array_equal(part.effort, weighed.effort[[7, 3]])
    assert part.space.build(0) == weighed.space.build(7)


def test_work_is_screens_then_flashes_then_strokes_then_ink() -> None:
    some = space("Coal Black")
    weighed = evaluate(some, press=SHOP.press, viewing=D50)
    ranks = effort_ranks(some, wet_um=weighed.wet_um)
    assert sorted(ranks) == list(range(len(some)))
    keys = []
    for at in np.argsort(ranks):
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


@pytest.mark.parametrize(
    ("distance", "chance", "chosen"),
    [
        ([1.0, 0.5], [0.90, 0.95], 0),  # near the best: the cheaper
        ([1.0, 0.5], [0.60, 0.95], 1),  # not near: the surer
        ([2.95, 0.5], [0.45, 0.50], 1),  # nothing to spare: the one that leaves room
        ([2.95, 2.9], [0.45, 0.50], 0),  # none leaves room: the cheaper of the two
        ([9.0, 8.0], [0.0, 0.0], 1),  # none lands: the nearest
        ([9.0, 2.0], [0.9, 0.2], 1),  # a chance without landing does not count
        ([1.0, 0.5], [0.14, 0.20], 0),  # low chances: a share counts, not points
    ],
)
def test_which_build_is_chosen(distance: list[float], chance: list[float], chosen: int) -> None:
    everything = np.ones(2, dtype=bool)
    found = choose_build(landing_of(distance, chance), effort=np.array([0, 1]), among=everything)
    assert found == chosen


def test_only_those_asked_for_are_chosen() -> None:
    landing = landing_of([0.1, 2.0, 9.0], [0.99, 0.5, 0.0])
    effort = np.arange(3)
    assert choose_build(landing, effort=effort, among=np.array([False, True, True])) == 1
    assert choose_build(landing, effort=effort, among=np.array([False, False, True])) == 2
    assert 0 < COMFORT < 1


def test_near_the_best_is_never_far_from_it() -> None:
    rng = np.random.default_rng(3)
    for _ in range(200):
        chance = rng.random(6)
        among = rng.random(6) < 0.7
        good = near_best(chance, among)
        assert not np.any(good & ~among)
        if among.any():
            best = chance[among].max()
            assert good[np.argmax(np.where(among, chance, -1))]
            assert np.all(chance[good] >= best - 0.15 - 1e-12)
            assert np.all(chance[good] >= best * 2 / 3 - 1e-12)
