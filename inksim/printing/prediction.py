"""Predict prints: color, difference from the target, opacity and show-through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import (
    Viewing,
    contrast_ratio,
    delta_e_2000,
    delta_e_cmc,
    hex_code,
    lab as lab_of,
    xyz,
)
from inksim.common import NOT_A_PROOF, STRIKE_OFF, FloatArray
from inksim.optics import internal_from_external, ks_from_reflectance
from inksim.printing.build import (
    Build,
    BuildTable,
    lower,
    tabulate,
    wet_deposit_um,
)
from inksim.printing.swatches import mean_haze, mean_reflectance
from inksim.printing.uncertainty import Interval, interval_of, spread
from inksim.stock import (
    CARD_BLACK,
    CARD_WHITE,
    Press,
    PressValues,
    Provenance,
    Target,
    least_sure,
)

ORIGIN_WORDS: dict[Provenance, str] = {
    "measured": "Ink and cloth are measured",
    "photo": "Colors were read from photos, whose noise is in the interval",
    "recovered": "A color was recovered from Lab or hex, not read as a spectrum",
    "invented": "Ink or cloth data are invented: good for ranking only",
}
"""What is known of a prediction by its least certain input; how far off it may be, its interval
says."""


def honest_words(data: Provenance, *, calibrated: bool) -> str:
    """Sentence on where a prediction's certainty comes from; calibrated: `Press.calibrated`."""
    press = (
        "the press is calibrated to its own prints" if calibrated else "mesh and press are generic"
    )
    return f"{ORIGIN_WORDS[data]}; {press}."


def file_words(what: str, *, data: Provenance, calibrated: bool) -> str:
    """What a file of a prediction says of itself, wherever it travels: see `honest_words`."""
    return f"{what}. {NOT_A_PROOF} {honest_words(data, calibrated=calibrated)} {STRIKE_OFF}"


@dataclass(frozen=True, kw_only=True, eq=False)
class Prediction:
    """One predicted print.

    reflectance (31,) external; lab (3,) under `viewing`; hex with less chroma
    where sRGB does not hold it (`colour.within_srgb`).
    delta_e_2000, delta_e_cmc: against the target, None without one.
    contrast_ratio: Y over black / Y over white of all films on a card, 0..1.
    show_through: share of the garment's lightness that still shows, against the opposite card.
    film_um: dry film of the color; base_film_um: of the base, 0 without one; wet_um of both.
    """

    build: Build
    viewing: Viewing
    reflectance: FloatArray
    lab: FloatArray
    hex: str
    in_srgb_gamut: bool
    delta_e_2000: float | None
    delta_e_cmc: float | None
    contrast_ratio: float
    show_through: float
    film_um: float
    base_film_um: float
    wet_um: float
    base_wet_um: float
    data: Provenance
    interval: Interval | None = None

    @property
    def words(self) -> str:
        """The build in words: see `build_words`."""
        return build_words(self.build)

    @property
    def assumed(self) -> str:
        """What of its inks nobody stated, in words: 'Rose: opacity assumed by kind'; '' if none."""
        return ". ".join(
            f"{layer.ink.name}: {'; '.join(layer.ink.assumed)}"
            for layer in self.build.layers
            if layer.ink.assumed
        )


def build_words(build: Build) -> str:
    """Format a build: 'Chalk White Base through 110 ×1, flash; Lantern Orange through 230 ×1'."""
    said = []
    for at, layer in enumerate(build.layers):
        flash = ", flash" if layer.flash and at < len(build.layers) - 1 else ""
        said.append(
            f"{layer.ink.name} through {layer.screen.threads_per_inch:.0f} ×{layer.passes}{flash}"
        )
    return "; ".join(said) or "bare cloth"


def on_card(table: BuildTable, press: PressValues, *, card: float) -> FloatArray:
    """External reflectance (B, 31) of the same films on a smooth card that absorbs no ink."""
    ks = ks_from_reflectance(internal_from_external(np.full(table.cloth_ks.shape, card)))
    bare = replace(table, cloth_ks=ks, discharged_ks=ks, discharges=np.zeros_like(table.discharges))
    smooth = press._replace(soak=0.0, contact=0.0, surface_haze=0.0)
    return mean_reflectance(lower(bare, smooth))


def show_through(
    print_lab: FloatArray, reference_lab: FloatArray, *, bare: FloatArray, card: FloatArray
) -> FloatArray:
    """Share (B,) of the garment's lightness that still shows through a print.

    (L* of the print on the garment − L* of the print on a card) over (L* of the bare garment − L*
    of the bare card), with the card, black or white, that differs more from the garment. The face
    of both prints is as rough.
    """
    moved = print_lab[..., 0] - reference_lab[..., 0]
    return np.asarray(np.clip(moved / (bare[..., 0] - card[..., 0]), 0.0, 1.0))


def predict(
    builds: Sequence[Build],
    *,
    press: Press,
    viewing: Viewing = Viewing(),
    target: Target | None = None,
    tolerance: float = 3.0,
) -> list[Prediction]:
    """Predict prints: the color of each build, how far it is from a target, and how sure that is.

    Parameters
    ----------
    builds : any routes, garments and inks; see `usual_build`.
    press : with how sure its parameters are known; `Shop.press` for a shop's own.
    viewing : the light and the observer that colors and differences hold for.
    target : the color to compare with (the standard of ΔE).
    tolerance : largest ΔE00 that counts as landing, for the interval's `within`.

    Returns
    -------
    One Prediction per build, in order, each with its 90 % interval.

    Raises
    ------
    InputError : no build.
    """
    found = predict_nominal(builds, press=press.values, viewing=viewing, target=target)
    sure = spread(builds, press=press, viewing=viewing, target=target, tolerance=tolerance)
    aimed = target is not None
    return [
        replace(
            each,
            interval=interval_of(sure, at, viewing=viewing, aimed=aimed, tolerance=tolerance),
        )
        for at, each in enumerate(found)
    ]


def predict_nominal(
    builds: Sequence[Build],
    *,
    press: PressValues,
    viewing: Viewing,
    target: Target | None = None,
) -> list[Prediction]:
    """Predict builds without intervals, in one pass over arrays: two fifths of the time.

    For whoever has the interval from elsewhere, or needs none; press: its values. The rest as in
    `predict`.
    """
    table = tabulate(builds)
    slabs = lower(table, press)
    reflectance, face = mean_reflectance(slabs), mean_haze(slabs)[:, None]
    lab = lab_of(reflectance, viewing)
    over_black, over_white = (on_card(table, press, card=c) for c in (CARD_BLACK, CARD_WHITE))
    opacity = contrast_ratio(over_black, over_white, viewing)
    bare = lab_of(np.stack([b.garment.reflectance for b in builds]), viewing)
    card_black, card_white = (
        lab_of(np.full(reflectance.shape, card), viewing) for card in (CARD_BLACK, CARD_WHITE)
    )
    dark = bare[:, 0] < 50.0
    shown = np.where(
        dark,
        show_through(lab, lab_of(over_white + face, viewing), bare=bare, card=card_white),
        show_through(lab, lab_of(over_black + face, viewing), bare=bare, card=card_black),
    )
    wet = wet_deposit_um(table, press)
    dry = wet * table.solids
    standard = None if target is None else target.lab(viewing)
    de = None if standard is None else delta_e_2000(standard, lab)
    cmc = None if standard is None else delta_e_cmc(standard, lab)
    predictions = []
    for at, build in enumerate(builds):
        code, inside = hex_code(xyz(reflectance[at], viewing), viewing)
        top = len(build.layers) - 1
        predictions.append(
            Prediction(
                build=build,
                viewing=viewing,
                reflectance=reflectance[at],
                lab=lab[at],
                hex=code,
                in_srgb_gamut=inside,
                delta_e_2000=None if de is None else float(de[at]),
                delta_e_cmc=None if cmc is None else float(cmc[at]),
                contrast_ratio=float(opacity[at]),
                show_through=float(shown[at]),
                film_um=float(dry[at, top]),
                base_film_um=float(dry[at, :top].sum()),
                wet_um=float(wet[at, top]),
                base_wet_um=float(wet[at, :top].sum()),
                data=least_sure(build.garment.data, *(layer.ink.data for layer in build.layers)),
            )
        )
    return predictions
