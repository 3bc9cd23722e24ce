"""A press: parameters of the print model with their covariance, and strengths of its inks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from inksim.colour import difference_metric
from inksim.common import FloatArray, IndexArray, InputError
from inksim.stock.ink import Ink
from inksim.stock.stock_error import error_of

Number = float | FloatArray


class PressValues(NamedTuple):
    """Values of the press parameters: numbers, or arrays (...) of samples."""

    release: Number
    pass_gain: Number
    cv_cloth: Number
    cv_base: Number
    soak: Number
    pick_up: Number
    discharge_deposit_um: Number
    cloth_S: Number
    cloth_depth_um: Number
    dot_growth_um: Number
    yule_nielsen_n: Number
    contact: Number
    contact_um: Number
    surface_haze: Number


class Meaning(NamedTuple):
    """What a parameter is, its unit and the range in which the model holds."""

    words: str
    unit: str
    least: float
    most: float


MEANINGS: Mapping[str, Meaning] = MappingProxyType(
    {
        "release": Meaning("share of the mesh's ink volume that reaches the shirt", "", 0.1, 1.2),
        "pass_gain": Meaning("ink a further pass adds, as a share of the first", "", 0.0, 1.0),
        "cv_cloth": Meaning("unevenness of a film on bare cloth (std/mean)", "", 0.0, 0.8),
        "cv_base": Meaning("unevenness of a film over a base (std/mean)", "", 0.0, 0.8),
        "soak": Meaning("share of the first film that sinks into the cloth", "", 0.0, 0.9),
        "pick_up": Meaning("share of an unflashed film taken up by the next", "", 0.0, 0.6),
        "discharge_deposit_um": Meaning(
            "wet discharge base that does 63 % of its work", "µm", 1.0, 40.0
        ),
        "cloth_S": Meaning("scattering of the cloth", "1/µm", 0.005, 0.5),
        "cloth_depth_um": Meaning("depth of cloth that the eye sees into", "µm", 20.0, 400.0),
        "dot_growth_um": Meaning("width a halftone dot grows on every side", "µm", 0.0, 150.0),
        "yule_nielsen_n": Meaning("spread of light between halftone dots", "", 1.0, 10.0),
        "contact": Meaning("share of full contact of a film with the cloth", "", 0.0, 1.2),
        "contact_um": Meaning("dry ink that makes 63 % of its contact", "µm", 0.5, 20.0),
        "surface_haze": Meaning("light that the rough face of a print scatters", "", 0.0, 0.03),
    }
)


MODEL_LAB_SD = 0.8
"""Standard deviation of each of L*, a*, b* that the model itself leaves before any print was read
[assumption]: calibrated on its own mesh, ink and garment it is within 1–2 ΔE00."""


class Parameter(NamedTuple):
    """A value and its standard deviation, prior or posterior."""

    value: float
    sd: float


class Strength(NamedTuple):
    """Strength of an ink as calibrated on this press: factors on its K and S, and their shape.

    K, S: the factor, 1 for an ink that is as its entry says, and the sd of its logarithm.
    mark: of the K and S that the factors are for (`Ink.mark`); '' holds for any.
    shapes: place along each of the ink's `SpectralError.shapes`, 0 for an ink that is as its entry
    says, and its sd, 1 before anything was read; none: not told.
    """

    ink: str
    K: Parameter
    S: Parameter
    mark: str = ""
    shapes: tuple[Parameter, ...] = ()

    @property
    def sds(self) -> tuple[float, ...]:
        """Standard deviations of ln K, ln S and the place along each shape."""
        return self.K.sd, self.S.sd, *(place.sd for place in self.shapes)

    def printed(self, ink: Ink) -> Ink:
        """Return a filed ink as the press prints it."""
        return self._moved(ink, 1.0)

    def filed(self, ink: Ink) -> Ink:
        """Return the filed ink, from one as the press prints it: undoes `printed`."""
        return self._moved(ink, -1.0)

    def _moved(self, ink: Ink, way: float) -> Ink:
        K, S = self.K.value**way, self.S.value**way
        if not self.shapes:
            return ink.times(K=K, S=S)
        error = error_of(ink)
        places = [way * place.value for place in self.shapes]
        more = np.exp(np.tensordot(places, error.shapes, axes=1))
        # its error goes with it: that of the ink it has become may have other shapes
        return replace(ink.times(K=K * more[0], S=S * more[1]), error=error)


LEAST_FACTOR, MOST_FACTOR, MOST_PLACE, MOST_LN_SD = 0.01, 100.0, 10.0, 5.0
"""Range of a strength, of the size of a place along a shape, and of the sd of either, a strength's
of its logarithm: beyond them it is another ink, or a slip in a file edited by hand, and numbers
overflow."""
MOST_MODEL_SD, MOST_INK_SD_FACTOR = 50.0, 50.0
"""Largest of each: 50 in L* says that nothing is known."""
LEAST_EIGENVALUE = 0.01
"""How far below 0 an eigenvalue of the correlation may lie: its numbers are kept to four digits."""


@dataclass(frozen=True, kw_only=True)
class Press:
    """One press as it prints today. Defaults are generic priors [assumption], not readings.

    Parameters
    ----------
    name : of the press.
    release, pass_gain, cv_cloth, cv_base, soak, pick_up, discharge_deposit_um, cloth_S : value and
        standard deviation of each; `MEANINGS` says what it is, its unit and its range.
    cloth_depth_um, dot_growth_um, yule_nielsen_n, contact, contact_um, surface_haze : likewise.
    model_sd : standard deviation of L* that the model itself leaves; of a* and b*: `left_of`.
    ink_sd_factor : how far this shop's inks are off their entries, as a multiple of what those say
        (`Ink.error`), or else lets expect where they come from (`stock.error_of`).
    strengths : of the inks in the prints that were read.
    correlation : (n, n) of the parameters in the order of `PressValues`, then for each strength ln
        K, ln S and its shapes, from a calibration; None: independent.
    prior : the press before its first calibration, where the next one starts; None: itself.
    calibrated : whether it is fitted to readings of its prints; see `calibrate`.
    source : where the numbers come from.

    Raises
    ------
    InputError : a value outside its range, or a correlation that is none.
    """

    name: str
    release: Parameter = Parameter(0.60, 0.15)
    pass_gain: Parameter = Parameter(0.55, 0.15)
    cv_cloth: Parameter = Parameter(0.45, 0.12)
    cv_base: Parameter = Parameter(0.16, 0.06)
    soak: Parameter = Parameter(0.25, 0.12)
    pick_up: Parameter = Parameter(0.15, 0.07)
    discharge_deposit_um: Parameter = Parameter(5.0, 1.5)
    cloth_S: Parameter = Parameter(0.05, 0.0)
    cloth_depth_um: Parameter = Parameter(100.0, 0.0)
    dot_growth_um: Parameter = Parameter(30.0, 10.0)
    yule_nielsen_n: Parameter = Parameter(1.8, 0.2)
    contact: Parameter = Parameter(0.3, 0.3)
    contact_um: Parameter = Parameter(8.0, 0.0)
    surface_haze: Parameter = Parameter(0.004, 0.004)
    model_sd: float = MODEL_LAB_SD
    ink_sd_factor: float = 1.0
    strengths: tuple[Strength, ...] = ()
    correlation: tuple[tuple[float, ...], ...] | None = None
    prior: Press | None = None
    calibrated: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        """Refuse a parameter outside the range in which the model holds."""
        for name, meaning in MEANINGS.items():
            value, sd = getattr(self, name)
            if not meaning.least <= value <= meaning.most:
                span = f"{meaning.least:g} to {meaning.most:g} {meaning.unit}".rstrip()
                raise InputError(
                    f"press '{self.name}': {name} is {value:g}; {meaning.words} runs from {span}."
                )
            if not 0 <= sd <= meaning.most - meaning.least:
                raise InputError(
                    f"press '{self.name}': the sd of {name} is {sd:g}; give 0 to "
                    f"{meaning.most - meaning.least:g}, the width of its range."
                )
        for what, most in (("model_sd", MOST_MODEL_SD), ("ink_sd_factor", MOST_INK_SD_FACTOR)):
            size = getattr(self, what)
            if not 0 <= size <= most:
                raise InputError(f"press '{self.name}': {what} is {size:g}; give 0 to {most:g}.")
        for strength in self.strengths:
            for place, sd in strength.shapes:
                if not (abs(place) <= MOST_PLACE and 0 <= sd <= MOST_LN_SD):
                    raise InputError(
                        f"press '{self.name}': ink '{strength.ink}' lies at {place:g} (sd {sd:g}) "
                        f"along a shape; give {-MOST_PLACE:g} to {MOST_PLACE:g} and an sd of 0 to "
                        f"{MOST_LN_SD:g}."
                    )
            for field in ("K", "S"):
                factor, sd = getattr(strength, field)
                if not (LEAST_FACTOR <= factor <= MOST_FACTOR and 0 <= sd <= MOST_LN_SD):
                    raise InputError(
                        f"press '{self.name}': ink '{strength.ink}' has {field} times {factor:g} "
                        f"(sd {sd:g}); a factor is {LEAST_FACTOR:g} to {MOST_FACTOR:g} and its sd "
                        f"0 to {MOST_LN_SD:g}."
                    )
        if self.correlation is not None:
            self._check_correlation(self._sds.size)

    def _check_correlation(self, size: int) -> None:
        """Refuse what is not a correlation matrix of this size: hand-edited files get here."""
        rows = self.correlation or ()
        wrong = len(rows) != size or any(len(row) != size for row in rows)
        if not wrong:
            matrix = np.array(rows, dtype=np.float64)
            wrong = (
                not np.all(np.isfinite(matrix))
                or not np.allclose(matrix, matrix.T, atol=1e-6)
                or not np.allclose(np.diag(matrix), 1.0, atol=1e-3)
                or float(np.linalg.eigvalsh(matrix).min()) < -LEAST_EIGENVALUE
            )
        if wrong:
            raise InputError(
                f"press '{self.name}': correlation must be a symmetric {size} × {size} table of "
                "correlations that can hold together; calibrate again, or take it out."
            )

    @property
    def before(self) -> Press:
        """The press before its first calibration."""
        return self.prior or self

    @property
    def _sds(self) -> FloatArray:
        """Standard deviations (n,) in the order of the covariance."""
        of_press = [getattr(self, name).sd for name in PressValues._fields]
        return np.array([*of_press, *(sd for strength in self.strengths for sd in strength.sds)])

    @property
    def strength_rows(self) -> tuple[IndexArray, ...]:
        """Rows of each strength in the covariance: of ln K, of ln S, of each shape."""
        sizes = [len(strength.sds) for strength in self.strengths]
        ends = np.cumsum([len(PressValues._fields), *sizes])
        return tuple(np.arange(first, end) for first, end in pairwise(ends))

    @property
    def covariance(self) -> FloatArray:
        """Covariance (n, n) of the parameters, then of ln K, ln S, shapes of each strength."""
        sd = self._sds
        correlation = np.eye(sd.size) if self.correlation is None else np.array(self.correlation)
        return np.asarray(correlation * np.outer(sd, sd))

    def with_strengths(self, kept: Callable[[Strength], bool]) -> Press:
        """Drop the strengths that are not kept, with their rows of the correlation."""
        stays = [at for at, strength in enumerate(self.strengths) if kept(strength)]
        if len(stays) == len(self.strengths):
            return self
        each = self.strength_rows
        rows = np.concatenate([np.arange(len(PressValues._fields)), *(each[at] for at in stays)])
        table = self.correlation
        return replace(
            self,
            strengths=tuple(self.strengths[at] for at in stays),
            correlation=None
            if table is None
            else tuple(map(tuple, np.array(table)[np.ix_(rows, rows)].tolist())),
        )

    def left_of(self, lab: FloatArray) -> FloatArray:
        """Standard deviation (..., 3) that the model leaves of L*, a*, b* of prints (..., 3).

        Readings tell one number for all prints, `model_sd`. It is that of L*. In a* and b* what is
        left is as large in ΔE00, so larger in Lab the stronger the color; it is never taken as
        smaller. Before any reading it is the same of all three [assumption].
        """
        sds = np.full(lab.shape, self.model_sd)
        if self.calibrated:
            of_one = np.sqrt(np.linalg.inv(difference_metric(lab)).diagonal(axis1=-2, axis2=-1))
            sds *= np.maximum(of_one / of_one[..., :1], 1.0)
        return sds

    @property
    def values(self) -> PressValues:
        """Values of the parameters."""
        return PressValues(**{name: getattr(self, name).value for name in PressValues._fields})


assert set(PressValues._fields) == set(MEANINGS) <= {f.name for f in fields(Press)}
