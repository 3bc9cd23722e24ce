"""Whether a sheet of drawdowns may be believed: recipes left out, and films to read again.

A slip (a thickness or a recipe mistyped, cards or readings swapped) spoils every ink that shares a
film with it, and the fit is bad everywhere. The film at fault is the one without which all others
agree. How well this tells slips from the faults of good sheets is measured in
tests/drawdowns/test_sheet_check.py.
"""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from inksim.colour import D50, Viewing
from inksim.drawdowns.believable import at_ceiling
from inksim.drawdowns.leave_out import (
    FAINT_SHARE,
    LeftOut,
    hardly_known,
    is_told,
    leave_out,
    recipes_of,
)
from inksim.drawdowns.recipe import FilmRecipe
from inksim.drawdowns.sheet_verdict import LARGE_DELTA_E, RecipeCheck, SheetCheck
from inksim.drawdowns.slips import Slip, likely_slip

if TYPE_CHECKING:
    from inksim.drawdowns.characterisation import Characterisation

Step = Callable[[int, int, str], None]
"""Told before each piece of work: how many are done, of how many, and what comes now."""
FAR_BETTER, WORTH_IT = 1.65, 0.004
"""A film is read again if without it the noise of the rest is this many times less, and was above
the second: good sheets with all the faults of studios reached 1.6 in simulation."""
CLOSE_CALL = 0.35
"""Recipes without which the noise falls nearly as far are suspects too."""
LARGE_TIMES = 2.0
"""A left-out ΔE00 has causes beyond the fit's own above so many times that, if it is large."""
MOST_TIMES = 4.0
"""Most that one recipe counts for in the factor on an ink's errors: one slip is not all films
[assumption]."""


def check_sheet(
    fitted: Characterisation, *, step: Step | None = None, viewing: Viewing = D50
) -> SheetCheck:
    """Leave out every recipe of a sheet in turn.

    Without a recipe that is the only one to tell an ink apart nothing can be fitted; one without
    which an ink is left with a single weak tint is looked at for slips, but tests nothing.
    """
    fit, names = fitted.sheet, list(fitted.inks)
    fractions = fit.problem.fractions
    recipes = recipes_of(fractions)
    found: list[LeftOut] = []
    tested: list[RecipeCheck] = []
    kept: dict[str, str] = {}
    off: dict[str, list[float]] = {}
    for at, out in enumerate(recipes):
        called = FilmRecipe(parts=fitted.drawdowns[out[0]].drawdown.recipe).words
        if step is not None:
            step(at, len(recipes), called)
        if not is_told(np.delete(fractions, out, axis=0)):
            kept[called] = "without it an ink is not told at all"
            continue
        each = leave_out(fit, out, least_noise=fitted.least_noise, viewing=viewing)
        found.append(each)
        if weak := hardly_known(fractions, out):
            kept[called] = f"without it {names[weak[0]]} is in one weak tint only"
            continue
        tested.append(RecipeCheck(name=called, delta_e=each.delta_e))
        for ink in np.flatnonzero(fractions[out[0]] > FAINT_SHARE):
            off.setdefault(names[ink], []).append(min(each.times, MOST_TIMES))
    mean = float(np.mean([each.delta_e for each in tested])) if tested else None
    slip = _slip(fitted, found)
    if slip is None and fitted.noise >= WORTH_IT:
        noise = fitted.least_noise
        slip = _slip(
            fitted,
            [
                leave_out(fit, each.readings, least_noise=noise, viewing=viewing, afresh=True)
                for each in found
            ],
        )
    return SheetCheck(
        recipes=tuple(tested),
        kept=MappingProxyType(kept),
        delta_e=mean,
        again=() if slip is None else (slip.words,),
        causes=_causes(fitted, mean),
        times=MappingProxyType({i: max(1.0, _rms(off.get(i, []))) for i in names}),
    )


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else 0.0


def _slip(fitted: Characterisation, found: list[LeftOut]) -> Slip | None:
    """The film to read again, if the rest agrees far better without it.

    Where several recipes are about as suspect, that which a slip explains best, and the others.
    """
    if not found:
        return None
    noise = fitted.noise
    gain = {each: noise / max(each.noise, fitted.least_noise) for each in found}
    best = max(gain.values())
    if best < FAR_BETTER or noise < WORTH_IT:
        return None
    suspects = [e for e, of in gain.items() if of > max(FAR_BETTER, CLOSE_CALL * best)]
    suspects.sort(key=lambda each: -gain[each])
    slips = [likely_slip(fitted, each) for each in suspects]
    first = min(slips, key=lambda slip: slip.left)
    others = [
        fitted.drawdowns[each.readings[0]].name
        for each, slip in zip(suspects, slips, strict=True)
        if slip is not first
    ]
    if not others:
        return first
    either = f"{first.words} (or {' or '.join(others)}: they contradict each other)"
    return first._replace(words=either)


def _causes(fitted: Characterisation, delta_e: float | None) -> tuple[str, ...]:
    """Likely causes of a large left-out ΔE00, in shop words."""
    if delta_e is None or delta_e < max(LARGE_DELTA_E, LARGE_TIMES * fitted.mean_delta_e):
        return ()
    said = []
    for at, ink in enumerate(fitted.inks.values()):
        k, s = fitted.mixing_k[at] * ink.film_um, fitted.mixing_s[at] * ink.film_um
        if any(mask.any() for mask in at_ceiling(k, s)):
            said.append(
                f"{ink.name} reads darker in a tint than its own full film lets it: bronzing or "
                "gloss of that film, or a wrong specular setting of the instrument"
            )
        elif 2 * np.sum(~ink.S_known) > ink.S.size:
            said.append(
                f"{ink.name}: its films do not show how much it scatters, for they hide the card "
                "or are read once; draw down a thinner one, or a tint with white"
            )
    words = " ".join(fitted.warnings)
    for sign, cause in (
        ("as thick as stated", "a thickness may be mistyped"),
        ("acts in mixtures like", "a recipe may be mistyped or weighed wrong"),
        ("without fluorescence", "an ink fluoresces"),
        ("specular setting", "the specular setting of the instrument may be wrong"),
    ):
        if sign in words:
            said.append(f"{cause}: see the warning")
    few = "each ink is in few films: one tint more of each would tell"
    return tuple(said) or (few,)
