"""A window of the plates: the same pixels as the whole plates, the choke as wide as asked."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.preview.flat_routes import job_colours
from inksim.preview.plate_window import FILM_BLACK, FILM_CLEAR, GAP, plates_in_window
from inksim.preview.prepare import prepare_artwork
from inksim.separation.flat_art import flat_plates
from inksim.shop.load import load_shop
from tests.artwork_results import artwork_result
from tests.pictures import artwork, two_squares

DPI = 254.0  # ten pixels a millimeter


@pytest.fixture(scope="module")
def parts():
    shop = load_shop()
    ready = prepare_artwork(artwork(two_squares(), dpi=DPI))
    found = artwork_result(
        ready, shop=shop, garment=shop.garment("Coal Black"), viewing=Viewing(), tolerance=3.0
    )
    return ready, found, shop


def given(parts, key: str = "decided"):
    ready, found, shop = parts
    screens = found.by(key).way.screens
    more = {"garment": found.garment, "shop": shop}
    return (screens, job_colours(found.answer.job, ready.flats)), more


def test_it_is_part_of_the_whole_plates(parts) -> None:
    ready, _, _ = parts
    way, more = given(parts)
    whole = flat_plates(ready.flats.labels, *way, dpi=DPI, choke_mm=0.5, trap_mm=0.2, **more)
    windows = plates_in_window(
        ready, *way, centre=(0.5, 0.4), size_px=(200, 150), choke_mm=0.5, trap_mm=0.2, **more
    )
    x, y = round(0.5 * 400), round(0.4 * 350)
    assert [w.ink for w in windows] == [p.ink.name for p in whole.plates]
    for window, plate in zip(windows, whole.plates, strict=True):
        wanted = plate.film[y : y + 150, x : x + 200] > 127
        assert np.array_equal(window.film[..., 0] == FILM_BLACK, wanted)


def test_the_choke_is_as_wide_as_asked(parts) -> None:
    ready, _, _ = parts
    way, more = given(parts, "white-base")
    base, *_ = plates_in_window(
        ready, *way, centre=(0.0, 0.0), size_px=(600, 500), choke_mm=0.8, **more
    )
    assert base.is_base
    row = base.film[200, :, 0]  # across the left edge of the orange square
    assert set(np.unique(base.film)) <= {FILM_BLACK, FILM_CLEAR, GAP}
    # ten pixels a millimeter: 0.8 mm is 8 pixels of color without base
    edge = row[90:130]
    assert list(edge).count(GAP) == pytest.approx(8, abs=1)


def test_straight_prints_have_no_base(parts) -> None:
    ready, _, _ = parts
    way, more = given(parts, "straight")
    windows = plates_in_window(
        ready, *way, centre=(0.5, 0.5), size_px=(100, 100), choke_mm=0.4, **more
    )
    assert windows
    assert not any(window.is_base for window in windows)
