"""A job on the pages: kept from an upload, opened by its address, changed, copied, taken back."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from streamlit.testing.v1 import AppTest

from inksim.common.read_only import READ_ONLY_VARIABLE
from inksim.ledger.decided import last_decision
from inksim.ledger.kept_job import change_job, kept_keys, new_job, open_job
from inksim.ledger.promises import promises_file
from inksim.shop.changes import acting_as
from inksim.shop.load import load_shop
from inksim.shop.toml_text import remove_entry
from inksim.ui import cache, cached_results, passing_jobs
from inksim.ui.pages import base_way_shown, client
from tests.cli.test_doors_agree import run
from tests.pictures import encoded
from tests.ui.conftest import open_page, pictures, words

FIELDS = {"artwork.width_mm": 80.0, "artwork.place": "back", "client": "Weir Mill"}


def jpeg(*, dpi: tuple[int, int] | None = None) -> bytes:
    """A teal disc on the white rectangle that a JPEG cannot do without."""
    image = Image.new("RGB", (640, 480), "#ffffff")
    ImageDraw.Draw(image).ellipse((160, 80, 480, 400), fill="#0f5c63")
    return encoded(image, "JPEG", quality=95, **({"dpi": dpi} if dpi else {}))


@pytest.fixture
def kept(copied_shop: Path, tmp_path: Path) -> Path:
    """A shop that keeps the job 'mill-logo', on two garments."""
    art = tmp_path / "logo.jpg"
    art.write_bytes(jpeg())
    new_job(
        copied_shop, name="Mill logo", artwork=art,
        garments={"Coal Black": 40, "Flour White": 20}, fields=FIELDS,
    )  # fmt: skip
    return copied_shop


def pressed(page: AppTest, label: str) -> AppTest:
    """The page after a button was pressed."""
    found = [each for each in page.button if each.label.replace("\\", "").startswith(label)]
    assert found, [each.label for each in page.button]
    return found[0].click().run()


def one(fields: Any, start: str, end: str = "") -> Any:
    """The field whose key begins, and ends, so: what its default rests on is in between."""
    (found,) = (each for each in fields if each.key.startswith(start) and each.key.endswith(end))
    return found


def entry_of(shop: Path, key: str = "mill-logo") -> Any:
    return open_job(shop, key).entry


def test_the_address_opens_a_kept_job_with_what_it_says(kept: Path) -> None:
    page = open_page("client", job="mill-logo")
    assert not page.exception
    assert pictures(page)[0].startswith("logo.jpg on Coal Black, as decided; all together: ")
    beside = [text for text in pictures(page) if text.endswith(", small")]
    assert len(beside) == 2  # its garments, side by side
    said = words(page)
    assert "Weir Mill · 80 × 60 mm, back · Coal Black × 40, Flour White × 20" in said
    assert "not kept" not in said
    # light to dark, the job's first chosen
    assert [str(each) for each in page.pills[0].options] == ["Flour White", "Coal Black"]
    assert page.pills[0].value == "Coal Black"
    page.pills[0].set_value("Flour White").run()
    assert pictures(page)[0].startswith("logo.jpg on Flour White")
    # the other page works on the same job
    base = open_page("base", job="mill-logo")
    assert "Weir Mill · 80 × 60 mm" in words(base)
    assert re.search(r"Flour White: . [^:]*straight on the cloth, ", words(base))


@pytest.mark.parametrize("name", ["client", "base"])
def test_a_job_that_is_not_here_is_said_and_the_demo_never_shown_instead(
    kept: Path, name: str
) -> None:
    page = open_page(name, job="mill-loge")
    assert not page.exception
    assert "there is no job 'mill-loge'" in page.error[0].value.replace("\\", "")
    assert "did you mean 'mill-logo'" in page.error[0].value.replace("\\", "")
    assert not pictures(page)
    assert "harvest" not in words(page)
    page.selectbox(key="job-open").set_value("mill-logo").run()
    assert not page.error
    assert "Weir Mill" in words(page)


def test_the_demo_shop_keeps_no_job_and_says_what_to_do() -> None:
    page = open_page("client", job="mill-logo")
    assert not page.exception
    assert not pictures(page)
    assert "'inksim new'" in page.error[0].value.replace("\\", "")


def test_the_demo_is_written_on_the_demo_s_artwork() -> None:
    page = open_page("client")
    assert "harvest-regatta.png demo" in words(page)
    page.file_uploader[0].upload("logo.jpg", jpeg(), "image/jpeg")
    page.run()
    assert "logo.jpg not kept" in words(page)


def test_a_background_is_left_out_by_one_click_and_taken_back_by_one() -> None:
    page = open_page("client")
    page.file_uploader[0].upload("logo.jpg", jpeg(dpi=(150, 150)), "image/jpeg")
    page.run()
    assert "2 flat colors" in words(page)
    page = pressed(page, "Leave the background out (#ffffff)")
    assert not page.exception
    assert "1 flat color." in words(page)
    assert "Its white background #ffffff is left out" in words(page)
    page = pressed(page, "Print the background after all")
    assert "2 flat colors" in words(page)


def test_a_picture_without_resolution_asks_its_width_in_mm_or_inches() -> None:
    page = open_page("client")
    page.file_uploader[0].upload("logo.jpg", jpeg(), "image/jpeg")
    page.run()
    assert "54 mm is assumed" in words(page)
    assert page.number_input(key="job-width-mm").value == pytest.approx(640 / 300 * 25.4, abs=0.01)
    control = next(each for each in page.segmented_control if each.key == "width-unit")
    page = control.set_value("in").run()
    page.number_input(key="job-width-in").set_value(8.0).run()
    assert not page.exception
    said = words(page)
    assert "is assumed" not in said
    assert "203 × 152 mm" in said
    # 640 pixels over 8 in are 80 to the inch: too few for flat art (common practice, no source)
    assert "Too small for its place: 640 pixels over 203 mm" in said
    assert "does not fit" not in said
    page.number_input(key="job-width-in").set_value(25.0).run()
    # wider than a shirt laid flat, some 20 in (common practice, no source)
    assert "does not fit the front of the shirt" in words(page)


def test_an_upload_is_kept_with_what_was_wished_of_it(copied_shop: Path) -> None:
    page = open_page("client")
    page.file_uploader[0].upload("Mill (1).jpg", jpeg(), "image/jpeg")
    page.run()
    page = pressed(page, "Leave the background out")
    page.number_input(key="job-width-mm").set_value(100.0).run()
    box = next(each for each in page.selectbox if each.label.startswith("#"))
    code = box.label.split(",")[0]
    page = box.set_value("Damson Purple").run()
    one(page.text_input, "keep-name").set_value("Mill logo")
    one(page.text_input, "keep-client").set_value("Weir Mill").run()
    one(page.multiselect, "keep on").set_value(["Coal Black", "Mist Gray"]).run()
    one(page.number_input, "keep on", " Mist Gray").set_value(30).run()
    page = pressed(page, "Keep this job")
    assert not page.exception
    assert not page.error
    assert page.query_params["job"] == "mill-logo"
    entry = entry_of(copied_shop)
    assert (entry.name, entry.client) == ("Mill logo", "Weir Mill")
    assert entry.quantity == {"Coal Black": 72, "Mist Gray": 30}
    art = entry.artwork
    assert (art.file, art.width_mm, art.background) == ("mill-1.jpg", 100.0, "#ffffff")
    assert art.inks == {code: "Damson Purple"}
    assert (copied_shop / "jobs/mill-logo/mill-1.jpg").read_bytes() == jpeg()
    again = open_page("client", job="mill-logo")  # as after a reload, or in a second tab
    assert "Damson Purple" in words(again)
    assert "1 flat color." in words(again)


def test_a_kept_job_is_changed_in_its_file_and_the_change_is_taken_back(kept: Path) -> None:
    page = open_page("base", job="mill-logo")
    page.number_input(key="job-stations").set_value(8).run()
    assert entry_of(kept).press.stations == 8
    assert "of 8 stations" in words(page)
    page = pressed(page, "Leave the background out")
    assert entry_of(kept).artwork.background == "#ffffff"
    said = "background: printed → left out (#ffffff)"
    assert said in page.success[0].value.replace("\\", "")
    page = pressed(page, "Undo: background back to printed")
    assert entry_of(kept).artwork.background == "keep"
    assert entry_of(kept).press.stations == 8
    assert "Print the background after all" not in [each.label for each in page.button]


def test_a_route_is_chosen_by_hand_and_given_back(kept: Path) -> None:
    page = pressed(open_page("client", job="mill-logo"), "Leave the background out")
    (code,) = (each.key.split()[1] for each in page.selectbox if str(each.key).startswith("route"))
    page.selectbox(key=f"route {code}").set_value("straight").run()
    assert entry_of(kept).artwork.routes == {code: "straight"}
    assert "Coal Black, straight on the cloth: " in words(page)
    page.selectbox(key=f"route {code}").set_value("as decided").run()
    assert entry_of(kept).artwork.routes == {}
    assert "Coal Black, over 'Chalk White Base': " in words(page)


def test_what_somebody_else_changed_meanwhile_is_not_overwritten(kept: Path) -> None:
    page = open_page("client", job="mill-logo")
    change_job(open_job(kept, "mill-logo"), {"artwork.width_mm": 90.0})
    page.number_input(key="job-width-mm").set_value(120.0).run()
    assert "changed by somebody else" in page.error[0].value
    assert entry_of(kept).artwork.width_mm == 90.0
    assert page.number_input(key="job-width-mm").value == 90.0
    assert not any(each.label.startswith("Undo") for each in page.button)


def test_a_second_quick_change_of_one_s_own_is_made_too(kept: Path) -> None:
    """The page still holds the job as it was while the first change is worked out."""
    page = open_page("client", job="mill-logo")
    page.session_state["shop-visitor"] = "abc123"
    with acting_as("page visitor abc123"):
        change_job(open_job(kept, "mill-logo"), {"artwork.width_mm": 90.0})
    page.selectbox(key="job-place").set_value("sleeve").run()
    assert not page.error
    art = entry_of(kept).artwork
    assert (art.width_mm, art.place) == (90.0, "sleeve")


def test_the_same_again_on_another_garment(kept: Path) -> None:
    page = open_page("client", job="mill-logo")
    one(page.text_input, "copy-name").set_value("Mill logo, on navy").run()
    page.multiselect(key="copy on mill-logo").set_value(["Estuary Navy"]).run()
    page.number_input(key="copy on mill-logo Estuary Navy").set_value(30).run()
    page = pressed(page, "Make the copy")
    assert not page.exception
    assert page.query_params["job"] == "mill-logo-on-navy"
    entry = entry_of(kept, "mill-logo-on-navy")
    assert (entry.again_of, entry.quantity) == ("mill-logo", {"Estuary Navy": 30})
    assert pictures(page)[0].startswith("logo.jpg on Estuary Navy")


def test_a_host_for_reading_only_shows_jobs_and_keeps_none(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(READ_ONLY_VARIABLE, "1")
    page = open_page("client", job="mill-logo")
    assert "Weir Mill" in words(page)
    assert "its host has switched changes off" in words(page)
    assert page.number_input(key="job-width-mm").disabled
    page.file_uploader[0].upload("other.jpg", jpeg(), "image/jpeg")
    page.run()
    assert not any(each.label.startswith("Keep this") for each in page.button)
    assert kept_keys(kept) == ["mill-logo"]
    assert entry_of(kept).artwork.width_mm == 80.0


def test_page_and_command_give_the_same_proofs_and_readings(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    offered: dict[str, Any] = {}
    for page in (client, base_way_shown):
        monkeypatch.setattr(
            page, "offer", lambda label, made, **more: offered.update({label: made})
        )
    open_page("client", job="mill-logo", garment="Flour White")
    for number, (label, only) in enumerate(
        [
            ("Proof sheet to sign (PDF)", ["--garment", "Flour White"]),
            ("Proof of all garments to sign (PDF)", []),
        ],
        start=1,
    ):
        shown = offered[label]()
        file = next(f for f in open_job(kept, "mill-logo").proofs if f.stem.endswith(f"-{number}"))
        assert file.read_bytes() == shown
        decided = last_decision(open_job(kept, "mill-logo"))
        assert decided is not None
        (kept / "jobs" / "mill-logo" / "decided.json").unlink()
        told = run("proof", "mill-logo", *only, "--shop", kept)
        for each in told["proofs"]:
            assert each["issued"]["number"] == number  # the same promise keeps its number
            assert each["issued"]["job"] == "mill-logo"
            assert Path(each["proof"]) == file
        assert file.read_bytes() == shown
    assert promises_file(kept).exists()
    decided = last_decision(open_job(kept, "mill-logo"))
    assert decided is not None
    assert decided.changed(open_job(kept, "mill-logo"), load_shop(kept)) == ()
    open_page("base", job="mill-logo", garment="Flour White")
    table = tmp_path / "readings.csv"
    run("ticket", "mill-logo", "--garment", "Flour White", "--out", table, "--shop", kept)
    said = table.read_text("utf-8")
    assert offered["Table for its readings (CSV)"]() == said
    rows = csv.DictReader(line for line in said.splitlines() if line[0] != "#")
    assert {row["proof"] for row in rows} == {"2"}


def test_a_list_of_colors_opens_on_the_pages(copied_shop: Path) -> None:
    folder = copied_shop / "jobs" / "two-inks"
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text(
        'name = "Two inks"\ngarments = ["Coal Black"]\nquantity = 10\n'
        '[[color]]\nname = "Sun"\nhex = "#e8622c"\narea_cm2 = 40\n'
        '[[color]]\nhex = "#0f5c63"\narea_cm2 = 20\n'
    )
    decided = run("advise", "two-inks", "--shop", copied_shop)["garments"][0]
    way = decided["ways"][decided["chosen"]]
    for name in ("client", "base"):
        page = open_page(name, job="two-inks", garment="Flour White")  # not one of the job's
        assert not page.exception
        assert not page.error
        said = words(page)
        assert "Two inks kept 2 colors · Coal Black × 10" in said
        assert "Sun" in said
        assert f"Coal Black, over 'Chalk White Base': {way['verdict']['word']}" in said
        assert not pictures(page)
    assert "Press ticket (PDF)" in {each.label for each in page.get("download_button")}


def test_an_address_brings_back_what_nobody_keeps_or_says_that_it_is_gone() -> None:
    page = open_page("client")
    page.file_uploader[0].upload("logo.jpg", jpeg(), "image/jpeg").run()
    page.number_input(key="job-width-mm").set_value(100.0).run()
    name = next(reversed(passing_jobs._held()._jobs))  # as the address now says
    again = open_page("client", artwork=name)
    assert pictures(again)[0].startswith("logo.jpg on Coal Black")
    assert "logo.jpg not kept 100 × 75 mm" in words(again)
    gone = open_page("client", artwork="0123456789abcdef0123")
    assert not gone.exception
    assert "not on this machine, or no longer" in gone.error[0].value
    assert not pictures(gone)
    assert "harvest" not in words(gone)


@pytest.mark.parametrize("name", ["palette", "shop", "base"])
def test_the_bar_stands_on_every_page_and_works_nothing_out(
    kept: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    works = [(cached_results, "decide_job"), (cache, "_placed_and_ready")]
    if name == "palette":  # what it checks are the artwork's colors
        works.pop()
    for of, work in works:
        monkeypatch.setattr(of, work, lambda *a, **k: pytest.fail("worked out for the bar"))
    width = 70.0 + len(name)  # of each page its own: what was placed for another is kept
    change_job(open_job(kept, "mill-logo"), {"artwork.width_mm": width})
    page = open_page(name, job="mill-logo", about="One ink")
    assert not page.exception
    said = words(page)
    assert "Mill logo kept Weir Mill · back · Coal Black × 40, Flour White × 20" in said
    assert "not worked out here yet" in said


def test_the_bar_says_the_verdict_once_it_is_known(kept: Path) -> None:
    page = open_page("client", job="mill-logo")
    (line,) = re.findall(r"Coal Black: . [^:]*, [a-z ]+ · Flour White: . ", words(page))
    assert line in words(open_page("shop", job="mill-logo"))


def test_a_garment_that_the_shop_has_no_more_leaves_the_way_to_choose_another(kept: Path) -> None:
    file = kept / "garments.toml"
    text = remove_entry(file.read_text("utf-8"), "garment", "Flour White", file="garments.toml")
    file.write_text(text, "utf-8")
    page = open_page("client", job="mill-logo")
    assert not page.exception
    assert any("there is no garment 'Flour White'" in each.value for each in page.error)
    page = pressed(page, "Save these changes")
    assert not page.exception
    assert not page.error
    assert open_job(kept, "mill-logo").quantities == {"Coal Black": 40}
