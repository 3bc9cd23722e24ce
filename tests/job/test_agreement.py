"""Every door gives one answer: a palette, a job of that one color, and a job of more of it.

200 random colors on three garments, of which every tenth is asked here; all with
`INKSIM_EVERY_COLOR=1 python -m pytest tests/job/test_agreement.py` (about a minute). What
is compared is what the project promises of itself, that a question asked twice is answered alike;
whether the answer is right, other tests hold.
"""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import hex_code
from inksim.colour.viewing import Viewing, lab, xyz_from_lab
from inksim.decision.answer import Answer, worth_weighing
from inksim.decision.build_evaluation import in_reach
from inksim.decision.one_colour import advise
from inksim.decision.palette_by_garment import palette_on_stock, reach
from inksim.job.decide import decide_job
from inksim.job.job import Job, JobColour
from inksim.shop.load import load_shop
from inksim.stock.target import Target, target_from_hex

SHOP, D50 = load_shop(), Viewing()
GARMENTS = ("Coal Black", "Brick Red", "Flour White")
UNIFORM, NEAR_CLOTH, NEAR_WHITE = 120, 20, 20  # near each of the three garments
EVERY = 1 if os.environ.get("INKSIM_EVERY_COLOR") else 10


def drawn() -> list[Target]:
    """The colors, the same every time: all over sRGB, and where cloth or white is near."""
    rng = np.random.default_rng(13)
    codes = ["#" + bytes(row).hex() for row in rng.integers(0, 256, (UNIFORM, 3), dtype=np.uint8)]
    for name in GARMENTS:
        cloth = lab(SHOP.garment(name).reflectance, D50)
        spread = np.linspace(0.0, 8.0, NEAR_CLOTH)[:, None]  # the first is the cloth itself
        near = np.clip(
            cloth + spread * rng.normal(0.0, 1.0, (NEAR_CLOTH, 3)),
            [0, -128, -128],
            [100] + [128] * 2,
        )
        codes += [hex_code(xyz_from_lab(each, D50), D50)[0] for each in near]
    light = 255 - rng.integers(0, 16, (NEAR_WHITE, 3), dtype=np.uint8)
    codes += ["#" + bytes(row).hex() for row in light]
    assert len(codes) == 200
    return [target_from_hex(code) for code in codes[::EVERY]]


def job_of(target: Target, garment: str, *, quantity: int = 1, area_cm2: float = 100.0) -> Job:
    return Job(
        name="any", invented=True, note="", garments=(SHOP.garment(garment),),
        quantities=(quantity,), press=SHOP.stations, lines_per_inch=0.0, cloth_m2=0.9,
        base_choke_mm=0.4, prints_per_hour=None, costs=SHOP.costs, prefer="work",
        colours=(
            JobColour(name="one", target=target, ink=None, area_cm2=area_cm2, tolerance=3.0),
        ),
    )  # fmt: skip


def decided(job: Job) -> Answer:
    (answer,) = decide_job(job, shop=SHOP).answers
    return answer


def told(answer: Answer) -> tuple[object, ...]:
    return (
        answer.ink and answer.ink.name, answer.route, answer.words, answer.nominal,
        answer.verdict.word, answer.hex,
    )  # fmt: skip


def numbers(answer: Answer) -> list[float]:
    return [answer.delta_e_2000, answer.median_de00, answer.chance, *answer.lab.tolist()]


def agree(one: Answer, other: Answer) -> None:
    assert told(one) == told(other)
    np.testing.assert_allclose(numbers(one), numbers(other), rtol=0, atol=1e-9)


@pytest.fixture(scope="module", params=GARMENTS)
def column(request: pytest.FixtureRequest) -> list[Answer]:
    """The palette's answer for each color on one garment."""
    (answers,) = palette_on_stock(SHOP, targets=drawn(), garments=[SHOP.garment(request.param)])
    return answers


def test_a_job_of_one_color_gives_the_palettes_answer_whatever_its_size(
    column: list[Answer],
) -> None:
    rng = np.random.default_rng(31)
    for answer in column:
        quantity, area = int(rng.integers(1, 2000)), float(rng.uniform(0.5, 900.0))
        agree(
            answer,
            decided(job_of(answer.target, answer.garment.name, quantity=quantity, area_cm2=area)),
        )
    # all that may be asked was: bare cloth where it is near, ink and bases elsewhere
    routes = {answer.route for answer in column}
    assert {"bare", "straight"} <= routes
    if column[0].garment.name != "Flour White":
        assert {"discharge-base", "white-base"} <= routes


def test_of_a_usual_size_too(column: list[Answer]) -> None:
    for answer in column[:: 25 // EVERY]:
        agree(answer, decided(job_of(answer.target, answer.garment.name)))


def test_a_job_on_several_garments_gives_each_its_own_answer() -> None:
    target = drawn()[0]
    garments = tuple(SHOP.garment(name) for name in GARMENTS)
    job = replace(job_of(target, GARMENTS[0]), garments=garments, quantities=(5, 6, 7))
    together = decide_job(job, shop=SHOP).answers
    assert len(together) == 3
    for answer in together:
        agree(answer, decided(job_of(target, answer.garment.name)))


def test_advice_for_the_ink_that_was_chosen_is_the_answer_where_no_other_was_in_the_way(
    column: list[Answer],
) -> None:
    # Advice weighs one ink. The palette weighs all, by each route those in reach of the nearest: so
    # where all that the palette weighs is of one ink, both weigh the same and choose the same.
    found = reach(SHOP, garment=column[0].garment)
    weighed = 0
    for answer in column:
        if answer.ink is None:
            continue
        standard = answer.target.lab(D50)  # for white what the shop aims at
        distance = delta_e_2000(standard, found.lab)
        able = worth_weighing(
            found.space, garment=found.garment, standard=standard, distance=distance,
            tolerance=3.0, viewing=D50, limits=SHOP.rules,
        )  # fmt: skip
        distance = np.where(able, distance, np.inf)
        at = [ink.name for ink in found.space.inks].index(answer.ink.name)
        routes = [found.space.route == route for route in np.unique(found.space.route[able])]
        near = np.any(
            [of & in_reach(np.where(of, distance, np.inf), tolerance=3.0) for of in routes], axis=0
        )
        if not np.all(found.space.ink[near] == at):
            continue
        weighed += 1
        advice = advise(SHOP, garment=found.garment, ink=answer.ink, target=answer.target)
        assert (advice.route, advice.best.words) == (answer.route, answer.words)
        assert advice.best.delta_e_2000 == pytest.approx(answer.delta_e_2000, abs=1e-9)
        assert advice.verdict.chance == pytest.approx(answer.chance, abs=1e-9)
        assert advice.verdict.median_de00 == pytest.approx(answer.median_de00, abs=1e-9)
    assert weighed >= 50 // EVERY  # a quarter of the colors


def test_the_ink_by_hand_in_a_job_is_the_advice_for_that_ink(column: list[Answer]) -> None:
    # the same candidates: every build of that ink that the rules allow
    for answer in column[::10]:
        if answer.ink is None:
            continue
        job = job_of(answer.target, answer.garment.name)
        job = replace(job, colours=(replace(job.colours[0], ink=answer.ink),))
        advice = advise(SHOP, garment=answer.garment, ink=answer.ink, target=answer.target)
        by_hand = decided(job)
        assert (advice.route, advice.best.words) == (by_hand.route, by_hand.words)
        assert advice.verdict.chance == pytest.approx(by_hand.chance, abs=1e-9)
