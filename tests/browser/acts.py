"""Pages that somebody has done something on: what to do, for tests and for pictures of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from inksim.calibration.history import to_csv
from tests.browser.app_page import settled
from tests.browser.artworks import PHOTO, WHITE, Art
from tests.cli.test_calibrate import rows
from tests.photo.rendered import SIZE
from tests.ui.test_current_job import jpeg
from tests.ui.test_shop_drawdowns import drawdown_file
from tests.ui.test_shop_photo import shirts

if TYPE_CHECKING:
    from playwright.sync_api import Page


def open_tonal(page: Page) -> None:
    page.get_by_text("Artwork:").first.click()
    page.get_by_role("button", name="Use the demo's river-morning.png").click()
    page.get_by_text("Tonal artwork, printed as halftones").first.wait_for()
    page.keyboard.press("Escape")


def view(name: str) -> Callable[[Page], None]:
    """Choose a view of the client's page."""

    def act(page: Page) -> None:
        page.get_by_role("radio", name=name).click()

    return act


def after(*acts: Callable[[Page], None]) -> Callable[[Page], None]:
    """One after the other."""

    def act(page: Page) -> None:
        for each in acts:
            each(page)

    return act


def choose_out_of_reach(page: Page) -> None:
    page.get_by_role("button", name=re.compile("^Rust on Flour White")).click()
    page.get_by_role("heading", name="Mix it").wait_for()


def whole_design(page: Page) -> None:
    page.get_by_role("radio", name="The whole design").click()
    page.get_by_text("What it takes").wait_for()


def mix_design(page: Page) -> None:
    page.get_by_text("Mix it: recipes").click()
    page.get_by_text("Recipe card").first.wait_for()


def open_calibration(page: Page) -> None:
    page.get_by_role("tab", name="Press").click()
    settled(page)
    page.get_by_text("Calibrate to readings of real prints").click()
    field = page.get_by_label("Or paste them")
    lots = ("B7", "C1", "", "", "D2", "D3")
    days = ("2026-03-02", "2026-04-08", "", "", "2026-05-01", "2026-05-01")
    read = [
        replace(row, ink_lot=lot, date=day)
        for row, lot, day in zip(rows(), lots, days, strict=True)
    ]
    field.fill(to_csv(read))
    field.press("Control+Enter")
    page.get_by_text("Half of new prints").wait_for()
    settled(page)  # tables and charts come after the words


def open_entry(page: Page) -> None:
    """A garment's form, sent with something to mend."""
    page.get_by_role("tab", name="Garments").click()
    settled(page)
    page.get_by_role("button", name="Edit Slate Gray").click()
    page.get_by_role("button", name="Remove Slate Gray").wait_for()
    page.get_by_label("Name", exact=True).fill("")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("something to mend").wait_for()


def open_drawdowns(page: Page) -> None:
    page.get_by_text("Find inks from drawdowns").click()
    page.locator(".st-key-drawdowns input[type=file]").set_input_files(
        {"name": "drawdowns.csv", "mimeType": "text/csv", "buffer": drawdown_file()}
    )
    page.get_by_text("the fit lies").wait_for()


def open_photo(page: Page) -> None:
    """A picture of a chart and two cloths, one of them marked by its corners."""
    page.get_by_role("tab", name="From a photo").click()
    shot, data = shirts()
    page.locator(".st-key-photo-file input[type=file]").set_input_files(
        {"name": "shirts.jpg", "mimeType": "image/jpeg", "buffer": data}
    )
    page.get_by_text("found, not given").wait_for()
    settled(page)
    stage = page.get_by_role("application")
    stage.scroll_into_view_if_needed()
    wide, high = (stage.bounding_box() or {})["width"], (stage.bounding_box() or {})["height"]
    for x, y in (shot.cloths["sage"][0], shot.cloths["sage"][2]):
        stage.click(position={"x": x / SIZE[0] * wide, "y": y / SIZE[1] * high})
    page.get_by_label("Colors read from the picture").wait_for()


def open_costs(page: Page) -> None:
    page.get_by_role("tab", name="Costs").click()
    settled(page)
    page.get_by_text("Change the costs").click()


def open_rules(page: Page) -> None:
    page.get_by_role("tab", name="Rules").click()


def open_upload(page: Page, name: str = "logo.jpg") -> None:
    page.get_by_text("Artwork:").first.click()
    page.locator(".st-key-artwork-file input[type=file]").set_input_files(
        {"name": name, "mimeType": "image/jpeg", "buffer": jpeg()}
    )
    page.wait_for_selector(f"img[alt^='{name} on']")
    settled(page)  # of the same file its picture is there already
    page.keyboard.press("Escape")
    settled(page)


def keep_job(page: Page, name: str = "Mill logo") -> None:
    wide = (page.viewport_size or {"width": 0})["width"]
    name = f"{name} {wide}"  # one for each width that pictures are taken at
    open_upload(page)
    page.get_by_role("button", name="Leave the background out").click()
    page.get_by_text("1 flat color.").wait_for()
    settled(page)
    page.get_by_text("Artwork:").first.click()
    page.get_by_text("Keep as a job…").click()
    for label, words in (("Name", name), ("Client", "Weir Mill")):
        field = page.get_by_label(label, exact=True)
        field.fill(words)
        field.press("Tab")
        settled(page)
    page.get_by_role("button", name="Keep this job").click()
    page.get_by_text("Kept as job").wait_for()
    page.keyboard.press("Escape")
    settled(page)


def decide(page: Page) -> None:
    """The same job on the other page."""
    links = page.get_by_role("link", name="Decide about the base")
    (links.last if links.last.is_visible() else links.first).click()  # on a phone below the title
    page.get_by_text("What it takes").wait_for()


def use_art(art: Art, page: Page) -> None:
    """Work on a customer's file, on the client's page."""
    name, mime, data = art
    page.get_by_text("Artwork:").first.click()
    page.locator(".st-key-artwork-file input[type=file]").set_input_files(
        {"name": name, "mimeType": mime, "buffer": data}
    )
    page.locator(".jobbar").filter(has_text=name).wait_for()
    page.keyboard.press("Escape")
    settled(page)


def first_press(page: Page) -> None:
    page.get_by_role("button", name="This is my press").click()
    page.get_by_text("usual screens, assumed.").wait_for()


def first_ink(page: Page) -> None:
    page.get_by_label("Its color printed over white").fill("#e8622c")
    page.get_by_label("Name", exact=True).fill("Lantern")
    page.get_by_role("button", name="Save my ink").click()
    page.get_by_text("Lantern is saved").wait_for()


def first_shirt(page: Page) -> None:
    page.get_by_label("The color of its cloth").fill("#1f4d52")
    page.get_by_label("Name", exact=True).last.fill("Tarn")
    page.get_by_role("button", name="Save my shirt and predict").click()
    page.get_by_text("Your first prediction: Lantern on Tarn").wait_for()


def open_menu(page: Page) -> None:
    """What can be done to a kept job."""
    if not page.get_by_text("Same again on…").is_visible():
        page.get_by_text("Job:").first.click()
    page.get_by_text("Same again on…").click()


# Pages that somebody has done something on; the shop's are those of a shop of one's own.
DONE: dict[str, tuple[str, Callable[[Page], None]]] = {
    "client-tonal": ("", open_tonal),
    "client-tonal-shirt": ("", after(open_tonal, view("On the shirt"))),
    "client-tonal-close": ("", after(open_tonal, view("Close up"))),
    "client-upload": ("", open_upload),
    "client-lettering": ("", partial(use_art, WHITE)),
    "client-photograph": ("", partial(use_art, PHOTO)),
    "client-kept": ("", keep_job),
    "client-kept-menu": ("", after(partial(keep_job, name="Mill logo to change"), open_menu)),
    "base-kept": ("", after(partial(keep_job, name="Mill logo to decide"), decide)),
    "base-mixed": ("base", after(whole_design, mix_design)),
    "palette-mixed": ("palette", choose_out_of_reach),
    "shop-entry": ("shop", open_entry),
    "shop-calibrated": ("shop", open_calibration),
    "shop-drawdowns": ("shop", open_drawdowns),
    "shop-photo": ("shop", open_photo),
    "shop-costs": ("shop", open_costs),
    "shop-rules": ("shop", open_rules),
}

# One after the other in a shop that has nothing yet.
FIRST_RUN: dict[str, Callable[[Page], None]] = {
    "first-press": lambda page: None,
    "first-ink": first_press,
    "first-shirt": first_ink,
    "first-print": first_shirt,
}
