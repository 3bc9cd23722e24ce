"""A picture in halftones on the press there is: inks that fit, what is left out, and plates.

Stations: one a screen, one under a flash unit (the shop's own rule); a white base is flashed, a
discharge base is not (common practice, no source).
"""

from __future__ import annotations

import io
import json
import threading
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from inksim.cli.commands import main
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.preview import tonal_routes
from inksim.preview.plates_zip import tonal_plates_zip
from inksim.preview.prepare import PreparedArtwork, prepare_artwork
from inksim.preview.tonal_print import print_tonal
from inksim.preview.tonal_routes import TonalResult, tonal_result, tonal_run
from inksim.reports.picture_ticket import make_picture_ticket
from inksim.separation.halftone_print import MOST_INKS, tonal_set
from inksim.separation.tonal_inks import inks_that_fit, ordered, press_barrier
from inksim.separation.tonal_separation import MISS_STEP
from inksim.shop.load import load_shop
from inksim.shop.schema import StationsEntry
from inksim.shop.shop import Shop
from tests.pictures import artwork
from tests.small_shop import FOR_PICTURES, few_inks
from tests.ui.test_client import tonal_art

SHOP, D50 = load_shop(), Viewing()
THREE = [SHOP.ink(name) for name in ("Barley Yellow", "Kiln Red", "Cornflower Blue")]


def press(stations: int, flashes: int = 1, **more: bool) -> StationsEntry:
    return StationsEntry(stations=stations, flashes=flashes, **more)


@pytest.fixture(scope="module")
def ready() -> PreparedArtwork:
    return prepare_artwork(artwork(Image.open(io.BytesIO(tonal_art())), dpi=100.0))


FEW = replace(SHOP, inks={name: SHOP.ink(name) for name in FOR_PICTURES})


def result(
    ready: PreparedArtwork, on: StationsEntry | None = None, shop: Shop = FEW, **more: object
) -> TonalResult:
    return tonal_result(
        ready, shop=shop, garment=SHOP.garment("Coal Black"), viewing=D50, tolerance=3.0, press=on,
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


@pytest.fixture(scope="module")
def three(ready: PreparedArtwork) -> TonalResult:
    return result(ready, inks=THREE)


@pytest.mark.parametrize(
    ("on", "most"),
    [
        (press(6), 4),  # base and flash
        (press(6, flash_takes_station=False), 5),
        (press(16), MOST_INKS),
        (press(4, flashes=0), 4),  # nothing can be flashed: straight on the cloth
        (press(2), 1),
    ],
)
def test_as_many_inks_as_fit(on: StationsEntry, most: int) -> None:
    assert inks_that_fit(on) == most
    assert not press_barrier(most, "straight", on)


def test_what_does_not_fit_says_what_would_help() -> None:
    assert press_barrier(4, "white-base", press(6)) == ""
    assert press_barrier(4, "white-base", press(4)) == (
        "it takes 6 stations, and the press has 4; use 2 inks fewer"
    )
    assert "no flash unit" in press_barrier(1, "white-base", press(6, flashes=0))
    assert press_barrier(3, "discharge-base", press(4, flashes=0)) == ""


def test_the_inks_chosen_fit_the_press(ready: PreparedArtwork) -> None:
    on = press(4)
    shown = result(ready, on)
    assert 1 <= len(shown.inks) <= 2
    run = tonal_run(ready, shown, shop=SHOP, press=on)
    assert run.barrier == ""
    assert run.stations <= 4


def test_a_way_that_the_press_cannot_print_is_left_out(ready: PreparedArtwork) -> None:
    on = press(4)
    shown = result(ready, on, inks=THREE)
    assert {each.route for each in shown.routes} == {"straight", "discharge-base"}
    assert shown.why_not["white-base"].startswith("it takes 5 stations")
    assert shown.best in shown.routes


def test_a_picture_that_no_way_of_the_press_prints_has_no_ticket(
    ready: PreparedArtwork, three: TonalResult
) -> None:
    on = press(2)
    run = tonal_run(ready, three, shop=SHOP, press=on)
    assert "the press has 2" in run.barrier
    with pytest.raises(InputError, match="no ticket for 'Coal Black': it takes"):
        make_picture_ticket(
            run, name="sweep", ready=ready, shown=three, shop=SHOP, viewing=D50,
            made=date(2026, 3, 9),
        )  # fmt: skip


def test_every_door_chooses_the_same_inks_and_base(ready: PreparedArtwork, tmp_path: Path) -> None:
    (tmp_path / "sweep.png").write_bytes(tonal_art())
    folder = few_inks(tmp_path / "few", *FOR_PICTURES, "Foxglove Pink")
    words = ["separate", tmp_path / "sweep.png", "--garment", "Coal Black", "--out", tmp_path]
    words += ["--shop", folder]
    done = CliRunner().invoke(main, [*map(str, words), "--json"])
    assert done.exit_code == 0, done.stderr
    made = json.loads(done.stdout)
    shown = result(ready, shop=load_shop(folder))
    assert made["tonal"]["inks"] == [ink.name for ink in shown.inks]
    assert made["route"] == shown.best.route


def test_tonal_plates_are_ordered_as_all_screens_are() -> None:
    order = {"garment": SHOP.garment("Coal Black"), "route": "white-base", "lines_per_inch": 45.0}
    dark_first = THREE[::-1]
    assert ordered(dark_first, shop=SHOP, **order)[0].name == "Barley Yellow"  # light first
    rules = SHOP.rules.model_copy(update={"light_before_dark": False})
    as_given = ordered(dark_first, shop=replace(SHOP, rules=rules), **order)
    assert [ink.name for ink in as_given] == [ink.name for ink in dark_first]


def test_the_plates_are_those_of_the_best_way(
    ready: PreparedArtwork, monkeypatch: pytest.MonkeyPatch
) -> None:
    straight = SimpleNamespace(tonal=SimpleNamespace(route="straight"))
    monkeypatch.setattr(tonal_routes, "choose_route", lambda *_, **__: straight)
    shown = result(ready, inks=THREE[1:2])
    assert [each.route for each in shown.routes] == ["straight", "discharge-base", "white-base"]
    assert shown.best.route == "straight"
    run = tonal_run(ready, shown, shop=SHOP)
    assert [screen.ink.name for screen in run.screens] == ["Kiln Red"]  # and no base


def test_plates_are_taken_away_whole(ready: PreparedArtwork, three: TonalResult) -> None:
    drawn = artwork(Image.open(io.BytesIO(tonal_art())), dpi=100.0)
    run = tonal_run(ready, three, shop=SHOP)
    with zipfile.ZipFile(io.BytesIO(tonal_plates_zip(drawn, three, shop=SHOP, viewing=D50))) as z:
        names = z.namelist()
        plates = [Image.open(io.BytesIO(z.read(name))) for name in names]
        assert [name.split("--plate-")[1].split("-")[0] for name in names] == [
            str(screen.number) for screen in run.screens
        ]
        for plate, screen in zip(plates, run.screens, strict=True):
            assert plate.size == (320, 240)
            assert plate.info["dpi"][0] == pytest.approx(100.0, abs=0.1)
            # black prints: the mean of the film is near its plate's coverage, less dot growth
            cover = 1.0 - np.asarray(plate.convert("L")).mean() / 255.0
            size_cm2 = 32.0 * 24.0 * (2.54 / 10.0) ** 2
            assert 0.0 < cover <= screen.area_cm2 / size_cm2 + 0.01


def test_what_a_step_raises_ends_the_work_and_leaves_none_going_on(
    ready: PreparedArtwork, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A visitor who closes the page: the page raises where it would tell how far the work is."""

    class Left(Exception):
        pass

    drawn, told = list[object](), list[str]()
    draw = tonal_routes.draw_tonal

    def counted(*args: object, **more: object) -> object:
        drawn.append(args)
        return draw(*args, **more)  # type: ignore[arg-type]

    def step(words: str, done: float) -> None:
        told.append(words)
        if words.startswith("Separating"):
            raise Left

    monkeypatch.setattr(tonal_routes, "draw_tonal", counted)
    before = threading.active_count()
    with pytest.raises(Left):
        result(ready, step=step, inks=THREE)
    assert threading.active_count() == before
    assert not drawn  # the route that was begun, the best, did not go on to be drawn
    assert told[-1] == "Separating the picture into halftones over a white base"


def test_the_best_route_is_given_before_the_others_are_drawn(ready: PreparedArtwork) -> None:
    given = list[tonal_routes.TonalResult]()
    found = result(ready, inks=THREE, first=given.append)
    (first,) = given
    assert first.routes == (first.best,)
    assert len(found.routes) > 1
    assert found.best is first.best


def test_rows_that_fall_between_the_sampled_ones_are_counted_where_what_is_said_may_turn() -> None:
    """One row of sixteen is a green that no ink reaches: 6.25 %, more than a picture may miss.

    Of every fourth row none is green.
    """
    art = np.full((64, 48, 4), 255, dtype=np.uint8)
    art[..., :3] = 40
    art[1::16, :, :3] = (0, 255, 0)
    tonal = tonal_set(SHOP, garment=SHOP.garment("Coal Black"), inks=THREE, route="white-base")
    whole, some = (
        print_tonal(art, tonal, viewing=D50, tolerance=5.0, every=every) for every in (1, 4)
    )
    assert some.separation.miss.max() * MISS_STEP < 5.0
    assert whole.reach.out_of_reach == some.reach.out_of_reach == 1 / 16
    assert not some.reach.nominal
