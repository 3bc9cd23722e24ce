"""Pages run without a browser: one page at a time, on the demo shop or on a broken copy of it."""

from __future__ import annotations

import functools
import re
import shutil
from html import unescape
from pathlib import Path

import pytest
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import AppTest

from inksim.launch import SHOP_VARIABLE
from inksim.shop.load import demo_shop_folder

SECONDS = 120  # of a slow machine's first run, which separates 15 megapixels

# Every AppTest reads the metadata of all installed packages anew, 0.1 s of each page opened;
# they do not change while the tests run.
manifest_scanner.scan_component_manifests = functools.cache(
    manifest_scanner.scan_component_manifests
)


def _page(name: str) -> None:
    # Streamlit runs the source of this function by itself.
    import importlib

    importlib.import_module(f"inksim.ui.pages.{name}").page()


def open_page(name: str, **query: str) -> AppTest:
    """A page after its first run; query: what its address holds."""
    page = AppTest.from_function(_page, default_timeout=SECONDS, kwargs={"name": name})
    for key, value in query.items():
        page.query_params[key] = value
    return page.run()


def raw_html(page: AppTest) -> str:
    """The HTML that the page itself writes, without its styles."""
    bodies = [each.proto.body for each in page.get("html")]
    return "\n".join(body for body in bodies if not body.startswith("<style>"))


def words(page: AppTest) -> str:
    """Everything a page says, as a reader sees it: no marks of HTML or Markdown."""
    kinds = ("title", "header", "markdown", "caption", "error", "warning", "info")
    said = [re.sub(r"\\(.)", r"\1", each.value) for kind in kinds for each in getattr(page, kind)]
    html = unescape(re.sub(r"<[^>]*>", " ", raw_html(page)))
    return "\n".join([*said, re.sub(r"\s+", " ", html)])


def pictures(page: AppTest) -> list[str]:
    """The alternative text of every picture."""
    return [each.alt for image in page.image for each in image.proto.imgs]


@pytest.fixture
def copied_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo shop's files to change; pages open it."""
    folder = tmp_path / "shop"
    folder.mkdir()
    for file in demo_shop_folder().glob("*.toml"):
        shutil.copy(file, folder)
    monkeypatch.setenv(SHOP_VARIABLE, str(folder))
    return folder
