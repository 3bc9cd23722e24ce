"""A job's file: what it says, and every fault of it in one go."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inksim.common.errors import InputError, ShopFaults
from inksim.job.job import Job
from inksim.job.load import job_in_memory, load_job
from inksim.job.schema import BASE_CHOKE_MM
from inksim.shop.load import demo_shop_folder, load_shop
from tests.pictures import two_squares
from tests.small_shop import write

SHOP = load_shop()
JOBS = sorted((demo_shop_folder() / "jobs").glob("*.toml"))
HEAD = 'name = "any"\ngarments = ["Coal Black"]\nquantity = 10\n'
RED = '[[color]]\ntarget = "Oven Red"\nink = "Kiln Red"\narea_cm2 = 100\n'


def read(tmp_path: Path, text: str) -> Job:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path, shop=SHOP)


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_the_demo_jobs_are_sound_and_say_that_they_are_invented(path: Path) -> None:
    job = load_job(path, shop=SHOP)
    assert job.invented
    assert job.colours
    assert job.costs == SHOP.costs


def test_there_are_demo_jobs() -> None:
    assert len(JOBS) >= 3


def test_what_a_job_says(tmp_path: Path) -> None:
    job = read(
        tmp_path,
        HEAD
        + "tolerance_de00 = 2.5\nlines_per_inch = 60\n[press]\nstations = 4\nflashes = 0\n"
        + RED
        + '[[color]]\nname = "cream"\ntarget = "#ead9b5"\narea_cm2 = 20\ntolerance_de00 = 6\n'
        + "[costs]\nscreen_making = 40\n",
    )
    red, cream = job.colours
    assert (red.name, red.tolerance, red.area_cm2) == ("Oven Red", 2.5, 100)
    assert red.ink is SHOP.ink("Kiln Red")
    assert (cream.name, cream.tolerance, cream.ink) == ("cream", 6.0, None)
    assert job.area_cm2 == 120
    assert (job.press.stations, job.press.flashes) == (4, 0)
    assert job.costs.screen_making == 40  # the job's
    assert job.costs.labor_per_hour == SHOP.costs.labor_per_hour  # the shop's
    assert any("60 lines/inch are finer" in note for note in job.notes)


def test_the_press_of_a_job_is_the_shops_but_for_what_the_job_states(tmp_path: Path) -> None:
    assert read(tmp_path, HEAD + RED).press == SHOP.stations
    (tmp_path / "shop").mkdir()
    large = load_shop(write(tmp_path / "shop", press="[stations]\nstations = 12\nflashes = 3\n"))
    text = HEAD.replace("Coal Black", "gray") + "[press]\nflashes = 2\n"
    (tmp_path / "job.toml").write_text(
        text + '[[color]]\ntarget = "#aa2211"\narea_cm2 = 9\n', encoding="utf-8"
    )
    press = load_job(tmp_path / "job.toml", shop=large).press
    assert (press.stations, press.flashes, press.flash_takes_station) == (12, 2, True)


def test_a_color_takes_hex_and_lab_as_a_palette_does(tmp_path: Path) -> None:
    # what the field means is what the same value means as a target
    code, lab = read(
        tmp_path,
        HEAD
        + '[[color]]\nhex = "E8622C"\narea_cm2 = 20\n'
        + "[[color]]\nlab = [46.0, 58, 39.5]\narea_cm2 = 30\n",
    ).colours
    assert code.name == "#e8622c"
    np.testing.assert_array_equal(code.target.lab_d50, SHOP.target("#e8622c").lab_d50)
    assert code.target.data == SHOP.target("#e8622c").data
    assert lab.name == "Lab 46, 58, 39.5"
    np.testing.assert_array_equal(lab.target.lab_d50, [46, 58, 39.5])
    named = '[[color]]\nname = "rust"\nlab = [46, 58, 39]\narea_cm2 = 30\n'
    (rust,) = read(tmp_path, HEAD + named).colours
    assert (rust.name, rust.target.name) == ("rust", "rust")


def test_the_shops_habit_is_the_tolerance_where_none_is_given(tmp_path: Path) -> None:
    (red,) = read(tmp_path, HEAD + RED).colours
    assert red.tolerance == SHOP.habits.tolerance_de00


def picture(tmp_path: Path, *, dpi: float | None) -> None:
    """An orange square of 200 × 100 px beside a teal one of 100 × 100 px, clear around."""
    pixels = np.zeros((120, 320, 4), dtype=np.uint8)
    pixels[10:110, 10:210] = (0xE8, 0x62, 0x2C, 255)
    pixels[10:110, 210:310] = (0x0F, 0x5C, 0x63, 255)
    more = {} if dpi is None else {"dpi": (dpi, dpi)}
    Image.fromarray(pixels).save(tmp_path / "art.png", **more)


def test_an_artwork_gives_its_flats_with_their_areas(tmp_path: Path) -> None:
    picture(tmp_path, dpi=100)
    job = read(tmp_path, HEAD + '[artwork]\nfile = "art.png"\n')
    # 100 px are an inch: 2 in² and 1 in² of 6.4516 cm²
    assert {c.name: c.area_cm2 for c in job.colours} == pytest.approx(
        {"#e8622c": 2 * 6.4516, "#0f5c63": 6.4516}, rel=1e-3
    )
    assert all(c.ink is None for c in job.colours)


def test_the_width_of_the_print_overrides_the_resolution(tmp_path: Path) -> None:
    picture(tmp_path, dpi=None)
    job = read(tmp_path, HEAD + '[artwork]\nfile = "art.png"\nwidth_mm = 320\n')
    assert {c.name: c.area_cm2 for c in job.colours} == pytest.approx(
        {"#e8622c": 200.0, "#0f5c63": 100.0}
    )
    assert "The file gives no resolution, so the job's width of 320 mm is taken." in job.notes


def test_inks_of_an_artwork_by_hand(tmp_path: Path) -> None:
    picture(tmp_path, dpi=100)
    art = '[artwork]\nfile = "art.png"\n'
    job = read(
        tmp_path, HEAD + art + 'inks = { "E8622C" = "Lantern Orange", "#0f5c63" = "none" }\n'
    )
    (orange,) = job.colours
    assert orange.ink is SHOP.ink("Lantern Orange")


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        (HEAD.replace("10", "0") + RED, ["quantity: must be at least 1"]),
        (HEAD.replace("10", "-3") + RED, ["quantity"]),
        (HEAD.replace("10", "1.5") + RED, ["quantity"]),
        (HEAD, ["it has neither"]),
        (HEAD + RED + '[artwork]\nfile = "art.png"\n', ["it has both"]),
        (HEAD.replace("Coal Black", "Cole Black") + RED, ["did you mean 'Coal Black'"]),
        (HEAD + RED.replace("Kiln Red", "Klin Red"), ["color no. 1: there is no ink 'Klin Red'"]),
        (HEAD + RED.replace("Oven Red", "Oven Rad"), ["color no. 1: there is no target color"]),
        (HEAD + RED.replace("100", "0"), ["area_cm2"]),
        (HEAD + RED.replace("100", "nan"), ["area_cm2"]),
        (HEAD + RED + 'hex = "#c9342f"\n', ["one of target, hex or lab; it has target and hex"]),
        (HEAD + "[[color]]\narea_cm2 = 100\n", ["one of target, hex or lab; it has none"]),
        (HEAD + '[[color]]\nhex = "#c9342"\narea_cm2 = 100\n', ["hex"]),
        (HEAD + "[[color]]\nlab = [120, 0, 0]\narea_cm2 = 100\n", ["lab"]),
        (HEAD + RED + RED, ["color 'Oven Red': there twice"]),
        (HEAD + RED.replace("Kiln Red", "Rainwater Clear Base"), ["is a clear base, not a"]),
        (HEAD + "[press]\nstations = 0\n" + RED, ["stations"]),
        (HEAD + "ink_price = 3\n" + RED, ["ink_price: this field is not known"]),
        (HEAD.replace('"Coal Black"', '"Coal Black", "Coal Black"') + RED, ["stands there twice"]),
        (HEAD.replace('["Coal Black"]', "[]") + RED, ["garments"]),
        (
            HEAD.replace("Coal", "Cole").replace("10", "0") + RED.replace("100", "-1"),
            ["quantity", "area_cm2"],  # what only the shop knows is asked once the file is sound
        ),
        (HEAD.replace("Coal", "Cole") + RED.replace("Kiln", "Klin"), ["garment", "Klin Red"]),
    ],
)  # fmt: skip
def test_faults_are_told_all_at_once(tmp_path: Path, text: str, faults: list[str]) -> None:
    with pytest.raises(ShopFaults, match="the job has") as caught:
        read(tmp_path, text)
    assert len(caught.value.faults) == len(faults), caught.value.faults
    for told, fault in zip(caught.value.faults, faults, strict=True):
        assert told.startswith("job.toml, ")
        assert fault in told


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name = ", "'.*job.toml' is not TOML"),
        (HEAD + '[artwork]\nfile = "lost.png"\n', "lost.png"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(tmp_path, text)


def test_a_job_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"there is no file '.*nothing\.toml'"):
        load_job(tmp_path / "nothing.toml", shop=SHOP)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("", "give width_mm"),
        (
            'width_mm = 100\ninks = { "#e8622c" = "none", "#0f5c63" = "none" }\n',
            "nothing is left to print",
        ),
        ('width_mm = 100\ninks = { "#123456" = "Kiln Red" }\n', "no flat color of this artwork"),
    ],
)
def test_an_artwork_that_is_not_enough(tmp_path: Path, more: str, said: str) -> None:
    picture(tmp_path, dpi=None)
    with pytest.raises(InputError, match=said):
        read(tmp_path, HEAD + '[artwork]\nfile = "art.png"\n' + more)


@pytest.mark.parametrize(
    ("given", "fault"),
    [
        ({"choke_mm": 25.0}, "base_choke_mm"),
        ({"tolerance": 0.0}, "tolerance_de00"),
        ({"client": "x" * 201}, "client"),
        ({"width_mm": 0.5}, "artwork, width_mm"),
    ],
)
def test_a_job_in_memory_is_checked_as_one_in_a_file(
    tmp_path: Path, given: dict[str, object], fault: str
) -> None:
    path = tmp_path / f"{'a very long name of a file ' * 3}.png"
    two_squares().save(path)
    more = {"shop": SHOP, "garments": [SHOP.garment("Coal Black")]}
    made = job_in_memory(path, **more, width_mm=80.0)
    assert made.job.name == path.stem
    assert made.job.base_choke_mm == BASE_CHOKE_MM
    with pytest.raises(ShopFaults, match=f"{path.name}, {fault}: "):
        job_in_memory(path, **(more | {"width_mm": 80.0} | given))
