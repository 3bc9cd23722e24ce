"""A route's picture as the page gets it."""

from __future__ import annotations

from dataclasses import dataclass

from inksim.build import Route
from inksim.predict import Prediction
from inksim.preview import Assignment


@dataclass(frozen=True, kw_only=True, eq=False)
class Drawn:
    """PNG of a route, and what was predicted for each flat color (None where left bare)."""

    route: Route
    png: bytes
    assignments: tuple[Assignment, ...]
    predictions: tuple[Prediction | None, ...]
