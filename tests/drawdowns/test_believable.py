"""Masstones that read below what their tints allow: K stops at what films reach, and says so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.drawdowns import believable
from inksim.drawdowns.believable import MOST_K, MOST_S
from inksim.drawdowns.characterisation import Characterisation, characterise
from inksim.drawdowns.drawdown import Drawdown
from tests.accuracy._studio import InkTruth, Studio, World
from tests.accuracy.drawdowns import unseen_errors
from tests.drawdown_films import BLACK, WHITE, fit_of, flat, studio

FILM_UM, INK = 40.0, "color 3"
BRONZE, BELOW = 0.018, 0.003
"""Light that bronzing adds to the masstone's dark bands, and that a tint reads too low: the sizes
of a measured blue whose masstone read 0.058 in the red where its 1 + 1 read 0.037."""


def bronzed(seed: int) -> tuple[list[Drawdown], Studio]:
    """A sheet with a strong ink (K·X 250), masstone and 1 + 1; unseen are its 5 and 10 % tints."""
    made = Studio(
        World(truth=1.0, colours=4, geometry="d:8-sci", thickness_um=FILM_UM, told=True, tint=0.5),
        seed,
    )
    ink = made.inks[INK]
    made.inks[INK] = InkTruth(K=ink.K * 250.0 / (ink.K.max() * FILM_UM), S=ink.S, g=ink.g)
    films = [d for d in made.fitted if INK not in d.recipe]
    for part in (1.0, 0.5):
        for d in made.draw_down({INK: part, "white": 1.0 - part} if part < 1.0 else {INK: 1.0}):
            dark = 1.0 / (1.0 + np.exp((d.measured - 0.07) / 0.005))
            more = BRONZE if part == 1.0 else -BELOW
            films.append(replace(d, reading=d.measured + dark * more))
    made.unseen = [
        d for part in (0.05, 0.1) for d in made.draw_down({INK: part, "white": 1.0 - part})
    ]
    return films, made


def fit(films: list[Drawdown], **options: Any) -> Characterisation:
    return characterise(films, geometry="d:8-sci", **options)


def test_a_bronzed_masstone_no_longer_swamps_its_tints(monkeypatch: pytest.MonkeyPatch) -> None:
    """ΔE00 of the 5 and 10 % tints in five studios: 7.4 without the prior, 3.2 with it."""
    sheets = [bronzed(seed) for seed in (1, 2, 3, 4, 5)]
    now = [fit(films) for films, _ in sheets]
    off = [unseen_errors(made, one).mean() for one, (_, made) in zip(now, sheets, strict=True)]
    monkeypatch.setattr(believable, "MOST_K", 1e6)
    monkeypatch.setattr(believable, "MOST_S", 1e6)
    then = [fit(films) for films, _ in sheets]
    before = [unseen_errors(made, one).mean() for one, (_, made) in zip(then, sheets, strict=True)]
    assert np.mean(before) > 6.0
    assert np.mean(off) < 0.55 * np.mean(before)
    for old, new in zip(then, now, strict=True):
        assert old.inks[INK].K.max() * FILM_UM > 1e4
        assert new.inks[INK].K.max() * FILM_UM < 2.0 * MOST_K


def test_a_band_at_the_ceiling_is_not_known() -> None:
    films, _ = bronzed(1)
    found = fit(films)
    ink = found.inks[INK]
    stopped = found.mixing_k[list(found.inks).index(INK)] * ink.film_um > 0.6 * MOST_K
    assert stopped.any()
    assert not ink.K_known[stopped].any()
    assert np.all(ink.K_error[stopped] > 0.5 * ink.K[stopped])
    assert any(w.startswith(f"{INK}: absorption is not known at ") for w in found.warnings)


def test_where_films_stay_below_nothing_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    made = studio(World(truth=1.0, colours=3, thickness_um=75.0, pigment=0.12))
    with_it = fit_of(made)
    monkeypatch.setattr(believable, "MOST_K", 1e6)
    monkeypatch.setattr(believable, "MOST_S", 1e6)
    without = fit_of(made)
    for name, ink in with_it.inks.items():
        assert ink.K.max() < 0.5 * MOST_K
        assert ink.S.max() < 0.5 * MOST_S
        np.testing.assert_array_equal(ink.K, without.inks[name].K)


def test_an_ink_read_once_has_a_guess_for_S_and_its_error() -> None:
    """A gray film over white: S about 0.3 per film at 550 nm, between 0.03 and 3 nine times in ten.

    Over black another K and S would be found: both readings leave nothing to guess.
    """
    white = Drawdown(recipe={"a": 1.0}, backing=WHITE, reading=flat(0.5), thickness_um=20.0)
    once = characterise([white]).inks["a"]
    assert once.read_once
    assert 20.0 * once.S[15] == pytest.approx(0.3, rel=0.2)
    assert np.all(once.S_error > 0.5 * once.S)
    assert np.all(np.diff(once.S) < 0)
    pale = Drawdown(recipe={"a": 1.0}, backing=WHITE, reading=flat(0.78), thickness_um=20.0)
    assert characterise([pale]).inks["a"].S[15] > 2.0 * once.S[15]
    black = Drawdown(recipe={"a": 1.0}, backing=BLACK, reading=flat(0.3), thickness_um=20.0)
    both = characterise([white, black]).inks["a"]
    assert not both.read_once
    assert both.S_known.all()
    assert both.S.shape == (BANDS,)
