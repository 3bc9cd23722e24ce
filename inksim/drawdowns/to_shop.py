"""Inks of a shop from a sheet of drawdowns: the fit, the entries and the chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from inksim.colour import Viewing
from inksim.common import InputError, counted, unknown
from inksim.drawdowns.characterisation import Characterisation, characterise
from inksim.drawdowns.chart import ChartPanel, fit_chart_svg, worst_first
from inksim.drawdowns.drawdown import Drawdown, volume_fractions
from inksim.drawdowns.files import Drawdowns, FilmReading
from inksim.drawdowns.findings import bands_in_words
from inksim.drawdowns.ink_error import entry_spectra, spectral_error
from inksim.drawdowns.sheet_check import Step, check_sheet
from inksim.shop import LOOKS, OPACITIES, Draft, Shop
from inksim.stock import SpectralError

CHARTS = "charts"
"""Folder of a shop for the charts of what was fitted."""

LOOK_FIELDS = (*LOOKS, *OPACITIES, "film_um", "contrast_film_um")
"""Fields of an ink entered by its color, dropped once K and S are known."""
WIDENED = 3.0
"""Factor on the fit's errors, at least, of inks saved although a film should be read again."""


def fit_sheet(
    sheet: Drawdowns,
    *,
    densities: Mapping[str, float] | None = None,
    solids: Mapping[str, float] | None = None,
    thickness_um: float | None = None,
    wet_film_um: float | None = None,
    smoothness_sd: float | None = None,
    viewing: Viewing = Viewing(),
    step: Step | None = None,
) -> Characterisation:
    """Fit K and S of all inks of a sheet, and check it: see `check_sheet`.

    Parameters
    ----------
    densities : g/cm³ of the wet inks, for recipes in grams.
    solids : dry volume that one volume of wet ink leaves, for recipes in grams and wet films.
    thickness_um : dry film, for those without a stated thickness.
    wet_film_um : their wet film instead; the dry one follows from the solids of the mixture.
    smoothness_sd : see `characterise`.
    step : told before each recipe is left out, for a large sheet takes seconds.

    Raises
    ------
    InputError : both thicknesses; density or solids of an ink not known; see also `characterise`.
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
    fitted = characterise(
        drawdowns, geometry=geometry, smoothness_sd=smoothness_sd, viewing=viewing
    )
    return replace(fitted, check=check_sheet(fitted, step=step, viewing=viewing))


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
    fitted: Characterisation, ink: str, *, sheet: Drawdowns, date: str, anyway: bool = False
) -> dict[str, Any]:
    """Fields of an ink's entry from the fit: K, S, their errors, directness and provenance.

    An ink in one reading only is 'recovered': its S is a guess, and its error says how wide.
    anyway : save an ink of a sheet with a film to read again, with its errors widened.

    Raises
    ------
    InputError : no such ink; K and S known only per film of unknown thickness; a film to read
        again.
    """
    if ink not in fitted.inks:
        raise unknown(ink, fitted.inks, what="ink", where=f"in {', '.join(sheet.sources)}")
    if fitted.unit != "µm":
        raise InputError(
            f"no thickness of any film of {', '.join(sheet.sources)} is known, so what is fitted "
            "is per film and cannot go into a shop; give --thickness (dry, µm) or --wet-film, or a "
            "column thickness_um."
        )
    check = fitted.check if fitted.check is not None else check_sheet(fitted)
    if not (check.is_good or anyway):
        raise InputError(
            f"not saved as measured: {check.verdict}. Or state that the inks are to be saved all "
            "the same ('--anyway', or the box on the page); their errors are then taken wider."
        )
    own = [d for d in fitted.drawdowns if ink in d.drawdown.recipe]
    mean = sum(d.delta_e for d in own) / len(own)
    smooth = "smooth over wavelength" if fitted.smoothness_sd is not None else None
    how = ", ".join(
        filter(None, (sheet.geometry or "geometry not stated", sheet.m_condition, smooth))
    )
    found = fitted.inks[ink]
    told = counted(len(own), "drawdown")
    if found.read_once:
        told = "one reading, absorption and scattering not told apart"
    said = [f"{told}, fit within {mean:.2f} ΔE00 on average"]
    if check.delta_e is not None:
        said.append(f"left out within {check.delta_e:.2f}")
    said += [
        f"{what} not known at {bands_in_words(~known)}"
        for what, known in (("absorption", found.K_known), ("scattering", found.S_known))
        if not known.all()
    ]
    said += [f"saved although: {check.verdict}"] if not check.is_good else []
    times = check.times[ink] if check.is_good else max(WIDENED, check.times[ink])
    K, S = entry_spectra(found)
    return {
        "data": "recovered" if found.read_once else "measured",
        "source": f"{', '.join(sheet.sources)} ({how}): {', '.join(said)}; {date}",
        "K": [float(v) for v in K],
        "S": [float(v) for v in S],
        "directness": float(fitted.directness),
        "error": _error_fields(spectral_error(found, times=times)),
    }


def _error_fields(error: SpectralError) -> dict[str, Any]:
    """An entry's `error`, to three figures."""
    shapes = [[[float(f"{v:.3g}") for v in row] for row in pair] for pair in error.shapes]
    return {"K": error.K, "S": error.S, "shapes": shapes}


def merged_entry(
    old: Mapping[str, Any] | None, fields: Mapping[str, Any], stated: Mapping[str, Any]
) -> dict[str, Any]:
    """Merge an ink's entry: the old fields, overridden by the stated, then by the fitted ones."""
    kept = {k: v for k, v in (old or {}).items() if k not in LOOK_FIELDS}
    return {**kept, **{k: v for k, v in stated.items() if v is not None}, **fields}


def inks_drafted(
    draft: Draft,
    fitted: Characterisation,
    called: Mapping[str, str],
    *,
    sheet: Drawdowns,
    shop: Shop,
    stated: Mapping[str, Mapping[str, Any]],
    date: str,
    anyway: bool = False,
) -> Draft:
    """A draft of inks.toml with the inks of a sheet: known ones with their new K and S, new whole.

    anyway: see `fitted_ink_fields`.

    called: an ink of the sheet by its name in the shop. stated: by field of the entry what is said
    of each ink of the sheet; it goes over what the shop has.
    """
    known = {name.lower() for name in shop.inks}
    for ink, name in called.items():
        fields = fitted_ink_fields(fitted, ink, sheet=sheet, date=date, anyway=anyway)
        said = {field: values[ink] for field, values in stated.items() if ink in values}
        if name.lower() in known:
            entry = merged_entry(draft.entry("ink", name), fields, said)
            draft = draft.replace("ink", name, entry)
        else:
            new = {"name": name, "kind": "color", **said}
            draft = draft.add("ink", merged_entry(None, fields, new))
    return draft


def panels_of(fitted: Characterisation, inks: Sequence[str]) -> list[ChartPanel]:
    """The drawdowns that contain any of the inks, the worst fitted first."""
    return worst_first(
        [
            ChartPanel(title=d.name, measured=d.measured, fitted=d.fitted)
            for d in fitted.drawdowns
            if any(ink in d.drawdown.recipe for ink in inks)
        ]
    )


def chart_of(fitted: Characterisation, inks: Sequence[str], *, ground: str = "#ffffff") -> str:
    """SVG chart of measured and fitted spectra of the drawdowns that contain any of the inks."""
    title = f"Drawdowns of {', '.join(inks)}: measured and fitted"
    return fit_chart_svg(panels_of(fitted, inks), title=title, ground=ground)
