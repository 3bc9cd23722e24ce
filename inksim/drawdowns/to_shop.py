"""From a sheet of drawdowns to inks of a shop: films made ready, the fit, entries and chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inksim.colour import Viewing
from inksim.common import InputError, unknown
from inksim.drawdowns.characterisation import Characterisation, characterise
from inksim.drawdowns.chart import ChartPanel, fit_chart_svg
from inksim.drawdowns.drawdown import Drawdown, volume_fractions
from inksim.drawdowns.files import Drawdowns, FilmReading
from inksim.drawdowns.findings import is_read_once

LOOK_FIELDS = ("lab", "hex", "film_um")
"""What an ink known by its look has and one with K and S has not."""


def fit_sheet(
    sheet: Drawdowns,
    *,
    densities: Mapping[str, float] | None = None,
    solids: Mapping[str, float] | None = None,
    thickness_um: float | None = None,
    wet_film_um: float | None = None,
    smoothness_sd: float | None = None,
    viewing: Viewing = Viewing(),
) -> Characterisation:
    """Fit K and S of all inks of a sheet.

    Parameters
    ----------
    densities : g/cm³ of the wet inks, for recipes in grams.
    solids : dry volume that one volume of wet ink leaves, for recipes in grams and wet films.
    thickness_um : dry film of those that do not state theirs.
    wet_film_um : their wet film instead; the dry one follows from the solids of the mixture.
    smoothness_sd : see `characterise`.

    Raises
    ------
    InputError : both thicknesses; density or solids of an ink not known; what `characterise` says.
    """
    if thickness_um is not None and wet_film_um is not None:
        raise InputError("give the dry thickness or the wet film, not both.")
    drawdowns = [
        _drawdown(
            film,
            densities=densities or {},
            solids=solids or {},
            thickness_um=thickness_um,
            wet_film_um=wet_film_um,
        )
        for film in sheet.films
    ]
    geometry: Any = sheet.geometry or "45:0"
    return characterise(drawdowns, geometry=geometry, smoothness_sd=smoothness_sd, viewing=viewing)


def _drawdown(
    film: FilmReading,
    *,
    densities: Mapping[str, float],
    solids: Mapping[str, float],
    thickness_um: float | None,
    wet_film_um: float | None,
) -> Drawdown:
    where = f"{film.source}, sample '{film.name}'"
    parts = dict(film.recipe.parts)
    if film.recipe.by_mass:
        _known(parts, densities, what="density", why="the recipe is in grams", where=where)
        _known(parts, solids, what="solids", why="the recipe is in grams", where=where)
        parts = volume_fractions(parts, densities=densities, solids_by_volume=solids)
    thick = film.thickness_um
    if thick is None:
        thick = thickness_um
    if thick is None and wet_film_um is not None:
        _known(parts, solids, what="solids", why="the film is known wet", where=where)
        thick = wet_film_um * solids_of_mixture(parts, solids)
    return Drawdown(
        recipe=parts,
        backing=film.card,
        reading=film.reading,
        thickness_um=thick,
        name=f"{film.recipe.words} over {film.backing} ({film.name})",
        film=film.film,
    )


def _known(
    parts: Mapping[str, float], table: Mapping[str, float], *, what: str, why: str, where: str
) -> None:
    for ink in parts:
        if ink not in table:
            raise InputError(
                f"{where}: {why}, but the {what} of '{ink}' is not known; give --{what} "
                f"'{ink}=…', or state the film and recipe dry."
            )


def solids_of_mixture(parts: Mapping[str, float], solids: Mapping[str, float]) -> float:
    """Dry over wet volume of a mixture by dry volume fractions: 1 / Σ (cᵢ / sᵢ)."""
    return 1.0 / sum(part / solids[ink] for ink, part in parts.items())


def fitted_ink_fields(
    fitted: Characterisation, ink: str, *, sheet: Drawdowns, date: str
) -> dict[str, Any]:
    """Fields of an ink's entry that the fit gives: K, S, how they mix, and where they come from.

    Raises
    ------
    InputError : no such ink; K and S known only per film of unknown thickness.
    """
    if ink not in fitted.inks:
        raise unknown(ink, fitted.inks, what="ink", where=f"in {', '.join(sheet.sources)}")
    if fitted.unit != "µm":
        raise InputError(
            f"no thickness of any film of {', '.join(sheet.sources)} is known, so K and S are per "
            "film and cannot go into a shop; give --thickness (dry, µm) or --wet-film, or a column "
            "thickness_um."
        )
    own = [d for d in fitted.drawdowns if ink in d.drawdown.recipe]
    mean = sum(d.delta_e for d in own) / len(own)
    smooth = "smooth over wavelength" if fitted.smoothness_sd is not None else None
    how = ", ".join(
        filter(None, (sheet.geometry or "geometry not stated", sheet.m_condition, smooth))
    )
    found = fitted.inks[ink]
    once = is_read_once([d.drawdown for d in own], ink)
    told = "one reading, K and S not told apart" if once else f"{len(own)} drawdowns"
    return {
        "data": "measured",
        "source": f"{', '.join(sheet.sources)} ({how}): {told}, fit within "
        f"{mean:.2f} ΔE00 on average; {date}",
        "K": [float(v) for v in found.K],
        "S": [float(v) for v in found.S],
        "directness": float(fitted.directness),
    }


def merged_entry(
    old: Mapping[str, Any] | None, fields: Mapping[str, Any], stated: Mapping[str, Any]
) -> dict[str, Any]:
    """Put an ink's entry together: what was there, what is stated now, and what the fit gives."""
    kept = {k: v for k, v in (old or {}).items() if k not in LOOK_FIELDS}
    return {**kept, **{k: v for k, v in stated.items() if v is not None}, **fields}


def chart_of(fitted: Characterisation, inks: Sequence[str], *, ground: str = "#ffffff") -> str:
    """Draw measured against fitted of the drawdowns that hold any of the inks, as SVG."""
    panels = [
        ChartPanel(title=d.name, measured=d.measured, fitted=d.fitted)
        for d in fitted.drawdowns
        if any(ink in d.drawdown.recipe for ink in inks)
    ]
    title = f"Drawdowns of {', '.join(inks)}: measured and fitted"
    return fit_chart_svg(panels, title=title, ground=ground)
