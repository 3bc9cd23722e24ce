"""What a fit of drawdowns says in words, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.common.errors import InputError
from inksim.drawdowns.characterisation import characterise, predict_drawdown
from inksim.drawdowns.drawdown import Drawdown
from inksim.drawdowns.findings import bands_in_words
from tests.accuracy._studio import Studio, World
from tests.accuracy.drawdowns import FAULTS, HIDING
from tests.drawdown_films import BLACK, CHALK, EXACT, HELD, WHITE, films, fit_of, flat, studio

# -- words


def test_a_film_that_hides_is_said_and_what_to_do() -> None:
    K, S = flat(0.3), flat(0.3)
    alone = characterise(films(K, S, recipe={"ink": 1.0}))
    assert not alone.inks["ink"].S_known.any()
    (words,) = [w for w in alone.warnings if w.startswith("ink hides")]
    assert "read alike" in words.replace("reads alike", "read alike")
    assert "thinner film or a tint with white" in words
    white = films(*CHALK, recipe={"white": 1.0})
    tint = films(0.2 * K + 8e-5, 0.2 * S + 0.16, recipe={"ink": 0.2, "white": 0.8})
    helped = characterise([*films(K, S, recipe={"ink": 1.0}), *white, *tint], **HELD)
    assert helped.inks["ink"].S_known.all()
    np.testing.assert_allclose(helped.inks["ink"].S, 20 * S, rtol=0.01)
    assert any("from its mixtures only" in w for w in helped.warnings)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(
    "world",
    [World(**FAULTS), World(truth=1.0, **HIDING, **FAULTS)],
    ids=["thin films", "hiding films"],
)
def test_a_fluorescent_ink_is_named_and_no_other(world: World, seed: int) -> None:
    glowing = fit_of(Studio(replace(world, colours=6, emission=(600.0, 0.4)), seed))
    named = [w for w in glowing.warnings if "without fluorescence can" in w]
    assert [w.partition(":")[0] for w in named] == ["color 2"]
    assert glowing.warnings[0] == named[0], "the weightiest first"
    dull = fit_of(Studio(replace(world, colours=6, emission=(600.0, 0.0)), seed))
    assert not any("fluorescence" in w for w in dull.warnings)


def test_a_reading_above_the_perfect_diffuser_is_named() -> None:
    two = films(flat(0.01), flat(0.1), recipe={"ink": 1.0})
    bright = np.array(two[1].measured)
    bright[20:23] = 1.25
    found = characterise([two[0], replace(two[1], reading=bright)])
    assert found.warnings[0].startswith("ink: at 600–620 nm it gives back more light")


def test_a_card_brighter_than_a_card_can_be_is_used_and_said() -> None:
    two = films(flat(0.05), flat(0.05), recipe={"ink": 1.0})
    found = characterise([two[0], replace(two[1], backing=flat(0.97))])
    assert any("white card reads 0.970, more than the 0.960" in w for w in found.warnings)
    dark = characterise([replace(two[0], backing=flat(0.03)), two[1]], geometry="d:8-sci")
    assert any("black card reads 0.030, less than" in w for w in dark.warnings)
    assert all(np.isfinite(d.fitted).all() for d in (*found.drawdowns, *dark.drawdowns))


def test_the_report_has_measured_against_fitted() -> None:
    made = studio(World(colours=2, noise=0.001, **EXACT))
    found = fit_of(made)
    assert len(found.drawdowns) == len(found.thicknesses) == len(made.fitted)
    for d, given in zip(found.drawdowns, made.fitted, strict=True):
        np.testing.assert_array_equal(d.measured, given.measured)
        assert np.abs(d.fitted - d.measured).max() < 0.02
        if "white" in given.recipe:  # a black's noise is 1 ΔE00, and a ratio of noise
            assert d.delta_e < 0.5
            assert d.contrast_error == pytest.approx(0.0, abs=0.01)
    alone = characterise([*made.fitted, replace(made.unseen[0], name="one card only")])
    assert alone.drawdowns[-1].contrast_error is None
    assert found.mean_delta_e == pytest.approx(np.mean([d.delta_e for d in found.drawdowns]))


def test_bands_in_words() -> None:
    bands = np.zeros(BANDS, dtype=np.bool_)
    bands[[0, 1, 2, 10]] = True
    assert bands_in_words(bands) == "400–420, 500 nm"
    assert bands_in_words(~np.zeros(BANDS, dtype=np.bool_)) == "all bands"


# -- bad input


def one(**change: Any) -> Drawdown:
    given: dict[str, Any] = {"recipe": {"a": 1.0}, "backing": WHITE, "reading": flat(0.5)}
    return Drawdown(**{**given, **change})


DRAWDOWNS: list[tuple[str, dict[str, Any], str]] = [
    ("no ink", {"recipe": {}}, "at least one ink"),
    ("negative", {"recipe": {"a": 1.2, "b": -0.2}}, "at least one ink, each with a fraction above"),
    (
        "sum",
        {"recipe": {"a": 0.5, "b": 0.3}, "name": "swatch 7"},
        "swatch 7: .*sum to 0.8, not 1: 20%",
    ),
    ("part", {"recipe": {"a": "much"}}, "a number for each ink, but it is {'a': 'much'}"),
    ("words", {"reading": ["x"] * BANDS}, "the reading must be 31 numbers"),
    ("thickness", {"thickness_um": "20"}, "thickness '20' is not a number"),
    ("bands", {"reading": np.ones(30)}, r"31 values .* its shape is \(30,\)"),
    ("percent", {"reading": flat(45.0)}, "45 at 400 nm; .*divide percent by 100"),
    ("not a number", {"reading": flat(np.nan)}, "nan at 400 nm"),
    ("card", {"backing": flat(-0.2)}, "the card's reading is -0.2"),
    ("card word", {"backing": "grey"}, "'grey' is neither 'black' nor 'white'"),
    ("thickness", {"thickness_um": 0.0}, "thickness is 0 µm; a dry film has between"),
    ("thickness", {"thickness_um": 9e4}, "thickness is 90000 µm; a dry film has between"),
]


@pytest.mark.parametrize(
    ("change", "words"), [d[1:] for d in DRAWDOWNS], ids=[d[0] for d in DRAWDOWNS]
)
def test_what_no_drawdown_can_be_is_refused(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        one(**change)


def test_rounded_fractions_and_flat_cards_are_taken() -> None:
    thirds = one(recipe={"a": 0.333, "b": 0.333, "c": 0.333, "d": 0.0}, backing="black")
    assert dict(thirds.recipe) == pytest.approx({"a": 1 / 3, "b": 1 / 3, "c": 1 / 3})
    np.testing.assert_array_equal(thirds.card, 0.01)
    assert thirds.label.endswith("over black")


PAIR = [one(), one(backing=BLACK, reading=flat(0.3))]
FITS: list[tuple[str, Callable[[], object], str]] = [
    ("none", lambda: characterise([]), "no drawdown"),
    ("geometry", lambda: characterise(PAIR, geometry="d:8"), "no geometry 'd:8'"),  # type: ignore[arg-type]
    (
        "same mixture",
        lambda: characterise([replace(d, recipe={"a": 0.5, "b": 0.5}) for d in PAIR]),
        "do not tell 'a', 'b' apart",
    ),
    ("deviation", lambda: characterise(PAIR, strength_sd=-1.0), "strength_sd is -1"),
    ("noise", lambda: characterise(PAIR, noise=0.0), "noise of a reading is 0"),
    ("density", lambda: characterise(PAIR, densities={"b": 1.0}), "no density of ink 'a'"),
    (
        "zero density",
        lambda: characterise(PAIR, densities={"a": 0.0}),
        "density of 'a' is 0; it must be above 0",
    ),
]


@pytest.mark.parametrize(("call", "words"), [f[1:] for f in FITS], ids=[f[0] for f in FITS])
def test_what_cannot_be_characterized_is_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()


def test_one_reading_is_fitted_and_said() -> None:
    """One reading has no answer for both K and S: it is met, the other is open by its error."""
    once = [replace(one(), thickness_um=20.0)]
    for drawdowns in (once, once * 2):
        found = characterise(drawdowns)
        assert any("a is in one reading only" in w for w in found.warnings)
        np.testing.assert_allclose(
            predict_drawdown(found, recipe={"a": 1.0}, backing=WHITE, thickness_um=20.0),
            once[0].measured,
            atol=0.005,
        )
        assert not found.inks["a"].S_known.any()
    pair = characterise([replace(d, thickness_um=20.0) for d in PAIR])
    assert not any("one reading only" in w for w in pair.warnings)


def test_swapped_cards_and_a_fit_that_is_none_are_said() -> None:
    found = characterise([one(backing=BLACK, reading=flat(0.6)), one(reading=flat(0.2))])
    assert found.warnings[0].startswith("a over black and a over white: the film reads darker over")
    assert any("half of the drawdowns are" in w for w in found.warnings)
    assert not any("swapped" in w or "half" in w for w in characterise(PAIR).warnings)


def test_parts_that_do_not_sum_to_one_are_fitted_and_said() -> None:
    """A recipe is its proportions: percent, parts and rounded fractions give the same inks."""
    made = studio(World(colours=1, **EXACT)).fitted
    plain = characterise(made)
    assert not any("sum to" in w for w in plain.warnings)
    for times in (100.0, 0.98):
        parts = [
            replace(d, recipe={ink: times * part for ink, part in d.recipe.items()}) for d in made
        ]
        found = characterise(parts)
        assert any(f"not sum to 1 (it sums to {times:g})" in w for w in found.warnings)
        for name, ink in plain.inks.items():
            np.testing.assert_allclose(found.inks[name].K, ink.K, rtol=1e-6)


def test_what_cannot_be_predicted_is_refused() -> None:
    shared, known = characterise(PAIR), characterise([replace(d, thickness_um=20.0) for d in PAIR])
    with pytest.raises(InputError, match="no ink 'c'"):
        predict_drawdown(shared, recipe={"c": 1.0}, backing=WHITE)
    with pytest.raises(InputError, match="says nothing here"):
        predict_drawdown(shared, recipe={"a": 1.0}, backing=WHITE, thickness_um=20.0)
    with pytest.raises(InputError, match="give the film's thickness"):
        predict_drawdown(known, recipe={"a": 1.0}, backing=WHITE)
    assert predict_drawdown(
        known, recipe={"a": 1.0}, backing="white", thickness_um=20.0
    ) == pytest.approx(flat(0.5), abs=0.01)
