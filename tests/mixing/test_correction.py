"""Buckets corrected: against a grid, the conservation of mass, and small simulated ink rooms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

import inksim
from inksim.colour import Viewing, delta_e_2000, lab
from inksim.common import InputError
from inksim.mixing.bucket import Bucket, BucketReading, bucket_of
from inksim.mixing.bucket_model import PRINT_SD
from inksim.mixing.bucket_reading import reading_of_bucket
from inksim.mixing.correction import Correction, correct
from inksim.optics import external_from_internal, film_over, internal_from_external
from inksim.printing import swatch
from inksim.shop import usual_build
from inksim.stock import Parameter, SpectralError, mix_inks, target_from_lab
from tests.accuracy.buckets import missed, rooms, shop_of, true_lab

D50 = Viewing()
SHARES = {"Foxglove Pink": 300.0, "Weir Teal": 120.0, "Rainwater Clear Base": 80.0}


def shop() -> inksim.Shop:
    """Inks off by 5 %, a press that is known, a model that leaves next to nothing."""
    known = shop_of(press_known=True)
    return replace(known, press=replace(known.press, model_sd=0.01))


def bucket(target: dict[str, float], weighed: dict[str, float]) -> Bucket:
    """A bucket weighed for the color that another mix of the same inks has."""
    own = shop()
    build = usual_build(
        own, garment=own.garment("Flour White"), ink=own.ink("Weir Teal"), route="straight"
    )
    made = bucket_of(weighed, inks=own.inks, build=build, target=own.target("#808080"))
    goal = true_lab(build, list(made.inks), np.array(list(target.values())), own.press)
    return replace(made, target=target_from_lab(goal, name="goal"))


def printed(of: Bucket) -> BucketReading:
    """An exact reading of its print."""
    seen = true_lab(of.build, list(of.inks), of.batches.sum(axis=0), shop().press)
    return BucketReading(after=len(of.batches), lab=seen, off_de00=0.05)


def corrected(target: dict[str, float], weighed: dict[str, float]) -> Correction:
    of = bucket(target, weighed)
    return correct(of.with_reading(printed(of)), shop())


def test_a_bucket_that_is_right_is_left_alone() -> None:
    found = corrected(SHARES, SHARES)
    assert found.added == ()
    assert found.anew is None
    assert found.after is found.bucket
    for each in found.strengths:
        assert abs(each.K - 1) < 1e-3
        assert abs(each.S - 1) < 1e-3
        assert 0 < each.K_sd <= 0.05


def test_no_more_of_a_stored_mix_is_added_than_is_left() -> None:
    """The bucket lacks 20 g of an ink: of a stored mix of which 12 g are left it gets those."""
    of = bucket(SHARES, {**SHARES, "Weir Teal": 100.0})
    inks = [replace(ink, left_g=12.0 if ink.name == "Weir Teal" else None) for ink in of.inks]
    found = correct(replace(of, inks=tuple(inks)).with_reading(printed(of)), shop())
    assert [each.ink for each in found.added] == ["Weir Teal"]
    assert found.added[0].grams == pytest.approx(12.0)
    assert found.expected_de00 < found.now_de00


@pytest.mark.parametrize("grams", [500.0, 20_000.0])
def test_what_is_missing_is_added(grams: float) -> None:
    """Conservation of mass: with what is missing the bucket is the mix that was aimed at."""
    whole = {name: share * grams / 500.0 for name, share in SHARES.items()}
    short = {**whole, "Weir Teal": 0.7 * whole["Weir Teal"]}
    found = corrected(whole, short)
    (added,) = found.added
    assert added.ink == "Weir Teal"
    assert added.grams == pytest.approx(0.3 * whole["Weir Teal"], rel=0.15)
    assert added.per_kg == pytest.approx(1e3 * added.grams / found.bucket.grams)
    assert found.now_de00 > 2 * found.expected_de00
    exact = true_lab(
        found.after.build, list(found.after.inks), found.after.batches.sum(axis=0), shop().press
    )
    assert delta_e_2000(found.after.target.lab_d50, exact) < 0.5


def test_too_much_of_a_strong_ink_is_not_mended_by_adding() -> None:
    found = corrected(SHARES, {**SHARES, "Weir Teal": 500.0, "Rainwater Clear Base": 5.0})
    assert found.added == ()
    assert found.after is found.bucket
    assert found.anew is not None
    grams = {part.ink.name: part.grams for part in found.anew.parts}
    of = found.bucket
    anew = np.array([grams[ink.name] for ink in of.inks])
    exact = true_lab(of.build, list(of.inks), anew, shop().press)
    assert delta_e_2000(of.target.lab_d50, exact) < 0.7
    assert found.now_de00 > 5


def test_a_strength_is_what_a_grid_over_it_says() -> None:
    """The posterior of one strength and one film, prior times likelihood over a grid (Bayes)."""
    own, name = shop(), "Weir Teal"
    error = SpectralError(K=0.05, S=0.0, shapes=np.zeros((0, 2, 31)))
    ink = replace(own.ink(name), error=error)
    own = replace(own, inks=MappingProxyType({**own.inks, name: ink}))
    build = usual_build(own, garment=own.garment("Flour White"), ink=ink, route="straight")
    of = bucket_of({name: 500.0}, inks=own.inks, build=build, target=own.target("#008080"))
    read = lab(swatch([with_K(build, 1.08)], press=own.press)[0], D50)
    reading = BucketReading(after=1, lab=read, off_de00=0.8)
    (found,) = correct(of.with_reading(reading), own).strengths
    grid, films = np.linspace(-0.2, 0.3, 101), np.linspace(-4.0, 4.0, 33)
    builds = [with_K(build, float(np.exp(at))) for at in grid]
    release = own.press.values.release
    prints = [
        lab(swatch(builds, press=with_release(own, release * np.exp(PRINT_SD * z))), D50)
        for z in films
    ]
    sd = 0.8 / np.sqrt(8.0 / np.pi)  # of each axis, of a mean ΔE00 of 0.8
    ln = -0.5 * (grid / 0.05) ** 2 - 0.5 * films[:, None] ** 2
    weight = np.exp(ln - 0.5 * (delta_e_2000(read, np.array(prints)) / sd) ** 2).sum(axis=0)
    mean = float(weight @ grid / weight.sum())
    spread = float(np.sqrt(weight @ (grid - mean) ** 2 / weight.sum()))
    assert np.log(found.K) == pytest.approx(mean, abs=0.1 * spread)
    assert found.K_sd == pytest.approx(spread, rel=0.05)
    assert abs(found.S - 1) < 1e-9


def with_release(own: inksim.Shop, release: float) -> inksim.Press:
    return replace(own.press, release=Parameter(float(release), 0.0))


def with_K(build: inksim.Build, factor: float) -> inksim.Build:
    ink = build.colour.ink.times(K=factor, S=1.0)
    return replace(build, layers=(replace(build.colour, ink=ink),))


def test_a_spectrum_and_a_drawdown_tell_as_a_color_does() -> None:
    """The bucket lacks teal, and each kind of reading says nothing against it."""
    of = bucket(SHARES, {**SHARES, "Weir Teal": 90.0})
    own, inks = shop(), list(of.inks)
    wet = [g / ink.density_g_cm3 for ink, g in zip(inks, of.batches[0], strict=True)]
    mixed = mix_inks(list(zip(inks, wet, strict=True)), name="in the bucket")
    top = replace(of.build.colour, ink=mixed)
    spectrum = swatch([replace(of.build, layers=(top,))], press=own.press)[0]
    by_spectrum = correct(of.with_reading(BucketReading(after=1, reflectance=spectrum)), own)
    assert [each.ink for each in by_spectrum.added] == ["Weir Teal"]
    card = np.full(31, 0.8)
    film = film_over(mixed.K, mixed.S, thickness_um=12.0, backing=internal_from_external(card))
    drawn = BucketReading(
        after=1, reflectance=external_from_internal(film), card=card, film_um=12.0
    )
    by_drawdown = correct(of.with_reading(drawn), own)
    assert [each.ink for each in by_drawdown.added] == ["Weir Teal"]
    assert by_drawdown.read_de00 is None


def test_small_ink_rooms_come_near_the_best_of_their_true_inks() -> None:
    """The fixed part of `python -m tests.accuracy buckets`."""
    found = rooms(press_known=True, count=2, each=2, max_inks=3)
    assert not missed(found).any()
    assert np.mean([each.farther for each in found]) < 0.5


def contradicting(of: Bucket) -> Bucket:
    first = printed(of)
    assert first.lab is not None
    return of.with_reading(first).with_reading(replace(first, lab=first.lab + 6.0))


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (lambda of: correct(of, shop()), "was not read"),
        (
            lambda of: correct(
                of.with_reading(BucketReading(after=1, lab=np.array([20.0, 60.0, 40.0]))), shop()
            ),
            "another build, garment or mix",
        ),
        (lambda of: correct(contradicting(of), shop()), "contradict each other"),
        (lambda of: replace(of, batches=-of.batches), "is no weight"),
        (lambda of: replace(of, batches=of.batches * np.nan), "is no weight"),
        (lambda of: of.with_batch(np.full(3, 1e9)), "no amount to mix"),
        (lambda of: of.with_left(900.0), "at most that"),
        (lambda of: replace(of, inks=(of.inks[0],) * 3), "stands twice"),
        (lambda of: of.with_reading(replace(printed(of), after=2)), "but 1 are in the bucket"),
        (lambda of: replace(printed(of), film_um=12.0), "both its card and its dry film"),
        (lambda of: replace(printed(of), off_de00=0.0), "above 0"),
        (
            lambda of: bucket_of({"Gone": 3.0}, inks=shop().inks, build=of.build, target=of.target),
            "gone from the shop",
        ),
        (
            lambda _: reading_of_bucket(["50,0,0", "50,20,0"], after=1, sure=lambda _: 0.5),
            "contradict each other",
        ),
        (lambda _: reading_of_bucket(["Oven Red"], after=1, sure=lambda _: 0.5), "is no reading"),
        (
            lambda _: reading_of_bucket(["50,0,0"], after=1, sure=lambda _: 0.5, card="moon"),
            "is no card",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(
    what: Callable[[Bucket], object], words: str
) -> None:
    with pytest.raises(InputError, match=words) as refused:
        what(bucket(SHARES, SHARES))
    assert len(str(refused.value)) <= 300
