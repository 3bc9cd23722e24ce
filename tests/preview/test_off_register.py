"""Flat prints off register: in register nothing changes, out of it films lie where plates do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.artwork.flats import find_flats
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.job.from_artwork import job_of_artwork
from inksim.preview.flat_routes import job_colours, result_of_job
from inksim.preview.off_register import move_words, pressed_labels, pressed_look
from inksim.separation.register import Misfit
from inksim.shop.load import load_shop
from tests.pictures import artwork, two_squares

PX_PER_MM = 10.0


@pytest.fixture(scope="module")
def parts():
    shop = load_shop()
    flats = find_flats(artwork(two_squares(), dpi=254.0))
    job = job_of_artwork(
        "squares", flats, width_px=flats.labels.shape[1], width_mm=flats.labels.shape[1] / 10.0,
        shop=shop, garments=[shop.garment("Coal Black")],
    )  # fmt: skip
    return (
        flats,
        result_of_job(job, flats, garment=job.garments[0], shop=shop, viewing=Viewing()),
        shop,
    )


def lying(parts, key: str = "decided", **misfit: float):
    flats, found, _ = parts
    return pressed_labels(
        flats.labels, found.by(key).way.screens, job_colours(found.answer.job, flats),
        px_per_mm=PX_PER_MM, misfit=Misfit(**misfit),
    )  # fmt: skip


@pytest.mark.parametrize("key", ["decided", "straight", "discharge-base", "white-base"])
def test_in_register_the_picture_is_the_decided_one(parts, key: str) -> None:
    flats, found, shop = parts
    pressed = lying(parts, key)
    look = pressed_look(pressed, garment=found.garment, press=shop.press.values, viewing=Viewing())
    drawn = look.table.reshape(-1, 256)[pressed.labels]
    wanted = found.by(key).look.table.reshape(-1, 256)[flats.labels]
    np.testing.assert_array_equal(drawn, wanted)


def test_a_choke_bares_the_color_by_its_width(parts) -> None:
    pressed = lying(parts, choke_mm=0.8)
    bare = [0 not in pile and bool(pile) for pile in pressed.piles]
    # across the left edge of the orange square: 0.8 mm are 8 pixels of color without base
    row = np.array(bare)[pressed.labels[200, 80:130]]
    assert row.sum() == pytest.approx(8, abs=1)


@pytest.mark.parametrize("strip", [1 << 20, 600 * 70])
def test_every_plate_lies_where_it_was_moved(
    parts, strip: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("inksim.preview.off_register._STRIP_PIXELS", strip)
    flats, found, _ = parts
    colours = job_colours(found.answer.job, flats)
    pressed = lying(parts, register_mm=0.5)
    assert pressed.moves_px[0] == (0, 0)
    for at, (right, down) in enumerate(pressed.moves_px):
        assert np.hypot(right, down) == pytest.approx(5 if at else 0, abs=0.75)
        has = np.array([at in pile for pile in pressed.piles])[pressed.labels]
        own = [n for n, c in enumerate(colours, 1) if c in pressed.screens[at].colours]
        plate = np.isin(flats.labels, own)
        np.testing.assert_array_equal(has, np.roll(plate, (down, right), axis=(0, 1)))


def test_only_a_print_with_a_base_is_said_to_have_it_choked() -> None:
    misfit = Misfit(register_mm=0.2, choke_mm=0.3, trap_mm=0.1)
    assert misfit.words(has_base=True).startswith("Base choked 0.3 mm, colors trapped 0.1 mm")
    assert misfit.words(has_base=False) == "Colors trapped 0.1 mm, register off by 0.2 mm."


def test_errors_out_of_reason_are_refused() -> None:
    for wrong in ({"register_mm": 9.0}, {"choke_mm": -1.0}, {"trap_mm": float("nan")}):
        with pytest.raises(InputError, match="give 0 to 2"):
            Misfit(**wrong)


def test_a_plate_moved_one_way_is_said_to_have_moved_that_way_only(parts) -> None:
    pressed = replace(lying(parts, register_mm=0.5), moves_px=((0, 0), (-5, 0), (0, 5)))
    named = [screen.ink.name for screen in pressed.screens]
    assert move_words(pressed, px_per_mm=10.0) == (
        f"Plates moved, in mm: {named[1]} 0.50 left; {named[2]} 0.50 down."
    )
