"""The verdict: its words by the chance alone, what would help, and how sure a ranking is."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.decision.build_evaluation import evaluate
from inksim.decision.candidate_builds import build_space
from inksim.decision.joint_chance import nearer_share
from inksim.decision.one_colour import advise
from inksim.decision.verdict import (
    SHAPES,
    WORDS,
    Verdict,
    verdict_of,
    verdict_on_all,
    word_for,
)
from inksim.printing.build import lower
from inksim.printing.prediction import predict
from inksim.printing.swatches import mean_reflectance
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.ink import Ink
from inksim.stock.press import MEANINGS, MODEL_LAB_SD
from inksim.stock.stock_error import error_of, error_of_cloth
from inksim.stock.target import target_from_lab

SHOP = load_shop()
D50 = Viewing()


@pytest.mark.parametrize(
    ("chance", "word"),
    [
        (1.0, "lands"), (0.80, "lands"), (0.799, "should land"), (0.5, "should land"),
        (0.499, "cannot promise"), (0.0, "cannot promise"),
    ],
)  # fmt: skip
def test_the_chance_alone_decides_the_word(chance: float, word: str) -> None:
    assert word_for(chance) == word
    assert set(SHAPES) == set(WORDS)
    assert len(set(SHAPES.values())) == 3


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.796, "79%"), (0.7999, "79%"), (0.8, "80%"), (0.499, "49%"), (1.0, "100%")],
)
def test_a_percentage_never_says_more_than_the_word(chance: float, said: str) -> None:
    # 80% beside 'should land', or 50% beside 'cannot promise', would be a contradiction.
    verdict = Verdict(
        word=word_for(chance), chance=chance, median_de00=2.0, low=1.0, high=4.0, would_help=""
    )
    assert verdict.percent == said


def test_that_all_land_is_less_likely_than_that_the_weakest_does() -> None:
    # Two inks whose errors are their own: P(both) is below either, and by Fréchet's bound at least
    # P(a) + P(b) - 1.
    garment = SHOP.garment("Coal Black")
    inks = [SHOP.ink("Lantern Orange"), SHOP.ink("Weir Teal")]
    space = build_space(SHOP, garments=[garment], inks=inks, routes=["white-base"])
    pair = space.take(np.array([int(np.flatnonzero(space.ink == at)[0]) for at in (0, 1)]))
    weighed, builds = evaluate(pair, press=SHOP.press, viewing=D50), pair.builds()
    intervals = []
    for build, own in zip(builds, weighed.lab, strict=True):
        target = target_from_lab(own + np.array([1.0, 1.0, -1.0]), name="near")
        (seen,) = predict([build], press=SHOP.press, target=target, tolerance=4.0)
        assert seen.interval is not None
        intervals.append(seen.interval)
    said = verdict_on_all(
        intervals, response=weighed.response, builds=builds,
        standards=weighed.lab + np.array([1.0, 1.0, -1.0]), press=SHOP.press, help_too=False,
    )  # fmt: skip
    one, other = (each.within or 0.0 for each in intervals)
    assert min(one, other) > 0.1
    assert max(one, other) < 0.95
    assert max(0.0, one + other - 1.0) - 0.03 <= said.chance < min(one, other) - 0.02


def test_it_is_said_as_a_print_shop_would() -> None:
    said = Verdict(
        word="should land", chance=0.66, median_de00=2.1, low=0.8, high=4.9,
        would_help="Short of a strike-off, reading the ink Red would help most: 81%",
    )  # fmt: skip
    assert said.said(3.0) == (
        "should land — expect about ΔE00 2.1 (0.8 to 4.9), 66% chance within 3. Short of a "
        "strike-off, reading the ink Red would help most: 81%"
    )
    assert said.short == "should land, ΔE00 2.1 (0.8 to 4.9), 66%"
    together = said.said_of_all(4, weakest="Red", tolerance=None)
    assert "66% chance that all 4 colors come within their tolerances" in together
    assert "the weakest is Red" in together
    assert said.said_of_all(1, weakest="Red", tolerance=3.0) == said.said(3.0)


def test_no_interval_starts_above_its_own_number() -> None:
    # The number that leads is the middle of what is expected, which lies in the range: not the most
    # likely color, which near its target is nearer than nearly all prints will be.
    target = SHOP.target("Regatta Orange")
    for garment in SHOP.garments.values():
        build = usual_build(SHOP, garment=garment, ink=SHOP.ink("Lantern Orange"), route="straight")
        (seen,) = predict([build], press=SHOP.press, target=target)
        assert seen.interval is not None
        said = verdict_of(seen.interval)
        assert said.low < said.median_de00 < said.high
    untargeted = predict([build], press=SHOP.press)[0].interval
    assert untargeted is not None
    with pytest.raises(InputError, match="without a target"):
        verdict_of(untargeted)


def measured(ink: Ink) -> Ink:
    return replace(ink, data="measured", error=None)


@pytest.mark.parametrize("garment", ["Flour White", "Coal Black"])
def test_what_would_help_is_what_a_shop_with_that_reading_would_be_told(garment: str) -> None:
    # The chance that is told from slopes alone, against the whole model on the same shop with the
    # ink measured: the build is the same, for a reading that comes out as expected moves nothing.
    shop = replace(SHOP, inks={n: replace(i, error=None) for n, i in SHOP.inks.items()})
    ask = {
        "garment": shop.garment(garment),
        "ink": shop.ink("Lantern Orange"),
        "target": shop.target("Regatta Orange"),
        "tolerance": 4.0,
    }
    told = advise(shop, **ask)  # type: ignore[arg-type]
    found = re.search(r"reading the ink (.*) would help most: (\d+)%", told.verdict.would_help)
    assert found is not None
    assert found[1] == "Lantern Orange"
    known = replace(told.best.build.layers[-1], ink=measured(shop.ink("Lantern Orange")))
    build = replace(told.best.build, layers=(*told.best.build.layers[:-1], known))
    (after,) = predict(
        [build], press=SHOP.press, target=SHOP.target("Regatta Orange"), tolerance=4.0
    )
    assert after.interval is not None
    assert int(found[2]) / 100 == pytest.approx(after.interval.within, abs=0.08)
    assert int(found[2]) / 100 >= told.verdict.chance + 0.05


def all_measured(shop: Shop) -> Shop:
    return replace(
        shop,
        inks={name: measured(ink) for name, ink in shop.inks.items()},
        garments={n: replace(g, data="measured") for n, g in shop.garments.items()},
    )


def test_nothing_is_named_where_nothing_would_help_and_no_ranking_where_all_is_measured() -> None:
    shop = all_measured(SHOP)
    far = advise(
        shop,
        garment=shop.garment("Coal Black"),
        ink=shop.ink("Weir Teal"),
        target=shop.target("Regatta Orange"),
    )
    assert far.verdict.would_help == ""
    assert far.ranking == ""
    near = advise(
        shop,
        garment=shop.garment("Coal Black"),
        ink=shop.ink("Weir Teal"),
        target=shop.target("River Teal"),
        tolerance=4.0,
    )
    assert "reading the ink" not in near.verdict.would_help


def test_a_ranking_is_as_sure_as_a_large_monte_carlo() -> None:
    # The whole model, press, cloth and each ink drawn once for both builds; 3000 draws: a standard
    # error of 0.9 points. The second-order response and its 512 points are allowed 6.
    garment, ink = SHOP.garment("Mist Gray"), SHOP.ink("Weir Teal")
    space = build_space(SHOP, garments=[garment], inks=[ink])
    pair = np.array([int(np.flatnonzero(space.route == route)[3]) for route in (2, 0)])
    weighed = evaluate(space, press=SHOP.press, viewing=D50).take(pair)
    standard = weighed.lab.mean(axis=0) + np.array([1.0, -2.0, 2.0])
    builds = weighed.space.builds()
    found = nearer_share(weighed.response, builds, standard=standard)

    rng = np.random.default_rng(11)
    table, names = weighed.space.table(), SHOP.press.values._fields
    nearer, draws = 0, 3000
    for _ in range(draws):
        values = [
            float(np.clip(p.value + p.sd * rng.standard_normal(), *_range(name))) if p.sd
            else p.value
            for name, p in ((name, getattr(SHOP.press, name)) for name in names)
        ]  # fmt: skip
        moved = {each.name: drawn(each, rng) for build in builds for each in inks_of(build)}
        K, S = np.array(table.K), np.array(table.S)
        for at, build in enumerate(builds):
            for film, each in enumerate(inks_of(build)):
                K[at, film] *= np.exp(moved[each.name][0])
                S[at, film] *= np.exp(moved[each.name][1])
        cloth = error_of_cloth(garment)
        ln = (
            cloth.ks * rng.standard_normal() + rng.standard_normal(len(cloth.shapes)) @ cloth.shapes
        )
        some = replace(table, K=K, S=S, cloth_ks=table.cloth_ks * np.exp(ln))
        seen = lab(mean_reflectance(lower(some, type(SHOP.press.values)(*values))), D50)
        off = delta_e_2000(standard, seen + MODEL_LAB_SD * rng.standard_normal((2, 3)))
        nearer += bool(off[0] < off[1])
    assert found == pytest.approx(nearer / draws, abs=0.06)
    assert 0.1 < found < 0.9, "a ranking that is not plain"
    back = nearer_share(weighed.response.take(np.array([1, 0])), builds[::-1], standard=standard)
    assert back == pytest.approx(1.0 - found, abs=0.05)


def _range(name: str) -> tuple[float, float]:
    return MEANINGS[name].least, MEANINGS[name].most


def inks_of(build: object) -> list[Ink]:
    return [layer.ink for layer in build.layers]  # type: ignore[attr-defined]


def drawn(ink: Ink, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """What ln K and ln S (31,) of an ink are off, drawn from its error."""
    error = error_of(ink)
    shape = np.einsum("d,dkb->kb", rng.standard_normal(len(error.shapes)), error.shapes)
    K, S = rng.standard_normal(2) * (error.K, error.S)
    return shape[0] + K, shape[1] + S
