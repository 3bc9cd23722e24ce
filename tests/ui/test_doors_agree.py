"""The pages give the commands' answer: what they show, read as a reader sees it.

Commands against each other, and the sheets read back, are in tests/cli/test_doors_agree.py.
"""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from inksim.common.wording import ROUTE_SHORT
from tests.cli.test_doors_agree import answers, picture, run
from tests.ui.conftest import open_page, raw_html, words

ART = pytest.mark.parametrize(
    ("codes", "garment"),
    [
        (("#ffffff", "#e8622c"), "Brick Red"),
        (("#17365d", "#ffd400"), "Coal Black"),
        (("#ffffff", "#c0392b", "#17365d"), "Flour White"),
    ],
    ids=["white and orange on red", "navy and yellow on black", "white, red, navy on white"],
)


def rows_of(page: AppTest, label: str) -> list[list[str]]:
    """The cells of a table that a page shows, in words; of swatches what they are said to be."""
    part = raw_html(page).split(f'aria-label="{label}"')[1].split("</table>")[0]
    body = part.split("<tbody>")[1]
    rows = []
    for row in body.split("</tr>")[:-1]:
        cells = re.findall(r"<td[^>]*>(.*?)</td>", row)
        swatch = [re.sub(r'.*aria-label="([^"]*)".*', r"\1", cell) for cell in cells]
        rows.append([unescape(re.sub(r"<[^>]*>", "", cell)) for cell in swatch])
    return rows


def percent(text: str) -> int:
    found = re.search(r"(\d+)%", text)
    assert found is not None, text
    return int(found[1])


def shown(name: str, art: Path, **query: str) -> AppTest:
    page = open_page(name, **query)
    page.file_uploader[0].upload(art.name, art.read_bytes(), "image/png")
    page.run()
    assert not page.exception
    return page


@ART
def test_the_pages_of_an_artwork_show_the_commands_answer(
    codes: tuple[str, ...], garment: str, tmp_path: Path
) -> None:
    art = picture(tmp_path / "art.png", *codes)
    job = tmp_path / "job.toml"
    job.write_text(
        f'name = "art.png"\ngarments = ["{garment}"]\nquantity = 72\n[artwork]\nfile = "art.png"\n',
        encoding="utf-8",
    )
    whole = run("advise", job)
    told = {each["target"]: each for each in whole["answers"]}
    assert set(told) == set(codes)
    (decided,) = whole["garments"]
    way = decided["ways"][decided["chosen"]]

    client = shown("client", art, garment=garment)
    rows = rows_of(client, "Color by color")
    for colour, row in zip(way["colors"], rows, strict=True):
        answer = told[colour["name"]]
        _, _, ink, printed, verdict, expect, chance, *_ = row
        assert ink == (answer["ink"] or "none")
        white = answer["ink"] == "Chalk White Base"  # not over a white: it is the white
        assert printed == ROUTE_SHORT["in-white" if white else answer["route"]]
        assert float(expect.split()[1]) == pytest.approx(answer["median_de00"], abs=0.051)
        if answer["ink"] is not None:
            assert answer["verdict"]["word"] in verdict
            assert percent(chance) == int(100 * answer["chance"] + 1e-9)  # never rounded up

    base = shown("base", art, about="The whole design", garment=garment)
    called = {row[-1] for row in rows_of(base, "Color by color")}
    assert len(called) == len(told)
    for code, answer in told.items():
        ink = f"{answer['ink']} {code}" if answer["ink"] else code
        assert f"{ink}: {answer['build']}" in called
    listed = re.findall(r"^(?:run \d+ of \d+, )?\d+\. (.+?): (\d+) threads/in", words(base), re.M)
    assert listed == [(screen["ink"], screen["screen"]) for screen in way["print_order"]]
    for page in (client, base):
        said = words(page)
        if way["print_order"]:
            assert way["verdict"]["word"] in said
            assert f"{int(100 * way['verdict']['chance'] + 1e-9)}% chance" in said


def test_the_palette_page_shows_the_commands_answers(tmp_path: Path) -> None:
    codes = ("#ffffff", "#e8622c", "#17365d", "#ffd400", "#c0392b")
    names = ("Brick Red", "Coal Black", "Flour White")
    told = {
        (each["target"], each["garment"]): each
        for each in answers("palette", "--palette", ";".join(codes), "--garments", ",".join(names))
    }
    page = open_page("palette")
    page.pills[0].set_value(list(names)).run()
    page.text_area[0].set_value("\n".join(codes)).run()
    next(each for each in page.button if each.label == "Use the pasted colors").click().run()
    assert not page.exception
    (drawn,) = (
        json.loads(each.proto.json)
        for each in page.get("bidi_component")
        if each.proto.component_name == "inksim_map"
    )
    cells: dict[tuple[str, str], dict[str, Any]] = {
        (colour["name"], place["name"]): cell
        for colour in drawn["colors"]
        for place, cell in zip(drawn["garments"], colour["cells"], strict=True)
    }
    assert set(cells) == set(told)
    for key, cell in cells.items():
        *said, distance = cell["words"].split(", ")
        assert float(distance) == pytest.approx(told[key]["median_de00"], abs=0.051)
        if told[key]["ink"] is None:
            assert said == ["left bare"]
        else:
            mark, way = said
            assert mark.split(" ", 1)[1] == told[key]["verdict"]["word"]
            assert way == ROUTE_SHORT[told[key]["route"]]
    # the cell that is looked at, in full
    first = told[drawn["colors"][0]["name"], drawn["garments"][0]["name"]]
    said = words(page)
    assert f"{first['target']} on {first['garment']}" in said
    if first["ink"] is not None:
        assert first["build"] in said
