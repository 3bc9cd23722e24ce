"""Memory used again: nobody sees another's numbers, and no result is overwritten later."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from inksim.colour.viewing import Viewing
from inksim.common import FloatArray
from inksim.common.workspace import MOST, scratch
from inksim.printing.build import Build, lower, tabulate
from inksim.printing.swatches import mean_reflectance, point_reflectance
from inksim.printing.uncertainty import spread
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build


def test_a_name_gives_the_same_memory_and_another_name_does_not() -> None:
    one, again, other = scratch("a", (3, 4)), scratch("a", (2, 2)), scratch("b", (3, 4))
    assert one.shape == (3, 4)
    assert np.shares_memory(one, again)
    assert not np.shares_memory(one, other)


def test_a_large_array_is_not_kept() -> None:
    size = (MOST + 1,)
    assert not np.shares_memory(scratch("large", size), scratch("large", size))


def test_threads_do_not_share_it() -> None:
    with ThreadPoolExecutor(1) as other:
        assert not np.shares_memory(scratch("c", (9,)), other.submit(scratch, "c", (9,)).result())


def test_results_keep_their_numbers() -> None:
    shop = load_shop()
    tables = [
        tabulate(
            [
                usual_build(
                    shop, garment=shop.garment(g), ink=shop.ink("Weir Teal"), route="white-base"
                )
            ]
        )
        for g in ("Coal Black", "Mist Gray")
    ]
    slabs = [lower(table, shop.press.values) for table in tables]
    first, points = mean_reflectance(slabs[0]), point_reflectance(slabs[0], [0.1, 0.9])
    kept = first.copy(), points.copy()
    mean_reflectance(slabs[1])
    point_reflectance(slabs[1], [0.1, 0.9])
    np.testing.assert_array_equal(first, kept[0])
    np.testing.assert_array_equal(points, kept[1])


def test_prints_in_many_threads_are_those_of_one() -> None:
    shop = load_shop()
    tables = [
        tabulate(
            [
                usual_build(shop, garment=garment, ink=ink, route="straight")
                for ink in shop.inks.values()
                if ink.kind == "color"
            ]
        )
        for garment in shop.garments.values()
    ]
    one_by_one = [mean_reflectance(lower(table, shop.press.values)) for table in tables]
    with ThreadPoolExecutor(4) as many:
        together = list(
            many.map(lambda t: mean_reflectance(lower(t, shop.press.values)), tables * 5)
        )
    for at, found in enumerate(together):
        np.testing.assert_array_equal(found, one_by_one[at % len(tables)])


def test_how_sure_prints_are_is_the_same_in_many_threads() -> None:
    # wet on wet: the upper films' K and S are then changed in the memory used again
    shop = load_shop()
    builds = [
        [
            usual_build(shop, garment=garment, ink=ink, route="white-base", flash=False)
            for ink in list(shop.inks.values())[:2]
        ]
        for garment in list(shop.garments.values())[:4]
    ]

    def ends(some: list[Build]) -> FloatArray:
        found = spread(some, press=shop.press, viewing=Viewing())
        return np.stack([found.lab_low, found.lab_high])

    one_by_one = [ends(some) for some in builds]
    kept = [each.copy() for each in one_by_one]
    with ThreadPoolExecutor(4) as many:
        together = list(many.map(ends, builds * 3))
    for at, found in enumerate(together):
        np.testing.assert_array_equal(found, kept[at % len(builds)])
    np.testing.assert_array_equal(one_by_one, kept)
