"""axe-core on every page: nothing above minor, at a desk's and a phone's width; the Tab key."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.acts import (
    DONE,
    after,
    choose_out_of_reach,
    decide,
    keep_job,
    mix_design,
    open_calibration,
    open_costs,
    open_drawdowns,
    open_entry,
    open_menu,
    open_photo,
    open_rules,
    open_tonal,
    open_upload,
    use_art,
    view,
    whole_design,
)
from tests.browser.app_page import opened, pixels, settled
from tests.browser.artworks import PHOTO, WHITE

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SERIOUS = ("moderate", "serious", "critical")  # minor: the role of Streamlit's own dropzone
WIDTHS = (390, 1280)


def stay(page: Page) -> None:
    """The page as it opens."""


def close_menu(page: Page) -> None:
    page.keyboard.press("Escape")


# What is looked at in one session, one after the other: a new page costs as much as four looks.
# Each name of DONE stands here, done by the same acts.
WALKS: dict[str, list[tuple[str, Callable[[Page], None]]]] = {
    "client": [
        ("client", stay),
        ("client-wipe", view("Wipe")),
        ("client-shirt", view("On the shirt")),
        ("client-cloth", view("Cloth, pixel for pixel")),
        ("client-lettering", partial(use_art, WHITE)),
    ],
    "tonal": [
        ("client-tonal", open_tonal),
        ("client-tonal-shirt", view("On the shirt")),
        ("client-tonal-close", view("Close up")),
        ("client-photograph", partial(use_art, PHOTO)),
    ],
    "kept": [
        ("client-upload", open_upload),
        ("client-kept", keep_job),
        ("client-kept-menu", open_menu),
        ("base-kept", after(close_menu, decide)),
    ],
    "base": [("base", stay), ("base-design", whole_design), ("base-mixed", mix_design)],
    "palette": [("palette", stay), ("palette-mixed", choose_out_of_reach)],
    "shop": [
        ("shop", stay),
        ("shop-drawdowns", open_drawdowns),
        ("shop-entry", open_entry),
        ("shop-photo", open_photo),
        ("shop-calibrated", open_calibration),
        ("shop-costs", open_costs),
        ("shop-rules", open_rules),
    ],
}
START = {"base": "base", "palette": "palette", "shop": "shop"}
OWN = ("kept", "shop")


CHOSEN_HIDDEN = """() => [...document.querySelectorAll(".st-key-garment [aria-checked=true]")]
  .some(chosen => {
    const box = chosen.parentElement.getBoundingClientRect(), own = chosen.getBoundingClientRect();
    return own.left < box.left - 1 || own.right > box.right + 1;
  })"""


@pytest.mark.parametrize("name", list(WALKS))
def test_axe_finds_nothing_serious_and_nothing_is_too_wide(
    browser: Browser, app_address: str, own_app: tuple[str, Path], axe: str, name: str
) -> None:
    address = own_app[0] if name in OWN else app_address
    bad: list[str] = []
    with opened(browser, address, START.get(name, ""), width=WIDTHS[0], height=844) as page:
        for state, act in WALKS[name]:
            act(page)
            for wide in at_every_width(settled(page)):
                bad += [f"{state}, {wide} px: {each}" for each in serious(page, axe)]
                main = page.locator("[data-testid=stMain]")
                if main.evaluate("main => main.scrollWidth - main.clientWidth") > 1:
                    bad.append(f"{state}, {wide} px: scrolls sideways")
                if page.evaluate(CHOSEN_HIDDEN):
                    bad.append(f"{state}, {wide} px: the chosen garment is out of sight")
                assert page.get_by_role("link", name="Check a palette").last.is_visible()
    assert not bad, "\n".join(bad)
    if axe.startswith("//"):
        pytest.skip(axe)


def test_every_page_where_work_was_done_is_walked_to() -> None:
    walked = {state for states in WALKS.values() for state, _ in states}
    assert set(DONE) <= walked


HERE = "document.activeElement"


def test_the_tab_key_goes_into_an_opened_box_and_to_what_is_chosen(
    browser: Browser, app_address: str
) -> None:
    """WCAG 2.2, 2.4.3: the focus order preserves meaning and operability."""
    with opened(browser, app_address, "", garment="Brick Red") as page:
        box = page.get_by_role("dialog")
        button = page.get_by_text("Artwork:").first.locator("xpath=ancestor::button")
        button.focus()
        page.keyboard.press("Enter")
        box.get_by_text("Use the demo's").first.wait_for()
        page.keyboard.press("Tab")
        assert box.evaluate(f"box => box.contains({HERE})")
        for _ in range(20):  # through the box, and out of it to what follows its button
            page.keyboard.press("Tab")
            if not box.evaluate(f"box => box.contains({HERE})"):
                break
        chosen = f"[{HERE}.innerText, {HERE}.getAttribute('aria-checked')]"
        assert page.evaluate(chosen) == ["Brick Red", "true"]
        page.keyboard.press("Tab")
        assert page.evaluate(f"{HERE}.innerText").startswith("more")  # garments, in a box
        page.keyboard.press("Shift+Tab")
        assert page.evaluate(chosen) == ["Brick Red", "true"]
        page.keyboard.press("Shift+Tab")
        assert button.evaluate(f"button => button === {HERE}")
        page.keyboard.press("Tab")
        assert box.evaluate(f"box => box.contains({HERE})")
        lights = page.locator(".st-key-light [data-variant]").all()
        dark = [float(pixels(each).mean()) for each in lights]
        assert dark[0] < min(dark[1:]) / 2  # the chosen one is the darkest


def at_every_width(page: Page) -> Iterator[int]:
    """A phone's width and a desk's, beginning with the one that the page has."""
    now = (page.viewport_size or {"width": WIDTHS[0]})["width"]
    for width in sorted(WIDTHS, key=lambda width: width != now):
        if width != now:
            page.set_viewport_size({"width": width, "height": 900})
            settled(page)
        yield width


def serious(page: Page, axe: str) -> list[str]:
    """What axe-core finds moderate, serious or critical on a page."""
    if axe.startswith("//"):
        return []
    # What was redrawn fades in; its contrast is that of the finished page.
    page.wait_for_function(
        "!document.querySelector('[data-stale=true]') && "
        "document.getAnimations().every(one => one.playState !== 'running')"
    )
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe)
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    return [
        f"{each['id']}: {each['help']}: "
        + "; ".join(str(node["html"])[:160] for node in each["nodes"][:3])
        for each in found["violations"]
        if each["impact"] in SERIOUS
    ]
