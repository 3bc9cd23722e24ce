"""Colors read from a photo

A chart of 24 patches (ISO 17321-1), cloths and prints lie on white paper in one simulated picture,
whose light falls off by 20 % towards the corners; 14-bit linear files, and 8-bit JPEG as cameras
render them, with an S on top of sRGB's curve. Lights: A, D50, D65, F2, F11, LED-B3, F8. Read are 33
measured textiles, 40 predicted prints of the demo shop and the 99 CIE 2017 samples. Colors of which
more than 2 % of the pixels are at an end of the scale are left out here; their reading says so.
Constants were chosen with ten varied cameras; those here are the two measured ones, ten more varied
ones, and six of random bells. The plain fit is a polynomial of degree 2 from RGB to XYZ
(colour-science's), on values with the light's fall-off taken out as it was put in. The best map is
the root polynomial of degree 3 fitted to the very colors that are read, seen by the sensor itself
without noise, curve or chart: no chart and no prior make such a map tell more. Nor does any other
map that is smooth: a Gaussian process in the same values is told the truth of all but one color.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from colour.characterisation import polynomial_expansion_Finlayson2015

import inksim
from inksim.colour import D50, delta_e_2000, lab as lab_of, lab_from_xyz, xyz as xyz_of
from inksim.photo.camera import camera_of
from inksim.photo.charts import Chart, chart_of
from inksim.photo.seen import Seen
from inksim.photo.terms import root_polynomial
from tests.accuracy import Detail, Row, row
from tests.accuracy._cameras import (
    FORMATS,
    LIGHTS,
    Picture,
    Sensor,
    bells,
    measured,
    response,
    take,
    twenty,
)
from tests.accuracy.recovery import samples

SLOW = True
ORDER = 75
Z90 = 1.6448536
MOST_CLIPPED = 0.02
SMOOTH, NUGGET = 2.0, 0.01  # the best of a coarse grid for the odd cameras
SOURCE = "simulation; sensitivities and lights of colour-science"
ORDINARY = {"mean": 2.0, "p95": 4.5}


@dataclass(frozen=True, kw_only=True, eq=False)
class Read:
    """Of one group of pictures: ΔE00 (n,), of the plain fit (n,), Lab errors / stated sd (n, 3).

    kind, light: which of the sets and of `LIGHTS` each is of.
    """

    off: np.ndarray
    plain: np.ndarray
    z: np.ndarray
    stated: np.ndarray
    kind: np.ndarray
    light: np.ndarray

    @property
    def held(self) -> np.ndarray:
        """Share (3,) of L*, a*, b* inside the stated 90 % interval."""
        return np.asarray(np.mean(np.abs(self.z) <= Z90, axis=0))


@cache
def to_read() -> tuple[np.ndarray, np.ndarray]:
    """Reflectances (n, 31) of textiles, prints and CIE samples, and which is which (n,)."""
    shop = inksim.load_shop()
    builds = [
        inksim.usual_build(shop, garment=garment, ink=ink, route=route)
        for garment in shop.garments.values()
        for ink in shop.inks.values()
        if ink.kind == "color"
        for route in ("straight", "white-base")
    ]
    prints = inksim.swatch(builds[:: len(builds) // 40][:40], press=shop.press)
    sets = samples()
    parts = (sets["textiles"], prints, sets["CIE 2017"])
    return np.concatenate(parts), np.repeat(np.arange(3), [len(each) for each in parts])


def read(
    sensors: Sequence[Sensor],
    form: str,
    *,
    lights: Sequence[str] = LIGHTS,
    chart: Chart | None = None,
    every: int = 1,
    surround: int = 14,
    seed: int = 3,
) -> Read:
    """Pictures of the sensors under the lights, read."""
    chart = chart or chart_of("iso17321")
    regions, kind = (each[::every] for each in to_read())
    rng = np.random.default_rng(seed)
    found = []
    for sensor in sensors:
        for light in lights:
            picture = take(sensor, light, form, regions, rng, chart=chart, surround=surround)
            found.append(_one(picture, chart, kind, light))
    return Read(**{key: np.concatenate([each[key] for each in found]) for key in found[0]})


def _one(picture: Picture, chart: Chart, kind: np.ndarray, light: str) -> dict[str, np.ndarray]:
    camera = camera_of(chart, picture.patches, surround=picture.surround)
    readings = camera.read_all(picture.regions)
    lab = np.array([each.lab for each in readings])
    keep = np.array([each.clipped <= MOST_CLIPPED for each in picture.regions])
    out = {
        "off": delta_e_2000(picture.truth, lab),
        "plain": delta_e_2000(picture.truth, plain(chart, picture)),
        "z": (picture.truth - lab) / np.array([each.total_sd for each in readings]),
        "stated": np.array([each.total_de00 for each in readings]),
        "kind": kind,
        "light": np.full(len(kind), LIGHTS.index(light)),
    }
    return {key: value[keep] for key, value in out.items()}


def plain(chart: Chart, picture: Picture) -> np.ndarray:
    """Lab (n, 3) by a polynomial of degree 2 without a constant, fitted to the chart's XYZ."""

    def even(seen: Sequence[Seen], light: np.ndarray) -> np.ndarray:
        rgb = np.array([each.rgb for each in seen]) / light[:, None]
        return polynomial_expansion_Finlayson2015(rgb, 2, False)

    terms = even(picture.patches, picture.patches_light)
    matrix = np.linalg.lstsq(terms, chart.xyz, rcond=None)[0]
    xyz = even(picture.regions, picture.regions_light) @ matrix
    return lab_from_xyz(np.maximum(xyz, 0.0), D50)


def best_de00(sensors: Sequence[Sensor]) -> tuple[float, float]:
    """Mean ΔE00 of the best map from the sensor's own light to color, and of any smooth one."""
    lab = lab_of(to_read()[0], D50)
    found = []
    for sensor in sensors:
        for light in LIGHTS:
            device = to_read()[0] @ response(sensor, light)
            found.append(
                [delta_e_2000(lab, each(device)).mean() for each in (_fitted_map, _left_out)]
            )
    polynomial, smooth = np.mean(found, axis=0)
    return float(polynomial), float(smooth)


def _fitted_map(device: np.ndarray) -> np.ndarray:
    """Lab (n, 3) by the root polynomial fitted to these colors."""
    xyz = xyz_of(to_read()[0], D50)
    weight = 1.0 / np.maximum(xyz[:, 1:2], 2.0) ** (2.0 / 3.0)  # as L* goes
    terms = root_polynomial(device)
    matrix = np.linalg.lstsq(terms * weight, xyz * weight, rcond=None)[0]
    return lab_from_xyz(np.maximum(terms @ matrix, 0.0), D50)


def _left_out(device: np.ndarray) -> np.ndarray:
    """Lab (n, 3), each by a Gaussian process that knows all others.

    On whitened cube roots, with a linear part; formula of what is left out: Rasmussen & Williams,
    Gaussian Processes for Machine Learning (2006), eq. 5.12.
    """
    lab = lab_of(to_read()[0], D50)
    roots = np.cbrt(device)
    roots -= roots.mean(axis=0)
    axes = np.linalg.svd(roots, full_matrices=False)[0] * np.sqrt(len(roots))
    apart = np.sum((axes[:, None] - axes) ** 2, axis=-1)
    plane = np.column_stack([np.ones(len(axes)), axes])
    kernel = np.exp(-apart / (2.0 * SMOOTH**2)) + 10.0 * plane @ plane.T
    inverse = np.linalg.inv(kernel + NUGGET * np.eye(len(axes)))
    return np.asarray(lab - inverse @ lab / np.diag(inverse)[:, None])


def groups() -> Iterator[tuple[str, tuple[Sensor, ...]]]:
    """Names and sensors of the rows: none of them chose a constant."""
    ordinary, odd = measured()
    kept = twenty("kept out")
    rng = np.random.default_rng(7)
    yield "ordinary, measured", (ordinary,)
    yield "ordinary, five varied", kept[:5]
    yield "random bells, six", tuple(bells(rng) for _ in range(6))
    yield "odd (stacked layers), measured", (odd,)
    yield "odd, five varied", kept[5:]


@cache
def found() -> tuple[tuple[str, str, Read], ...]:
    """Group, form of file and what was read of each."""
    return tuple(
        (name, form, read(sensors, form)) for name, sensors in groups() for form in FORMATS
    )


def rows() -> list[Row]:
    """How far readings are off, and how often the stated interval holds."""
    made = []
    for name, form, each in found():
        note = f"plain fit {np.mean(each.plain):.1f}, stated {np.mean(each.stated):.1f}"
        limits = ORDINARY if name.startswith("ordinary") else None
        made.append(row(f"{name}, {form}", SOURCE, each.off, limits=limits, note=note))
    made.append(
        row(
            "share of L*, a*, b* inside the stated 90 % intervals, each camera group and format",
            SOURCE,
            100.0 * (np.array([each.held for _, _, each in found()]) - 0.9),
            unit="points from 90 %",
        )
    )
    card = chart_of("gray")
    for form in FORMATS:
        each = read(measured()[:1], form, chart=card)
        note = f"stated {np.mean(each.stated):.1f}"
        made.append(row(f"a gray card alone, ordinary, {form}", SOURCE, each.off, note=note))
    return made


def details() -> list[Detail]:
    """How often the stated intervals hold, camera by camera, and which light is best."""
    best = {name: best_de00(sensors) for name, sensors in groups()}
    return [
        Detail(
            title="The same beside a plain fit, and the stated 90 % intervals",
            text="Mean ΔE00, and the share of true L*, a* and b* inside.",
            head=("camera", "file", "mean", "plain fit", "best map", "any map", "L*", "a*", "b*"),
            cells=[
                (
                    name, form, f"{np.mean(each.off):.2f}", f"{np.mean(each.plain):.2f}",
                    *(f"{each_best:.2f}" for each_best in best[name]),
                    *(f"{share:.1%}" for share in each.held),
                )
                for name, form, each in found()
            ],
        ),
        Detail(
            title="By the light of the picture",
            text="Mean ΔE00. A is an incandescent bulb, F2 and F11 are fluorescent tubes.",
            head=("camera", "file", *LIGHTS),
            cells=[
                (
                    name, form,
                    *(f"{np.mean(each.off[each.light == at]):.2f}" for at in range(len(LIGHTS))),
                )
                for name, form, each in found()
            ],
        ),
    ]  # fmt: skip
