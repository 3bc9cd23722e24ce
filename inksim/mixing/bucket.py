"""A bucket: what was weighed into it, in order, what it is printed on, and what was read of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, check_plausible_lab, lab as lab_of
from inksim.common import FloatArray, InputError
from inksim.printing import Build
from inksim.stock import READING_DE00, Ink, Target, check_grams, frozen_spectrum

MOST_OFF_DE00 = 30.0


@dataclass(frozen=True, kw_only=True, eq=False)
class BucketReading:
    """A reading of what is in a bucket: of its print on the garment, or of a drawdown on a card.

    Parameters
    ----------
    after : how many batches were in the bucket, 1 or more.
    reflectance : (31,) external, 45:0 or specular excluded; or
    lab : (3,) under `viewing`, where there is no spectrum.
    off_de00 : mean ΔE00 of the reading from the true color.
    card : (31,) or one number, external reflectance of a drawdown's card; None of a print.
    film_um : dry film of a drawdown; None of a print.

    Raises
    ------
    InputError : a value that no reading has.
    """

    after: int
    reflectance: FloatArray | None = None
    lab: FloatArray | None = None
    viewing: Viewing = Viewing()
    off_de00: float = READING_DE00
    card: FloatArray | None = None
    film_um: float | None = None

    def __post_init__(self) -> None:
        """Check the reading; freeze its spectrum."""
        if (self.reflectance is None) == (self.lab is None):
            raise InputError("a reading of a bucket is a spectrum or Lab, one of them.")
        if self.reflectance is not None:
            spectrum = frozen_spectrum(self.reflectance, what="the reading", most=1.5)
            object.__setattr__(self, "reflectance", spectrum)
        else:
            listed = check_plausible_lab(np.asarray(self.lab, dtype=np.float64), where="reading")
            object.__setattr__(self, "lab", listed)
        if not 0 < self.off_de00 <= MOST_OFF_DE00:
            raise InputError(
                f"the reading is said to be off by {self.off_de00:g} ΔE00; give above 0 and at "
                f"most {MOST_OFF_DE00:g}."
            )
        if (self.card is None) != (self.film_um is None):
            raise InputError("a drawdown needs both its card and its dry film in µm; a print none.")
        if self.film_um is not None and not 0.5 <= self.film_um <= 500:
            raise InputError(
                f"a drawdown's film of {self.film_um:g} µm is none; give the dry film, 0.5 to 500."
            )

    @property
    def seen(self) -> FloatArray:
        """Lab (3,) under `viewing`."""
        if self.reflectance is not None:
            return lab_of(self.reflectance, self.viewing)
        assert self.lab is not None
        return self.lab


@dataclass(frozen=True, kw_only=True, eq=False)
class Bucket:
    """A bucket of a mix.

    Parameters
    ----------
    inks : that are in it, each once. batches (b, n): grams of each, weighed in one after another:
        the recipe, then what was added; each ≥ 0.
    build : that it is printed by; the ink on top is set by what is in the bucket.
    target : the color it is for.
    readings : of it, in order.

    Raises
    ------
    InputError : weights that are negative or no amount of ink; a reading of an empty bucket.
    """

    inks: tuple[Ink, ...]
    batches: FloatArray
    build: Build
    target: Target
    readings: tuple[BucketReading, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what was never weighed."""
        for ink, grams in zip(self.inks, self.batches.T, strict=True):
            wrong = ~(np.isfinite(grams) & (grams >= 0))
            if wrong.any():
                raise InputError(
                    f"{grams[wrong][0]:g} g of '{ink.name}' is no weight; give 0 or more."
                )
            if not grams.any():
                raise InputError(f"there is no '{ink.name}' in the bucket; leave it out.")
        if len({ink.name for ink in self.inks}) < len(self.inks):
            raise InputError("an ink stands twice in the bucket; add its grams up.")
        check_grams(float(self.batches[0].sum()))
        check_grams(self.grams)
        for each in self.readings:
            if not 1 <= each.after <= len(self.batches):
                raise InputError(
                    f"a reading was taken after batch {each.after}, but {len(self.batches)} are in "
                    "the bucket."
                )

    @property
    def grams(self) -> float:
        """Grams of wet ink in it."""
        return float(self.batches.sum())

    def with_left(self, grams: float) -> Bucket:
        """The bucket with less in it: some was printed, and what is left is the same mix."""
        check_grams(grams)
        if grams > self.grams * 1.001:
            raise InputError(
                f"{grams:g} g are said to be left of {self.grams:g} g weighed in; give at most "
                "that."
            )
        return replace(self, batches=self.batches * (grams / self.grams))

    def with_reading(self, reading: BucketReading) -> Bucket:
        """The bucket with one reading more."""
        return replace(self, readings=(*self.readings, reading))

    def with_batch(self, grams: FloatArray) -> Bucket:
        """The bucket after an addition (n,)."""
        return replace(self, batches=np.concatenate([self.batches, grams[None]]))


def bucket_of(
    parts: Mapping[str, float], *, inks: Mapping[str, Ink], build: Build, target: Target
) -> Bucket:
    """A bucket as its recipe was weighed: grams by the ink's name.

    Raises
    ------
    InputError : an ink that the shop no longer has; see `Bucket`.
    """
    return Bucket(
        inks=known_inks(list(parts), inks),
        batches=np.array([list(parts.values())], dtype=np.float64),
        build=build,
        target=target,
    )


def known_inks(names: Sequence[str], inks: Mapping[str, Ink]) -> tuple[Ink, ...]:
    """The inks of a recipe.

    Raises
    ------
    InputError : one that the shop no longer has.
    """
    known = {name.lower(): ink for name, ink in inks.items()}
    for name in names:
        if name.strip().lower() not in known:
            raise InputError(
                f"the recipe has '{name}' in it, which is gone from the shop: a bucket with an "
                "unknown ink cannot be reckoned with; enter that ink again, or mix anew."
            )
    return tuple(known[name.strip().lower()] for name in names)
