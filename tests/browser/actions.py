"""What a person does on a page, counted: one click, choice, field or upload is one action."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tests.browser.app_page import settled

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page


class Actions:
    """A page on which each action is counted, and waited for."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def click(self, what: Locator) -> None:
        """A click or a choice; what a person reaches by scrolling is scrolled to."""
        self.count += 1
        what.evaluate("element => element.scrollIntoView({ block: 'center', inline: 'center' })")
        what.click()
        settled(self.page)

    def fill(self, field: Locator, text: str) -> None:
        self.count += 1
        field.fill(text)
        field.press("Tab")
        settled(self.page)

    def upload(self, field: Locator, name: str, mime: str, data: bytes) -> None:
        self.count += 1
        field.set_input_files({"name": name, "mimeType": mime, "buffer": data})
        settled(self.page)

    def take(self, button: Locator, folder: Path) -> Path:
        """Click on what hands over a file."""
        self.count += 1
        with self.page.expect_download() as arriving:
            button.click()
        file = folder / arriving.value.suggested_filename
        arriving.value.save_as(file)
        return file

    def use(self, name: str, mime: str, data: bytes) -> None:
        """Work on an artwork: its menu, then the file."""
        self.click(self.page.get_by_text("Artwork:").first)
        picker = self.page.locator(".st-key-artwork-file input[type=file]")
        self.upload(picker, name, mime, data)
        self.page.keyboard.press("Escape")  # a phone's menu covers the page, and so it goes
        settled(self.page)

    def on(self, garment: str) -> None:
        """Choose a garment."""
        self.click(self.page.get_by_role("radio", name=garment))  # a chosen one has a check
