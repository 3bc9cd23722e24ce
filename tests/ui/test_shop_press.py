"""The shop's press: calibrated to readings of prints, stored, taken back; and faults in words."""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from inksim.calibration.history import rows_kept, to_csv
from inksim.calibration.prints_to_read import table_to_fill_in
from inksim.cli.commands import main
from inksim.colour.viewing import Viewing
from inksim.printing.prediction import predict_nominal
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from inksim.shop.press_file import versions
from inksim.shop.usual_builds import usual_build
from tests.cli.test_calibrate import rows
from tests.ui.conftest import open_page, raw_html, words
from tests.ui.test_shop import edit, field, press

STORE = "Store as the new press version"


def pasted(text: str) -> AppTest:
    page = open_page("shop")
    page.text_area(key="calibrate-pasted").set_value(text)
    return page.run()


@pytest.fixture(scope="module")
def stored_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop whose press is calibrated, by the command: it stores what the page's button does."""
    folder = tmp_path_factory.mktemp("stored")
    shop, file = new_shop(folder / "shop"), folder / "prints.csv"
    file.write_text(to_csv(rows()), encoding="utf-8")
    done = CliRunner().invoke(main, ["calibrate", str(file), "--shop", str(shop)])
    assert done.exit_code == 0, done.stderr
    return shop


@pytest.fixture
def stored_shop(copied_shop: Path, stored_once: Path) -> Path:
    """A copy of it, which pages open."""
    return Path(shutil.copytree(stored_once, copied_shop, dirs_exist_ok=True))


def said(page: AppTest) -> str:
    return " ".join(each.value for each in page.success).replace("\\", "")


def test_readings_are_shown_before_and_after_and_stored(copied_shop: Path) -> None:
    page = pasted(to_csv(rows()))
    assert not page.exception
    assert not page.error
    found = re.search(
        r"Half of new prints should come within ΔE00 (\d+\.\d) of their prediction; before it was "
        r"(\d+\.\d)",
        words(page),
    )
    assert found is not None
    assert float(found[1]) < float(found[2])
    html = raw_html(page)
    assert all(row.name in html for row in rows())
    assert "◇ these prints do not show it" in html  # no halftone was read: the dots stay unknown
    assert "Readings, before and after" in html
    page = press(page, STORE)
    assert not page.error
    assert "The press is version 1 now; 6 readings are kept" in said(page)
    assert load_shop(copied_shop).press.calibrated
    assert len(rows_kept(copied_shop)) == 6
    # and the way back
    page = open_page("shop")
    assert "1, in use" in raw_html(page)
    page = press(page, "Go back to version 0")
    assert not page.error
    assert not load_shop(copied_shop).press.calibrated
    assert [each.current for each in versions(copied_shop)] == [True, False]


def test_undoing_a_stored_press_leaves_its_readings_and_says_so(copied_shop: Path) -> None:
    stays = "Readings of prints stay kept, and the next calibration uses them"
    before = (copied_shop / "press.toml").read_bytes()
    page = press(pasted(to_csv(rows())), STORE)
    assert f"in press.toml. {stays}" in words(page)
    assert not [b for b in page.button if b.label == STORE]  # stored is done
    button = page.button(key="shop-undo")
    assert button.label == "Undo: the press as it was"
    page = button.click().run()
    assert not page.error
    assert f"press.toml is as it was. {stays}" in said(page)
    assert (copied_shop / "press.toml").read_bytes() == before
    assert len(rows_kept(copied_shop)) == 6
    # what the words promise: the next calibration uses them, and each can be taken out
    page = pasted(to_csv(rows()[:1]))
    assert "1 new, 5 kept from before" in words(page)
    assert [b for b in page.button if re.fullmatch(r"Take reading \d+ out", b.label)]


def test_undoing_another_file_speaks_of_no_readings(stored_shop: Path) -> None:
    page = open_page("shop")
    page = press(edit(page, "ink", "Kiln Red"), "Remove Kiln Red")
    assert page.button(key="shop-undo").label == "Undo: bring back ink Kiln Red"
    assert "stay kept" not in words(page)


def test_readings_by_eye_are_kept_as_such(copied_shop: Path) -> None:
    page = pasted("name,garment,ink,route,L,a,b\na,Flour White,Kiln Red,straight,42,52,32\n")
    page.selectbox(key="calibrate-read-by").set_value("eye")
    page.number_input(key="calibrate-sd").set_value(2.5)
    page = page.run()
    assert "1 reading by eye may be 2.5 ΔE00 off" in words(page)
    page = press(page, STORE)
    (kept,) = rows_kept(copied_shop)
    assert (kept.row.read_by, kept.row.sd_de00) == ("eye", 2.5)
    assert "eye, ± 2.5 ΔE00" in raw_html(open_page("shop"))


def test_a_file_does_what_pasted_lines_do(copied_shop: Path) -> None:
    page = open_page("shop")
    page.file_uploader(key="calibrate-files").upload("p.csv", to_csv(rows()).encode(), "text/csv")
    page = page.run()
    assert "Half of new prints" in words(page)


def test_a_reading_that_cannot_be_is_pointed_out(copied_shop: Path) -> None:
    good = rows()
    lines = to_csv(good).splitlines()
    names = lines[0].split(",")
    wrong = dict(zip(names, lines[1].split(","), strict=True))
    lab = {"L": "52", "a": "-40", "b": "30"}  # a green where an ink of another color was printed
    spectrum = [name for name in names if name.startswith("factor")]
    wrong |= dict.fromkeys(spectrum, "") | lab | {"name": "odd one out"}
    text = "\n".join([lines[0], *lines[2:], ",".join(wrong[name] for name in names)]) + "\n"
    page = pasted(text)
    assert not page.exception
    assert "'odd one out' cannot be that print" in words(page)
    assert "left out" in raw_html(page)


def test_a_press_changed_elsewhere_is_not_overwritten(copied_shop: Path) -> None:
    page = pasted(to_csv(rows()))
    file = copied_shop / "press.toml"
    theirs = file.read_text(encoding="utf-8").replace("value = 0.60", "value = 0.61")
    file.write_text(theirs, encoding="utf-8")
    page = press(page, STORE)
    assert "changed by somebody else" in words(page)
    assert file.read_text(encoding="utf-8") == theirs
    assert not rows_kept(copied_shop)
    assert not list(copied_shop.glob("press-history/*"))


def test_in_the_demo_shop_it_is_shown_but_not_stored() -> None:
    page = pasted(to_csv(rows()))
    assert "Half of new prints" in words(page)
    assert "Not stored" in words(page)
    assert not [b for b in page.button if b.label in (STORE, "Save the press")]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("hello", "no column holds a spectrum or a color"),
        ("name,garment,ink,L,a,b\n", "no samples"),
        ("name,garment,ink,L,a,b\nx,Nowhere,Kiln Red,40,50,30\n", "Nowhere"),
        ("name,garment,ink,L,a,b\nx,Coal Black,Kiln Red,140,50,30\n", "140"),
        ("name,garment,ink,route,L,a,b\nx,Coal Black,Kiln Red,sideways,40,50,30\n", "sideways"),
    ],
)
def test_bad_readings_get_a_sentence(copied_shop: Path, text: str, fault: str) -> None:
    before = (copied_shop / "press.toml").read_bytes()
    page = pasted(text)
    assert not page.exception
    assert len(page.error) == 1
    assert fault in words(page)
    assert (copied_shop / "press.toml").read_bytes() == before


def test_the_table_to_fill_in_is_read_back_once_it_is_filled(copied_shop: Path) -> None:
    shop = load_shop()
    rows_to_fill = list(csv.DictReader(table_to_fill_in(shop).splitlines()[1:]))
    assert len(rows_to_fill) >= 6
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows_to_fill[0]))
    writer.writeheader()
    for row in rows_to_fill:
        build = usual_build(
            shop, garment=shop.garment(row["garment"]), ink=shop.ink(row["ink"]),
            route=row["route"],  # type: ignore[arg-type]
        )  # fmt: skip
        (found,) = predict_nominal([build], press=shop.press.values, viewing=Viewing())
        L, a, b = found.lab
        writer.writerow(row | {"L": f"{L + 1:.1f}", "a": f"{a:.1f}", "b": f"{b:.1f}"})
    page = pasted(text.getvalue())
    assert not page.error
    assert "Half of new prints" in words(page)


def test_kept_readings_are_listed_and_taken_out(stored_shop: Path) -> None:
    page = open_page("shop")
    assert "6 readings" in [each.label for each in page.expander]
    first = rows_kept(stored_shop)[0]
    page = press(page, f"Take reading {first.number} out")
    assert not page.error
    assert len(rows_kept(stored_shop)) == 5


def test_a_damaged_history_leaves_the_rest_of_the_page(copied_shop: Path) -> None:
    (copied_shop / "history.sqlite").write_bytes(b"not a history at all" * 400)
    page = open_page("shop")
    assert not page.exception
    assert page.error
    assert "Versions of the press" in words(page)


def test_a_parameter_is_changed_with_where_it_comes_from(copied_shop: Path) -> None:
    page = open_page("shop")
    field(page, "Share of the mesh's ink volume", kind="number_input").set_value(0.52)
    field(page, "Where these come from", at=1).set_value("weighed wet prints")
    page = press(page, "Save the press")
    assert not page.error
    made = load_shop(copied_shop).press
    assert made.release.value == 0.52
    assert made.release.sd == 0.15
    assert re.fullmatch(r"weighed wet prints; \d{4}-\d\d-\d\d", made.source)
    assert "# share of the mesh's ink volume" in (copied_shop / "press.toml").read_text("utf-8")
    page = page.button(key="shop-undo").click().run()
    assert load_shop(copied_shop).press.release.value == 0.60


def test_a_calibrated_press_is_not_changed_value_by_value(stored_shop: Path) -> None:
    page = open_page("shop")
    assert "hang together" in words(page)
    assert "Save the press" not in [each.label for each in page.button]
