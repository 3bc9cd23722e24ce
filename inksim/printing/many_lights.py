"""One print under many lights: color, difference from the target, metamerism, inconstancy.

A print that matches under one light and not under another is metameric to its target (CIE 15);
one whose own color shifts is inconstant. Both need spectra: a target that is only a Lab or a hex
code has none, so its color is carried over and its metamerism stays unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from inksim.colour import (
    OBSERVERS,
    Lamp,
    Viewing,
    colour_inconstancy,
    delta_e_2000,
    delta_e_cmc,
    hex_code,
    lab,
    metamerism_index,
    xyz,
)
from inksim.common import FloatArray
from inksim.stock import Target

USUAL_LIGHTS = ("D50", "D65", "A", "F2", "F11", "LED-B3")


@dataclass(frozen=True, kw_only=True, eq=False)
class SeenInLight:
    """A print under one light.

    lab (3,), hex: adapted to a screen's white. delta_e_2000, delta_e_cmc: against the target under
    the same light, None without one. metamerism: CIE 15 special index for the change from the
    reference light, None without a target's spectrum. inconstancy: how far the print's own color
    shifts from the reference light, after adaptation.
    """

    viewing: Viewing
    lab: FloatArray
    hex: str
    in_srgb_gamut: bool
    delta_e_2000: float | None
    delta_e_cmc: float | None
    metamerism: float | None
    inconstancy: float


def under_lights(
    reflectance: FloatArray,
    *,
    target: Target | None = None,
    reference_light: str | Lamp = "D50",
    lights: Sequence[str | Lamp] = USUAL_LIGHTS,
    observers: Sequence[int] = OBSERVERS,
) -> list[SeenInLight]:
    """Evaluate a print (31,) under every light for every observer, observers first.

    A change of light keeps the observer: the reference of 'A/10°' is the reference light at 10°.
    """
    seen = []
    for observer, light in product(observers, lights):
        viewing, reference = Viewing(light, observer), Viewing(reference_light, observer)
        trial = lab(reflectance, viewing)
        code, inside = hex_code(xyz(reflectance, viewing), viewing)
        standard = None if target is None else target.lab(viewing)
        spectrum = None if target is None else target.reflectance
        seen.append(
            SeenInLight(
                viewing=viewing,
                lab=trial,
                hex=code,
                in_srgb_gamut=inside,
                delta_e_2000=None if standard is None else float(delta_e_2000(standard, trial)),
                delta_e_cmc=None if standard is None else float(delta_e_cmc(standard, trial)),
                metamerism=None
                if spectrum is None
                else float(
                    metamerism_index(spectrum, reflectance, reference=reference, test=viewing)
                ),
                inconstancy=float(
                    colour_inconstancy(reflectance, reference=reference, test=viewing)
                ),
            )
        )
    return seen
