"""A customer's JPEG from mail to a kept job and its proof, and what the address shows of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from inksim.ledger.kept_job import open_job
from tests.browser.acts import keep_job, open_upload
from tests.browser.app_page import opened, settled

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_a_jpeg_is_kept_as_a_job_that_a_reload_shows_until_its_proof_is_signed(
    browser: Browser, own_app: tuple[str, Path], tmp_path: Path
) -> None:
    address, shop = own_app
    with opened(browser, address) as page:
        keep_job(page, "Walked logo")
        assert "job=walked-logo-1280" in page.url
        entry = open_job(shop, "walked-logo-1280").entry
        assert entry.client == "Weir Mill"
        assert entry.artwork is not None
        assert entry.artwork.background == "#ffffff"
        page.reload()
        settled(page)
        page.wait_for_selector("img[alt^='logo.jpg on Coal Black']")
        assert page.locator("img[alt^='harvest']").count() == 0
        assert "Weir Mill" in page.locator(".jobbar").inner_text()
        # the other page works on it, and its address says so; back shows it again
        page.get_by_role("link", name="Decide about the base").first.click()
        page.get_by_text("What it takes").wait_for()
        page.wait_for_url("**/base*job=walked-logo-1280*")
        settled(page)
        assert "Weir Mill" in page.locator(".jobbar").inner_text()
        page.go_back()
        page.wait_for_selector("img[alt^='logo.jpg on Coal Black']")
        page.wait_for_url("**job=walked-logo-1280*")
        settled(page)
        with page.expect_download() as arriving:
            page.get_by_role("button", name="Proof sheet to sign").click()
        file = tmp_path / arriving.value.suggested_filename
        arriving.value.save_as(file)
        assert file.name == "proof-walked-logo-1280-coal-black.pdf"
        assert file.read_bytes().startswith(b"%PDF-1.7")
        # a shared link to a job that is not here says so, whatever this session had open
        page.goto(f"{address}/?job=no-such-job")
        settled(page)
        page.get_by_text("there is no job 'no-such-job'").wait_for()
        assert page.locator("[data-testid=stImage]").count() == 0
    with opened(browser, address) as page:
        open_upload(page)
        assert "job=" not in page.url
