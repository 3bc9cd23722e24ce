"""SVG and PDF artwork: drawn in a process of its own, from nothing but the file."""

from __future__ import annotations

import base64
import gzip
import itertools
from pathlib import Path

import numpy as np
import pytest
from fpdf import FPDF
from PIL import Image

from inksim.artwork import sandbox, sandbox_child, vector
from inksim.artwork.flats import find_flats
from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError
from tests.pictures import encoded

RED = (200, 30, 40)
PHYSICAL = 'width="50mm" height="30mm" viewBox="0 0 50 30"'
DISC = '<circle cx="25" cy="15" r="10" fill="#c81e28"/>'


def svg(head: str = PHYSICAL, body: str = DISC) -> bytes:
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"<svg {space} {head}>{body}</svg>".encode()


def pdf(*, pages: int = 1, opacity: float = 1.0, password: str = "") -> bytes:
    """60 mm × 40 mm pages with a red square of 20 mm."""
    document = FPDF(unit="mm", format=(60, 40))
    if password:
        document.set_encryption(owner_password="owner", user_password=password)
    for _ in range(pages):
        document.add_page()
        with document.local_context(fill_opacity=opacity):
            document.set_fill_color(*RED)
            document.rect(20, 10, 20, 20, style="F")
    return bytes(document.output())


def refused(data: bytes, **options: float) -> str:
    with pytest.raises(InputError) as caught:
        read_artwork(data, name="logo", **options)  # type: ignore[arg-type]
    text = str(caught.value)
    assert text.startswith("artwork 'logo' ")
    assert "\n" not in text
    return text


def said(notes: tuple[str, ...], *parts: str) -> bool:
    return any(all(part in note for part in parts) for note in notes)


@pytest.fixture
def svg_drawing() -> None:
    pytest.importorskip("resvg_py", reason="SVG needs the packages of inksim[artwork]")


@pytest.fixture
def pdf_drawing() -> None:
    pytest.importorskip("pypdfium2", reason="PDF needs the packages of inksim[artwork]")


# -- SVG


@pytest.mark.usefixtures("svg_drawing")
@pytest.mark.parametrize("packed", [False, True], ids=["svg", "svgz"])
def test_an_svg_in_millimeters_is_drawn_at_300_dpi(packed: bool) -> None:
    data = gzip.compress(svg()) if packed else svg()
    art = read_artwork(data, name="a.svg")
    assert (art.format, art.dpi) == ("SVG", 300.0)
    assert art.width_mm == pytest.approx(50, abs=0.1)
    assert art.height_mm == pytest.approx(30, abs=0.1)
    (disc,) = find_flats(art).colours
    assert disc.rgb == RED
    assert disc.area_mm2 == pytest.approx(np.pi * 100, rel=0.005)  # whole pixels across


@pytest.mark.usefixtures("svg_drawing")
@pytest.mark.parametrize(
    "head", ['viewBox="0 0 50 30"', 'width="500" height="300" viewBox="0 0 50 30"']
)
def test_an_svg_without_physical_size_is_drawn_large_and_says_so(head: str) -> None:
    art = read_artwork(svg(head))
    assert (art.width_px, art.height_px, art.dpi) == (3600, 2160, None)
    assert said(art.notes, "no physical size", "3600 pixels")


@pytest.mark.usefixtures("svg_drawing")
def test_half_transparent_svg_keeps_straight_alpha() -> None:
    art = read_artwork(svg(body=DISC.replace("/>", ' opacity="0.5"/>')))
    centre = art.rgba[art.height_px // 2, art.width_px // 2].astype(int)
    assert np.abs(centre - (*RED, 128)).max() <= 1


@pytest.mark.usefixtures("svg_drawing")
def test_nothing_outside_the_svg_is_read(tmp_path: Path) -> None:
    secret = tmp_path / "secret.png"
    Image.new("RGB", (50, 30), (0, 255, 0)).save(secret)
    links = (
        f'<image href="{secret}" width="50" height="30"/>'
        f'<image xlink:href="file://{secret}" width="50" height="30"/>'
        f'<image href="data:image/svg+xml,x" width="50" height="30"/>'
        "<script>1</script><foreignObject/>"
    )
    art = read_artwork(svg(body=links + DISC))
    assert not ((art.rgba[..., 1] > 100) & (art.rgba[..., 3] > 0)).any()
    assert said(art.notes, "1 script", "1 piece(s) of foreign content", "3 link(s)")


@pytest.mark.usefixtures("svg_drawing")
def test_pictures_inside_the_svg_are_drawn() -> None:
    green = encoded(Image.new("RGB", (1, 1), (0, 255, 0)), "PNG")
    pixel = "data:image/png;base64," + base64.b64encode(green).decode()
    art = read_artwork(svg(body=f'<image href="{pixel}" width="50" height="30"/>'))
    assert art.rgba[150, 300].tolist() == [0, 255, 0, 255]


@pytest.mark.usefixtures("svg_drawing")
def test_text_is_said_to_depend_on_this_computer() -> None:
    assert said(read_artwork(svg(body="<text>a</text>" + DISC)).notes, "fonts", "outlines")


@pytest.mark.usefixtures("svg_drawing")
@pytest.mark.parametrize(
    ("data", "words"),
    [
        (svg('width="5000mm" height="3000mm"'), "59055 × 35433 pixels"),
        (svg('width="1e30mm" height="1mm" viewBox="0 0 1 1"'), "no size"),
        (svg(""), "no size; add width and height, or a viewBox"),
        (svg()[:-20], "cut short or damaged"),
        (gzip.compress(svg())[:-30], "cut short or damaged"),
    ],
    ids=["too large", "absurd", "no size", "cut short", "svgz cut short"],
)
def test_svgs_that_are_refused(data: bytes, words: str) -> None:
    text = refused(data)
    assert words in text or (words == "no size" and "pixels" in text)


@pytest.mark.usefixtures("svg_drawing")
def test_bombs_are_refused() -> None:
    names = "abcdefghij"
    entities = '<!ENTITY a "aaaaaaaaaa">' + "".join(
        f'<!ENTITY {name} "{f"&{before};" * 10}">' for before, name in itertools.pairwise(names)
    )
    nested = f"<!DOCTYPE svg [{entities}]>".encode() + svg(body="<text>&j;</text>")
    assert "cannot be decoded" in refused(nested)
    packed = gzip.compress(svg(body=" " * (vector.MOST_SVG_BYTES + 10)))
    assert len(packed) < 200_000
    assert "more than 64 MB" in refused(packed)


# -- PDF


@pytest.mark.usefixtures("pdf_drawing")
def test_a_pdf_page_is_drawn_at_300_dpi_on_bare_cloth() -> None:
    art = read_artwork(pdf())
    assert (art.format, art.dpi) == ("PDF", 300.0)
    assert art.width_mm == pytest.approx(60, abs=0.1)
    flats = find_flats(art)
    assert [c.rgb for c in flats.colours] == [RED]
    assert flats.colours[0].area_mm2 == pytest.approx(400, rel=0.01)
    assert (flats.labels[:50] == 0).all()
    assert said(art.notes, "PDFium's approximation")


@pytest.mark.usefixtures("pdf_drawing")
def test_half_transparent_pdf_keeps_straight_alpha() -> None:
    art = read_artwork(pdf(opacity=0.5))
    centre = art.rgba[art.height_px // 2, art.width_px // 2].astype(int)
    assert np.abs(centre - (*RED, 127)).max() <= 2


@pytest.mark.usefixtures("pdf_drawing")
def test_one_page_of_several() -> None:
    art = read_artwork(pdf(pages=3), frame=2)
    assert said(art.notes, "3 pages", "page 3 was read")
    assert "3 page(s); page 4 does not exist" in refused(pdf(pages=3), frame=3)


@pytest.mark.usefixtures("pdf_drawing")
def test_locked_large_and_damaged_pdfs() -> None:
    assert "locked with a password; save an unlocked copy" in refused(pdf(password="secret"))
    assert "709 × 473 pixels (0.34 megapixels)" in refused(pdf(), max_megapixels=0.1)
    assert "cannot be drawn" in refused(pdf()[:200])


# -- Without the packages, and when the drawing process fails


@pytest.mark.parametrize(("data", "what"), [(svg(), "an SVG"), (pdf(), "a PDF")])
def test_missing_packages_are_named(
    data: bytes, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sandbox, "find_spec", lambda _: None)
    text = refused(data)
    assert f"is {what}" in text
    assert "pip install 'inksim[artwork]'" in text
    assert "PNG" in text


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("import os; os.abort()", "(its renderer gave up)"),
        ("import time; time.sleep(60)", "more than 1 seconds"),
        ("import sys; print('out of ink', file=sys.stderr); sys.exit(1)", "(it is damaged"),
    ],
    ids=["aborts", "hangs", "fails"],
)
def test_a_failing_renderer_is_one_sentence(
    script: str, words: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    child = tmp_path / "child.py"
    child.write_text(script)
    monkeypatch.setattr(sandbox, "CHILD", child)
    monkeypatch.setattr(sandbox, "TIMEOUT_S", 1)
    monkeypatch.setattr(sandbox, "find_spec", lambda _: True)
    for data in (svg(), pdf()):
        text = refused(data)
        assert words in text
        assert "PNG" in text


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("50mm", (50.0, "mm")), (" 1.5 in ", (1.5, "in")), ("100", (100.0, "")),
        ("1e2px", (100.0, "px")), ("100%", (0.0, "")), ("", (0.0, "")), (".5cm", (0.5, "cm")),
    ],
)  # fmt: skip
def test_css_lengths(text: str, length: tuple[float, str]) -> None:
    assert sandbox_child.css_length(text) == length
