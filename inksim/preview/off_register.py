"""Draw a flat print off register, with its bases choked and its colors trapped.

In register every pixel is one color as it was decided. Out of it there are others: a rim of bare
base, a color without base under it, two colors over each other. Each such pile of films is a build
of its own, predicted like any other, and the picture is a picture of piles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inksim.colour import Viewing
from inksim.common import InputError, Uint8Array
from inksim.job import PressScreen
from inksim.picture import MAX_LABELS, Look
from inksim.preview.flat_routes import build_look
from inksim.printing import Build, Route
from inksim.separation import Misfit, flat_shirts, screen_layers
from inksim.stock import Garment, PressValues

Pile = tuple[int, ...]
"""Plates that print on a place, from the shirt up: 0 the first one."""

MOST_PLATES = 15
_STRIP_PIXELS = 1 << 20


@dataclass(frozen=True, kw_only=True, eq=False)
class Pressed:
    """Labels (H, W) uint8 of piles, 0 bare cloth; the screens of the plates in print order.

    moves_px: right and down of each plate, whole pixels. piles: of each label. dropped: piles
    beyond the 256 that can be drawn, shown by their top.
    """

    labels: Uint8Array
    piles: tuple[Pile, ...]
    screens: tuple[PressScreen, ...]
    moves_px: tuple[tuple[int, int], ...]
    dropped: int


def pressed_labels(
    labels: Uint8Array,
    screens: Sequence[PressScreen],
    colours: Sequence[int | None],
    *,
    px_per_mm: float,
    misfit: Misfit,
) -> Pressed:
    """Which films lie on each pixel when plates lie as the `Misfit` says.

    labels, screens, colours: see `flat_shirts`. Plates are moved by whole pixels.

    Raises
    ------
    InputError : nothing is printed, or more plates than can be told apart.
    """
    if not screens:
        raise InputError("no color of the artwork is printed: there is nothing to press.")
    if len(screens) > MOST_PLATES:
        raise InputError(
            f"the artwork takes {len(screens)} plates, and at most {MOST_PLATES} can be shown out "
            "of register; give colors the same ink."
        )
    moves = tuple(
        (round(x * px_per_mm), round(y * px_per_mm)) for x, y in misfit.moves_mm(len(screens))
    )
    known = _Piles(screens)
    out = np.empty_like(labels)
    height, width = labels.shape
    reach = misfit.register_mm + misfit.choke_mm + misfit.trap_mm
    margin = int(np.ceil(reach * px_per_mm)) + 4
    rows = max(4 * margin, _STRIP_PIXELS // width)
    for top in range(0, height, rows):
        low = min(height, top + rows)
        above, below = max(0, top - margin), min(height, low + margin)
        shirts = flat_shirts(
            labels[above:below],
            screens,
            colours,
            px_per_mm=px_per_mm,
            choke_mm=misfit.choke_mm,
            trap_mm=misfit.trap_mm,
        )
        code = np.zeros((low - top, width), dtype=np.uint16)
        for at, (shirt, (right, down)) in enumerate(zip(shirts, moves, strict=True)):
            moved = _window(shirt, top=top - above - down, left=-right, shape=code.shape)
            code |= (moved >= 128).astype(np.uint16) << np.uint16(at)
        out[top:low] = known.labels_of(code)
    return Pressed(
        labels=out,
        piles=known.piles,
        screens=tuple(screens),
        moves_px=moves,
        dropped=known.dropped,
    )


def _window(plate: Uint8Array, *, top: int, left: int, shape: tuple[int, ...]) -> Uint8Array:
    """Part of a plate (h, w); what lies outside it is bare."""
    out = np.zeros(shape, dtype=np.uint8)
    rows, columns = plate.shape
    first, last = max(0, top), min(rows, top + shape[0])
    start, end = max(0, left), min(columns, left + shape[1])
    if first < last and start < end:
        out[first - top : last - top, start - left : end - left] = plate[first:last, start:end]
    return out


class _Piles:
    """Labels given to piles as they are met; those in register come first."""

    def __init__(self, screens: Sequence[PressScreen]) -> None:
        bits = {at: 1 << at for at in range(len(screens))}
        self._bases = sum(bits[at] for at, screen in enumerate(screens) if screen.base)
        colours = dict.fromkeys(colour for screen in screens for colour in screen.colours)
        inside = [
            sum(bits[at] for at, screen in enumerate(screens) if colour in screen.colours)
            for colour in colours
        ]
        self._codes = list(dict.fromkeys([0, *inside, *bits.values()]))
        self._label = np.full(1 << len(screens), -1, dtype=np.int16)
        self._label[self._codes] = np.arange(len(self._codes))
        self._plates = len(screens)
        self.dropped = 0

    def labels_of(self, code: NDArray[np.uint16]) -> Uint8Array:
        met = np.flatnonzero(np.bincount(code.ravel(), minlength=self._label.size))
        for each in met[self._label[met] < 0].tolist():
            if len(self._codes) < MAX_LABELS:
                self._label[each] = len(self._codes)
                self._codes.append(each)
            else:  # shown as its topmost film, over its base where that has a label
                top = 1 << (each.bit_length() - 1)
                based = self._label[top | (each & self._bases)]
                self._label[each] = based if based >= 0 else self._label[top]
                self.dropped += 1
        return np.take(self._label, code).astype(np.uint8)

    @property
    def piles(self) -> tuple[Pile, ...]:
        return tuple(
            tuple(at for at in range(self._plates) if code >> at & 1) for code in self._codes
        )


def pressed_look(
    pressed: Pressed, *, garment: Garment, press: PressValues, viewing: Viewing
) -> Look:
    """Colors of every pile: each plate through its screen.

    A discharge base works on the cloth alone: over another film it is left out [assumption].
    """
    builds = []
    for pile in pressed.piles[1:]:
        films = [layer for at in pile for layer in screen_layers(pressed.screens[at])]
        layers = [
            film for at, film in enumerate(films) if not at or film.ink.kind != "discharge-base"
        ]
        route: Route = "straight"
        if len(layers) > 1:
            route = "discharge-base" if layers[0].ink.kind == "discharge-base" else "white-base"
        builds.append(Build(garment=garment, layers=tuple(layers), route=route))
    return build_look(builds, garment=garment, press=press, viewing=viewing)


def move_words(pressed: Pressed, *, px_per_mm: float) -> str:
    """How far each plate was moved, in mm: 'Barley Yellow 0.17 right, 0.08 down; …'."""
    said = []
    for screen, (right, down) in zip(pressed.screens, pressed.moves_px, strict=True):
        ways = (
            (right, "right" if right > 0 else "left"),
            (down, "down" if down > 0 else "up"),
        )
        moved = [f"{abs(move) / px_per_mm:.2f} {way}" for move, way in ways if move]
        if moved:
            said.append(f"{screen.ink.name} {', '.join(moved)}")
    return f"Plates moved, in mm: {'; '.join(said)}." if said else "No plate is moved."
