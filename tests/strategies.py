"""Hypothesis strategies: whole builds made at random, far beyond what the demo shop holds."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from inksim.colour.grid import BANDS
from inksim.printing.build import Build, Layer
from inksim.stock.garment import BRIGHTEST, FIBRES, Garment
from inksim.stock.ink import Ink
from inksim.stock.press import MEANINGS, PressValues
from inksim.stock.screen import Screen


def spectra(least: float, most: float) -> st.SearchStrategy[np.ndarray]:
    """31 values between two limits, with no smoothness at all; nothing between 0 and 1e-6."""
    values = st.floats(max(least, 1e-6), most)
    return arrays(np.float64, BANDS, elements=st.just(0.0) | values if least == 0 else values)


@st.composite
def inks(draw: st.DrawFn, *, kind: str = "color") -> Ink:
    """Any ink: from clear to black, from no scattering to a dense white."""
    return Ink(
        name="any ink",
        kind=kind,  # type: ignore[arg-type]
        K=draw(spectra(0.0, 3.0)),
        S=draw(spectra(0.0, 1.0)),
        solids_by_volume=draw(st.floats(0.02, 1.0)),
    )


@st.composite
def screens(draw: st.DrawFn) -> Screen:
    """Any mesh, by its label or with the weaver's own figures."""
    count = draw(st.floats(20.0, 180.0))
    pitch = 10_000.0 / count
    own: dict[str, Any] = {
        "opening_um": draw(st.none() | st.floats(0.2 * pitch, 0.9 * pitch)),
        "fabric_um": draw(st.none() | st.floats(20.0, 200.0)),
        "ink_volume_cm3_m2": draw(st.none() | st.floats(1.0, 120.0)),
    }
    thread = draw(st.floats(0.1 * pitch, 0.8 * pitch))
    return Screen(name="any screen", threads_per_cm=count, thread_um=thread, **own)


@st.composite
def garments(draw: st.DrawFn) -> Garment:
    """Any cloth whose discharge can be predicted, from a grade or from a reading."""
    reading = spectra(0.005, BRIGHTEST)
    first, second = draw(st.lists(st.sampled_from(FIBRES), min_size=2, max_size=2, unique=True))
    share = draw(st.floats(0.0, 1.0))
    return Garment(
        name="any cloth",
        reflectance=draw(reading),
        fibers={first: share, second: 1.0 - share},
        undyed=draw(reading),
        discharge_grade=draw(st.integers(1, 5)),
        discharged=draw(st.none() | reading),
    )


@st.composite
def builds(draw: st.DrawFn, *, most_layers: int = 3) -> Build:
    """Any build of one to three layers; the first may be a discharge base."""
    count = draw(st.integers(1, most_layers))
    first = draw(st.sampled_from(["color", "white-base", "discharge-base"]))
    layers = tuple(
        Layer(
            ink=draw(inks(kind=first if at == 0 else "color")),
            screen=draw(screens()),
            passes=draw(st.integers(1, 4)),
            flash=draw(st.booleans()),
        )
        for at in range(count)
    )
    return Build(garment=draw(garments()), layers=layers)


@st.composite
def presses(draw: st.DrawFn) -> PressValues:
    """Any press within the range of the model, ends included."""
    values = {
        name: draw(st.floats(meaning.least, meaning.most)) for name, meaning in MEANINGS.items()
    }
    for name in ("cv_cloth", "cv_base"):
        # an even film, or one whose unevenness a double still holds when it is squared
        values[name] = 0.0 if values[name] < 1e-3 else values[name]
    return PressValues(**values)
