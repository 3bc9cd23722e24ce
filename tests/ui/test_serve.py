"""What the server begins before a browser asks: found once, the same as made later, never fatal."""

from __future__ import annotations

from collections.abc import Hashable
from pathlib import Path

import pytest

from inksim.common.errors import InputError
from inksim.job.decide import JobAnswer
from inksim.job.load import drawn_job, entry_in_memory
from inksim.launch import SERVER
from inksim.shop.load import load_shop
from inksim.ui import cache, pickers, serve
from inksim.ui.cached_results import job_key
from inksim.ui.current_job import QUANTITY
from tests.ui.conftest import open_page, pictures


def key_of(drawn: cache.Drawn, shop_folder: Path) -> Hashable:
    """The key of the first page's decision, made as a page makes it."""
    shop = load_shop(shop_folder)
    said = {"artwork": {}, "garments": [pickers.START], "quantity": QUANTITY}
    entry = entry_in_memory(cache.demo_file().name, shop=shop, said=said)
    job = drawn_job(entry, folder=Path(), shop=shop, placed=drawn.placed).job
    return job_key(shop, job, viewing=pickers.LIGHTS[pickers.LIGHT])


def never() -> None:
    raise AssertionError("it was begun already")


def test_the_first_page_finds_what_was_begun(copied_shop: Path) -> None:
    serve.warm_up()
    drawn = cache.found_or(cache.drawn_key(cache.demo_file()), never)
    assert isinstance(drawn, cache.Drawn)
    key = key_of(drawn, copied_shop)
    answer = cache.found_or(key, never)
    assert isinstance(answer, JobAnswer)
    assert answer.garments[0].garment.name == pickers.START
    # found once: the caches of the pages keep it from here on
    assert cache.found_or(key, lambda: "made") == "made"


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
