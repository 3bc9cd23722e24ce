"""Decide about a whole design: verdict, reasons, ways, what it takes; every choice moves it."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pypdfium2
import pytest
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import Selectbox

from inksim.shop.load import load_shop
from inksim.ui.cache import demo_file
from inksim.ui.current_job import WISHES
from inksim.ui.pages import base_way_shown
from tests.ui.conftest import open_page, pictures, words
from tests.ui.test_client import tonal_art


@pytest.fixture
def offered(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the page's last run offers to take away, by its button: how the file is made."""
    made: dict[str, Any] = {}
    offer = base_way_shown.offer

    def kept(label: str, make: Any, **more: Any) -> None:
        made[label] = make
        offer(label, make, **more)

    monkeypatch.setattr(base_way_shown, "offer", kept)
    return made


def screens_of(text: str) -> list[tuple[str, str, str]]:
    """Number, ink and mesh of each screen of a ticket in plain text."""
    return re.findall(r"^(\d+) +(\S.*?)  +(\d+) /in", text, re.MULTILINE)


def design(**query: str) -> AppTest:
    return open_page("base", about="The whole design", **query)


def per_print(page: AppTest) -> float:
    found = re.search(r"(\d+\.\d\d) USD a print", words(page))
    assert found is not None
    return float(found[1])


def test_the_first_screen_decides_the_demo_s_artwork() -> None:
    page = design()
    assert not page.exception
    said = words(page)
    assert "Coal Black, over 'Chalk White Base': cannot promise —" in said
    assert re.search(r"\d+% chance that all 4 colors come within ΔE00 3; the weakest is", said)
    for heading in ("Color by color", "What it takes"):
        assert heading in [each.value for each in page.header]
    assert "9 other ways: cost against chance" in [each.label for each in page.expander]
    assert "Straight on the cloth: nominally ΔE00" in said  # why the easier route does not do
    assert "Cure: the whole film at 320 °F (160 °C) for 90 s" in said  # common practice


def test_white_shirts_take_no_base() -> None:
    # Common practice, no source.
    assert "Flour White, straight on the cloth: cannot promise —" in words(
        design(garment="Flour White")
    )


def test_a_polyester_is_never_discharged() -> None:
    page = design(garment="Anvil Black Sport")
    ways = page.dataframe[0].value
    assert not any("discharge" in bases for bases in ways["Bases"])
    assert "Over a discharge base: not possible" in words(page)


def test_more_shirts_make_a_print_cheaper() -> None:
    page = design()
    before = per_print(page)
    page.number_input(key="job-quantity").set_value(1000).run()
    assert per_print(page) < before / 2


def test_a_press_with_too_few_stations_takes_two_runs_and_that_is_said() -> None:
    # four colors and a base on three stations: no ticket with everything straight
    page = design()
    page.number_input(key="job-stations").set_value(3).run()
    assert not page.exception
    said = words(page)
    assert "In 2 runs, because the press has too few stations or flash units for one" in said
    assert "run 2 of 2" in said
    assert "Chalk White Base: " in said


def test_merged_colors_are_told_and_can_be_kept_apart() -> None:
    page = design()
    page.number_input(key="job-flashes").set_value(0)
    page.number_input(key="job-stations").set_value(1).run()
    assert not page.exception
    assert "because the press has no screen for" in words(page)
    keep = [box for box in page.checkbox if box.label.startswith("Keep ")]
    assert keep
    merged = keep[0].label.split()[1]
    keep[0].check().run()
    assert not page.exception
    assert not re.search(rf"{merged}[^.]* printed as", words(page))


def test_a_press_that_cannot_print_it_gives_no_paper() -> None:
    # four inks by hand, no color to be merged, one screen a run
    inks = {
        "#0f5c63": "Weir Teal", "#e8622c": "Lantern Orange", "#ead9b5": "Oatcake Cream",
        "#f2c230": "Barley Yellow",
    }  # fmt: skip
    page = design()
    art = demo_file().sha256
    by_hand = {f"artwork.inks.{code}": name for code, name in inks.items()}
    page.session_state[f"{WISHES} {art}"] = {**by_hand, "keep_apart": list(inks)}
    page.number_input(key="job-flashes").set_value(0)
    page.number_input(key="job-stations").set_value(1).run()
    assert not page.exception
    said = words(page)
    assert "cannot be printed" in said
    assert "a press with more stations" in said
    assert "There is no proof and no ticket of it." in said
    assert not page.get("download_button")


def test_the_ways_can_be_sorted_and_one_is_proposed() -> None:
    ways = design().dataframe[0].value
    assert sum("proposed" in way for way in ways["Way"]) == 1
    assert (ways["Cost"] > 0).all()
    assert ways["Chance"].between(0, 100).all()


def test_table_and_headline_say_the_same_chance_of_the_proposed_way() -> None:
    page = design()
    ways = page.dataframe[0].value
    chance = ways[ways["Way"].str.contains("proposed")].iloc[0]["Chance"]
    assert f"{chance:.0f}% chance that all" in words(page)


@pytest.mark.parametrize("wish", ["Least work", "Least cost", "Softest hand", "Best chance"])
def test_what_is_preferred_decides_among_ways_that_land_as_surely(wish: str) -> None:
    page = design(garment="Mist Gray")
    control = next(each for each in page.segmented_control if each.key == "job-prefer")
    page = control.set_value(wish).run()
    assert not page.exception
    ways = page.dataframe[0].value
    chosen = ways[ways["Way"].str.contains("proposed")].iloc[0]
    assert set(ways["Data"]) == {"invented"}
    by = {"Least work": "Work", "Least cost": "Cost", "Softest hand": "Dry film"}
    surest = ways.loc[ways["Chance"].idxmax()]
    if wish in by:
        assert chosen[by[wish]] <= surest[by[wish]]
    if wish == "Best chance":
        assert chosen["Chance"] >= ways["Chance"].max() - 10.0


def test_inks_chosen_by_hand_count() -> None:
    page = design()
    box = next(each for each in page.selectbox if each.label.startswith("#0f5c63"))
    page = box.set_value("leave bare").run()
    assert "chance that all 3 colors come within" in words(page)


def test_areas_are_those_of_the_artwork() -> None:
    # 12 × 14 in is 1084 cm²; the printed part of it is what the flats cover
    from inksim.artwork.read import read_artwork
    from inksim.job.from_artwork import job_of_artwork
    from inksim.preview.prepare import prepare_artwork
    from inksim.shop.load import demo_shop_folder
    from inksim.shop.schema import StationsEntry

    shop = load_shop()
    ready = prepare_artwork(read_artwork(demo_shop_folder() / "artwork" / "harvest-regatta.png"))
    job = job_of_artwork(
        ready.name,
        ready.flats,
        width_px=ready.width_px,
        shop=shop,
        garments=[shop.garment("Coal Black")],
        quantity=10,
        tolerance=3.0,
        width_mm=ready.width_mm / 2,
        choke_mm=0.4,
        press=StationsEntry(),
        prefer="cost",
    )
    printed = (ready.flats.labels > 0).mean()
    assert job.area_cm2 == pytest.approx(printed * 12 * 14 * 2.54**2 / 4, rel=1e-6)


def test_the_plates_are_shown_base_first_with_their_choke() -> None:
    page = design()
    films = [text for text in pictures(page) if text.startswith("Film of")]
    assert films[0] == (
        "Film of Chalk White Base, black where it prints, gray where a color has no base under it"
    )
    assert len(films) == 5
    before = page.image[0].proto.imgs[0].url
    page.number_input(key="job-choke").set_value(0.0).run()
    assert page.image[0].proto.imgs[0].url != before


def test_a_straight_print_has_no_base_plate() -> None:
    films = [t for t in pictures(design(garment="Flour White")) if t.startswith("Film of")]
    assert len(films) == 4
    assert not any("gray where" in text for text in films)


def pages_of(pdf: bytes) -> str:
    """The words of a PDF, as PDFium reads them."""
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    said = (document[at].get_textpage().get_text_bounded() for at in range(len(document)))
    return re.sub(r"\s+", " ", " ".join(said))


def way_box(page: AppTest) -> Selectbox:
    return next(
        each for each in page.selectbox if each.label == "Way shown, and on ticket and proof"
    )


def test_the_ticket_is_there_for_every_way() -> None:
    page = design()
    assert {
        "Press ticket (PDF)", "Press ticket (text)", "Table for its readings (CSV)",
        "Proof sheet to sign (PDF)",
    } <= {each.label for each in page.get("download_button")}  # fmt: skip
    assert len(way_box(page).options) == len(page.dataframe[0].value)


def test_the_ticket_is_of_the_way_shown(offered: dict[str, Any]) -> None:
    # page, screens and ticket are of one way, the decided one or the one chosen
    page = design()
    decided = way_box(page).value
    assert "chosen by hand" not in offered["Press ticket (text)"]()
    other = next(n for n in range(1, len(page.dataframe[0].value) + 1) if n != decided)
    before = screens_of(offered["Press ticket (text)"]())
    way_box(page).set_value(other).run()
    said, text = words(page), offered["Press ticket (text)"]()
    assert f"way {other}, chosen by hand" in said
    assert f"way {other}, chosen by hand" in text
    assert screens_of(text) != before
    for number, ink, mesh in screens_of(text):
        assert f"{number}. {ink}: {mesh} threads/in" in said
    proof = pages_of(offered["Proof sheet to sign (PDF)"]())
    for number, ink, mesh in screens_of(text):
        assert f"{number}. {ink}: {mesh} threads/in" in proof


@pytest.mark.parametrize(
    ("change", "shown"),
    [
        (lambda page: page.number_input(key="job-choke").set_value(0.2), "choked by 0.2 mm"),
        (lambda page: page.number_input(key="job-quantity").set_value(500), "500 prints"),
        (lambda page: page.number_input(key="job-stations").set_value(8), "of 8 stations"),
        (lambda page: page.pills[0].set_value("Slate Gray"), "on Slate Gray"),
    ],
)
def test_a_way_chosen_for_another_job_is_never_on_the_ticket(
    change: Callable[[AppTest], object], shown: str, offered: dict[str, Any]
) -> None:
    page = design()
    decided = way_box(page).value
    way_box(page).set_value(1 if decided != 1 else 2).run()
    assert "chosen by hand" in words(page)
    change(page)
    page.run()
    text = offered["Press ticket (text)"]()
    assert "chosen by hand" not in words(page)
    assert "chosen by hand" not in text
    assert shown in text
    ways = page.dataframe[0].value["Way"]
    assert ways.str.contains("proposed").to_numpy().nonzero()[0].tolist() == [
        way_box(page).value - 1
    ]


def test_several_garments_share_a_job() -> None:
    page = design()
    page.multiselect(key="job-also").set_value(["Flour White"]).run()
    page.number_input(key="job-quantity-Flour White").set_value(24).run()
    assert not page.exception
    said = words(page)
    assert "Flour White, straight on the cloth" in said
    assert "screens shared by garments counted once" in said
    show = next(each for each in page.selectbox if each.label == "Show")
    show.set_value("Flour White").run()
    assert "24 prints" in words(page)


def test_a_tonal_artwork_is_decided_as_the_client_sees_it() -> None:
    page = design()
    page.file_uploader[0].upload("sweep.png", tonal_art(), "image/png").run()
    assert not page.exception
    said = words(page)
    assert "printed as halftones of" in said
    assert "It takes " in said
    client = open_page("client")
    client.file_uploader[0].upload("sweep.png", tonal_art(), "image/png").run()
    reach = re.compile(r"Nominally \d+% of it .*? on average\)")
    assert reach.findall(words(client)) == reach.findall(said) != []


def test_the_run_comes_back_from_the_address() -> None:
    run = {"job-quantity": "300", "job-stations": "7", "job-prefer": "Softest hand"}
    page = open_page("base", about="The whole design", **run)
    assert not page.exception
    assert page.number_input(key="job-quantity").value == 300
    assert "of 7 stations" in words(page)
    wish = next(each for each in page.segmented_control if each.key == "job-prefer")
    assert wish.value == "Softest hand"


def test_a_run_that_cannot_be_falls_back_to_the_usual_one() -> None:
    page = open_page("base", about="The whole design", **{"job-quantity": "-4"})
    assert not page.exception
    assert page.number_input(key="job-quantity").value == 72


def test_a_color_not_sure_to_land_is_mixed_when_asked() -> None:
    page = design()
    assert "Recipe card (PDF)" not in {each.label for each in page.get("download_button")}
    [ask] = [each for each in page.toggle if each.label.startswith("Mix it")]
    page = ask.set_value(True).run()
    assert not page.exception
    said = words(page)
    assert said.count("Mixed: ") >= 1
    cards = [each for each in page.get("download_button") if each.label == "Recipe card (PDF)"]
    assert len(cards) == said.count("Mixed: ")
