"""The shop: what it shows, and changes that are saved whole, undone, refused or locked."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from inksim.launch import SHOP_VARIABLE
from inksim.shop.edit import open_draft, save as save_draft
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.ui.conftest import open_page, raw_html, words


def field(page: AppTest, label: str, *, kind: str = "text_input", at: int = 0) -> object:
    """A widget by the beginning of its label."""
    return [each for each in getattr(page, kind) if each.label.startswith(label)][at]


def press(page: AppTest, label: str, *, at: int = 0) -> AppTest:
    return [each for each in page.button if each.label == label][at].click().run()


def undo(page: AppTest, what: str) -> AppTest:
    """Press the button that promises to take this back."""
    assert page.button(key="shop-undo").label.replace("\\", "") == f"Undo: {what}"
    return page.button(key="shop-undo").click().run()


def edit(page: AppTest, kind: str, name: str) -> AppTest:
    """Open the form of an entry in its row."""
    return page.button(key=f"edit {kind} {name}").click().run()


def new(page: AppTest, kind: str) -> AppTest:
    """Open the form of a new entry."""
    return page.button(key=f"add {kind}").click().run()


def save(page: AppTest) -> AppTest:
    """Press Save of the form that is open among the entries."""
    return press(page, "Save")


def told(page: AppTest) -> str:
    """What the page says at fields."""
    return " ".join(each.value for each in page.warning).replace("\\", "")


def type_fibres(page: AppTest, text: str) -> None:
    """Type into the field of fibers, as a browser lets; AppTest itself picks from lists only."""
    box = next(each for each in page.selectbox if each.label.startswith("Fibers"))
    box.options.append(text)
    box.set_value(text)


def test_everything_on_the_shelves_is_shown_with_where_it_came_from() -> None:
    page = open_page("shop")
    assert not page.exception
    html, shop = raw_html(page), load_shop()
    for names in (shop.inks, shop.garments, shop.screens, shop.targets):
        assert all(name in html for name in names)
    assert html.count("◇ invented") >= len(shop.inks) + len(shop.garments)
    assert "Share of the mesh's ink volume that reaches the shirt" in words(page)


def test_the_demo_shop_is_not_changed_and_the_page_says_how_to_make_one() -> None:
    page = open_page("shop")
    assert "inksim new DIR" in words(page)
    assert not [button for button in page.button if button.label == "Save"]


def test_a_host_may_switch_changes_off(copied_shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INKSIM_READ_ONLY", "1")
    page = open_page("shop")
    assert "for reading only" in words(page)
    assert not [button for button in page.button if button.label == "Save"]


def test_a_garment_is_added_and_taken_back(copied_shop: Path) -> None:
    before = (copied_shop / "garments.toml").read_text()
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Plum Pit")
    field(page, "Color").set_value("#4a2038")
    type_fibres(page, "90% cotton 10% elastane")
    page = save(page)
    assert not page.exception
    assert not page.error
    assert "Plum Pit is saved" in " ".join(s.value for s in page.success).replace("\\", "")
    made = load_shop(copied_shop).garment("Plum Pit")
    assert made.data == "recovered"
    assert made.source.startswith("entered as #4a2038; 20")  # where from, and when
    assert made.fibers["elastane"] == pytest.approx(0.1)
    # comments of the file stay
    assert (copied_shop / "garments.toml").read_text().startswith(before.split("\n", 1)[0])
    page = undo(page, "take out garment Plum Pit")
    assert not page.error
    assert (copied_shop / "garments.toml").read_text() == before


def test_an_ink_keeps_its_reading_when_only_its_price_changes(copied_shop: Path) -> None:
    old = load_shop(copied_shop).ink("Kiln Red")
    page = edit(open_page("shop"), "ink", "Kiln Red")
    field(page, "Price").set_value("31.5")
    page = save(page)
    assert not page.error
    new = load_shop(copied_shop).ink("Kiln Red")
    assert new.price_per_kg == 31.5
    assert (new.K == old.K).all()
    assert (new.S == old.S).all()
    assert new.data == old.data


def test_what_an_ink_asks_on_the_day_is_changed(copied_shop: Path) -> None:
    page = edit(open_page("shop"), "ink", "Sluice White Base")
    assert field(page, "Activator or additive").value == "3"
    field(page, "Activator or additive").set_value("2,5")
    field(page, "Hours that the mixture").set_value("")
    field(page, "Cure of the film").set_value("125")
    page = save(page)
    assert not page.error
    new = load_shop(copied_shop).ink("Sluice White Base")
    assert (new.additive_share, new.pot_life_hours, new.cure_celsius) == (0.025, None, 125.0)
    assert new.blocks_dye
    field(edit(page, "ink", "Kiln Red"), "A white that blocks", kind="checkbox").check()
    page = save(page)
    assert "blocks_dye is said of a white base" in told(page).lower()


def test_a_screen_and_a_target_are_changed(copied_shop: Path) -> None:
    page = edit(open_page("shop"), "screen", "230")
    field(page, "Thread, µm", kind="number_input").set_value(40.0)
    page = save(page)
    assert not page.error
    assert load_shop(copied_shop).screen("230").thread_um == 40.0
    page = edit(page, "target", "Oven Red")
    field(page, "Color").set_value("48, 60, 40")
    page = save(page)
    assert not page.error
    assert load_shop(copied_shop).target("Oven Red").lab_d50.tolist() == [48, 60, 40]


def test_an_entry_is_removed(copied_shop: Path) -> None:
    page = edit(open_page("shop"), "screen", "305")
    page = press(page, "Remove 305")
    assert not page.error
    assert "305" not in load_shop(copied_shop).screens


@pytest.mark.parametrize(
    ("label", "value", "said"),
    [
        ("Color", "#12345", "is not a color"),
        ("Color", "", "Give the color"),
        ("Color", "200, 0, 0", "out of range"),
        ("Fibers", "cotton=0.5", "sum to 1"),
        ("Fibers", "glass=1", "glass"),
        ("Name", "Coal Black", "already has"),
        ("Name", "", "name"),
    ],
)
def test_a_fault_is_said_and_nothing_is_written(
    copied_shop: Path, label: str, value: str, said: str
) -> None:
    before = (copied_shop / "garments.toml").read_bytes()
    page = new(open_page("shop"), "garment")
    given = {"Name": "Plum Pit", "Color": "#4a2038", "Fibers": "cotton=1", label: value}
    field(page, "Name").set_value(given["Name"])
    field(page, "Color").set_value(given["Color"])
    type_fibres(page, given["Fibers"])
    page = save(page)
    assert not page.exception
    assert "1 field above has something to mend" in page.error[0].value
    assert said in told(page)  # at the field
    assert (copied_shop / "garments.toml").read_bytes() == before


def test_an_edit_made_elsewhere_is_not_overwritten(copied_shop: Path) -> None:
    page = edit(open_page("shop"), "screen", "230")
    field(page, "Thread, µm", kind="number_input").set_value(40.0)
    screens = copied_shop / "screens.toml"
    theirs = screens.read_text().replace(
        "thread_um = 44", 'thread_um = 43\nnote = "read the label"'
    )
    for _ in range(2):  # a second time, too
        screens.write_text(theirs)
        page = save(page)
        assert "changed by somebody else" in words(page)
        assert "What you typed still stands in the form" in words(page)
        assert screens.read_text() == theirs
        # the form has what was typed, over what the other one saved
        assert field(page, "Thread, µm", kind="number_input").value == 40.0
        assert field(page, "Note", at=0).value == "read the label"
        assert not page.exception
        assert not page.warning
        theirs += "\n"
    page = save(page)
    assert not page.error
    assert load_shop(copied_shop).screen("230").thread_um == 40.0
    assert load_shop(copied_shop).screen("230").note == "read the label"


def test_nobody_takes_back_what_somebody_else_did(copied_shop: Path) -> None:
    """Two people: the first adds a garment, the second saves over it too late and would undo."""
    one, other = (new(open_page("shop"), "garment") for _ in range(2))
    field(other, "Name").set_value("Second Tee")
    field(other, "Color").set_value("#204060")
    field(one, "Name").set_value("Plum Pit")
    field(one, "Color").set_value("#4a2038")
    one = save(one)
    other = save(other)
    assert "changed by somebody else" in words(other)
    assert not [b for b in other.button if b.label.startswith("Undo")]
    assert re.search(
        r"The last change is not yours, .* page visitor \w+ added garment 'Plum Pit'", words(other)
    )
    other = save(other)  # what was typed is still there
    assert not other.error
    assert {"Plum Pit", "Second Tee"} <= set(load_shop(copied_shop).garments)
    # the first one's page still shows the old button; it promises the garment, and does nothing
    one = undo(one, "take out garment Plum Pit")
    assert "not yours" in words(one)
    assert {"Plum Pit", "Second Tee"} <= set(load_shop(copied_shop).garments)
    other = undo(other, "take out garment Second Tee")
    said = other.success[0].value.replace("\\", "")
    assert "Take out garment Second Tee. garments.toml is as it was" in said
    assert "Second Tee" not in load_shop(copied_shop).garments


def test_a_change_of_another_file_does_not_hide_ones_own(copied_shop: Path) -> None:
    page = edit(open_page("shop"), "screen", "305")
    page = press(page, "Remove 305")
    save_draft(open_draft(copied_shop, "target").remove("target", "Oven Red"))
    page = undo(page.run(), "bring back screen 305")
    assert "305" in load_shop(copied_shop).screens
    assert "Oven Red" not in load_shop(copied_shop).targets


def test_what_uses_an_entry_stands_beside_its_button(copied_shop: Path) -> None:
    job = copied_shop / "jobs" / "mill-logo" / "job.toml"
    job.parent.mkdir(parents=True)
    job.write_text(
        'name = "Mill logo"\ngarments = ["Coal Black"]\nquantity = 4\n'
        '[[color]]\ntarget = "Oven Red"\nink = "Kiln Red"\narea_cm2 = 20.0\n'
    )
    page = edit(open_page("shop"), "ink", "Kiln Red")
    assert "Before you remove it: job 'mill-logo' prints it." in words(page)
    page = edit(page, "garment", "Coal Black")
    assert "job 'mill-logo' is on it" in words(page)
    page = edit(page, "target", "Oven Red")
    assert "job 'mill-logo' asks for it" in words(page)
    page = edit(page, "target", "Barley")
    assert words(page).count("Before you remove it") == 2


def test_a_shop_without_entries_is_filled_from_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = new_shop(tmp_path / "own", empty=True)
    monkeypatch.setenv(SHOP_VARIABLE, str(folder))
    for name in ("client", "base", "palette"):
        page = open_page(name)
        assert not page.exception
        assert "has no screens yet; add one with 'inksim add screen" in words(page)
    page = open_page("shop")
    assert not page.exception
    assert "has no screens yet" in words(page)
    field(page, "Name", at=2).set_value("160")  # what is needed is open: ink, garment, screen
    page = press(page, "Save", at=2)
    assert "has no inks yet" in words(page)
    field(page, "Name").set_value("Rose")
    field(page, "Color").set_value("#d8345f")
    page = save(page)
    assert "has no garments yet" in words(page)
    field(page, "Name").set_value("Plum Pit")
    field(page, "Color").set_value("#4a2038")
    page = save(page)
    assert not page.exception
    assert " yet; add one" not in words(page)
    for name in ("client", "base", "palette"):
        page = open_page(name)
        assert not page.exception, name


def test_every_page_sees_the_change(copied_shop: Path) -> None:
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Plum Pit")
    field(page, "Color").set_value("#4a2038")
    save(page)
    assert "Plum Pit" in open_page("client").pills[0].options
    assert (
        "Plum Pit"
        in tomllib.loads((copied_shop / "garments.toml").read_text())["garment"][-1]["name"]
    )


def reading_file() -> bytes:
    """Two spectra, as an instrument writes them."""
    head = "name," + ",".join(f"{nm}nm" for nm in range(400, 701, 10))
    rows = [f"{name}," + ",".join([value] * 31) for name, value in (("fog", "0.4"), ("ash", "0.1"))]
    return "\n".join([head, *rows]).encode()


def test_a_garment_is_entered_from_a_reading(copied_shop: Path) -> None:
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Ash Tree")
    field(page, "Or a reading", kind="file_uploader").upload(
        "sheet.csv", reading_file(), "text/csv"
    )
    field(page, "Sample").set_value("ash")
    page = save(page)
    assert not page.exception
    assert not page.error
    made = load_shop(copied_shop).garment("Ash Tree")
    assert made.data == "measured"
    assert made.reflectance.tolist() == pytest.approx([0.1] * 31)
    assert made.source.startswith("sheet.csv, line 3")
    assert "/tmp" not in made.source


def test_a_near_black_shirt_is_asked_for_its_scale(copied_shop: Path) -> None:
    """0.8 to 1.1 may be percent of a black shirt or factors of a white one."""
    head = "name," + ",".join(f"{nm}nm" for nm in range(400, 701, 10))
    row = "coal," + ",".join(f"{0.8 + 0.01 * band:.2f}" for band in range(31))
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Coal")
    field(page, "Or a reading", kind="file_uploader").upload(
        "coal.csv", f"{head}\n{row}".encode(), "text/csv"
    )
    page = save(page)
    assert "percent of near-black ones" in told(page)
    field(page, "Values of the readings", kind="selectbox", at=1).set_value("percent")
    page = save(page)
    assert not page.error
    assert load_shop(copied_shop).garment("Coal").reflectance.max() < 0.012


@pytest.mark.parametrize(
    ("sample", "data", "said"),
    [("oak", reading_file(), "oak"), ("", b"\x00\x01", "odd"), ("", reading_file(), "sheet.csv")],
)
def test_a_bad_reading_is_said(copied_shop: Path, sample: str, data: bytes, said: str) -> None:
    before = (copied_shop / "garments.toml").read_bytes()
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Ash Tree")
    name = "odd.csv" if said == "odd" else "sheet.csv"
    field(page, "Or a reading", kind="file_uploader").upload(name, data, "text/csv")
    field(page, "Sample").set_value(sample)
    page = save(page)
    assert not page.exception
    assert len(page.error) == 1
    assert said in told(page)
    assert (copied_shop / "garments.toml").read_bytes() == before


def test_an_ink_is_not_made_of_one_reading(copied_shop: Path) -> None:
    page = new(open_page("shop"), "ink")
    field(page, "Name").set_value("New Ink")
    field(page, "Or a reading", kind="file_uploader").upload(
        "sheet.csv", reading_file(), "text/csv"
    )
    page = save(page)
    assert "Find inks from drawdowns" in told(page)


def test_an_ink_by_its_color_is_asked_how_it_covers(copied_shop: Path) -> None:
    page = new(open_page("shop"), "ink")
    field(page, "Name").set_value("Rose")
    field(page, "Color").set_value("#d8345f")
    page = save(page)
    assert [e.value for e in page.error] == []
    assert "opacity assumed by kind" in " ".join(s.value for s in page.success)
    assert "opacity assumed by kind" in raw_html(page)
    page = edit(page, "ink", "Rose")
    field(page, "How a film of it covers black", kind="selectbox").set_value("half")
    field(page, "Dry film that shows the color").set_value("8")
    field(page, "Or solids by weight").set_value("40")
    field(page, "Density of the wet ink").set_value("1,2")
    page = save(page)
    assert [e.value for e in page.error] == []
    assert "assumed" not in " ".join(s.value for s in page.success)
    entry = tomllib.loads((copied_shop / "inks.toml").read_text())["ink"][-1]
    assert (entry["covers"], entry["film_um"], entry["hex"]) == ("half", 8.0, "#d8345f")
    assert load_shop(copied_shop).ink("Rose").solids_by_volume == pytest.approx(0.28, rel=1e-3)
    # a look over black instead of the word
    page = edit(page, "ink", "Rose")
    field(page, "Or the color of the film over black").set_value("#401828")
    page = save(page)
    assert "Give one of over_black, contrast_ratio, covers" in told(page)
    page = edit(page, "ink", "Rose")
    field(page, "How a film of it covers black", kind="selectbox").set_value("")
    field(page, "Or the color of the film over black").set_value("#401828")
    page = save(page)
    assert [e.value for e in page.error] == []
    entry = tomllib.loads((copied_shop / "inks.toml").read_text())["ink"][-1]
    assert entry["over_black"] == {"hex": "#401828"}
    assert "covers" not in entry


def test_an_ink_of_a_reading_has_no_further_opacity(copied_shop: Path) -> None:
    before = (copied_shop / "inks.toml").read_bytes()
    page = edit(open_page("shop"), "ink", "Kiln Red")
    field(page, "How a film of it covers black", kind="selectbox").set_value("half")
    page = save(page)
    assert "The K and S of this ink say how it covers" in told(page)
    assert (copied_shop / "inks.toml").read_bytes() == before


def test_a_shop_of_an_older_format_is_told_what_changed(copied_shop: Path) -> None:
    about = copied_shop / "shop.toml"
    about.write_text(about.read_text().replace("format = 2\n", ""))
    assert "This shop is of format 1" in words(open_page("shop"))
    page = new(open_page("shop"), "garment")
    field(page, "Name").set_value("Plum Pit")
    field(page, "Color").set_value("#4a2038")
    page = save(page)
    assert "This shop is of format 1" not in words(page)
    assert "format = 2" in about.read_text()
    assert (copied_shop / "format-1" / "garments.toml").is_file()


def test_the_demo_shows_a_record_that_is_marked_invented() -> None:
    page = open_page("shop")
    assert not page.exception
    assert "INVENTED: the demo shop's record was made up" in words(page)
    told = [each.proto.alt for each in page.get("vega_lite_chart")]
    for chart in ("Share that landed over the chance stated", "ΔE00 beyond what was promised"):
        assert [alt for alt in told if alt.startswith(chart)]
    said = words(page)
    shares = re.findall(r"(\d+) of (\d+) prints?, \d+% .* lie in the interval stated", said)
    every, _, *routes = shares  # all, of invented data, then route by route
    assert [sum(int(one[at]) for one in routes) for at in (0, 1)] == [int(v) for v in every]
    for head in ("By kind of data", "By ink", "By lot of ink", "By month"):  # as `inksim record`
        assert head in words(page)


def test_a_shop_without_proofs_says_so(copied_shop: Path) -> None:
    page = open_page("shop")
    assert not page.exception
    assert "No proof has been issued yet" in words(page)
