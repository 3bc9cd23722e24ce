"""What a page holds from before: forms, results and words that another choice has overtaken."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import cast

from PIL import Image

from inksim.artwork.assignment import NOT_PRINTED
from inksim.ledger.kept_job import new_job
from inksim.preview.fine_check import fine_art
from inksim.preview.tonal_routes import TonalResult, tonal_in_a_word
from inksim.shop.load import load_shop
from inksim.ui import cache, cached_results, current_job, pickers
from inksim.ui.progress import ahead
from tests.pictures import encoded
from tests.ui.conftest import open_page, words
from tests.ui.test_current_job import FIELDS, jpeg, one


def test_a_job_is_kept_as_it_is_shown_and_another_artwork_begins_its_own(
    copied_shop: Path,
) -> None:
    page = open_page("client")
    page.file_uploader[0].upload("first.jpg", jpeg(), "image/jpeg")
    page.run()
    assert one(page.multiselect, "keep on").value == ["Coal Black"]
    one(page.text_input, "keep-name").set_value("Mill logo").run()
    page.pills[0].set_value("Flour White").run()
    assert one(page.multiselect, "keep on").value == ["Flour White"]
    other = encoded(Image.new("RGB", (300, 300), "#b02a30"), "PNG")
    page.file_uploader[0].upload("second.png", other, "image/png")
    page.run()
    assert one(page.text_input, "keep-name").value == "second"


def test_an_ink_by_hand_that_is_gone_is_taken_back_on_the_page(
    copied_shop: Path, tmp_path: Path
) -> None:
    art = tmp_path / "logo.jpg"
    art.write_bytes(jpeg())
    made = new_job(
        copied_shop, name="Mill logo", artwork=art, garments={"Coal Black": 40},
        fields={**FIELDS, "artwork.background": "#ffffff"},
    )  # fmt: skip
    page = open_page("client", job="mill-logo")
    box = next(each for each in page.selectbox if each.label.startswith("#"))
    page = box.set_value("Damson Purple").run()
    file = made.file
    file.write_text(file.read_text().replace("Damson Purple", "Sloe Purple"))
    for name in ("base", "client"):
        page = open_page(name, job="mill-logo")
        assert "Sloe Purple" in page.error[0].value
        box = next(each for each in page.selectbox if each.label.startswith("#"))
        assert box.value == "Sloe Purple"
    page = box.set_value("as decided").run()
    assert not page.error
    assert "Sloe" not in file.read_text()


def test_a_palette_beside_a_kept_list_of_colors_is_its_colors(copied_shop: Path) -> None:
    new_job(
        copied_shop, name="Spots", garments={"Coal Black": 40},
        fields={"color": [{"target": "#0f5c63", "area_cm2": 40}]},
    )  # fmt: skip
    page = open_page("palette", job="spots")
    assert not page.error
    assert "#0f5c63" in words(page)


def test_results_are_known_by_the_files_their_shop_was_read_from(
    copied_shop: Path,
) -> None:
    before = cache.open_shop()
    key = cache.shop_key(before)
    costs = copied_shop / "costs.toml"
    costs.write_text(costs.read_text() + "\n# saved by somebody meanwhile\n")
    assert cache.shop_key(before) == key
    assert cache.shop_key(cache.open_shop()) != key


def test_a_picture_that_the_press_cannot_print_is_not_called_in_reach() -> None:
    """Five inks, a flashed base and its flash take seven of a press of six stations."""
    shop = load_shop()
    shown = SimpleNamespace(
        inks=shop.colour_inks[:5],
        best=SimpleNamespace(route="white-base", reach=SimpleNamespace(nominal=True)),
    )
    assert shop.stations.stations == 6
    assert tonal_in_a_word(cast("TonalResult", shown), shop.stations).startswith("✕ the press")
    larger = shop.stations.model_copy(update={"stations": 8})
    assert tonal_in_a_word(cast("TonalResult", shown), larger).startswith("● over a white base")


def test_what_is_too_fine_is_of_the_colors_printed_not_of_others_left_bare() -> None:
    """Three of four colors on the same meshes, each time other ones, beside what is worked anew."""
    shop, viewing = cache.open_shop(load_shop().folder), pickers.LIGHTS[pickers.LIGHT]
    with ahead():
        said = []
        for bare in ("#0f5c63", "#e8622c"):
            own = {f"artwork.inks.{bare}": NOT_PRINTED}
            job = current_job.in_memory(shop, cache.demo_artwork(), "Coal Black", own)
            found = cached_results.printed(
                shop, job.drawn().job, art=job.art.ready, garment="Coal Black", viewing=viewing
            )
            words, _ = cached_results.too_fine(job.art.ready, found, viewing=viewing)
            flats, dpi = job.art.ready.flats, job.art.ready.dpi
            assert words == fine_art(found.decided.found, flats, dpi=dpi, shop=shop).words
            said.append(words)
    assert said[0] != said[1]
