"""Colors from a photo or a scan that shows a chart: marked, read, looked at, used in a form."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import streamlit as st

from inksim.colour import D50, hex_code, xyz_from_lab
from inksim.common import InputError, capital, sentence
from inksim.photo import Chart, PhotoFault, PhotoRead, drawn, read_photo, read_picture
from inksim.preview import png_bytes
from inksim.reports import READING_HEAD, WHAT_SD_MEANS, photo_csv, reading_cells
from inksim.shop import Shop, garment_entry, ink_entry_from_look
from inksim.ui import cached_results
from inksim.ui.changes import Done, locked_reason
from inksim.ui.download import offer
from inksim.ui.pages.shop_colour import colour_in
from inksim.ui.pages.shop_forms import Opened, do, entry_form, open_form, opened
from inksim.ui.pages.shop_photo_fields import (
    SIZE,
    TOOLS,
    Asked,
    Fault,
    ask_chart,
    ask_places,
    ask_tool,
    asked,
    forget_marks,
    marked,
)
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.parts.marked_picture import marked_picture
from inksim.ui.style import note, pads, plain, points, table

PLACE = "photo"
FORMATS = ("jpg", "jpeg", "png", "tif", "tiff", "webp")
HELP = (
    "A phone, a camera or a scanner, and a chart of known patches beside the shirts, prints or "
    "films on one even sheet: one kind of light, straight from above, nothing clipped. HEIC and "
    "raw files: export them as JPEG or 16-bit TIFF first. An instrument reads better, a hex code "
    "is far worse. How to take it: docs/photo.md."
)
WIDEST_PX = 1000
NOT_READ = "not read"


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """A picture, reduced and with all that was looked at, and what was read in it."""

    png: bytes
    size: tuple[int, int]
    read: PhotoRead | None
    csv: str
    fault: Fault | None


def from_photo(shop: Shop) -> None:
    """Draw the tab that reads colors from a photo."""
    said_here(shop, PLACE)
    note(HELP)
    file = st.file_uploader(
        "Photo or scan with the chart in it", type=FORMATS, key="photo file",
        on_change=forget_marks,
    )  # fmt: skip
    below = st.container()
    chart, mark = ask_chart()
    if file is not None and chart is not None:
        data = file.getvalue()
        key = (hashlib.sha256(data).hexdigest(), file.name, mark)
        try:
            shown = _marked_and_read(data, file.name, chart, key)
        except InputError as error:
            below.error(plain(str(error)))
        else:
            if shown.read is not None and shown.read.readings:
                _results(shop, shown.read, shown.csv)
    for kind in ("garment", "ink"):
        of = opened(kind)
        if of is not None and of.verb == "read" and not locked_reason(shop):
            entry_form(shop, kind)


def _marked_and_read(data: bytes, name: str, chart: Chart, key: tuple[object, ...]) -> Shown:
    """The picture to mark on, the fields of what is marked, and what is wrong at its field."""
    tool = ask_tool()
    place = st.container()
    fields = ask_places()
    given = asked()
    wish = Asked(None, [], [], []) if isinstance(given, Fault) else given
    shown = cached_results.read_photo_once(
        (*key, repr(wish)), lambda: _read(data, name, chart, wish)
    )
    st.session_state[SIZE] = shown.size
    with place:
        words = "the chart and what is read drawn in" if shown.read else "as the file has it"
        marked_picture(
            shown.png, tool=tool, points=TOOLS[tool], alt=f"{name}, {words}", on_marked=marked
        )
    fault = given if isinstance(given, Fault) else shown.fault
    if fault is not None:
        fields[fault.field].error(plain(sentence(fault.words)))
    if shown.read is not None:
        points(sentence(each.rstrip(".")) for each in shown.read.findings)
    return shown


def _read(data: bytes, name: str, chart: Chart, given: Asked) -> Shown:
    """What is read of a picture; of one that is faulty, what can be shown of it."""
    picture = read_picture(data, name=name)
    fault, read = None, None
    try:
        read = read_photo(picture, chart, **given._asdict())
    except PhotoFault as found:
        fault = Fault(str(found), found.part)
        if found.part != "corners":
            read = read_photo(picture, chart, corners=given.corners)
    pixels = drawn(read, widest=WIDEST_PX) if read else picture.small(WIDEST_PX)[0]
    about = f"{picture.name} by chart {chart.name}: what was looked at"
    return Shown(
        png=png_bytes(pixels, about=about),
        size=(picture.width, picture.height),
        read=read and read.without_pixels(),
        csv=photo_csv(read) if read and read.readings else "",
        fault=fault,
    )


def _results(shop: Shop, read: PhotoRead, csv: str) -> None:
    """The readings with how sure they are, as a file, and in a form of the shop."""
    rows = []
    for each in read.readings:
        code = hex_code(xyz_from_lab(each.lab, D50), D50)[0]
        swatch = pads([(code, "")], label=f"{each.name}: {code}")
        rows.append([swatch, *reading_cells(each), "; ".join(each.notes) or "none"])
    head = [capital(words) for words in READING_HEAD]
    table(("Color", *head, "Note"), rows, label="Colors read from the picture")
    note(f"Lab for {D50}. {WHAT_SD_MEANS}")
    file = f"{Path(read.picture.name).stem}-readings.csv"
    offer("Readings (CSV)", csv.encode(), file=file)
    if why := locked_reason(shop):
        note(f"Not stored: {why}")
        return
    note("Nothing is stored until you save it in a form. Prints that were read calibrate the "
         "press: give the CSV there, with the columns of each print.")  # fmt: skip
    names = [each.name for each in read.readings]
    left, right = st.columns(2)
    cloth = str(left.selectbox("A garment of the color", names, key="photo garment"))
    left.button("Use as a garment …", on_click=do,
                args=(lambda: _begun("garment", file, csv, cloth), "", None, PLACE))  # fmt: skip
    white = str(right.selectbox("An ink: its film over a white card", names, key="photo white"))
    black = str(right.selectbox("The same film over a black card", [NOT_READ, *names],
                                key="photo black"))  # fmt: skip
    right.button(
        "Use as an ink …", on_click=do,
        args=(lambda: _begun("ink", file, csv, white, black), "", None, PLACE),
    )  # fmt: skip


def _begun(kind: str, file: str, csv: str, name: str, black: str = NOT_READ) -> Done:
    """Open the form of an entry that has the color read, with its noise."""
    data = csv.encode()
    colour = colour_in(file, data, name)
    if kind == "garment":
        entry = garment_entry(colour, name=name)
    else:
        over = None if black == NOT_READ else colour_in(file, data, black)
        entry = ink_entry_from_look(colour, over_black=over, name=name)
    if colour.notes:
        entry["note"] = "; ".join(colour.notes)
    seed = {field: value for field, value in entry.items() if value is not None}
    open_form(kind, Opened("read", name, seed, PLACE))
    return Done("", PLACE)
