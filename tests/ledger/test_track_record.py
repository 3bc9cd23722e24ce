"""The record: chances against what landed, distances, and what is said of them, and when."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, binomtest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing
from inksim.decision.palette_by_garment import palette_on_stock
from inksim.ledger.outcomes import Outcome
from inksim.ledger.track_record import LEAST_COLOURS, record_of, record_of_shop, wilson
from inksim.printing.build import tabulate
from inksim.printing.uncertainty import errors_of_builds, respond
from inksim.shop.load import load_shop

ONE = Outcome(
    proof=1, promised_on="2026-01-02", garment="Coal Black", ink="Kiln Red", route="straight",
    data="measured", tolerance=3.0, chance=0.8, median=2.0, low=1.0, high=5.0,
    read_on="2026-01-05", read_by="instrument", ink_lot="A", found=2.5, against=1.0,
    dL=1.0, da=0.0, db=0.0,
)  # fmt: skip


def prints(count: int, landed: int, *, chance: float = 0.8, proofs: int = 4) -> list[Outcome]:
    return [
        replace(ONE, proof=1 + at % proofs, chance=chance, found=2.0 if at < landed else 6.0)
        for at in range(count)
    ]


def test_the_share_inside_the_stated_interval_is_counted_by_route_and_by_data() -> None:
    # the interval of ONE is 1 to 5; the range of a share is SciPy's own (scipy.stats.binomtest)
    found = [0.9, 1.0, 2.0, 5.0, 5.1]
    over = replace(ONE, route="white-base", data="invented", found=9.0)
    record = record_of([*(replace(ONE, found=off) for off in found), over], name="any")
    by = {(each.by, each.name): each for each in record.inside}
    assert (by["route", "straight"].inside, by["route", "straight"].prints) == (3, 5)
    assert (by["data", "invented"].inside, by["data", "invented"].prints) == (0, 1)
    assert by["", "all"].share == pytest.approx(0.5)
    told = binomtest(3, 6).proportion_ci(0.95, method="wilson")
    assert (by["", "all"].low, by["", "all"].high) == pytest.approx((told.low, told.high))


@pytest.mark.parametrize("count", [1, 5, 10, 12, 57, 400])
@pytest.mark.parametrize("level", [0.95, 0.99])
def test_the_binomial_range_is_wilsons(count: int, level: float) -> None:
    # SciPy's own implementation of Wilson's interval (scipy.stats.binomtest)
    z = {0.95: 1.959963984540054, 0.99: 2.5758293035489004}[level]
    for landed in range(count + 1):
        wanted = binomtest(landed, count).proportion_ci(level, method="wilson")
        assert wilson(landed, count, z=z) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


def test_a_published_range() -> None:
    # R. G. Newcombe 1998, Stat. Med. 17, 857, table I, score method: 81 of 263; from memory
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert wilson(0, 0) == (0.0, 1.0)


def test_every_print_is_in_one_bin() -> None:
    chances = [0.0, 0.29, 0.3, 0.5, 0.69, 0.7, 0.9, 1.0]
    record = record_of([replace(ONE, chance=chance) for chance in chances], name="any")
    assert [each.prints for each in record.bins] == [2, 1, 2, 1, 2]
    assert record.bins[-1].stated == pytest.approx(0.95)


def test_what_was_not_read_is_counted_as_promised_alone() -> None:
    unread = replace(ONE, found=None, read_on="", median=2.2)
    again = replace(ONE, read_on="2026-02-05", found=4.0)  # a second print of the first color
    record = record_of([ONE, again, unread], name="any")
    assert (record.proofs, record.colours, record.scored) == (1, 2, 2)
    (month, next_month) = record.by("month")
    assert (month.name, month.farther, next_month.farther) == ("2026-01", 0.5, 2.0)
    (ink,) = record.by("ink")
    assert (ink.prints, ink.promised, ink.found, ink.farther) == (2, 2.0, 3.25, 1.25)
    assert [each.name for each in record.by("lot")] == ["Kiln Red, lot A"]


def test_with_none_it_says_so() -> None:
    (said,) = record_of([], name="any").said
    assert said.startswith("No proof has been issued yet")
    (said,) = record_of([replace(ONE, found=None)], name="any").said
    assert said.startswith("No print has been read yet")


# -- Words: only with enough, and only where luck would seldom do it


def judged(listed: list[Outcome]) -> str:
    return " ".join(record_of(listed, name="any").said)


def test_too_high_and_too_low_are_told_by_points() -> None:
    said = judged(prints(12, 5))
    assert "Of 12 colors promised at 70–90%, 5 landed" in said
    assert "about 38 points too high; calibrate the press" in said  # 80 - 100 * 5/12
    assert "about 60 points too low" in judged(prints(20, 20, chance=0.4))
    assert "as far as these prints can tell" in judged(prints(12, 9))


def test_nothing_is_said_of_few_prints_or_of_one_bad_day() -> None:
    few = LEAST_COLOURS - 1
    for listed in (prints(few, 0), prints(40, 0, proofs=2)):
        said = judged(listed)
        assert "Too few prints to judge" in said
        assert "points too" not in said
    assert "points too high" in judged(prints(LEAST_COLOURS, 0))


def test_a_shop_that_keeps_its_chances_is_seldom_told_otherwise() -> None:
    # exact binomial probability of a sentence, over all that can land (scipy.stats.binom)
    for chance in (0.15, 0.4, 0.6, 0.8, 0.95):
        for count in (10, 20, 60):
            told = sum(
                binom.pmf(landed, count, chance)
                for landed in range(count + 1)
                if "points too" in judged(prints(count, landed, chance=chance))
            )
            # Wilson's coverage swings about its level: at 0.95 of 10 as low as 0.96
            # (L. D. Brown et al. 2001, Statist. Sci. 16, 101)
            assert told < 0.045, (chance, count)


def test_prints_farther_than_the_median_are_told_by_a_sign_test() -> None:
    far = [replace(each, found=4.0) for each in prints(20, 0, chance=0.0)]
    assert "20 of 20 prints were farther off than the median promised" in judged(far)
    assert "ΔE00 2.0 farther from" in judged(far)
    near = [replace(each, found=1.0) for each in far]
    assert "ΔE00 1.0 nearer to" in judged(near)
    half = [replace(each, found=1.0 if at % 2 else 4.0) for at, each in enumerate(far)]
    assert "the median promised" not in judged(half)


def test_altered_proofs_are_told() -> None:
    said = record_of([ONE], name="any", altered=(3, 5)).said[0]
    assert said.startswith("Proofs no. 3 and 5 were changed after they were sealed, or are gone")
    said = record_of([ONE], name="any", altered=(3,)).said[0]
    assert said.startswith("Proof no. 3 was changed after it was sealed, or is gone")


# -- Chances of the model's own distribution come out calibrated


def simulated(*, wider: float, seed: int) -> list[Outcome]:
    """Prints of a shop whose errors are the model's own, each `wider` times as large."""
    rng, shop, viewing = np.random.default_rng(seed), load_shop(), Viewing()
    listed = []
    for tolerance in (2.0, 4.0, 8.0):
        cloths = [shop.garment(name) for name in ("Coal Black", "Flour White", "Mist Gray")]
        columns = palette_on_stock(shop, garments=cloths, tolerance=tolerance)
        answers = [a for column in columns for a in column if not a.build.bare]
        builds = [answer.build for answer in answers]
        table = tabulate(builds)
        errors = errors_of_builds(builds, layers=table.passes.shape[1])
        found = respond(table, errors, press=shop.press, viewing=viewing)
        for run in range(20):
            z = rng.standard_normal((len(found.about), len(builds)))  # each print its own errors
            labs = found.centre + wider * (
                np.einsum("nbl,nb->bl", found.slope, z)
                + np.einsum("nbl,nb->bl", found.curve, z**2)
                + found.model_sd * rng.standard_normal(found.model_sd.shape)
            )
            for answer, seen in zip(answers, labs, strict=True):
                said = answer.verdict
                listed.append(
                    replace(
                        ONE, proof=run, chance=said.chance, median=said.median_de00,
                        tolerance=tolerance,
                        found=float(delta_e_2000(answer.target.lab(viewing), seen)),
                    )
                )  # fmt: skip
    return listed


def test_chances_that_are_the_models_own_come_out_calibrated() -> None:
    record = record_of(simulated(wider=1.0, seed=7), name="any")
    assert record.scored > 1500
    for each in record.bins:
        assert each.prints > 100
        # 512 points stand for the distribution in a stated chance: within 1.5 points of it
        low, high = wilson(each.landed, each.prints, z=2.5758)
        assert low - 0.015 <= each.stated <= high + 0.015, each
    assert not [words for words in record.said if "points too" in words]


def test_a_shop_with_twice_the_errors_is_told_that_its_chances_are_too_high() -> None:
    record = record_of(simulated(wider=2.0, seed=7), name="any")
    assert [words for words in record.said if "points too high" in words]
    assert "farther from the color asked for" in record.said[-1]


# -- The demo


def test_the_demo_has_an_invented_record_and_no_other() -> None:
    record = record_of_shop(load_shop())
    assert record.invented
    assert record.scored > 50
    assert any("points too high" in words for words in record.said)
    later = record_of_shop(load_shop(), since="2025-10-01")
    assert 0 < later.scored < record.scored


def test_prints_read_by_photo_are_told_apart_from_an_instruments() -> None:
    by_photo = replace(ONE, read_by="photo", off_de00=1.6)
    said = record_of([replace(ONE, off_de00=0.5), by_photo], name="any").said
    (words,) = [each for each in said if "photo" in each]
    assert words.startswith("1 of 2 prints were read by photo, up to 1.6 ΔE00 off")
    assert not any("off on" in each for each in record_of([ONE], name="any").said)
