"""What the artist takes away from the palette page, and the picture that can be turned."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageCms

from tests.browser.app_page import opened, pixels, settled

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def taken(page: Page, button: str, folder: Path) -> Path:
    with page.expect_download() as arriving:
        page.get_by_role("button", name=button).click()
    file = folder / arriving.value.suggested_filename
    arriving.value.save_as(file)
    return file


def test_the_artist_takes_the_map_and_the_look_away(
    browser: Browser, app_address: str, tmp_path: Path
) -> None:
    with opened(browser, app_address, "palette") as page:
        map_file = taken(page, "Picture (PNG)", tmp_path)
        page.get_by_text("for your own editor").click()
        settled(page)
        cube = taken(page, "Look table (.cube)", tmp_path)
        profile = taken(page, "Profile (.icc)", tmp_path)
        cell = page.get_by_role("button", name=re.compile("^Regatta Orange on Coal Black"))
        shown = cell.locator("i").evaluate("patch => getComputedStyle(patch).backgroundColor")
    picture = np.array(Image.open(map_file).convert("RGB"))
    code = [int(value) for value in re.findall(r"\d+", shown)]
    assert np.mean(np.all(picture == code, axis=-1)) > 0.001  # the print's swatch is on the map
    # the .cube of a look: its size, then a line of three numbers for each node
    lines = cube.read_text(encoding="utf-8").splitlines()
    size = next(int(line.split()[1]) for line in lines if line.startswith("LUT_3D_SIZE"))
    nodes = [line.split() for line in lines if re.match(r"[-\d.]+ [-\d.]+ [-\d.]+$", line)]
    assert len(nodes) == size**3
    assert all(0.0 <= float(value) <= 1.0 for node in nodes for value in node)
    # Little CMS, an independent engine, opens the profile and proofs with it
    opened_profile = ImageCms.ImageCmsProfile(str(profile))
    assert ImageCms.getProfileDescription(opened_profile).strip()
    grey = Image.new("RGB", (4, 4), (128, 128, 128))
    turned = ImageCms.profileToProfile(grey, ImageCms.createProfile("sRGB"), opened_profile)
    assert turned is not None


def test_a_color_out_of_reach_shows_the_nearest_there_is_and_where_it_lies(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address, "palette") as page:
        cell = page.get_by_role("button", name=re.compile("^Lilac on Coal Black.*cannot promise"))
        cell.click()
        page.get_by_role("heading", name="Lilac on Coal Black").wait_for()
        page.get_by_role("heading", name="Lilac in all that prints on Coal Black").wait_for()
        settled(page)
        for title in ("At its hue", "At its lightness"):
            chart = page.locator(f"[aria-label^='{title}'][aria-label*='Lilac lies outside']")
            shown = pixels(chart)
            # the slice has very many colors, the ground around it one
            assert len(np.unique(shown.reshape(-1, 3), axis=0)) > 100

        pads = page.locator("[aria-label^='target #']").first
        assert "nearest print" in pads.inner_text()
        assert page.get_by_text("✕ cannot promise, ΔE00").first.is_visible()
