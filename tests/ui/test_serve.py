"""What the server works out before a browser asks: found by pages, made once, never fatal."""

from __future__ import annotations

import time
from collections.abc import Hashable
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest
import streamlit as st

from inksim.launch import SERVER
from inksim.shop.load import load_shop
from inksim.ui import serve
from inksim.ui.bounded_cache import BoundedCache
from tests.ui.conftest import open_page, pictures, words


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[Hashable]:
    """Keys of what is worked out and kept from here on, with nothing kept before."""
    st.cache_resource.clear()
    keys: list[Hashable] = []
    put = BoundedCache.put

    def noted(self: BoundedCache[Any], key: Hashable, value: Any) -> None:
        keys.append(key)
        put(self, key, value)

    monkeypatch.setattr(BoundedCache, "put", noted)
    return keys


def test_the_first_page_works_nothing_out_until_the_shop_is_saved(
    copied_shop: Path, made: list[Hashable]
) -> None:
    serve.warm_up()
    assert made
    made.clear()
    page = open_page("client")
    assert not page.exception
    assert made == []
    assert len(pictures(page)) == 5  # decided, as drawn, two other routes, what is too fine
    shown = words(page)
    # The same inks by other names: all is worked out anew, and says the same of them.
    inks = copied_shop / "inks.toml"
    names = [name for name in load_shop(copied_shop).inks if name in shown]
    assert names
    text = inks.read_text()
    for name in names:
        text, shown = text.replace(f'"{name}"', f'"{name} Two"'), shown.replace(name, f"{name} Two")
    inks.write_text(text)
    page = open_page("client")
    assert made
    assert words(page) == shown


def test_who_asks_while_it_is_made_waits_for_it_and_it_is_made_once() -> None:
    cache: BoundedCache[str] = BoundedCache(4, most_mb=1.0)
    begun, go_on, made, got = Event(), Event(), [], []

    def make() -> str:
        begun.set()
        assert go_on.wait(10)
        made.append(1)
        return "drawn"

    first = Thread(target=lambda: got.extend(cache.take([("picture", make)])))
    first.start()
    assert begun.wait(10)
    second = Thread(target=lambda: got.extend(cache.take([("picture", make), ("other", str)])))
    second.start()
    time.sleep(0.05)
    assert not got
    go_on.set()
    first.join(10)
    second.join(10)
    assert sorted(got) == ["", "drawn", "drawn"]
    assert made == [1]


def test_a_faulty_shop_is_told_on_the_page_not_at_the_start(copied_shop: Path) -> None:
    (copied_shop / "inks.toml").write_text("[[ink]]\nname = 3\n")
    serve.warm_up()
    page = open_page("client")
    assert "fault" in page.error[0].value


def test_the_server_is_a_module_that_can_be_run() -> None:
    assert serve.__name__ == SERVER
