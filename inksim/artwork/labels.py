"""Label every pixel with one flat; antialiased edges go to the side that covers more of them.

A pixel in a 2 × 2 block of one flat is certain ("pure"). Every other pixel is decided from the
plates seen around it: an antialiased edge goes to the side that covers more of it, even when the
mix of two flats happens to look like a third. Alpha below one half is bare cloth.

The arithmetic is in sRGB code values, because that is where drawing programs blend edges.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inksim.artwork.edge_rules import (
    SAME,
    UNDECIDED,
    Judged,
    beside_one,
    between_two,
    mix_of_two,
    nearest_of_all,
)
from inksim.artwork.pixels import (
    CLOTH_CODE,
    COLOURS,
    OPAQUE,
    codes_of,
    keys_of,
    rgb_of,
    sample,
    strips,
)
from inksim.common import BoolArray, Int64Array, Uint8Array, Uint32Array

CLOTH = 0
TENTATIVE = 64  # added to a plate that a pixel only looks like
MOST_FLATS = 30  # candidate plates are bits of one word, bit 0 being the cloth
MARGIN = 8  # widest look around a pixel
SOFT = 3  # half the width of the softest edge between two plates

HOPELESS = 0.5  # share of printed pixels unlike any flat above which edges are not looked for
TEXTURE = 3.0  # standard deviation near a flat: 2 in noisy art, 4.6 where all shades are alike
MOST_ODD = 1 << 20
CASES = 1 << 13  # cases judged at once
JUDGED = 1 << 16  # pixels whose cases are told apart at once


@dataclass(frozen=True, kw_only=True, eq=False)
class PixelLabels:
    """`labels` (H, W): 0 cloth, n the n-th flat. `odd` are colors no flat explains, and counts."""

    labels: Uint8Array
    unexplained: int
    odd: tuple[Uint32Array, Int64Array]


def label_pixels(words: Uint32Array, palette: Int64Array) -> PixelLabels:
    """Put every pixel of `words` (H, W) on the cloth or on one flat of `palette` (N, 3)."""
    if not len(palette):
        return _blank(words)
    sheet = _Sheet.blank(words, palette)
    todo = [sheet.settle_pure(top, bottom) for top, bottom in strips(*words.shape)]
    far = sum(sheet.near_none(pixels) for pixels in todo)
    texture = _textured(words, sheet.table, len(palette))
    if far + texture > HOPELESS * np.count_nonzero(words >= OPAQUE):
        plates = posterised(words, palette)
        return replace(plates, unexplained=plates.unexplained + texture)
    if not far:  # no pixel is a mix of any flats, so none of those that look like one is
        sheet.settle_all()
        todo = []
    odd: list[Uint32Array] = []
    for look in _ROUNDS if todo else ():
        todo = _regrouped(todo)
        verdicts = [sheet.judge(pixels, look) for pixels in todo]
        for verdict in verdicts:  # only now, so that no pixel sees a neighbor of its own round
            sheet.page.ravel()[verdict.places] = verdict.labels
            odd.append(verdict.odd)
        todo = [verdict.waiting for verdict in verdicts]
        if not any(len(waiting) for waiting in todo):
            break
    count = sum(len(codes) for codes in odd)
    return PixelLabels(
        labels=np.ascontiguousarray(sheet.page[MARGIN:-MARGIN, MARGIN:-MARGIN]),
        unexplained=count + texture,
        odd=_sampled(odd, count),
    )


def _regrouped(some: list[NDArray[np.int32]]) -> list[NDArray[np.int32]]:
    """The same pixels in groups of at most `JUDGED`: cases that strips share are judged once."""
    pixels = np.concatenate(some)
    return [pixels[start : start + JUDGED] for start in range(0, len(pixels), JUDGED)]


def _blank(words: Uint32Array) -> PixelLabels:
    """No flats at all: every printed pixel is odd."""
    printed = words[words >= OPAQUE] & np.uint32(COLOURS - 1)
    return PixelLabels(
        labels=np.zeros(words.shape, dtype=np.uint8),
        unexplained=len(printed),
        odd=_sampled([printed], len(printed)),
    )


def posterised(words: Uint32Array, palette: Int64Array) -> PixelLabels:
    """The nearest flat in color for every pixel, wherever it lies: for pictures with no flats."""
    table, far = _nearest_table(palette)
    labels = np.empty(words.shape, dtype=np.uint8)
    odd = []
    for top, bottom in strips(*words.shape):
        some = words[top:bottom]
        keys = keys_of(some)
        labels[top:bottom] = table.take(keys)
        odd.append(some[far.take(keys)] & np.uint32(COLOURS - 1))
    unexplained = sum(len(codes) for codes in odd)
    return PixelLabels(labels=labels, unexplained=unexplained, odd=_sampled(odd, unexplained))


def _textured(words: Uint32Array, table: Uint8Array, flats: int) -> int:
    """How many pixels look like flats, yet scatter around them like a texture, not like noise."""
    codes = sample(words)
    near = table.take(codes)
    count = 0
    for number in range(1, flats + 1):
        rgb = rgb_of(codes[near == number])
        if len(rgb) and np.sqrt(rgb.var(axis=0).mean()) > TEXTURE:
            count += len(rgb)
    return round(count * words.size / codes.size)


def near_share(words: Uint32Array, palette: Int64Array) -> float:
    """Share of the printed pixels that look like one of up to 250 flats."""
    table, near, painted = _near_table(palette[:250]), 0, 0
    for top, bottom in strips(*words.shape):
        labels = table.take(codes_of(words[top:bottom]))
        cloth = int(np.count_nonzero(labels == CLOTH))
        near += int(np.count_nonzero(labels != UNDECIDED)) - cloth
        painted += labels.size - cloth
    return near / max(painted, 1)


def _sampled(odd: list[Uint32Array], size: int) -> tuple[Uint32Array, Int64Array]:
    """The odd colors and their counts, from at most `MOST_ODD` of them, evenly taken."""
    every = size // MOST_ODD + 1
    codes = np.concatenate([np.empty(0, dtype=np.uint32), *(some[::every] for some in odd)])
    unique, counts = np.unique(codes, return_counts=True)
    return unique, counts * every


def _near_table(palette: Int64Array) -> Uint8Array:
    """(2²⁴ + 1,) plate of each 24-bit color: the nearest flat within `SAME`, else undecided."""
    table = np.full(CLOTH_CODE + 1, UNDECIDED, dtype=np.uint8)
    table[CLOTH_CODE] = CLOTH
    cube = table[:CLOTH_CODE].reshape(256, 256, 256)  # [blue, green, red]
    for rgb in palette:
        low, high = np.maximum(rgb - SAME, 0), np.minimum(rgb + SAME, 255) + 1
        r, g, b = (np.arange(low[i], high[i]) for i in range(3))
        distance = np.stack(
            [
                (b[:, None, None] - other[2]) ** 2
                + (g[None, :, None] - other[1]) ** 2
                + (r[None, None, :] - other[0]) ** 2
                for other in palette
            ]
        )
        cube[low[2] : high[2], low[1] : high[1], low[0] : high[0]] = distance.argmin(axis=0) + 1
    return table


def _nearest_table(palette: Int64Array) -> tuple[Uint8Array, BoolArray]:
    """(2¹⁵ + 1,) nearest flat of each 15-bit color, and whether even that one is far."""
    steps = np.arange(32) * 8 + 4
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
    rgb = np.stack([red, green, blue], axis=-1).reshape(-1, 1, 3)
    distance = np.linalg.norm(rgb - palette[None], axis=-1)
    table = np.append(distance.argmin(axis=1) + 1, CLOTH).astype(np.uint8)
    return table, np.append(distance.min(axis=1) > 2 * SAME, False)


BITS = np.zeros(256, dtype=np.int64)
BITS[: MOST_FLATS + 1] = 1 << np.arange(MOST_FLATS + 1)


def _bits_of(seen: Uint8Array) -> Int64Array:
    """(n,) the plates (m, n) that a pixel sees, as bits."""
    bits = BITS.take(seen[0])
    for row in seen[1:]:
        bits |= BITS.take(row)
    return np.asarray(bits)


SIDES = [0, 2, 4, 6]  # of the 8 directions, those through the sides of a pixel
Rule = Callable[[Int64Array, Int64Array, Int64Array], Judged]


@dataclass(frozen=True, kw_only=True)
class _Look:
    """One round: how far to look in each of 8 directions, and the rule for what is seen.

    The first look also settles what looks like a flat, and sees only the pixels that share a side.
    """

    reach: int
    rule: Rule
    first: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class _Verdict:
    """One strip after one round: what was settled where, and the pixels that wait."""

    places: Int64Array
    labels: Uint8Array
    waiting: NDArray[np.int32]
    odd: Uint32Array


@dataclass(frozen=True, kw_only=True, eq=False)
class _Sheet:
    """The picture at work: `page` holds the settled plates, with a margin of `MARGIN` pixels."""

    words: Uint32Array
    palette: Int64Array
    table: Uint8Array
    page: Uint8Array

    @classmethod
    def blank(cls, words: Uint32Array, palette: Int64Array) -> _Sheet:
        height, width = words.shape
        page = np.full((height + 2 * MARGIN, width + 2 * MARGIN), UNDECIDED, dtype=np.uint8)
        return cls(words=words, palette=palette, table=_near_table(palette), page=page)

    def settle_pure(self, top: int, bottom: int) -> NDArray[np.int32]:
        """Put the pure pixels of rows `top` to `bottom` on the page; return the others."""
        height, width = self.words.shape
        labels = np.full((bottom - top + 2, width), UNDECIDED - 1, dtype=np.uint8)
        first, last = max(top - 1, 0), min(bottom + 1, height)
        labels[first - top + 1 : last - top + 1] = self.table.take(codes_of(self.words[first:last]))
        across = labels[:, 1:] == labels[:, :-1]
        block = across[1:] & across[:-1] & (labels[1:, 1:] == labels[:-1, 1:])
        sides = np.zeros((block.shape[0], width), dtype=bool)
        sides[:, :-1] = block
        sides[:, 1:] |= block
        inner = labels[1:-1]
        pure = sides[1:] | sides[:-1] | (inner == CLOTH)
        likely = inner | np.uint8(TENTATIVE)  # undecided stays undecided
        self.page[MARGIN + top : MARGIN + bottom, MARGIN:-MARGIN] = np.where(pure, inner, likely)
        left = np.flatnonzero(~pure | (inner == UNDECIDED)) + top * width
        return np.asarray(left.astype(np.int32))

    def settle_all(self) -> None:
        """Take every pixel for the flat that it looks like."""
        np.bitwise_and(self.page, TENTATIVE - 1, out=self.page, where=self.page != UNDECIDED)

    def judge(self, pixels: NDArray[np.int32], look: _Look) -> _Verdict:
        """Settle those of the waiting `pixels` that one look at the plates around can tell."""
        places, codes = self._places(pixels), self._codes(pixels)
        seen = self._look(places, look.reach)
        bits = _bits_of(seen)
        labels = np.full(len(pixels), UNDECIDED, dtype=np.uint8)
        if look.first:
            labels = self.table.take(codes)
            alone = np.flatnonzero((labels != UNDECIDED) & (BITS.take(labels) & bits == 0))
            labels[alone] = self._line_or_edge(pixels[alone], labels[alone])
            bits = _bits_of(seen[SIDES])
        unclear = np.flatnonzero(labels == UNDECIDED)
        labels[unclear], odd = self._by_cases(codes[unclear], bits[unclear], look.rule)
        done = labels != UNDECIDED
        return _Verdict(
            places=places[done],
            labels=labels[done],
            waiting=pixels[~done],
            odd=codes[unclear[odd]],
        )

    def _by_cases(
        self, codes: Uint32Array, bits: Int64Array, rule: Rule
    ) -> tuple[Uint8Array, BoolArray]:
        """`rule` applied once to each case: a color and the set of plates around it."""
        cases, case = np.unique(codes | (bits << 24), return_inverse=True)
        labels, odd = np.empty(len(cases), dtype=np.uint8), np.empty(len(cases), dtype=bool)
        for start in range(0, len(cases), CASES):
            some = slice(start, start + CASES)
            labels[some], odd[some] = rule(
                cases[some] & (COLOURS - 1), cases[some] >> 24, self.palette
            )
        return labels[case], odd[case]

    def near_none(self, pixels: NDArray[np.int32]) -> int:
        """How many of these pixels look like no flat."""
        return int(np.count_nonzero(self.table.take(self._codes(pixels)) == UNDECIDED))

    def _codes(self, pixels: NDArray[np.int32]) -> Uint32Array:
        return self.words.ravel().take(pixels) & np.uint32(COLOURS - 1)

    def _places(self, pixels: NDArray[np.int32]) -> Int64Array:
        """Flat positions on the page of flat positions in the picture."""
        stride = self.page.shape[1]
        wide = pixels.astype(np.int64)
        moved = wide + wide // self.words.shape[1] * (2 * MARGIN) + MARGIN * (stride + 1)
        return np.asarray(moved)

    def _look(
        self, places: Int64Array, reach: int, *, past: Uint8Array | None = None
    ) -> Uint8Array:
        """(8, n) the first plate in each of 8 directions; d and d + 4 are opposite.

        Settled plates only; given `past` (n,), tentative ones too, other than that one. 255 where
        there is none within `reach`.
        """
        stride = self.page.shape[1]
        page = self.page.ravel()
        seen = np.empty((8, len(places)), dtype=np.uint8)

        def nothing(hit: Uint8Array, at: Int64Array | slice) -> BoolArray:
            if past is None:
                return hit >= TENTATIVE
            return np.asarray((hit == UNDECIDED) | (hit == past[at] | np.uint8(TENTATIVE)))

        for d, step in enumerate((1, stride + 1, stride, stride - 1)):
            for row, way in ((d, step), (d + 4, -step)):
                hit = page.take(places + way)
                on = np.flatnonzero(nothing(hit, slice(None))) if reach > 1 else np.empty(0, int)
                for far in range(2, reach + 1):
                    hit[on] = further = page.take(places[on] + far * way)
                    on = on[nothing(further, on)]
                seen[row] = hit
        if past is None:
            return np.where(seen >= TENTATIVE, np.uint8(UNDECIDED), seen)
        seen[seen == past | np.uint8(TENTATIVE)] = UNDECIDED
        return np.where(seen == UNDECIDED, seen, seen & np.uint8(TENTATIVE - 1))

    def _line_or_edge(self, pixels: NDArray[np.int32], own: Uint8Array) -> Uint8Array:
        """Plates of pixels that look like a flat, `own`, but touch none of it.

        Between two other flats whose mix it could be, such a pixel is their edge. Standing single,
        it may also be a sliver of one flat in another. Else it is a thin line or a dot and stays.
        """
        codes, places, labels = self._codes(pixels), self._places(pixels), own.copy()
        seen = self._look(places, SOFT, past=own)
        for one, other in zip(seen[:4], seen[4:], strict=True):
            self._as_mix(labels, np.arange(len(own)), codes, BITS.take(one) | BITS.take(other))
        settled = _bits_of(self._look(places, MARGIN))
        single = np.flatnonzero((BITS.take(own) & settled == 0) & ~self._has_twin(pixels, codes))
        seen = self._look(places[single], MARGIN, past=own[single])
        bits = _bits_of(seen)
        self._as_mix(labels, single, codes[single], bits)
        return labels

    def _as_mix(
        self, labels: Uint8Array, at: Int64Array, codes: Uint32Array, bits: Int64Array
    ) -> None:
        """Relabel pixels `at` whose colors are mixes of two flats in `bits`, not their own."""
        bits = bits & ~BITS.take(labels[at])
        several = np.flatnonzero(bits & (bits - 1))
        at, codes, bits = at[several], codes[several], bits[several]
        found, _ = self._by_cases(codes, bits, mix_of_two)
        mixed = found != UNDECIDED
        labels[at[mixed]] = found[mixed]

    def _has_twin(self, pixels: NDArray[np.int32], codes: Uint32Array) -> BoolArray:
        """Whether one of the 8 pixels around has exactly the same color."""
        height, width = self.words.shape
        row, column = np.divmod(pixels.astype(np.int64), width)
        twin = np.zeros(len(pixels), dtype=bool)
        for down, across in ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1)):
            r, c = row + down, column + across
            inside = (r >= 0) & (r < height) & (c >= 0) & (c < width)
            there = self.words[np.clip(r, 0, height - 1), np.clip(c, 0, width - 1)]
            twin |= inside & (there >= OPAQUE) & (there & np.uint32(COLOURS - 1) == codes)
        return twin


_ROUNDS = (
    _Look(reach=1, rule=mix_of_two, first=True),
    _Look(reach=1, rule=between_two),
    _Look(reach=2, rule=between_two),
    _Look(reach=SOFT, rule=between_two),
    _Look(reach=MARGIN, rule=beside_one),
    _Look(reach=MARGIN, rule=beside_one),
    _Look(reach=1, rule=nearest_of_all),
)
