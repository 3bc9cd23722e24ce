"""Drawdowns from files of readings: recipe, card and thickness of each film.

A row is a drawdown or a bare card. Beside the spectrum it has

- ``ink`` or ``recipe``: an ink's name, or a recipe (recipe.py); or a column for each ink named
  ``ink: NAME`` (parts of dry volume) or ``mass: NAME`` (grams of wet ink). A row without any ink,
  or with the word 'card', is a bare card.
- ``backing``: black, white, or any word that a bare card's row has too.
- ``thickness_um``: dry film, if it is known.
- ``film``, optional: rows with the same word are one film, read over different parts of the card;
  without it, rows of one recipe and thickness are.

A CxF spot-ink characterization (ISO 17972-4) is read as it is: its 100 % patches are drawdowns, its
0 % patches the bare cards; tints between are not even films, so they are left out with a note.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

from inksim.common import FloatArray, InputError, counted
from inksim.drawdowns.drawdown import reads_the_wrong_way
from inksim.drawdowns.recipe import FilmRecipe, is_card, recipe_from, recipe_of
from inksim.printing import flat_card
from inksim.readings import REPEATABLE, Reading, average, read_readings

RECIPE_LABELS = ("ink", "recipe", "spot ink")
LEAST_CONTRAST = 0.05
"""Least difference in mean reflectance between a white and a black card."""
PREFIXES = {"ink": False, "mass": True}


@dataclass(frozen=True, kw_only=True, eq=False)
class FilmReading:
    """One drawdown as read from a file: recipe, bare card, and external reflectance (31,)."""

    name: str
    source: str
    recipe: FilmRecipe
    backing: str
    card: FloatArray
    reading: FloatArray
    thickness_um: float | None
    film: str | None


@dataclass(frozen=True, kw_only=True)
class Drawdowns:
    """All drawdowns of some files. geometry: '45:0', 'd:8-sce', 'd:8-sci', None if not stated.

    cards: bare-card readings by backing, for those that were read. notes: what was assumed.
    """

    films: tuple[FilmReading, ...]
    geometry: str | None
    m_condition: str | None
    cards: Mapping[str, FloatArray]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def inks(self) -> tuple[str, ...]:
        """Names of the inks, in order of appearance."""
        return tuple(dict.fromkeys(name for film in self.films for name in film.recipe.parts))

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the files."""
        return tuple(dict.fromkeys(film.source.split(", line")[0] for film in self.films))


def read_drawdowns(files: Sequence[Path], *, ink: str | None = None, **stated: Any) -> Drawdowns:
    """Read drawdowns from files of readings.

    ink: the ink's name, for files of one ink that do not state it; ``stated``: see
    `read_readings`.

    Raises
    ------
    InputError : no drawdown; a row without spectrum or backing; a backing without a bare card that
        is neither black nor white; readings of different geometries.
    """
    readings = [reading for file in files for reading in read_readings(file, **stated)]
    notes = list(dict.fromkeys(note for reading in readings for note in reading.notes))
    readings, more = _usable(readings)
    notes += more
    says_inks = any(_ink_words(r) is not None or _ink_columns(r) for r in readings)
    bare: dict[str, list[Reading]] = {}
    inked: list[tuple[Reading, FilmRecipe]] = []
    for reading in readings:
        recipe = _recipe(reading, ink=ink, says_inks=says_inks)
        if recipe is None:
            bare.setdefault(_backing(reading), []).append(reading)
        else:
            inked.append((reading, recipe))
    if not inked:
        raise InputError(
            f"{', '.join(str(file) for file in files)}: there is no drawdown; name each row's ink "
            "in a column 'ink' or 'recipe', or name the one ink with --name."
        )
    inked, more = _one_spelling(inked)
    notes += more
    geometry = _alike([r for r, _ in inked] + [r for rs in bare.values() for r in rs], "geometry")
    cards, warnings = _cards(bare)
    _check_cards(cards, bare)
    films = []
    for reading, recipe in inked:
        backing = _backing(reading)
        card = cards.get(backing)
        if card is None:
            card = _default_card(backing, where=f"{reading.source}, sample '{reading.name}'")
            notes.append(f"no reading of the bare {backing} card: {card[0]:g} assumed in all bands")
        films.append(
            FilmReading(
                name=reading.name,
                source=reading.source,
                recipe=recipe,
                backing=backing,
                card=card,
                reading=_spectrum(reading),
                thickness_um=reading.thickness_um,
                film=_film_word(reading),
            )
        )
    _check_order(films)
    return Drawdowns(
        films=tuple(films),
        geometry=geometry,
        m_condition=_alike([r for r, _ in inked], "m_condition"),
        cards=cards,
        notes=tuple(dict.fromkeys(notes)),
        warnings=tuple(warnings),
    )


def _usable(readings: Sequence[Reading]) -> tuple[list[Reading], list[str]]:
    """Readings that may be films or cards, with notes on the patches left out."""
    notes = []
    halftones = [r for r in readings if r.tone_percent is not None and 0 < r.tone_percent < 100]
    if halftones:
        notes.append(
            f"{counted(len(halftones), 'tint')} between 0 and 100 % left out: a halftone is no "
            "even film"
        )
    kept = [r for r in readings if not (r.tone_percent is not None and 0 < r.tone_percent < 100)]
    if any("spot ink" in r.labels for r in kept):
        others = [r for r in kept if "spot ink" not in r.labels]
        if others:
            listed = ", ".join(r.name for r in others[:5])
            notes.append(f"left out, for they belong to no spot ink: {listed}")
        kept = [r for r in kept if "spot ink" in r.labels]
    return kept, notes


def _recipe(reading: Reading, *, ink: str | None, says_inks: bool) -> FilmRecipe | None:
    """The recipe of a row, or None for a bare card.

    says_inks: some row of the files names its ink, so one that does not is a card.
    """
    where = f"{reading.source}, sample '{reading.name}'"
    if reading.tone_percent == 0:
        return None
    words = _ink_words(reading)
    if words is not None:
        return None if is_card(words) else recipe_from(words, where=where)
    columns = _ink_columns(reading)
    if columns:
        amounts = {name: amount for (name, _), amount in columns.items()}
        kinds = {by_mass for _, by_mass in columns}
        if any(amounts.values()):
            return recipe_of(amounts, where=where, by_mass=kinds == {True}, mixed=len(kinds) > 1)
    called_card = is_card(reading.name) or reading.name.lower().startswith(("card", "bare"))
    if ink is None or says_inks or called_card:
        return None
    return recipe_of({ink: 1.0}, where=where)


def _one_spelling(
    inked: Sequence[tuple[Reading, FilmRecipe]],
) -> tuple[list[tuple[Reading, FilmRecipe]], list[str]]:
    """Merge inks whose names differ only in capitals under the first spelling, with notes."""
    first: dict[str, str] = {}
    notes = []
    found = []
    for reading, recipe in inked:
        parts: dict[str, float] = {}
        for name, part in recipe.parts.items():
            called = first.setdefault(name.lower(), name)
            parts[called] = parts.get(called, 0.0) + part
            if called != name:
                notes.append(f"'{name}' is taken for '{called}': capitals do not tell inks apart")
        found.append((reading, replace(recipe, parts=parts)))
    return found, notes


def _check_cards(cards: Mapping[str, FloatArray], bare: Mapping[str, Sequence[Reading]]) -> None:
    """Refuse a black card that reads no darker than the white one."""
    if not {"black", "white"} <= cards.keys():
        return
    black, white = (float(cards[word].mean()) for word in ("black", "white"))
    if black > white - LEAST_CONTRAST:
        of = bare["black"][0]
        raise InputError(
            f"{of.source}, sample '{of.name}': the bare black card reads {black:.2f} on average "
            f"and the white one {white:.2f}; they are swapped, or one was read twice: correct the "
            "backings or measure again."
        )


def _check_order(films: Sequence[FilmReading]) -> None:
    """Refuse a film that reads darker over the lighter card: cards or readings are swapped."""
    by_film: dict[object, list[FilmReading]] = {}
    for each in films:
        own = (each.film, frozenset(each.recipe.parts.items()), each.thickness_um)
        by_film.setdefault(own, []).append(each)
    for one, two in (pair for own in by_film.values() for pair in combinations(own, 2)):
        if reads_the_wrong_way(one.card, one.reading, two.card, two.reading):
            dark, light = sorted((one, two), key=lambda film: float(film.card.mean()))
            raise InputError(
                f"{light.source}, sample '{light.name}': the film reads darker over the "
                f"{light.backing} card than over the {dark.backing} one ({dark.source}), as no "
                "film can; the backings or the readings are swapped: correct them."
            )


def _ink_words(reading: Reading) -> str | None:
    """Text of the row's column 'ink' or 'recipe'."""
    labels = {key.strip().lower(): text for key, text in reading.labels.items()}
    return next((labels[label] for label in RECIPE_LABELS if label in labels), None)


def _film_word(reading: Reading) -> str | None:
    """Text of the row's column 'film'."""
    words = {k.strip().lower(): v for k, v in reading.labels.items()}
    numbers = {k.strip().lower(): f"{v:g}" for k, v in reading.device.items()}
    return words.get("film") or numbers.get("film")


def _ink_columns(reading: Reading) -> dict[tuple[str, bool], float]:
    """Amounts of the row's columns 'ink: NAME' and 'mass: NAME', by name and whether it is mass."""
    found: dict[tuple[str, bool], float] = {}
    cells: list[tuple[str, float | str]] = [*reading.device.items(), *reading.labels.items()]
    for column, amount in cells:
        prefix, mark, name = column.partition(":")
        if not mark or prefix.strip().lower() not in PREFIXES:
            continue
        if isinstance(amount, str):  # or the film would be taken for one without this ink
            raise InputError(
                f"{reading.source}, sample '{reading.name}': '{amount[:40]}' in column '{column}' "
                "is not a number; give the ink's part, or leave the cell empty for none."
            )
        found[name.strip(), PREFIXES[prefix.strip().lower()]] = amount
    return found


def _backing(reading: Reading) -> str:
    if reading.backing is None:
        raise InputError(
            f"{reading.source}, sample '{reading.name}': the backing is not stated; give it in a "
            "column 'backing' (black, white, or as the bare card is called)."
        )
    return reading.backing.removesuffix(" backing").removesuffix(" card").strip()


def _spectrum(reading: Reading) -> FloatArray:
    if reading.reflectance is None:
        raise InputError(
            f"{reading.source}, sample '{reading.name}': a drawdown needs a spectrum, not a color; "
            "enter a film read by photo with 'inksim add ink --from … --over-black …', "
            "or under 'From a photo' on the shop's page."
        )
    return reading.reflectance


def _cards(bare: Mapping[str, Sequence[Reading]]) -> tuple[dict[str, FloatArray], list[str]]:
    """Bare cards by backing, the mean of repeats; a warning where repeats differ."""
    cards, warnings = {}, []
    for backing, readings in bare.items():
        if len(readings) == 1:
            cards[backing] = _spectrum(readings[0])
            continue
        mean, repeatability = average([_plain(reading) for reading in readings])
        cards[backing] = _spectrum(mean)
        if repeatability > REPEATABLE:
            warnings.append(
                f"the {len(readings)} readings of the bare {backing} card lie {repeatability:.2f} "
                "ΔE00 from their mean; measure it again"
            )
    return cards, warnings


def _plain(reading: Reading) -> Reading:
    """A card's reading without fields that mean nothing for a card, so that repeats match."""
    return replace(reading, thickness_um=None, tone_percent=None)


def _default_card(backing: str, *, where: str) -> FloatArray:
    card = flat_card()
    parts = {"black": card.black, "white": card.white}
    if backing not in parts:
        raise InputError(
            f"{where}: there is no reading of the bare card '{backing}'; add a row for it without "
            "an ink, or call the backing black or white."
        )
    return parts[backing]


def _alike(readings: Sequence[Reading], what: str) -> str | None:
    """The condition common to all readings that state it; refuses two different ones."""
    stated: dict[str, Reading] = {}
    for reading in readings:
        value = getattr(reading, what)
        if value is not None:
            stated.setdefault(value, reading)
    if len(stated) > 1:
        (one, first), (two, second), *_ = stated.items()
        raise InputError(
            f"{first.source} was read {one} and {second.source} {two}; characterize inks from "
            "readings of one kind."
        )
    return next(iter(stated), None)
