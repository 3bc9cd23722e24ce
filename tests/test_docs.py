"""The documentation is built as its command says: no warning, no link inside that leads nowhere."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

import inksim

TOP = Path(__file__).resolve().parent.parent
OUTSIDE = ("README.md", "DEVELOPERS.md", "CHANGELOG.md", *sorted(TOP.glob("docs/**/*.md")))
KNOWN = {"http://localhost:8501"}
"""Addresses outside that the pages may name: none that somebody has to keep alive."""


class Page(HTMLParser):
    """Links, pictures and anchors of a page, and whether each picture has words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.anchors: set[str] = set()
        self.wordless: list[str] = []
        self.text = text
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.anchors |= {str(named["id"])} if named.get("id") else set()
        self.links += [str(named[key]) for key in ("href", "src") if named.get(key)]
        if tag == "img" and not named.get("alt"):
            self.wordless.append(str(named.get("src")))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> dict[Path, Page]:
    """Every page of the built documentation."""
    out = tmp_path_factory.mktemp("docs")
    run = subprocess.run(
        [sys.executable, "-m", "sphinx", "-q", "-W", "-b", "html", "docs", str(out),
         "-d", str(out / "doctrees")],
        cwd=TOP, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, "")
    return {path: Page(path.read_text("utf-8")) for path in out.rglob("*.html")}


def test_links_inside_lead_somewhere_and_pictures_have_words(built: dict[Path, Page]) -> None:
    assert len(built) > 25
    for path, page in built.items():
        assert not page.wordless, path.name
        assert f"This is inksim {inksim.__version__}." in page.text, path.name
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme or link.startswith("//"):
                continue
            to = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            assert to.exists(), (path.name, link)
            if parts.fragment and to in built:
                assert unquote(parts.fragment) in built[to].anchors, (path.name, link)


def test_every_file_field_is_told_with_what_it_means(built: dict[Path, Page]) -> None:
    lines = (TOP / "docs" / "made" / "shop_files.md").read_text("utf-8").splitlines()
    rows = [line.split(" | ") for line in lines if line.startswith("| `")]
    assert len(rows) > 150
    wordless = [row[0] for row in rows if row[-1].strip(" |") == ""]
    assert len(wordless) < 0.2 * len(rows), wordless


def test_addresses_outside_are_those_listed() -> None:
    text = "".join((TOP / page).read_text("utf-8") for page in OUTSIDE)
    assert set(re.findall(r"https?://[^\s)>`;,\"']+", text)) <= KNOWN
