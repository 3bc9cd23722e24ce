"""Outlier checks on readings: wrong readings, swapped labels, contradictions.

Each reading is compared with its leave-one-out prediction: the difference e of its Lab from the
model fitted without it has covariance V = N + J·Σ·J', so e'V⁻¹e is χ² with three degrees of freedom
(the studentized residual, squared). Two labels are swapped if both prints are far off as labeled
and both much nearer to their prediction with the labels exchanged.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inksim.calibration.fit import PressFit, fit_press, prior_sd, reading_noise, solve
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.reading_model import ReadingModel
from inksim.colour import delta_e_2000
from inksim.common import BoolArray, FloatArray, InputError

FALSE_ALARM = 0.001
"""Family-wise false alarm rate: chance that any right reading is called wrong [assumption]."""
SURELY_NOT, NEARER = 1e-5, 3.0
"""Two labels are swapped if the readings cannot be as they are labeled (chance below the first)
and each is nearer than before by this factor, in ΔE00, once they are exchanged [assumption]. A
chance after the exchange was tried and missed a third of the swaps where inks are 10 % off."""
LEAST_WRONG_DE00 = 3.0
"""A reading nearer than this to its prediction is never called wrong: calibrated prints are within
1–2 ΔE00 [assumption]."""
CONTRADICTION_DE00 = 3.0
"""Two readings of one build further apart than this contradict each other [assumption: prints of
one run differ by less], unless they are no surer than that: see the next."""
CONTRADICTION_SDS = 2.5
"""Multiple of what two readings are off together that is exceeded once in 1000: a length in three
dimensions, over its mean."""
IMPOSSIBLE, FAR_DE00 = 1e-9, 15.0
"""A reading is impossible if it is further than the second from the print of its label and the
probability of that is below the first [assumption]. Readings that lie further than the second from
what the others make of them, in the median, fit nothing: those of known presses with invented inks
are within 9, made-up ones 22 and more."""
LOOSE = 3.0
"""How many times as far from what is expected a press, or an ink, may be before its readings are
called wrong [assumption]: an unusual press is none that prints what cannot be."""
MOST_WRONG = 1 / 3  # share of the readings that may be left out
ALL_PAIRS = 20  # readings up to which every pair is tried for a swap


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A reading that looks wrong. expected: Lab predicted from all others; delta_e: ΔE00 from it.

    swapped_with: the reading whose label it seems to have.
    """

    name: str
    delta_e: float
    expected: tuple[float, float, float]
    swapped_with: str | None = None


@dataclass(frozen=True, kw_only=True)
class Contradiction:
    """Two readings of one build that are far apart."""

    names: tuple[str, str]
    delta_e: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Expected:
    """Leave-one-out prediction of each reading: lab (R, 3), chi2 (R,) and its p-value chance (R,).

    delta_e (R,): ΔE00 between reading and prediction.
    """

    lab: FloatArray
    chi2: FloatArray
    chance: FloatArray
    delta_e: FloatArray


def leave_one_out(found: PressFit) -> Expected:
    """Compare every reading with the fit without it."""
    model, count = found.model, len(found.model.readings)
    u, covariance = found.without(np.arange(count)[:, None])
    lab = model.lab(u)[np.arange(count), np.arange(count)]
    off = model.read - lab
    V = _plain_noise(found) + found.jacobian @ covariance @ found.jacobian.mT
    chi2 = np.sum(off * np.linalg.solve(V, off[..., None])[..., 0], axis=-1)
    return Expected(
        lab=lab, chi2=chi2, chance=_chance(chi2, 3), delta_e=delta_e_2000(lab, model.read)
    )


def check_possible(model: ReadingModel) -> None:
    """Refuse readings that no press prints, where too few others remain to leave them out.

    Raises
    ------
    InputError : more than a third of the readings, or any of one or two, are impossible.
    """
    u = np.zeros(model.unknowns.size)
    lab, J = model.lab(u[None])[0], model.jacobian(u)
    sd = prior_sd(model, LOOSE, LOOSE)
    noise = reading_noise(model) + np.eye(3)
    V = noise + (J * sd**2) @ J.mT
    off = model.read - lab
    chi2 = np.sum(off * np.linalg.solve(V, off[..., None])[..., 0], axis=-1)
    away = delta_e_2000(lab, model.read)
    far = (_chance(chi2, 3) < IMPOSSIBLE) & (away > FAR_DE00)
    for at in np.flatnonzero(far).tolist():  # by the slopes; now by the model itself
        far[at] = _chance(_least_chi2(model, at, noise=noise, sd=sd), 3) < IMPOSSIBLE
    names = [
        f"'{model.readings[at].name}' ({away[at]:.0f} ΔE00)" for at in np.flatnonzero(far).tolist()
    ]
    count = len(model.readings)
    if names and (count < 3 or len(names) > count * MOST_WRONG):
        shown = [*names[:5], *([f"{len(names) - 5} more"] if len(names) > 5 else [])]
        raise InputError(
            f"no press prints so far from what the shop's inks and cloths are: {', '.join(shown)}. "
            "Check garment, ink and the numbers of L, a, b or the spectrum, or allow readings that "
            "look wrong."
        )


def check_together(used: BoolArray, expected: Expected) -> None:
    """Refuse readings of which no press and no inks are made: strong inks could follow any.

    Raises
    ------
    InputError : none is left to use, or half of three or more lie too far from what all others
        make of them.
    """
    how = "Check garments, inks and numbers, or allow readings that look wrong."
    if not used.any():
        raise InputError(f"these readings do not fit together: every one looks wrong. {how}")
    median = float(np.median(expected.delta_e[used]))
    if used.size >= 3 and median > FAR_DE00:
        raise InputError(
            "these readings do not fit the shop's inks and cloths, nor each other: half of them "
            f"are more than {median:.0f} ΔE00 from what the others make of them. {how}"
        )


def _least_chi2(model: ReadingModel, at: int, *, noise: FloatArray, sd: FloatArray) -> FloatArray:
    """χ² of one reading by the press and the stock that it fits best, and by their priors."""
    alone = np.arange(len(model.readings)) == at
    u = solve(model, alone, noise=noise, prior_sd=sd, start=np.zeros(model.unknowns.size))
    off = (model.lab(u[None])[0] - model.read)[at]
    return np.asarray(off @ np.linalg.solve(noise[at], off) + np.sum((u / sd) ** 2))


def wrong_readings(model: ReadingModel) -> tuple[Suspect, ...]:
    """Find the readings that look wrong.

    A robust fit names suspects; a fit without them decides. At most a third of the readings, the
    worst ones, are called wrong, and none of one or two.
    """
    count = len(model.readings)
    if count < 3:
        return ()
    robust = fit_press(model, robust=True, loose=LOOSE)
    swaps = _swaps(robust)
    in_swaps = np.zeros(count, dtype=np.bool_)
    in_swaps[[at for pair in swaps for at in pair]] = True
    expected = leave_one_out(robust)
    suspect = in_swaps | _worst(expected, most=int(count * MOST_WRONG))
    if not suspect.any():
        return ()
    clean = leave_one_out(fit_press(model, used=~suspect, loose=LOOSE))
    wrong = suspect & (in_swaps | _is_wrong(clean))
    other = {a: b for pair in swaps for a, b in (pair, pair[::-1])}
    return tuple(
        Suspect(
            name=model.readings[at].name,
            delta_e=float(clean.delta_e[at]),
            expected=(float(clean.lab[at, 0]), float(clean.lab[at, 1]), float(clean.lab[at, 2])),
            swapped_with=model.readings[other[at]].name if at in other else None,
        )
        for at in np.flatnonzero(wrong).tolist()
    )


def contradictions(readings: tuple[PrintReading, ...]) -> tuple[Contradiction, ...]:
    """Find readings of one build, under one viewing, that are far apart."""
    found = []
    for one, two in combinations(readings, 2):
        if one.what == two.what and one.viewing == two.viewing:
            apart = float(delta_e_2000(one.seen, two.seen))
            alike = one.picture == two.picture
            off = [each.off_de00 if alike else each.noise.whole for each in (one, two)]
            unsure = CONTRADICTION_SDS * float(np.linalg.norm(off))
            if apart > max(CONTRADICTION_DE00, unsure):
                found.append(Contradiction(names=(one.name, two.name), delta_e=apart))
    return tuple(found)


def _plain_noise(found: PressFit) -> FloatArray:
    """Noise (R, 3, 3) of the readings without the weights of a robust fit."""
    return reading_noise(found.model) + found.model_sd**2 * np.eye(3)


def _chance(chi2: FloatArray, degrees: int) -> FloatArray:
    """p-value: probability of a χ² at least as large."""
    from scipy.special import gammaincc

    return np.asarray(gammaincc(degrees / 2.0, chi2 / 2.0))


def _is_wrong(expected: Expected) -> BoolArray:
    level = FALSE_ALARM / expected.chance.size
    return np.asarray((expected.chance < level) & (expected.delta_e > LEAST_WRONG_DE00))


def _worst(expected: Expected, *, most: int) -> BoolArray:
    """Mask of the wrong readings: the worst, at most so many."""
    wrong = np.flatnonzero(_is_wrong(expected))
    keep = wrong[np.argsort(expected.chi2[wrong])[::-1][:most]]
    chosen = np.zeros(expected.chance.size, dtype=np.bool_)
    chosen[keep] = True
    return chosen


def _swaps(found: PressFit) -> list[tuple[int, int]]:
    """Pairs of readings whose labels are exchanged, each reading in one pair at most."""
    model, count = found.model, len(found.model.readings)
    pairs = list(combinations(range(count), 2))
    if count > ALL_PAIRS:
        suspects = set(np.flatnonzero(_is_wrong(leave_one_out(found))).tolist())
        pairs = [pair for pair in pairs if suspects & set(pair)]
    pairs = [(i, j) for i, j in pairs if model.readings[i].viewing == model.readings[j].viewing]
    if not pairs:
        return []
    two = np.array(pairs)
    u, covariance = found.without(two)
    lab = np.take_along_axis(model.lab(u), two[..., None], axis=1)
    J = found.jacobian[two].reshape(len(two), 6, -1)
    V = J @ covariance @ J.mT
    noise = _plain_noise(found)
    for at, block in enumerate((slice(0, 3), slice(3, 6))):
        V[:, block, block] += noise[two[:, at]]
    read = model.read[two]
    straight, crossed = (delta_e_2000(lab, labelled) for labelled in (read, read[:, ::-1]))
    fits = (
        (_chance(_chi2(lab - read, V), 6) < SURELY_NOT)
        & np.all(straight > LEAST_WRONG_DE00, axis=1)
        & np.all(NEARER * crossed < straight, axis=1)
    )
    chosen: list[tuple[int, int]] = []
    for at in np.argsort(crossed.max(axis=1)).tolist():
        i, j = pairs[at]
        if fits[at] and not {i, j} & {each for pair in chosen for each in pair}:
            chosen.append((i, j))
    return chosen


def _chi2(off: FloatArray, V: FloatArray) -> FloatArray:
    flat = off.reshape(len(off), 6)
    return np.asarray(np.sum(flat * np.linalg.solve(V, flat[..., None])[..., 0], axis=-1))
