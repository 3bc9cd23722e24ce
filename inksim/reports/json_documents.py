"""Results as JSON: attributes, keys and digits, by class.

An entry of `KEYS` has one word for each key, ``key=path:digits``. The path of attributes is the key
itself unless given; with a comma it makes a list of two, null if either is unknown. A dotted key
goes into the mapping before the dot, unless that is null; ``*=path`` merges a mapping. Digits are
decimals, or significant digits as '6g'.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any

import numpy as np

from inksim import __version__
from inksim.common import tell_json

KEYS = {
    # printing
    "Lamp": "name wavelengths_nm power",
    "Viewing": "light observer",
    "Layer": "ink screen passes flash",
    "Prediction": "route=build.route garment=build.garment ink=build.ink "
    "screen=build.top.screen passes=build.top.passes base=build.base "
    "base.film_um=base_film_um:3 base.wet_um=base_wet_um:3 lab:3 hex in_srgb_gamut "
    "delta_e.ciede2000=delta_e_2000:3 delta_e.cmc_2_1=delta_e_cmc:3 contrast_ratio:4 "
    "show_through:4 film_um:3 wet_um:3 reflectance:5 data interval_90=interval",
    "Interval": "lab_low:3 lab_high:3 ciede2000=de_low,de_high:3 chance_within_tolerance=within "
    "tolerance",
    "SeenInLight": "light=viewing.light observer=viewing.observer lab:3 hex in_srgb_gamut "
    "delta_e.ciede2000=delta_e_2000:4 delta_e.cmc_2_1=delta_e_cmc:4 metamerism_index=metamerism:4 "
    "color_inconstancy=inconstancy:4",
    "Hiding": "ink films covers_um:4 times_usual:4 data=ink.data",
    "Film": "screen passes film_um:3 contrast_ratio:4",
    # decision
    "Verdict": "word chance:4 median_de00:3 low:3 high:3 would_help",
    "Advice": "route verdict nominal ranking reasons tolerance target.name=target.name "
    "target.lab_d50=target.lab_d50:3 routes",
    "RouteResult": "route usable why_not verdict nominal margin:3 best",
    "Answer": "target garment ink route build=words ciede2000=delta_e_2000 median_de00 chance "
    "verdict recipe",
    # mixing
    "RecipePart": "ink share:4 grams:3",
    "Recipe": "parts cost_per_kg:2",
    "Instead": "target=answer.target garment=answer.garment reached nearest=found.nearest "
    "recipe=best",
    "FoundRecipe": "parts route build=answer.words lab:3 hex=answer.hex ciede2000=delta_e_2000:3 "
    "median_de00:3 chance:4 verdict metamerism:3 cost_per_kg:2 rounding_de00:3 "
    "can_stand_for=swaps share_sd:4 screen=build.colour.screen passes=build.colour.passes "
    "base=build.base data=answer.data",
    # job
    "JobAnswer": "job invented=job.invented quantity=job.quantity prefer=job.prefer "
    "conditions=viewing nominal notes=job.notes cost=bill answers garments",
    "GarmentAnswer": "garment quantity=job.quantity nominal exact barrier chosen ways=alternatives",
    "ColourReasons": "color=name outcome reasons help recipe",
    "Alternative": "verdict weakest=weakest.colour.name nominal data film_g_m2:3 stations "
    "screens=way.screens flashes=way.flashes strokes=way.strokes runs=way.runs work=way.work:3 "
    "marks print_order=screens cost=bill inks dryer colors=plans",
    "PressScreen": "number run ink screen strokes goes flash base over shows area_cm2:2 print_g:3 "
    "run_g:1 choke_mm",
    "Bill": "currency total:2 per_print:4 items=amounts:2 missing",
    "InkUse": "ink=name g_per_print=print_g:3 g_run=run_g:1",
    "InkOrder": "inks=lines screens bucket_g not_printed",
    "OrderLine": "ink ready_g:1 ink_g:1 additive additive_g:1 buckets over_g:1",
    "DryerLoad": "ink_water_g:3 cloth_water_g:3 kj_per_print=total_kj:2",
    "Plan": "name=colour.name area_cm2=colour.area_cm2:2 tolerance=colour.tolerance nominal "
    "margin:3 merged verdict *=prediction",
    # calibration
    "ShopCalibration": "readings=calibration.readings median=calibration.medians:3 "
    "parameters=calibration.parameters inks=calibration.press.strengths "
    "model_sd=calibration.press.model_sd ink_sd_factor=calibration.press.ink_sd_factor "
    "together=calibration.together wrong=calibration.suspects "
    "contradictions=calibration.contradictions cloths_not_kept=calibration.cloths "
    "lots_not_kept=calibration.lots from_file=fresh from_history=old "
    "not_used=unused version=version.number added_to_history=added "
    "scores_only=scoring",
    "ReadingResult": "name before:3 after:3 by_the_others=alone:3 left_out read_by sd_de00:3 "
    "shared_de00:3 picture",
    "ParameterResult": "name before after interval_90=low,high told",
    "Parameter": "value sd",
    "Strength": "name=ink K S shapes",
    "Suspect": "name ciede2000=delta_e:3 expected_lab=expected:3 swapped_with",
    "Contradiction": "pair=names ciede2000=delta_e:3",
    "ClothResult": "garment=name of factor:4 sd_of_ln=sd:4 sd_of_ln_before=sd_before:4",
    "LotResult": "of lot strength:4 interval_90=low,high told moves_ciede2000=moves_de00:3 "
    "readings newest",
    "HistoryRow": "number fault *=row",
    "PrintRow": "name garment ink route screen passes base coverage lines_per_inch weight read_by "
    "sd_de00 shared_de00 picture garment_lot ink_lot base_lot reflectance lab light observer "
    "geometry date note scores_only",
    "Version": "number day readings source current",
    # ledger
    "ShopCheck": "faults notes",
    "Issued": "number seal=mark job why",
    "TrackRecord": "shop=name invented since proofs colors=colours prints=scored said chances=bins "
    "inside distances altered_proofs=altered unmatched outcomes=listed",
    "ChanceBin": "chance=least,most prints proofs stated:4 landed share:4 share_95=low,high",
    "InsideShare": "by name prints inside share:4 share_95=low,high",
    "Distances": "by name prints promised:3 found:3 farther:3 quartiles=low,high",
    "Outcome": "proof promised_on garment ink route data tolerance chance:4 median_de00=median:3 "
    "interval_90=low,high read_on read_by garment_lot ink_lot found_de00=found:3 "
    "against_predicted_de00=against:3 dL:3 da:3 db:3 "
    "read_off_de00=off_de00:3",
    # drawdowns
    "Characterisation": "unit mean_delta_e:4 noise:6 drawdowns check",
    "SheetCheck": "verdict good=is_good left_out_delta_e=delta_e:4 recipes kept causes again",
    "RecipeCheck": "name delta_e:4",
    "DrawdownFit": "name delta_e:4 contrast_error:5 thickness:4 than_stated=thickness_factor:4",
    "InkFit": "K:6g S:6g K_error:6g S_error:6g K_known S_known strength:4",
    # photo
    "PhotoRead": "picture=picture chart=chart corners=placed.grid.corners:1 lies=placed.lies "
    "left_out_de00=camera.left_out_de00:3 findings readings",
    "Picture": "name key width height curve=said",
    "Chart": "name rows columns patches=names",
    "PhotoReading": "name lab:3 lab_sd:3 shared_sd:3 sd_de00:3 shared_de00:3 notes",
    # preview and separation
    "PreviewResult": "artwork garment answers colors=colours too_fine too_fine_picture routes "
    "sheet notes",
    "FinePart": "what colors=colours mesh=screen share:5 narrowest_mm:3 least_mm:3 words",
    "FlatPrint": "hex=flat.hex area_share=flat.area_share:4 ink chosen_by merged",
    "RouteFile": "route file=path verdict predictions tonal=reach beyond_screen=beyond:5 views",
    "TonalReach": "inks base lines_per_inch delta_e_2000.mean=mean:3 delta_e_2000.p95=p95:3 "
    "out_of_reach:4 tolerance warnings data",
    "SeparationResult": "artwork garment answers route tonal=reach plates=plates.plates "
    "choke_mm=plates.choke_mm trap_mm=plates.trap_mm dpi=plates.dpi files picture "
    "out_of_reach_map=reach_map sheet chosen warnings=plates.warnings notes",
    "Plate": "ink base=is_base screen=layer.screen passes=layer.passes coverage:5 area_cm2:2 "
    "ink_g:3 least_detail_mm:3 too_fine_share:5 least_tint:4 light_share:4 goes run",
    "PlateFile": "ink=plate.ink path screened angle_deg",
}


COLOUR_OF_PALETTE = (
    "target_hex=target.hex_d50 nominal nominal_de00=delta_e_2000:3 interval_90=interval lab:3 hex "
    "in_srgb_gamut data"
)
"""What a palette says of an `Answer` besides."""


def document(value: Any, digits: str = "") -> Any:
    """JSON-ready values of a result, or of a mapping, sequence or array of them.

    NaN and infinity become null. An object of a class that `KEYS` lacks becomes its `name`.
    """
    if isinstance(value, np.ndarray | np.generic):
        value = value.tolist()
    elif isinstance(value, PurePath):
        value = str(value)
    if isinstance(value, float):
        return _rounded(value, digits) if math.isfinite(value) else None
    if value is None or isinstance(value, str | int):
        return value
    if keys := KEYS.get(type(value).__name__):
        return keyed(value, keys)
    if isinstance(value, Mapping):
        return {key: document(each, digits) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [document(each, digits) for each in value]
    return value.name


def _rounded(value: float, digits: str) -> float:
    if digits.endswith("g"):
        return float(f"{value:.{digits}}")
    return round(value, int(digits)) if digits else value


def keyed(value: Any, keys: str) -> dict[str, Any]:
    """The attributes of a value that some words name, as `KEYS` does."""
    made: dict[str, Any] = {}
    for word in keys.split():
        name, digits = word.partition(":")[::2]
        key, path = name.partition("=")[::2]
        found = [document(_at(value, each), digits) for each in (path or key).split(",")]
        one: Any = found[0] if len(found) == 1 else None if None in found else found
        outer, inner = key.partition(".")[::2]
        if key == "*":
            made.update(one)
        elif not inner:
            made[key] = one
        elif made.setdefault(outer, {}) is not None:
            made[outer][inner] = one
    return made


def _at(value: Any, path: str) -> Any:
    """Follow a path of attributes; None once one of them is None."""
    for name in path.split("."):
        value = None if value is None else getattr(value, name)
    return value


def emit_json(value: Any) -> None:
    """Print a result as one JSON document, with the version that made it."""
    tell_json({**document(value), "inksim": __version__})
