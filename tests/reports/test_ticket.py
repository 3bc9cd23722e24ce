"""The press ticket: everything the press needs, in order, on paper and as text."""

from __future__ import annotations

import io
import re
import time
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw

from inksim.colour.cielab import delta_e_2000
from inksim.colour.srgb import rgb8_from_hex
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.job.decide import decide_job
from inksim.job.from_artwork import job_of_artwork
from inksim.job.job import Job
from inksim.job.load import load_job
from inksim.job.what_to_tell import told
from inksim.preview.prepare import prepare_artwork
from inksim.reports.cautions import CAUTIONS, MIGRATION
from inksim.reports.job_report import cure_words
from inksim.reports.ticket import Ticket, make_ticket
from inksim.reports.ticket_picture import with_artwork
from inksim.reports.ticket_sheet import ticket_pdf
from inksim.reports.ticket_words import ticket_text
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.stock.handling import USUAL
from inksim.stock.place import Place
from inksim.stock.target import target_from_hex
from tests.pictures import artwork

SHOP = load_shop()
JOBS = demo_shop_folder() / "jobs"
DAY = date(2026, 3, 9)


def ticket_of(job: Job, *, at: int = 0, **more: Any) -> Ticket:
    answer = decide_job(job, shop=SHOP)
    return make_ticket(answer, shop=SHOP, garment=answer.garments[at].garment, made=DAY, **more)


@pytest.fixture(scope="module")
def bakery() -> Ticket:
    return ticket_of(load_job(JOBS / "bakery.toml", shop=SHOP))


@pytest.fixture(scope="module")
def choir() -> Ticket:
    return ticket_of(load_job(JOBS / "choir.toml", shop=SHOP))


def in_colours(*colours: tuple[str, str]) -> Job:
    """A job of some colors, by name and hex code, on a red shirt."""
    job = load_job(JOBS / "bakery.toml", shop=SHOP)
    first = job.colours[0]
    return replace(
        job,
        name="logo",
        garments=(SHOP.garment("Brick Red"),),
        quantities=(72,),
        colours=tuple(
            replace(first, name=name, target=target_from_hex(code), ink=None)
            for name, code in colours
        ),
    )


WHITES = {
    "alone": in_colours(("white", "#ffffff")),
    "beside orange": in_colours(("white", "#ffffff"), ("orange", "#e8622c")),
}


def pages(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    return "\n".join(document[n].get_textpage().get_text_bounded() for n in range(len(document)))


def test_every_screen_decided_stands_on_it_in_order(bakery: Ticket) -> None:
    # White first, then light colors before dark (common practice, no source).
    assert [s.ink.name for s in bakery.screens] == [
        "Chalk White Base", "Oatcake Cream", "Kiln Red"
    ]  # fmt: skip
    base, *colours = bakery.screens
    assert [s.number for s in bakery.screens] == [1, 2, 3]
    assert (base.flash, base.choke_mm) == (True, 0.4)
    assert base.area_cm2 == 240.0
    assert [bakery.names[at] for at in base.over] == ["Oven Red", "Oatcake"]
    for screen in colours:
        assert screen.flash is None
        assert screen.choke_mm is None


def counted_by_hand(ticket: Ticket) -> tuple[int, int, int]:
    """Screens, strokes and flashes of a ticket, from its text alone."""
    rows = re.findall(
        r"^(\d+)  .+? /cm\)\s+(×\d(?:, flash, ×\d)?)\s+(flash|wet on wet)?",
        ticket_text(ticket),
        re.M,
    )
    strokes = sum(int(n) for _, said, _ in rows for n in re.findall(r"×(\d)", said))
    flashes = sum((then == "flash") + ("flash" in said) for _, said, then in rows)
    return len(rows), strokes, flashes


def test_its_counts_are_those_of_the_way(bakery: Ticket, choir: Ticket) -> None:
    for ticket in (bakery, choir, *map(ticket_of, WHITES.values())):
        way = ticket.chosen.way
        assert counted_by_hand(ticket) == (way.screens, way.strokes, way.flashes), ticket.title
        assert ticket.screens == ticket.chosen.screens
        for use in ticket.inks:
            own = [s for s in ticket.screens if s.ink.name == use.name]
            assert sum(s.print_g for s in own) == pytest.approx(use.print_g)
            assert sum(s.run_g for s in own) == pytest.approx(use.run_g)


def test_a_white_that_is_base_and_color_loses_no_layer() -> None:
    # Print, flash, print through one screen: a white logo, the commonest job there is.
    alone = ticket_of(WHITES["alone"])
    (screen,) = alone.screens
    assert screen.ink.kind == "white-base"
    first, again = screen.goes
    assert alone.chosen.way.strokes == first + again
    assert f"×{first}, flash, ×{again}" in ticket_text(alone)
    beside = ticket_of(WHITES["beside orange"])
    whites = [s for s in beside.screens if s.ink.kind == "white-base"]
    shown = {beside.names[at] for s in beside.screens for at in s.shows}
    assert shown == {"white", "orange"}  # each color is the color of some screen
    under = {beside.names[at] for s in whites for at in s.over}
    assert "orange" in under


def test_ink_to_have_ready_keeps_its_screens_flooded(bakery: Ticket) -> None:
    costs = bakery.job.costs
    for use in bakery.inks:
        count = sum(s.ink.name == use.name for s in bakery.screens)
        more = count * (costs.flood_g_per_screen - costs.ink_left_g_per_screen)
        assert use.ready_g == pytest.approx(use.run_g + more)
        assert f"{use.run_g / 1000:.2f} kg" in ticket_text(bakery)
        assert f"{use.ready_g / 1000:.2f} kg" in ticket_text(bakery)
    assert "200 g that keep a screen flooded" in ticket_text(bakery)


def test_a_title_never_says_the_garment_twice(bakery: Ticket) -> None:
    assert bakery.title == "Bakery aprons-turned-tees on Slate Gray"
    named = ticket_of(replace(bakery.job, name="test art on Slate Gray"))
    assert named.title == "test art on Slate Gray"


def test_a_job_in_two_runs_has_a_table_for_each(bakery: Ticket) -> None:
    few = bakery.job.press.model_copy(update={"stations": 2})
    ticket = ticket_of(replace(bakery.job, press=few, merge=False))
    assert ticket.runs == 2
    said = ticket_text(ticket)
    assert "run 1 of 2" in said
    assert "run 2 of 2" in said
    assert "In 2 runs, because the press has too few stations or flash units for one" in said
    assert "Every shirt of the first run is cured" in said


def test_merged_colors_are_told() -> None:
    # Three colors, one screen a run: the two reds are nearer to each other than to the cream.
    job = in_colours(("red", "#c9342f"), ("rust", "#b5402e"), ("cream", "#ead9b5"))
    one = job.press.model_copy(update={"stations": 1, "flashes": 0})
    job = replace(job, press=one, garments=(SHOP.garment("Flour White"),))
    ticket = ticket_of(job)
    assert [plan.merged for plan in ticket.chosen.plans] == ["", "red", ""]
    said = ticket_text(ticket)
    assert "rust is printed as red, because the press has no screen for it." in said
    assert re.search(r"red, rust$", said, re.MULTILINE)  # on one screen
    with pytest.raises(InputError, match=r"no ticket for 'Flour White': .* merged"):
        ticket_of(replace(job, merge=False))


def test_colors_that_come_out_alike_are_told() -> None:
    job = in_colours(("red", "#c9342f"), ("another red", "#c8332e"), ("cream", "#ead9b5"))
    said = ticket_text(ticket_of(replace(job, garments=(SHOP.garment("Flour White"),))))
    assert (
        "red and another red come out alike: one ink of this shop is the nearest to each.\n" in said
    )


def test_colors_far_apart_that_one_ink_prints_are_told_as_merged() -> None:
    job = in_colours(("pink", "#e50b78"), ("orchid", "#e567e5"))
    found = decide_job(replace(job, garments=(SHOP.garment("Flour White"),)), shop=SHOP).garments[0]
    assert found.best is not None
    pink, orchid = found.best.plans
    way = replace(found.best, plans=(pink, replace(pink, colour=orchid.colour)))
    apart = delta_e_2000(*(each.colour.target.lab(Viewing()) for each in (pink, orchid)))
    assert (
        f"ΔE00 {apart:.0f} apart as drawn, and merged for want of another ink"
        in told(found, way)[0]
    )


def test_cautions_and_the_print_in_place_are_on_the_first_page() -> None:
    # Poppler would do as well: pypdfium2 is PDFium, not the writer.
    shop = SHOP
    image = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    ImageDraw.Draw(image).rectangle((40, 40, 260, 160), fill=(255, 255, 255, 255))
    ready = prepare_artwork(artwork(image, dpi=100.0))
    red = shop.garment("Brick Red")
    job = job_of_artwork(
        ready.name, ready.flats, width_px=300, width_mm=ready.width_mm, shop=shop, garments=[red]
    )
    ticket = with_artwork(ticket_of(job), ready, shop=shop)
    document = pypdfium2.PdfDocument(io.BytesIO(ticket_pdf(ticket)))
    first = re.sub(r"\s+", " ", document[0].get_textpage().get_text_bounded())
    for caution in ticket.cautions:
        assert re.sub(r"\s+", " ", caution) in first
    assert "3.0 × 2.0 in (76 × 51 mm)" in first
    pictures = [o for o in document[0].get_objects() if o.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]
    assert len(pictures) == 1
    drawn = np.asarray(pictures[0].get_bitmap().to_pil().convert("RGB")).astype(int)
    middle = drawn[drawn.shape[0] // 5 : drawn.shape[0] // 2]
    white = rgb8_from_hex(ticket.to_read[0].hex_printed).astype(int)
    near = np.abs(middle - white).max(-1) < 30
    assert near.sum() > 200  # the white print, on a shirt that is red
    assert (middle[..., 0] > middle[..., 1] + 40).mean() > 0.1


@pytest.mark.parametrize(
    ("place", "top_mm", "said"),
    [
        ("back", 90.0, "on the back, 90 mm below the collar"),
        ("sleeve", None, "on the sleeve, the usual 25 mm above its hem"),
    ],
)
def test_it_says_and_shows_where_on_the_shirt_the_print_goes(
    place: Place, top_mm: float | None, said: str
) -> None:
    image = Image.new("RGBA", (300, 200), (255, 255, 255, 255))
    ready = prepare_artwork(artwork(image, dpi=100.0))
    red = SHOP.garment("Brick Red")
    job = job_of_artwork(
        ready.name, ready.flats, width_px=300, width_mm=ready.width_mm, shop=SHOP, garments=[red]
    )
    front = with_artwork(ticket_of(job), ready, shop=SHOP)
    ticket = with_artwork(ticket_of(job), ready, shop=SHOP, place=place, top_mm=top_mm)
    assert f"{said}, printed area" in ticket_text(ticket)
    assert said in re.sub(r"\s+", " ", pages(ticket_pdf(ticket)))
    assert front.placed is not None
    assert ticket.placed is not None
    assert not np.array_equal(ticket.placed.picture, front.placed.picture)


def test_a_print_larger_than_its_place_is_drawn_without_a_shirt_and_says_so() -> None:
    image = Image.new("RGBA", (700, 200), (255, 255, 255, 255))
    ready = prepare_artwork(artwork(image, dpi=28.0))
    red = SHOP.garment("Brick Red")
    job = job_of_artwork(
        ready.name, ready.flats, width_px=700, width_mm=ready.width_mm, shop=SHOP, garments=[red]
    )
    said = ticket_text(with_artwork(ticket_of(job), ready, shop=SHOP))
    assert "Drawn without a shirt: a print 635 mm wide" in said


def test_a_discharge_says_what_is_mixed_in_and_how_long_it_keeps(choir: Ticket) -> None:
    (use,) = [use for use in choir.inks if use.handling.additive]
    said = ticket_text(choir)
    assert f"{use.additive_g:.0f} g discharge activator" in said
    assert f"{use.handling.pot_life_hours:g} h" in said
    assert any("discharge activator" in caution for caution in choir.cautions)


def test_a_cure_that_is_hot_is_not_said_to_be_low() -> None:
    hot, low = USUAL["discharge"], USUAL["low cure"]
    said = cure_words((low.cure_celsius, low.cure_seconds), low_cure=True)
    assert "with a low-cure additive" in said
    said = cure_words((hot.cure_celsius, hot.cure_seconds), low_cure=True)
    assert "low-cure" not in said
    assert "the dye of this cloth comes through" in said


def test_polyester_is_cured_low_and_warned_of() -> None:
    job = in_colours(("white", "#ffffff"))
    ticket = ticket_of(replace(job, garments=(SHOP.garment("Anvil Black Sport"),)))
    assert MIGRATION in ticket.cautions
    assert all(s.ink.blocks_dye for s in ticket.screens if s.ink.kind == "white-base")
    assert ticket.cure[0] < ticket_of(job).cure[0]
    assert "low-cure additive" in ticket_text(ticket)


def test_each_color_has_its_tolerance_and_a_box_to_pass_or_fail(bakery: Ticket) -> None:
    rows = [line for line in ticket_text(bakery).splitlines() if line.endswith("[ ]   [ ]")]
    assert len(rows) == len(bakery.chosen.plans)
    for row, plan in zip(rows, bakery.chosen.plans, strict=True):
        assert row.startswith(plan.colour.name)
        assert f"≤ {plan.colour.tolerance:g}" in row


def test_a_bare_color_is_on_no_screen_and_not_read() -> None:
    job = in_colours(("white", "#ffffff"), ("orange", "#e8622c"))
    ticket = ticket_of(replace(job, garments=(SHOP.garment("Flour White"),)))
    assert [each.name for each in ticket.to_read] == ["orange"]
    assert {ticket.names[at] for s in ticket.screens for at in s.colours} == {"orange"}
    assert "white is left bare: the cloth itself is the color." in ticket_text(ticket)
    with pytest.raises(InputError, match="nothing is printed"):
        ticket_of(replace(job, colours=job.colours[:1], garments=(SHOP.garment("Flour White"),)))


def test_a_halftone_says_its_lines_and_angles(bakery: Ticket) -> None:
    ticket = ticket_of(replace(bakery.job, lines_per_inch=40.0))
    said = ticket_text(ticket)
    assert "Halftones of 40 lines/in, at 1: 22.5°, 2: 52.5°" in said
    assert "Halftones" not in ticket_text(bakery)


def test_discharge_is_wet_on_wet_and_has_its_own_checks(choir: Ticket) -> None:
    base = choir.screens[0]
    assert base.ink.kind == "discharge-base"
    assert base.flash is False
    text = ticket_text(choir)
    assert "wet on wet" in text
    assert any("activator" in check for check in choir.checks)
    assert not any("White is dry" in check for check in choir.checks)


@pytest.mark.parametrize("make", [ticket_text, lambda t: pages(ticket_pdf(t))])
def test_paper_and_text_say_what_the_press_needs(bakery: Ticket, make: Any) -> None:
    said = re.sub(r"\s+", " ", make(bakery))
    for screen in bakery.screens:
        assert screen.ink.name in said
        assert f"{screen.screen.threads_per_inch:.0f} /in" in said
        assert f"{screen.print_g:.2f} g" in said
        assert f"×{screen.goes[0]}" in said
    for words in (
        "Slate Gray", "250 prints", "flash", "0.4 mm", "320 °F (160 °C) for 90 s",
        "stencils are water-resistant", "Screens stay flooded", "wash-tested",
        "inksim calibrate", "Garment lot", "Read by", "2026-03-09", "ΔE00",
    ):  # fmt: skip
        assert words in said, words
    for words in ("used up", "to have ready"):
        assert words in said.lower()
    assert "invented" in said.lower()
    assert said.lower().index("cautions") < said.lower().index("before the run")
    for caution in CAUTIONS:
        assert re.sub(r"\s+", " ", caution) in said
    for plan in bakery.chosen.plans:
        for value in plan.prediction.lab:
            assert f"{value:.1f}" in said  # what was predicted, beside room for what is read


def test_the_paper_is_pdf_a_with_true_colors(bakery: Ticket) -> None:
    pdf = ticket_pdf(bakery)
    assert pdf.startswith(b"%PDF-1.")
    assert b"pdfaid" in pdf  # PDF/A identification (ISO 19005-2)
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    assert len(document) <= 2
    seen: set[tuple[int, ...]] = set()
    for page in document:
        picture = page.render(scale=1.5).to_pil().convert("RGB")
        seen |= {colour for _, colour in picture.getcolors(2**20)}
    for plan in bakery.chosen.plans:
        code = bytes.fromhex(plan.prediction.hex[1:])
        assert any(max(abs(a - b) for a, b in zip(code, c, strict=True)) <= 1 for c in seen)


def test_names_that_the_paper_cannot_write_are_said(bakery: Ticket) -> None:
    job = replace(bakery.job, name="東京 Łódź")
    assert "The sheet's font has no 東京: '?'" in replace(bakery, job=job).not_spelled
    assert bakery.not_spelled == ""


def test_the_same_ticket_is_the_same_file(bakery: Ticket) -> None:
    first, now = ticket_pdf(bakery), time.time()
    while int(time.time()) == int(now):  # nothing in it may be the clock's
        time.sleep(0.05)
    assert ticket_pdf(bakery) == first


def test_a_garment_that_is_not_in_the_job_has_no_ticket(bakery: Ticket) -> None:
    other = SHOP.garment("Ferry Royal")
    with pytest.raises(InputError, match=r"no garment 'Ferry Royal' in the job; it has: Slate"):
        make_ticket(bakery.answer, shop=SHOP, garment=other, made=DAY)


def test_another_way_may_be_chosen(bakery: Ticket) -> None:
    job = bakery.job
    other = ticket_of(job, way=1)
    assert other.way == 1
    assert other.chosen is not bakery.chosen
    assert "chosen by hand" in other.outcome
    assert any("Not every color can be promised" in check for check in other.checks)
    with pytest.raises(InputError, match=r"there is no way 99 .* it has 1 to"):
        ticket_of(job, way=99)


def test_a_fine_halftone_and_polyester_are_warned_of(bakery: Ticket) -> None:
    fine = ticket_of(replace(bakery.job, lines_per_inch=55.0))
    assert any("Threads per halftone line are below 4.5" in check for check in fine.checks)
    sport = replace(bakery.job, garments=(SHOP.garment("Anvil Black Sport"),), quantities=(9,))
    assert any("Polyester" in check for check in ticket_of(sport).checks)
    assert not any("Polyester" in check for check in bakery.checks)


def test_no_ticket_for_what_cannot_be_printed(bakery: Ticket) -> None:
    with pytest.raises(InputError, match="no ticket for 'Slate Gray'"):
        ticket_of(replace(bakery.job, lines_per_inch=120.0))
