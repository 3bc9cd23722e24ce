"""Show a client: the first screen, garments, uploads good and bad, the four ways to look."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from streamlit.testing.v1 import AppTest

from inksim.launch import SHOP_VARIABLE
from inksim.ui import cached_results
from inksim.ui.current_job import WISHES
from inksim.ui.pages import client_tonal
from inksim.ui.progress import STOPPED
from tests.pictures import encoded, png
from tests.small_shop import FOR_PICTURES, few_inks
from tests.ui.conftest import open_page, pictures, raw_html, words

ORANGE, TEAL = (232, 98, 44), (15, 92, 99)


def flat_art() -> bytes:
    """Two flats on transparent ground, 3 × 2 inches at 100 dpi."""
    image = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((20, 20, 150, 180), fill=(*ORANGE, 255))
    draw.ellipse((160, 40, 280, 160), fill=(*TEAL, 255))
    return encoded(image, "PNG", dpi=(100, 100))


def tonal_art() -> bytes:
    """A smooth sweep through hue and lightness: no flat color anywhere."""
    y, x = np.mgrid[0:240, 0:320] / 320.0
    rgb = np.stack([x, y, 1.0 - (x + y) / 2.0], axis=-1)
    return encoded(Image.fromarray(np.rint(255 * rgb).astype(np.uint8)), "PNG", dpi=(100, 100))


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return few_inks(tmp_path_factory.mktemp("few") / "shop", *FOR_PICTURES)


@pytest.fixture
def few_to_choose(few: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture in halftones has fewer inks to choose from: what the page shows is tested."""
    monkeypatch.setenv(SHOP_VARIABLE, str(few))


def upload(name: str, data: bytes, mime: str = "image/png") -> AppTest:
    page = open_page("client")
    page.file_uploader[0].upload(name, data, mime)
    return page.run()


def test_the_first_screen_shows_a_result() -> None:
    page = open_page("client")
    assert not page.exception
    assert "Coal Black" in page.get("html")[0].proto.body
    shown = pictures(page)
    assert len(shown) == 5
    # the decided print first, beside the artwork; below it the routes that it does not take
    # and each print says its verdict, for whoever does not see it
    ways = [text.split(", ", 1)[1].split("; all together: ") for text in shown]
    assert [each[0] for each in ways] == [
        "as decided",
        "as drawn",
        "straight on the cloth",
        "over a discharge base",
        "pale gray, in black what is too fine for mesh and cloth",
    ]
    assert [re.sub(r"\d+", "N", each[1]) for each in ways if len(each) > 1] == [
        "cannot promise, N%"
    ] * 3
    assert "As decided: over a white base" in words(page)
    assert "first print on the real garment decides" in words(page)


@pytest.mark.parametrize(
    ("garment", "said"),
    [
        # Common practice, no source: white cloth takes no base, bright colors on black take one.
        ("Flour White", "Flour White, straight on the cloth: cannot promise —"),
        ("Coal Black", "Coal Black, over 'Chalk White Base': cannot promise —"),
    ],
)
def test_the_answer_is_the_trade_s(garment: str, said: str) -> None:
    assert said in words(open_page("client", garment=garment))


def test_a_polyester_shows_no_discharge_print_and_says_why() -> None:
    page = open_page("client", garment="Anvil Black Sport")
    assert "Not possible: discharge only reaches cotton" in words(page)
    assert not any("discharge base" in text for text in pictures(page))


def test_polyester_is_warned_of_where_it_is_chosen() -> None:
    short, whole = "can migrate into a base hours to weeks later", "heat turns its dye into vapor"
    said = words(open_page("client", garment="Anvil Black Sport"))
    assert said.count(short) == 1
    assert said.count(whole) == 1
    assert whole not in words(open_page("client", garment="Coal Black"))


def test_the_address_brings_back_garment_light_and_view() -> None:
    page = open_page(
        "client", garment="Brick Red", light="Home lamp", view="Cloth, pixel for pixel"
    )
    assert not page.exception
    assert re.search(
        r"Brick Red, [^\n]*over 'Chalk White Base'[^\n]*: cannot promise —", words(page)
    )
    assert "Compared under A/10°" in words(page)
    assert len([text for text in pictures(page) if "pixel for pixel" in text]) >= 2


def test_a_choice_that_the_shop_does_not_have_falls_back_to_the_usual_one() -> None:
    page = open_page("client", garment="No Such Shirt")
    assert not page.exception
    assert "Coal Black, over 'Chalk White Base': cannot promise —" in words(page)


@pytest.mark.parametrize("view", ["Wipe", "On the shirt", "Cloth, pixel for pixel"])
def test_every_view_is_drawn(view: str) -> None:
    page = open_page("client", view=view)
    assert not page.exception
    assert not page.error
    if view == "Wipe":
        assert {box.label for box in page.selectbox} >= {"Left", "Right"}
    else:
        assert pictures(page)


def test_a_wider_print_on_the_shirt_is_another_picture() -> None:
    page = open_page("client", view="On the shirt")
    before = page.image[0].proto.imgs[0].url
    page.number_input(key="job-width-mm").set_value(150.0).run()
    assert not page.exception
    assert page.image[0].proto.imgs[0].url != before


def test_an_upload_is_shown_with_its_size_and_inks() -> None:
    page = upload("oars.png", flat_art())
    assert not page.exception
    assert "oars.png: 3.0 × 2.0 in (76 × 51 mm), 2 flat colors." in words(page)
    assert all(text.startswith("oars.png") for text in pictures(page))
    # the two flats are the demo's own targets for these inks
    assert "Lantern Orange" in words(page)
    assert "Weir Teal" in words(page)


def test_a_drawing_is_taken_and_without_its_package_it_is_said_how_to_get_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    disc = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="30mm" viewBox="0 0 50 30">'
        '<circle cx="25" cy="15" r="{}" fill="#e8622c"/></svg>'
    )
    page = upload("disc.svg", disc.format(10).encode(), "image/svg+xml")
    assert not page.exception
    assert "50 × 30 mm" in words(page)
    monkeypatch.setattr("inksim.artwork.sandbox.find_spec", lambda _: None)
    page = upload("other.svg", disc.format(11).encode(), "image/svg+xml")
    assert not page.exception
    assert "'other.svg' is an SVG, which needs more packages" in page.error[0].value
    assert "pip install" in page.error[0].value


def test_an_upload_stays_when_another_garment_is_chosen() -> None:
    page = upload("oars.png", flat_art())
    page.pills[0].set_value("Flour White").run()
    assert all(text.startswith("oars.png on Flour White") for text in pictures(page))


def test_inks_can_be_chosen_by_hand() -> None:
    page = upload("oars.png", flat_art())
    box = next(each for each in page.selectbox if each.label.startswith("#0f5c63"))
    assert box.value == "Weir Teal"
    box.set_value("Damson Purple").run()
    assert "Damson Purple" in raw_html(page)
    assert "Weir Teal" not in raw_html(page)
    box = next(each for each in page.selectbox if each.label.startswith("#0f5c63"))
    box.set_value("leave bare").run()
    assert "Damson Purple" not in raw_html(page)
    assert not page.exception
    box = next(each for each in page.selectbox if each.label.startswith("#0f5c63"))
    box.set_value("as decided").run()
    assert "Weir Teal" in raw_html(page)


def test_with_every_color_left_bare_the_inks_can_still_be_chosen() -> None:
    page = upload("oars.png", flat_art())
    for code in ("#0f5c63", "#e8622c"):
        box = next(each for each in page.selectbox if each.label.startswith(code))
        page = box.set_value("leave bare").run()
    assert "Nothing is printed on Coal Black" in words(page)
    assert not downloads(page)
    box = next(each for each in page.selectbox if each.label.startswith("#0f5c63"))
    page = box.set_value("as decided").run()
    assert not page.exception
    assert "Weir Teal" in raw_html(page)


def bars(*codes: str) -> bytes:
    """Bars of some colors on transparent ground, 100 dpi."""
    image = Image.new("RGBA", (20 + 95 * len(codes), 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at, code in enumerate(codes):
        draw.rectangle((20 + at * 95, 20, 104 + at * 95, 280), fill=code)
    return encoded(image, "PNG", dpi=(100, 100))


def downloads(page: AppTest) -> list[str]:
    """Labels of what can be taken away."""
    found = [each.proto.label for each in page.get("download_button")]
    return [*found, *(each.label for each in page.button if "Proof" in each.label)]


def upload_on(garment: str, data: bytes) -> AppTest:
    page = open_page("client", garment=garment)
    page.file_uploader[0].upload("logo.png", data, "image/png")
    return page.run()


def test_white_lettering_is_printed_white_on_red_and_left_bare_on_white() -> None:
    # common practice, no source
    page = upload_on("Brick Red", bars("#ffffff"))
    assert "Chalk White Base" in raw_html(page)
    assert downloads(page)
    page = upload_on("Flour White", bars("#ffffff"))
    said = words(page)
    assert "nothing is printed; the cloth itself is every color" in said
    assert "left bare" in said
    assert "#ffffff is left bare: the cloth itself is the color." in said
    assert not downloads(page)


def test_polyester_carries_its_caution() -> None:
    assert "tints the print" in words(open_page("client", garment="Anvil Black Sport"))
    assert "tints the print" not in words(open_page("client", garment="Coal Black"))


def test_a_job_that_the_press_cannot_print_has_no_proof(copied_shop: Path) -> None:
    press = copied_shop / "press.toml"
    text = re.sub(r"^stations = \d+", "stations = 1", press.read_text("utf-8"), flags=re.M)
    press.write_text(text, encoding="utf-8")
    data = bars("#ffffff", "#c8102e", "#f2c230")
    page = upload_on("Coal Black", data)
    assert not page.exception
    assert downloads(page)
    assert "because the press has no screen for" in words(page)
    # two runs through one station are two screens: three colors kept apart are too many
    while boxes := [each for each in page.checkbox if not each.value]:
        page = boxes[0].check().run()
        assert not page.exception
    said = words(page)
    assert "Coal Black: cannot be printed." in said
    assert "use a press with more stations" in said
    assert not downloads(page)
    page = page.checkbox[0].uncheck().run()
    assert not page.exception
    assert downloads(page), "it can be undone"


def test_a_name_is_shown_as_text_never_as_markup() -> None:
    page = upload("<b>*x*</b> $a$ [l](http:b).png", flat_art())
    assert "<b>*x*" not in raw_html(page)
    assert any("\\*x\\*" in caption.value for caption in page.caption)


@pytest.mark.usefixtures("few_to_choose")
def test_a_tonal_picture_is_shown_as_halftones_with_what_it_reaches() -> None:
    page = upload("sweep.png", tonal_art())
    assert not page.exception
    assert not page.error
    said = words(page)
    assert "Tonal artwork, printed as halftones of" in said
    assert "posterized" not in said
    assert "sweep.png: 3.2 × 2.4 in (81 × 61 mm), tonal." in said
    assert [text.split(", ", 1)[1].split("; ")[0] for text in pictures(page)] == [
        "as drawn",
        "straight on the cloth",
        "over a discharge base",
        "over a white base",
    ]
    # common practice, no source: on black, the more base the more of a picture lands
    shares = [int(n) for n in re.findall(r"[●✕] (\d+)% of it nominally within", said)]
    assert len(shares) == 3
    assert shares == sorted(shares)
    for share, shown in zip(shares, pictures(page)[1:], strict=True):
        assert f"; {share}% of it nominally within ΔE00" in shown


@pytest.mark.usefixtures("few_to_choose")
def test_a_tonal_picture_has_proof_ticket_plates_and_cost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    offered: dict[str, str] = {}
    monkeypatch.setattr(
        client_tonal, "offer", lambda label, made, *, file, **more: offered.update({label: file})
    )
    page = upload("sweep.png", tonal_art())
    assert not page.exception
    assert offered == {
        "Proof sheet to sign (PDF)": "proof-sweep-coal-black.pdf",
        "Press ticket (PDF)": "ticket-sweep-coal-black.pdf",
        "Press ticket (text)": "ticket-sweep-coal-black.txt",
        "Plates (ZIP of PNG)": "plates-sweep-coal-black.zip",
        "The print as a picture (PNG)": "sweep-coal-black.png",
    }
    assert re.search(r"It takes \d of 6 stations\. \d+\.\d\d USD, \d+\.\d\d a print", words(page))


def test_a_tonal_picture_that_the_press_cannot_print_has_neither(
    copied_shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = copied_shop / "press.toml"
    text = file.read_text("utf-8")
    file.write_text(re.sub(r"(?m)^stations = 6 .*$", "stations = 1", text), "utf-8")
    monkeypatch.setattr(client_tonal, "offer", lambda *a, **k: pytest.fail("nothing to offer"))
    page = open_page("client")
    by_hand = {"artwork.halftone_inks": ["Kiln Red", "Weir Teal"]}
    page.session_state[f"{WISHES} {hashlib.sha256(tonal_art()).hexdigest()}"] = by_hand
    page.file_uploader[0].upload("sweep.png", tonal_art(), "image/png").run()
    assert not page.exception
    said = words(page)
    assert re.search(
        r"The press cannot print this picture on Coal Black: it takes \d stations, and the press "
        r"has 1; use \d inks? fewer",
        said,
    )
    assert "There is no proof to sign and no ticket of it." in said


@pytest.mark.usefixtures("few_to_choose")
def test_the_inks_of_a_tonal_picture_can_be_chosen() -> None:
    page = upload("sweep.png", tonal_art())
    inks = next(each for each in page.multiselect if each.label.startswith("Inks, in print order"))
    inks.set_value(["Barley Yellow", "Cornflower Blue"]).run()
    assert not page.exception
    assert "halftones of Barley Yellow, Cornflower Blue at" in words(page)


@pytest.mark.usefixtures("few_to_choose")
def test_a_tonal_picture_shows_where_it_is_out_of_reach() -> None:
    page = upload("sweep.png", tonal_art())
    control = next(each for each in page.segmented_control if each.key == "view-tonal")
    page = control.set_value("Out of reach").run()
    assert any("hatched where it is out of reach" in text for text in pictures(page))
    page = control.set_value("Wipe").run()
    assert not page.exception


@pytest.mark.usefixtures("few_to_choose")
@pytest.mark.parametrize(
    ("view", "count", "said"),
    [("On the shirt", 1, "on a drawn shirt"), ("Close up", 3, "a window of it")],
)
def test_a_tonal_picture_is_seen_on_the_shirt_and_from_near(
    view: str, count: int, said: str
) -> None:
    page = upload("sweep.png", tonal_art())
    control = next(each for each in page.segmented_control if each.key == "view-tonal")
    page = control.set_value(view).run()
    assert not page.exception
    assert not page.error
    assert len(pictures(page)) == count
    assert all(said in text for text in pictures(page))


@pytest.mark.usefixtures("few_to_choose")
def test_long_work_that_was_stopped_waits_until_it_is_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cached_results, "tonal_key", lambda *_, **__: "these halftones")
    page = open_page("client", garment="Lagoon Turquoise")
    page.session_state[STOPPED] = "these halftones"
    page.file_uploader[0].upload("sweep.png", tonal_art(), "image/png")
    page = page.run()
    assert not page.exception
    assert "Stopped." in words(page)
    assert "Its inks, garments and readings are invented" in words(page)  # the rest of the page is
    assert not pictures(page)
    again = next(each for each in page.button if each.label == "Work it out after all")
    page = again.click().run()
    assert "Stopped." not in words(page)
    assert len(pictures(page)) == 3  # a polyester takes no discharge


def test_another_light_is_explained() -> None:
    assert "alike under every light" not in words(open_page("client"))
    page = open_page("client", light="Home lamp")
    assert "alike under every light" in words(page)
    assert "Seen under 'Home lamp', A/10°." in words(page)


def test_a_lamp_of_the_shop_is_one_more_light(copied_shop: Path) -> None:
    """Its file is all that it takes; a light's name in the address chooses it."""
    (copied_shop / "lamps").mkdir()
    rows = "".join(f"{nm},{nm - 370}\n" for nm in range(380, 781, 10))
    (copied_shop / "lamps" / "Booth north.csv").write_text(f"nm,power\n{rows}")
    page = open_page("base", light="Booth north")
    (choice,) = [each for each in page.segmented_control if each.label == "Light"]
    assert choice.value == "Booth north"
    assert "Booth north/2°" in words(page)


def test_the_demo_s_other_artwork_is_one_click_away() -> None:
    page = upload("oars.png", flat_art())
    labels = [button.label.replace("\\", "") for button in page.button]
    assert {"Use the demo's harvest-regatta.png", "Use the demo's river-morning.png"} <= set(labels)
    page.button[labels.index("Use the demo's harvest-regatta.png")].click().run()
    assert pictures(page)[0].startswith("harvest-regatta.png")


HUGE = png(30_000, 30_000, bits=8, colour_type=6, rows=b"")


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("empty.png", b"", "is empty"),
        ("notes.png", b"just words, no picture at all", "not a picture inksim knows"),
        ("cut.png", flat_art()[:400], "cut short"),
        ("huge.png", HUGE, "900 megapixels"),
        ("layers.png", b"8BPS" + bytes(200), "layered picture"),
    ],
)
def test_a_bad_upload_gets_one_sentence(name: str, data: bytes, said: str) -> None:
    page = upload(name, data)
    assert not page.exception
    assert len(page.error) == 1
    assert said in words(page)
    assert name in words(page)


def test_after_a_bad_upload_the_demo_comes_back() -> None:
    page = upload("notes.png", b"just words, no picture at all")
    assert page.error
    page.file_uploader[0].set_value([]).run()
    assert not page.error
    assert pictures(page)[0].startswith("harvest-regatta.png")
