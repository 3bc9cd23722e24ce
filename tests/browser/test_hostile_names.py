"""Names, files and profiles written by others, in a real browser: text on every page, never code.

What is looked at is what the browser got: its nodes and attributes, shadow trees with them, its
requests and dialogs, and the files it was handed.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from tests.browser.app_page import opened, serving, settled
from tests.browser.test_palette_exports import taken
from tests.small_shop import few_inks

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

NAMES = {
    "Coal Black": "<img src=x onerror=alert(1)>",
    "Flour White": "![x](http://evil.example/p.png)",
    "Kiln Red": '=HYPERLINK("http://evil.example")',
    "Weir Teal": "www.evil.example $x^2$ :smile: `c`",
    "Regatta Orange": '<div class="pads"><b>lands</b></div>',
    "Oven Red": "[l](http://evil.example) a@evil.example",
    "Millrace Print Room": "**shop** <script>alert(1)</script>",
    "Six-arm manual": "&#x202e;press ~~x~~ :red[y]",
}
"""What stands in the demo shop, and what it is called here."""
HIDDEN = "\u202egnp.\u2066<b>logo</b>\u200b"
SEEN = """() => {
  const found = [];
  const walk = (node) => {
    if (node.nodeType === 3) found.push(["text", node.data]);
    if (node.nodeType === 1) {
      if (["SCRIPT", "STYLE"].includes(node.tagName)) {
        if (node.textContent.includes("alert(1)")) found.push(["code", node.outerHTML]);
        return;
      }
      for (const { name, value } of node.attributes) {
        if (/^on/.test(name)) found.push(["code", node.outerHTML]);
        if (["href", "src"].includes(name)) found.push(["address", value]);
        if (["alt", "title", "aria-label", "value", "placeholder"].includes(name))
          found.push(["text", value]);
      }
      if (node.shadowRoot) node.shadowRoot.childNodes.forEach(walk);
    }
    node.childNodes.forEach(walk);
  };
  walk(document.body);
  return found;
}"""


@pytest.fixture(scope="module")
def address(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The app on a shop whose names are all somebody's attempt."""
    folder = tmp_path_factory.mktemp("hostile")
    shop = few_inks(folder / "shop", "Kiln Red", "Weir Teal", "Chalk White Base")
    for file in shop.glob("*.toml"):
        text = file.read_text("utf-8")
        for name, other in NAMES.items():
            text = text.replace(f'"{name}"', f"'{other}'")
        file.write_text(text, encoding="utf-8")
    with serving(folder / "log.txt", INKSIM_SHOP=str(shop)) as served:
        yield served


def artwork() -> bytes:
    pixels = np.full((120, 120, 3), 255, np.uint8)
    pixels[20:100, 20:100] = (0xC9, 0x34, 0x2F)
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(buffer, format="PNG", dpi=(30, 30))
    return buffer.getvalue()


def upload_artwork(page: Page) -> None:
    page.get_by_text("Artwork:").first.click()
    page.locator("input[type=file]").first.set_input_files(
        {"name": f"{HIDDEN}.png", "mimeType": "image/png", "buffer": artwork()}
    )
    page.get_by_text(re.compile("^Artwork: .*gnp")).first.wait_for()
    page.keyboard.press("Escape")


def paste_palette(page: Page) -> None:
    page.get_by_role("button", name=re.compile("^Palette:")).click()
    page.locator("textarea").fill('name,color\n"=1+1\u202e|calc",#c9342f\n<b>x</b>\u2067,#0f5c63')
    page.locator("textarea").press("Control+Enter")
    page.get_by_role("button", name="Use the pasted colors").click()
    page.keyboard.press("Escape")


ACTS = {"": upload_artwork, "base": None, "palette": paste_palette, "shop": None}
EXPECTED = {
    "": ["Coal Black", "Flour White", "Millrace Print Room", "Six-arm manual"],
    "base": ["Coal Black", "Kiln Red"],
    "palette": ["Coal Black", "Flour White"],
    "shop": ["Coal Black", "Kiln Red", "Weir Teal", "Oven Red", "Six-arm manual"],
}
"""Names that a page has to show, letter for letter."""


@pytest.mark.parametrize("path", list(ACTS))
def test_no_page_takes_a_name_for_code(
    browser: Browser, address: str, path: str, tmp_path: Path
) -> None:
    dialogs: list[str] = []
    asked: list[str] = []
    hear = {
        "dialog": lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()),
        "request": lambda request: asked.append(request.url),
    }
    with opened(browser, address, path, hear=hear) as page:
        if (act := ACTS[path]) is not None:
            act(page)
            settled(page)
        seen = page.evaluate(SEEN)
        if path == "palette":
            table = taken(page, "Table (CSV)", tmp_path).read_text("utf-8")
    assert asked
    assert dialogs == []
    assert [url for url in asked if "evil" in url] == []
    assert [what for kind, what in seen if kind == "code"] == []
    assert [what for kind, what in seen if kind == "address" and "evil" in what] == []
    texts = [what.replace("\u2060", "") for kind, what in seen if kind == "text"]
    hidden = {c for text in texts for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs")}
    assert hidden - {"\n", "\t"} == set()
    whole = "\n".join(texts)
    for name in EXPECTED[path]:
        assert NAMES[name] in whole, name
    if path == "":
        near = [text for text in texts if "gnp" in text]
        assert "\\u202egnp." in whole, near
    if path == "palette":
        assert "=1+1\\u202e|calc" in whole
        cells = [cell for row in csv.reader(io.StringIO(table)) for cell in row]
        assert "'=1+1\\u202e|calc" in cells
        formulas = [cell for cell in cells if re.match(r"[=+@\t]|-(?![\d.]+$)", cell)]
        assert formulas == []
