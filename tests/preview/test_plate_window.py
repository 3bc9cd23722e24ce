"""A window of the plates: the same pixels as the whole plates, the choke as wide as asked."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.artwork.assignment import assign_inks
from inksim.preview.plate_window import FILM_BLACK, FILM_CLEAR, GAP, plates_in_window
from inksim.preview.prepare import prepare_artwork
from inksim.separation.plates import flat_plates
from inksim.shop.load import load_shop
from tests.pictures import artwork, two_squares

DPI = 254.0  # ten pixels a millimetre


@pytest.fixture(scope="module")
def parts():
    shop = load_shop()
    garment = shop.garment("Coal Black")
    ready = prepare_artwork(artwork(two_squares(), dpi=DPI))
    return ready, assign_inks(ready.flats, shop=shop, garment=garment), shop, garment


def test_it_is_part_of_the_whole_plates(parts) -> None:
    ready, inks, shop, garment = parts
    whole = flat_plates(
        ready.flats.labels, inks, shop=shop, garment=garment, route="white-base", dpi=DPI,
        choke_mm=0.5, trap_mm=0.2,
    )  # fmt: skip
    windows = plates_in_window(
        ready, inks, shop=shop, garment=garment, route="white-base", center=(0.5, 0.4),
        size_px=(200, 150), choke_mm=0.5, trap_mm=0.2,
    )  # fmt: skip
    x, y = round(0.5 * 400), round(0.4 * 350)
    assert [w.ink for w in windows] == [p.ink.name for p in whole.plates]
    for window, plate in zip(windows, whole.plates, strict=True):
        wanted = plate.film[y : y + 150, x : x + 200] > 127
        assert np.array_equal(window.film[..., 0] == FILM_BLACK, wanted)


def test_the_choke_is_as_wide_as_asked(parts) -> None:
    ready, inks, shop, garment = parts
    (base, *_), = [
        plates_in_window(
            ready, inks, shop=shop, garment=garment, route="white-base", center=(0.0, 0.0),
            size_px=(600, 500), choke_mm=0.8,
        )
    ]  # fmt: skip
    assert base.is_base
    row = base.film[200, :, 0]  # across the left edge of the orange square
    assert set(np.unique(base.film)) <= {FILM_BLACK, FILM_CLEAR, GAP}
    # ten pixels a millimetre: 0.8 mm is 8 pixels of color without base
    edge = row[90:130]
    assert list(edge).count(GAP) == pytest.approx(8, abs=1)


def test_straight_prints_have_no_base(parts) -> None:
    ready, inks, shop, garment = parts
    windows = plates_in_window(
        ready, inks, shop=shop, garment=garment, route="straight", center=(0.5, 0.5),
        size_px=(100, 100), choke_mm=0.4,
    )  # fmt: skip
    assert not any(window.is_base for window in windows)
