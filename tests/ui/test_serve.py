"""What the server begins before a browser asks: found once, the same as made later, never fatal."""

from __future__ import annotations

from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.launch import SERVER
from inksim.preview.flat_routes import ArtworkResult
from inksim.preview.prepare import PreparedArtwork
from inksim.shop.load import load_shop
from inksim.ui import cache, pickers, serve
from tests.ui.conftest import open_page, pictures


def key_of(shop_folder: Path | None = None) -> object:
    shop = load_shop(shop_folder or cache.shop_folder())
    return cache.answer_key(
        cache.demo_file(),
        shop=shop,
        garment=pickers.START,
        viewing=pickers.LIGHTS[pickers.LIGHT],
        tolerance=shop.habits.tolerance_de00,
    )


def never() -> None:
    raise AssertionError("it was begun already")


def test_the_first_page_finds_what_was_begun(copied_shop: Path) -> None:
    serve.warm_up()
    answer = cache.found_or(key_of(copied_shop), never)
    assert isinstance(answer, ArtworkResult)
    assert answer.garment.name == pickers.START
    ready = cache.found_or(cache.demo_file().sha256, never)
    assert isinstance(ready, PreparedArtwork)
    # found once: the caches of the pages keep it from here on
    assert cache.found_or(key_of(copied_shop), lambda: "made") == "made"  # type: ignore[arg-type]


def test_the_page_is_the_same_with_and_without_it(copied_shop: Path) -> None:
    serve.warm_up()
    page = open_page("client")
    assert not page.exception
    assert len(pictures(page)) == 5  # decided, as drawn, two other routes, what is too fine


def test_a_faulty_shop_is_told_on_the_page_not_at_the_start(copied_shop: Path) -> None:
    (copied_shop / "inks.toml").write_text("[[ink]]\nname = 3\n")
    serve.warm_up()
    page = open_page("client")
    assert "fault" in page.error[0].value


def test_what_fails_early_fails_where_it_is_asked_for() -> None:
    (promised,) = cache.begin("odd artwork")
    promised.set_exception(InputError("it is cut short."))
    with pytest.raises(InputError, match="cut short"):
        cache.found_or("odd artwork", never)


def test_the_server_is_a_module_that_can_be_run() -> None:
    assert serve.__name__ == SERVER
