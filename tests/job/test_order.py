"""The ink order of a job: halves make a whole, screens shared once, buckets that hold it."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, strategies as st

from inksim.job.decide import JobAnswer, decide_job
from inksim.job.load import load_job
from inksim.job.order import buckets_for, ink_order
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.stock.garment import Garment

SHOP = load_shop()
BAKERY = load_job(demo_shop_folder() / "jobs" / "bakery.toml", shop=SHOP)


def answer(*garments: tuple[Garment, int]) -> JobAnswer:
    cloths, counts = zip(*garments, strict=True)
    return decide_job(replace(BAKERY, garments=cloths, quantities=counts), shop=SHOP)


@pytest.fixture(scope="module")
def alone() -> JobAnswer:
    return answer((BAKERY.garments[0], 60))


def test_the_order_of_one_garment_is_what_its_way_has_ready(alone: JobAnswer) -> None:
    (found,) = alone.garments
    assert found.best is not None
    lines = {line.ink: line for line in ink_order(alone).lines}
    assert set(lines) == {use.name for use in found.best.inks}
    for use in found.best.inks:
        line = lines[use.name]
        assert line.ready_g == pytest.approx(use.ready_g, rel=1e-12)
        assert line.additive_g == pytest.approx(use.additive_g, rel=1e-12, abs=1e-12)
    assert ink_order(alone).screens == len(found.best.screens)


def test_two_halves_of_a_run_take_the_ink_of_the_whole(alone: JobAnswer) -> None:
    """A shirt by another name is printed through the same screens: they are flooded once."""
    cloth = BAKERY.garments[0]
    halves = answer((cloth, 20), (replace(cloth, name="The same by another name"), 40))
    whole, both = ink_order(alone), ink_order(halves)
    assert both.screens == whole.screens
    assert [line.ink for line in both.lines] == [line.ink for line in whole.lines]
    for one, two in zip(whole.lines, both.lines, strict=True):
        assert two.ready_g == pytest.approx(one.ready_g, rel=1e-9)
        assert two.buckets == one.buckets
    # and it is less than two runs apart, by what floods each screen
    apart = sum(use.ready_g for f in halves.garments if f.best for use in f.best.inks)
    flood = max(BAKERY.costs.flood_g_per_screen, BAKERY.costs.ink_left_g_per_screen)
    together = sum(line.ready_g for line in both.lines)
    assert apart - together == pytest.approx(flood * whole.screens, rel=1e-9)


def test_what_cannot_be_printed_is_left_out_and_said(alone: JobAnswer) -> None:
    (found,) = alone.garments
    barred = replace(found, alternatives=(), barrier="no screen is fine enough")
    both = replace(alone, garments=(found, barred))
    assert ink_order(both).lines == ink_order(alone).lines
    assert ink_order(both).not_printed == (f"{found.garment.name}: no screen is fine enough",)


# -- buckets


@pytest.mark.parametrize(
    ("grams", "sizes", "counts"),
    [
        (7300, (5000, 1000), (1, 3)),
        (1000, (5000, 1000), (0, 1)),
        (1001, (5000, 1000), (0, 2)),
        (4100, (5000, 1000), (1, 0)),  # as full as five of 1 kg, and one bucket instead of five
        (123_400, (5000, 1000), (24, 4)),
        (10, (946,), (1,)),
    ],
)
def test_buckets_of_a_run(grams: float, sizes: tuple[float, ...], counts: tuple[int, ...]) -> None:
    assert buckets_for(grams, sizes) == counts


@given(
    grams=st.integers(1, 9000),
    sizes=st.lists(st.integers(1200, 5000), min_size=1, max_size=3, unique=True),
)
def test_no_other_buckets_leave_less_over(grams: int, sizes: list[int]) -> None:
    sizes.sort(reverse=True)
    counts = buckets_for(grams, [float(size) for size in sizes])
    held = sum(size * n for size, n in zip(sizes, counts, strict=True))
    every = itertools.product(*(range(-(-grams // size) + 1) for size in sizes))
    totals = [(sum(s * n for s, n in zip(sizes, c, strict=True)), sum(c)) for c in every]
    assert (held, sum(counts)) == min(each for each in totals if each[0] >= grams)


def test_sizes_are_the_shops_or_the_jobs(alone: JobAnswer) -> None:
    costs = alone.job.costs.model_copy(update={"bucket_g": [900.0, 4500.0, 900.0]})
    order = ink_order(replace(alone, job=replace(alone.job, costs=costs)))
    assert order.bucket_g == (4500.0, 900.0)
    for line in order.lines:
        held = sum(size * count for size, count in line.buckets)
        assert held >= line.ink_g
        assert line.over_g == pytest.approx(held - line.ink_g)
        assert line.over_g < 900
