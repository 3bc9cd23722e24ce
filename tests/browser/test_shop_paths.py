"""The owner's way through the shop, and tonal artwork to its proof, in a real browser."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from inksim.calibration.history import rows_kept
from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import D50, lab
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.browser.actions import Actions
from tests.browser.acts import open_calibration, open_costs, open_photo
from tests.browser.app_page import SECONDS, opened, serving, settled
from tests.browser.artworks import PHOTO
from tests.photo.rendered import true_lab

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def changing(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """The app on a shop that these tests store in, and take back what they stored."""
    folder = tmp_path_factory.mktemp("changing")
    shop = new_shop(folder / "shop")
    with serving(folder / "log.txt", INKSIM_SHOP=str(shop)) as address:
        yield address, shop


def test_the_owner_calibrates_the_press_and_goes_back(
    browser: Browser, changing: tuple[str, Path], tmp_path: Path
) -> None:
    address, shop = changing
    with opened(browser, address, "shop") as page:
        open_calibration(page)
        chart = page.locator("[data-testid=stVegaLiteChart]").last
        assert chart.locator("canvas, svg").count() > 0
        swatches = page.locator("[aria-label='Readings, before and after'] .pads")
        assert swatches.count() == 2 * 6  # before and after, each beside the reading
        page.get_by_role("button", name="Store as the new press version").click()
        page.get_by_text("The press is version 1 now").wait_for()
        assert load_shop(shop).press.calibrated
        assert len(rows_kept(shop)) == 6
        with page.expect_download() as arriving:
            page.get_by_role("button", name="All readings (CSV)").click()
        arriving.value.save_as(tmp_path / "kept.csv")
        assert len((tmp_path / "kept.csv").read_text(encoding="utf-8").splitlines()) == 7
        page.get_by_role("button", name="Go back to version 0").click()
        page.get_by_text("The press is version 0 again").wait_for()
        assert not load_shop(shop).press.calibrated


def test_a_garment_is_copied_its_fibers_typed_and_the_copy_taken_back(
    browser: Browser, changing: tuple[str, Path]
) -> None:
    address, shop = changing
    with opened(browser, address, "shop") as page:
        page.get_by_role("tab", name="Garments").click()
        settled(page)
        page.get_by_role("button", name="Copy Slate Gray").click()
        fibres = page.get_by_label("Fibers: pick, or type as on the label")
        fibres.click()
        fibres.fill("60% cotton 40% poly")
        fibres.press("Enter")
        page.get_by_role("button", name="Save", exact=True).click()
        page.get_by_text("Slate Gray, copy is saved.").wait_for()
        made = load_shop(shop).garment("Slate Gray, copy")
        assert dict(made.fibers) == {"cotton": 0.6, "polyester": 0.4}
        page.get_by_role("button", name="Undo: take out garment Slate Gray, copy").click()
        page.get_by_text("garments.toml is as it was").wait_for()
        assert "Slate Gray, copy" not in load_shop(shop).garments


def test_a_shirt_is_marked_on_a_photo_and_kept_as_a_garment_on_a_phone(
    browser: Browser, changing: tuple[str, Path]
) -> None:
    from playwright.sync_api import expect

    address, shop = changing
    with opened(browser, address, "shop", width=390) as page:
        open_photo(page)
        page.get_by_role("button", name="Use as a garment").click()
        name = page.get_by_label("Name", exact=True)
        name.fill("Sage Tee")
        page.get_by_role("button", name="Save", exact=True).click()
        page.get_by_text("Sage Tee is saved.").wait_for()
        made = load_shop(shop).garment("Sage Tee")
        assert made.data == "photo"
        assert made.noise is not None
        # the cloth's own spectrum, within twice what the reading says of itself
        off = float(delta_e_2000(true_lab("sage"), lab(made.reflectance, D50)))
        assert off < 2.0 * made.noise.whole
        # by the keyboard: two corners with the cross and Enter
        page.get_by_role("application").focus()
        for keys in (["Shift+ArrowLeft", "Enter"], [*["ArrowUp"] * 4, *["ArrowLeft"] * 4, "Enter"]):
            for key in keys:
                page.keyboard.press(key)
        typed = page.get_by_label(re.compile("^What to read"))
        expect(typed).to_have_value(re.compile(r"^.+\n.+$"), timeout=1000 * SECONDS)
        page.get_by_role("button", name="Undo: take out garment Sage Tee").click()
        page.get_by_text("garments.toml is as it was").wait_for()
        assert "Sage Tee" not in load_shop(shop).garments


def test_two_people_change_the_costs_and_neither_overwrites_the_other(
    browser: Browser, changing: tuple[str, Path]
) -> None:
    address, shop = changing
    with (
        opened(browser, address, "shop") as one,
        opened(browser, address, "shop") as other,
    ):
        for page, value in ((one, "31"), (other, "44")):
            open_costs(page)
            page.get_by_label(re.compile("^Labor")).fill(value)
        one.get_by_role("button", name="Save the costs").click()
        one.get_by_text("saved in costs.toml").wait_for()
        other.get_by_role("button", name="Save the costs").click()
        other.get_by_text("changed by somebody else").wait_for()
        assert load_shop(shop).costs.labor_per_hour == 31.0
        # the second one keeps what was typed, is offered no undo of the first one's save
        open_costs(settled(other))
        assert other.get_by_label(re.compile("^Labor")).input_value() == "44"
        other.get_by_text("The last change is not yours").wait_for()
        assert other.get_by_role("button", name=re.compile("^Undo")).count() == 0
        one.get_by_role("button", name="Undo: Labor: 28 USD/h again").click()
        one.get_by_text("costs.toml is as it was").wait_for()
        assert load_shop(shop).costs.labor_per_hour == 28.0


def test_the_rep_takes_a_photograph_to_a_proof_sheet_in_five_actions(
    browser: Browser, app_address: str, tmp_path: Path
) -> None:
    with opened(browser, app_address) as page:
        does = Actions(page)
        does.use(*PHOTO)
        page.get_by_text("Tonal artwork, printed as halftones").first.wait_for()
        does.on("Flour White")
        page.wait_for_selector("img[alt^='harbor.jpg on Flour White']")
        settled(page)
        said = page.locator(".verdict b").inner_text()
        file = does.take(page.get_by_role("button", name="Proof sheet to sign"), tmp_path)
        assert does.count <= 5
    assert file.name == "proof-harbor-flour-white.pdf"
    if shutil.which("pdftotext") is None:
        pytest.skip("Poppler is not installed: the proof's words are not read back")
    words = subprocess.run(
        ["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert said in re.sub(r"\s+", " ", words)
    listed = subprocess.run(
        ["pdfimages", "-list", str(file)], capture_output=True, text=True, check=True
    ).stdout
    assert len(listed.splitlines()) == 4  # two lines of head, two pictures


def test_long_work_is_stopped_and_taken_up_again(browser: Browser, app_address: str) -> None:
    with opened(browser, app_address, garment="Clover Green") as page:
        page.get_by_text("Artwork:").first.click()
        page.get_by_role("button", name="Use the demo's river-morning.png").click()
        page.get_by_text("Separating the picture into halftones").first.wait_for()
        # nothing stands there that is said of another picture, and the progress is in sight
        assert (
            page.locator(".verdict, .chips, [data-testid=stMain] [data-testid=stImage]").count()
            == 0
        )
        bar = page.locator("[data-testid=stProgress]").bounding_box()
        assert bar is not None
        assert bar["y"] + bar["height"] <= 450
        page.keyboard.press("Escape")
        page.get_by_role("button", name="Stop", exact=True).click()
        page.get_by_text("Stopped. Nothing was worked out").wait_for()
        page.get_by_role("button", name="Work it out after all").click()
        page.wait_for_selector("img[alt^='river-morning.png on Clover Green']")
