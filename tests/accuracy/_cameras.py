"""Simulated pictures of a chart, cloths and prints: cameras, lights, files. Not a chapter.

Two measured sensitivities are colour-science's: the first a sensor under three filters, as nearly
all have ('ordinary'), the second one of stacked layers, whose channels are broad and overlap
('odd'). Others are these shifted and widened, a channel at a time, or sums of random bells.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import colour
import numpy as np

from inksim.colour import D50, Viewing, decode_srgb, encode_srgb, lab as lab_of, xyz
from inksim.photo.charts import Chart, chart_of
from inksim.photo.seen import Seen

Rng = np.random.Generator
FINE_NM = np.arange(400, 701)
LIGHTS = ("A", "D50", "D65", "F2", "F11", "LED-B3", "F8")
FORMATS = ("linear", "JPEG")
#: Between readings at 10 nm a reflectance is a straight line: (301, 31).
_BETWEEN = np.maximum(0.0, 1.0 - np.abs(FINE_NM[:, None] - np.arange(400, 701, 10)) / 10.0)
#: Linear sRGB of XYZ, D65 (IEC 61966-2-1).
_TO_SRGB = np.linalg.inv(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
PIXELS, KNIT_SD, KNITS = 400, 0.03, 200
VIGNETTING = 0.2
_erf = np.vectorize(math.erf, otypes=[float])


@dataclass(frozen=True, kw_only=True, eq=False)
class Sensor:
    """Sensitivities (301, 3), 400-700 nm at 1 nm."""

    group: str
    sensitivity: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A picture as it is seen, and the truth (n, 3) of its regions, Lab D50/2°.

    patches_light, regions_light : the light's fall-off at their places, 1 in the middle.
    """

    patches: Sequence[Seen]
    regions: Sequence[Seen]
    surround: Sequence[Seen]
    truth: np.ndarray
    patches_light: np.ndarray
    regions_light: np.ndarray


@cache
def measured() -> tuple[Sensor, Sensor]:
    """The two measured ones."""
    tables = colour.MSDS_CAMERA_SENSITIVITIES.values()
    curves = [
        np.stack([np.interp(FINE_NM, t.wavelengths, v, right=0.0) for v in t.values.T], axis=-1)
        for t in tables
    ]
    return (
        Sensor(group="ordinary", sensitivity=curves[0]),
        Sensor(group="odd", sensitivity=curves[1]),
    )


def varied(sensor: Sensor, rng: Rng, *, shift_nm: float = 6.0, widen: float = 0.1) -> Sensor:
    """A sensor each channel of which is shifted, and widened about its middle."""
    out = np.zeros_like(sensor.sensitivity)
    for k, curve in enumerate(sensor.sensitivity.T):
        middle = float(curve @ FINE_NM / curve.sum())
        source = middle + (FINE_NM - rng.normal(0, shift_nm) - middle) / np.exp(
            rng.normal(0, widen)
        )
        out[:, k] = np.interp(source, FINE_NM, curve)
    return Sensor(group=sensor.group, sensitivity=out)


@cache
def twenty(part: str) -> tuple[Sensor, ...]:
    """Ten of the twenty varied ones: those that constants were chosen with, or those 'kept out'."""
    rng = np.random.default_rng({"tune": 1, "kept out": 2}[part])
    return tuple(varied(each, rng) for each in measured() for _ in range(5))


def bells(rng: Rng) -> Sensor:
    """A sensor of three random bells, each with some of the others."""
    out = np.zeros((len(FINE_NM), 3))
    for k, (middle, width) in enumerate(((605.0, 35.0), (540.0, 38.0), (455.0, 30.0))):
        at, wide = middle + rng.normal(0, 12), width * np.exp(rng.normal(0, 0.2))
        out[:, k] = np.exp(-0.5 * ((FINE_NM - at) / wide) ** 2)
    mixed = out @ (np.eye(3) + np.abs(rng.normal(0, 0.08, (3, 3))))
    return Sensor(group="bells", sensitivity=mixed)


@cache
def power(light: str) -> np.ndarray:
    """Relative power (301,) of a CIE light."""
    if light == "A":
        shape = colour.SpectralShape(400, 700, 1)
        return np.asarray(colour.sd_CIE_standard_illuminant_A(shape).values)
    table = colour.SDS_ILLUMINANTS[f"FL{light[1:]}" if light[0] == "F" else light]
    return np.interp(FINE_NM, table.wavelengths, table.values)


def response(sensor: Sensor, light: str) -> np.ndarray:
    """What a sensor makes of each band of a reflectance under a light: (31, 3), white 1."""
    made = _BETWEEN.T @ (power(light)[:, None] * sensor.sensitivity)
    return np.asarray(made / made.sum(axis=0))


def take(
    sensor: Sensor,
    light: str,
    form: str,
    regions: np.ndarray,
    rng: Rng,
    *,
    chart: Chart | None = None,
    surround: int = 14,
) -> Picture:
    """A picture in which a chart and regions (n, 31) of cloth or print lie on white paper."""
    chart = chart or chart_of("iso17321")
    assert chart.reflectance is not None
    seen_as = response(sensor, light)
    to_file = _rendering(seen_as) if form == "JPEG" else np.eye(3)
    count = len(chart.names)
    cell = np.arange(count)
    places = (
        np.stack(
            [
                0.35 + 0.3 * (cell % chart.columns) / max(chart.columns - 1, 1),
                0.4 + 0.2 * (cell // chart.columns) / max(chart.rows - 1, 1),
            ],
            axis=-1,
        ),
        rng.uniform(0.1, 0.9, (len(regions), 2)),
        rng.uniform(0.03, 0.97, (surround, 2)),
    )
    middle = 0.5 + rng.uniform(-0.06, 0.06, 2)
    exposure = rng.uniform(0.75, 1.0)
    found, fall_off = [], []
    for kind, R, xy in zip(
        ("patch", "region", "paper"),
        (chart.reflectance, regions, np.full((surround, 31), 0.85)),
        places,
        strict=True,
    ):
        even = 1.0 - VIGNETTING * np.sum((xy - middle) ** 2, axis=-1) / 0.5
        fall_off.append(even)
        light_in = exposure * (R @ seen_as) * even[:, None]
        spread = np.sqrt(0.002**2 + 0.01**2 * light_in)  # of one pixel
        knit = KNIT_SD * light_in * rng.normal(size=(len(R), 1)) / np.sqrt(KNITS)
        light_in = light_in + rng.normal(size=light_in.shape) * spread / np.sqrt(PIXELS)
        light_in = light_in + (knit if kind == "region" else 0.0)
        pixel = np.hypot(spread, (KNIT_SD if kind == "region" else 0.0) * light_in)
        value = light_in @ to_file
        pixel = np.sqrt(pixel**2 @ to_file**2)
        sd = pixel / np.sqrt(KNITS if kind == "region" else PIXELS)
        out = 0.5 * (2.0 - _erf((1.0 - value) / pixel / 2**0.5) - _erf(value / pixel / 2**0.5))
        value, sd = _filed(value, sd, form, rng)
        names = chart.names if kind == "patch" else [f"{kind} {i}" for i in range(len(R))]
        found.append(
            [
                Seen(name=n, rgb=v, rgb_sd=s, x=x, y=y, clipped=float(c))
                for n, v, s, (x, y), c in zip(
                    names, value, sd, xy, np.clip(out.max(axis=-1), 0, 1), strict=True
                )
            ]
        )
    return Picture(
        patches=found[0],
        regions=found[1],
        surround=found[2],
        truth=lab_of(regions, D50),
        patches_light=fall_off[0],
        regions_light=fall_off[1],
    )


def _rendering(response: np.ndarray) -> np.ndarray:
    """Matrix (3, 3) of a camera's own picture: most of the way to sRGB, as they go; gray stays."""
    chart = chart_of("iso17321").reflectance
    assert chart is not None
    wanted = xyz(chart, Viewing("D65", 2)) / 100.0 @ _TO_SRGB.T
    seen = chart @ response
    near = 0.02 * np.eye(3)  # held near no matrix at all, for noise's sake
    full = np.linalg.solve(seen.T @ seen + near, seen.T @ wanted + near)
    return np.asarray(full / full.sum(axis=0))


def _filed(value: np.ndarray, sd: np.ndarray, form: str, rng: Rng) -> tuple[np.ndarray, np.ndarray]:
    """What a file says: 14 bits as they are, or 8 bits with an S on top of sRGB's curve."""
    if form == "linear":
        return np.round(np.clip(value, 0, 1) * 16383) / 16383, sd
    code = encode_srgb(value)
    code = code - 0.16 * np.sin(2.0 * np.pi * code) / (2.0 * np.pi)
    code = np.clip(code + rng.normal(size=code.shape) * 0.6 / 255.0 / np.sqrt(PIXELS), 0, 1)
    found = decode_srgb(code)
    slope = (decode_srgb(code + 1.0 / 255.0) - found) * 255.0
    return found, np.hypot(sd, slope * 0.6 / 255.0 / np.sqrt(PIXELS))
