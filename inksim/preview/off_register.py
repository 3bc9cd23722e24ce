"""Draw a flat print off register, with its base choked and its colors trapped.

In register every pixel is one color over one base. Out of it there are others: a rim of bare base,
a color without base under it, two colors over each other. Each such pile of films is a build of its
own, predicted like any other, and the picture is a picture of piles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inksim.artwork import Assignment
from inksim.colour import Viewing
from inksim.common import InputError, Uint8Array
from inksim.picture import MAX_LABELS, Look
from inksim.preview.flat_routes import build_look
from inksim.printing import Build, Route
from inksim.separation import Misfit, fitted
from inksim.shop import Shop, usual_build
from inksim.stock import Garment, Ink

Pile = tuple[int, ...]
"""Plates that print on a place, from the shirt up: 0 the first one."""

MOST_PLATES = 15
_STRIP_PIXELS = 1 << 20


@dataclass(frozen=True, kw_only=True, eq=False)
class Pressed:
    """Labels (H, W) uint8 of piles, 0 bare cloth; the inks of the plates, base first.

    moves_px: right and down of each plate, whole pixels. piles: of each label. has_base: whether
    the first plate is a base. dropped: piles beyond the 256 that can be drawn, shown by their top.
    """

    labels: Uint8Array
    piles: tuple[Pile, ...]
    inks: tuple[Ink, ...]
    has_base: bool
    moves_px: tuple[tuple[int, int], ...]
    dropped: int


def pressed_labels(
    labels: Uint8Array,
    assignments: Sequence[Assignment],
    *,
    base: Ink | None,
    px_per_mm: float,
    misfit: Misfit,
) -> Pressed:
    """Which films lie on each pixel when plates lie as the `Misfit` says.

    labels: (H, W) uint8, label n the n-th of the assignments. Plates are moved by whole pixels.

    Raises
    ------
    InputError : nothing is printed, or more inks than can be told apart.
    """
    inks = {a.ink.name: a.ink for a in assignments if a.ink is not None}
    if not inks:
        raise InputError("no color of the artwork is given an ink: there is nothing to press.")
    plates = [*([base] if base is not None else []), *inks.values()]
    if len(plates) > MOST_PLATES:
        raise InputError(
            f"the artwork takes {len(plates)} plates, and at most {MOST_PLATES} can be shown out "
            "of register; give colors the same ink."
        )
    tables = {name: np.zeros(256, dtype=np.uint8) for name in inks}
    for label, assignment in enumerate(assignments, start=1):
        if assignment.ink is not None:
            tables[assignment.ink.name][label] = 255
    moves = tuple(
        (round(x * px_per_mm), round(y * px_per_mm)) for x, y in misfit.moves_mm(len(plates))
    )
    known = _Piles(len(plates), has_base=base is not None)
    out = np.empty_like(labels)
    height, width = labels.shape
    reach = misfit.register_mm + misfit.choke_mm + misfit.trap_mm
    margin = int(np.ceil(reach * px_per_mm)) + 4
    rows = max(4 * margin, _STRIP_PIXELS // width)
    for top in range(0, height, rows):
        low = min(height, top + rows)
        above, below = max(0, top - margin), min(height, low + margin)
        near = labels[above:below]
        shirts = [table[near] for table in tables.values()]
        if base is not None:
            shirts.insert(0, np.maximum.reduce(shirts))
        shirts = fitted(
            shirts,
            has_base=base is not None,
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
        inks=tuple(plates),
        has_base=base is not None,
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

    def __init__(self, plates: int, *, has_base: bool) -> None:
        colours = range(int(has_base), plates)
        codes = [0, *((int(has_base)) | 1 << at for at in colours)]
        if has_base:
            codes += [1, *(1 << at for at in colours)]
        self._label = np.full(1 << plates, -1, dtype=np.int16)
        self._label[codes] = np.arange(len(codes))
        self._codes = codes
        self._plates = plates
        self.dropped = 0

    def labels_of(self, code: NDArray[np.uint16]) -> Uint8Array:
        met = np.flatnonzero(np.bincount(code.ravel(), minlength=self._label.size))
        for each in met[self._label[met] < 0].tolist():
            if len(self._codes) < MAX_LABELS:
                self._label[each] = len(self._codes)
                self._codes.append(each)
            else:  # shown as its topmost film over the same base, which has a label
                self._label[each] = self._label[1 << (each.bit_length() - 1) | (each & 1)]
                self.dropped += 1
        return np.take(self._label, code).astype(np.uint8)

    @property
    def piles(self) -> tuple[Pile, ...]:
        return tuple(
            tuple(at for at in range(self._plates) if code >> at & 1) for code in self._codes
        )


def pressed_look(
    pressed: Pressed, *, shop: Shop, garment: Garment, route: Route, viewing: Viewing
) -> Look:
    """Colors of every pile: each plate through the screen it has in register."""
    colours = pressed.inks[int(pressed.has_base) :]
    builds = [usual_build(shop, garment=garment, ink=ink, route=route) for ink in colours]
    layers = [build.colour for build in builds]
    if pressed.has_base:
        base = builds[0].base
        assert base is not None
        layers.insert(0, base)
    piles = [
        Build(garment=garment, layers=tuple(layers[at] for at in pile), route=route)
        for pile in pressed.piles[1:]
    ]
    return build_look(piles, garment=garment, press=shop.press.values, viewing=viewing)


def move_words(pressed: Pressed, *, px_per_mm: float) -> str:
    """How far each plate was moved, in mm: 'Barley Yellow 0.17 right, 0.08 down; …'."""
    said = []
    for ink, (right, down) in zip(pressed.inks, pressed.moves_px, strict=True):
        ways = (
            (right, "right" if right > 0 else "left"),
            (down, "down" if down > 0 else "up"),
        )
        moved = [f"{abs(move) / px_per_mm:.2f} {way}" for move, way in ways if move]
        if moved:
            said.append(f"{ink.name} {', '.join(moved)}")
    return f"Plates moved, in mm: {'; '.join(said)}." if said else "No plate is moved."
