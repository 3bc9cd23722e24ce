"""Artwork on a garment: which ink prints which flat color, and the picture of each route."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.artwork import Assignment
from inksim.colour import Viewing
from inksim.common import FloatArray
from inksim.optics import level_quantiles
from inksim.picture import Look, colour_table
from inksim.printing import (
    Build,
    Prediction,
    Route,
    lower,
    point_reflectance,
    predict_nominal,
    tabulate,
)
from inksim.shop import Shop, usual_build
from inksim.stock import Garment, PressValues, target_from_hex


@dataclass(frozen=True, kw_only=True, eq=False)
class RoutePicture:
    """How a route looks: label 0 is bare cloth, label n the n-th flat of the artwork.

    predictions: one per flat in order, None where it is left bare. look: the colors to draw.
    """

    route: Route
    predictions: tuple[Prediction | None, ...]
    look: Look

    @property
    def worst(self) -> Prediction | None:
        """The printed flat that is farthest from the artwork's color."""
        printed = [p for p in self.predictions if p is not None]
        return max(printed, key=lambda p: p.delta_e_2000 or 0.0, default=None)


def route_picture(
    assignments: Sequence[Assignment],
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    viewing: Viewing | None = None,
) -> RoutePicture:
    """Predict every flat of an artwork by one route and work out the colors to draw it with."""
    seen = viewing or Viewing()
    press = shop.press.values
    looks = np.empty((len(assignments) + 1, 256, garment.reflectance.size))
    looks[:] = garment.reflectance
    predictions: list[Prediction | None] = []
    for at, assignment in enumerate(assignments, start=1):
        if assignment.ink is None:
            predictions.append(None)
            continue
        build = usual_build(shop, garment=garment, ink=assignment.ink, route=route)
        target = target_from_hex(assignment.flat.hex)
        predictions.append(predict_nominal([build], press=press, viewing=seen, target=target)[0])
        looks[at] = point_looks(build, press=press)
    return RoutePicture(route=route, predictions=tuple(predictions), look=colour_table(looks, seen))


def point_looks(build: Build, *, press: PressValues) -> FloatArray:
    """External reflectance (256, 31) of a build at the 256 levels of the fiber field."""
    return np.asarray(point_reflectance(lower(tabulate([build]), press), level_quantiles())[0])
