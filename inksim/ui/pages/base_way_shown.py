"""One way to print a whole design: its outcome, colors, what it takes, and its papers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import streamlit as st

from inksim.common import counted, sentence, slug
from inksim.decision import WORDS
from inksim.job import (
    GarmentAnswer,
    JobAnswer,
    reasons_for,
    told,
)
from inksim.preview import PreparedArtwork, result_of_garment
from inksim.printing import honest_words
from inksim.reports import (
    Proof,
    Ticket,
    bill_words,
    make_ticket,
    outcome,
    proof_of_ticket,
    readings_table,
    screen_lines,
    takes_lines,
    ticket_pdf,
    ticket_text,
    with_artwork,
)
from inksim.shop import Shop
from inksim.ui import cached_results, job_bar, pickers
from inksim.ui.current_job import CurrentJob
from inksim.ui.download import offer
from inksim.ui.parts.mix_it import mix_it
from inksim.ui.proofs import proof_fields, proof_name, sheet
from inksim.ui.style import note, pads, plain, points, table, verdict, verdict_mark


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """What the page shows, all of it of one way: of the whole answer, on one garment.

    found: with the way shown as the chosen one. number: of it, from 1. decided: its own way.
    """

    job: CurrentJob
    answer: JobAnswer
    decided: GarmentAnswer
    number: int

    @property
    def shop(self) -> Shop:
        """Whose inks and press."""
        return self.job.shop

    @property
    def art(self) -> PreparedArtwork | None:
        """What is printed; None of a list of colors."""
        return self.job.art.ready if self.job.entry.artwork else None

    @property
    def found(self) -> GarmentAnswer:
        """The garment's answer, the way shown as the chosen one."""
        return replace(self.decided, chosen=self.number - 1)


def show_outcome(shown: Shown) -> None:
    """The outcome on each garment, of the one shown with its cost."""
    best, job = shown.found.best, shown.found.job
    for other in shown.answer.garments:
        if other is not shown.decided:
            note(outcome(other, other.chosen + 1))
    headline = outcome(shown.decided, shown.number)
    if best is None:
        verdict(headline, "There is no proof and no ticket of it.")
        return
    cost = f"{best.bill.per_print:.2f} {best.bill.currency} a print, " if best.bill.items else ""
    words = (
        f"{cost}{counted(best.way.screens, 'screen')}, {best.stations} of "
        f"{counted(job.press.stations, 'station')}, dry film {best.film_g_m2:.0f} g/m². "
        f"{honest_words(best.data, calibrated=shown.shop.press.calibrated)}"
    )
    assumed = job_bar.assumption(shown.job)
    seen = pickers.seen_under(shown.shop, shown.answer.viewing)
    verdict(
        headline, " ".join([*filter(None, [seen]), *assumed, *told(shown.decided, best), words])
    )


def show_colours(shown: Shown) -> None:
    """Each color of the way shown with its verdict; why, one tap deeper."""
    st.header("Color by color")
    found, viewing = shown.found, shown.answer.viewing
    assert found.best is not None
    rows, why = [], []
    for plan, reasons in zip(
        found.best.plans, reasons_for(shown.shop, shown.answer, found), strict=True
    ):
        asked, printed = plan.colour.target.hex(viewing)[0], plan.prediction.hex
        said = [sentence(each) for each in (reasons.outcome, *reasons.reasons)]
        rows.append(
            [
                pads([(asked, ""), (printed, "")], label=f"asked {asked}, print {printed}"),
                said[0] if plan.build.bare else verdict_mark(plan.verdict),
                f"{plan.called}: {plan.answer.words}",
            ]
        )
        why.append(f"{plan.called}: {' '.join([*said, reasons.help]).strip()}")
    table(("Artwork, print", "Verdict", "Build"), rows, label="Color by color")
    with st.expander("Why, and what would help"):
        points(why)


def show_mixes(shown: Shown) -> None:
    """The recipes for colors that do not land, once they are asked for."""
    best, viewing = shown.found.best, shown.answer.viewing
    assert best is not None
    open_ones = [p for p in best.printed if p.verdict.word != WORDS[0] and not p.merged]
    words = counted(len(open_ones), "color")
    if not open_ones or not st.toggle(f"Mix it: recipes for {words} not sure to land", key="mix"):
        return
    job = shown.answer.job
    found = cached_results.job_instead(shown.shop, job, shown.answer, shown.found)
    for plan, instead in zip(best.plans, found, strict=True):
        if instead is not None:
            st.header(plain(f"Mix {plan.called}"))
            mix_it(instead, shop=shown.shop, viewing=viewing)


def show_takes(shown: Shown) -> None:
    """What the way shown takes, and its screens."""
    st.header("What it takes")
    best = shown.found.best
    assert best is not None
    counts, *more = takes_lines(shown.found, best, shop=shown.shop)
    st.markdown(plain(counts))
    if len(shown.answer.garments) > 1 and (whole := shown.answer.bill):
        note(f"The whole job, screens shared by garments counted once: {bill_words(whole)}")
    if not more:
        return
    with st.expander("Screens in print order, ink, dryer and cost"):
        st.markdown(plain("Screens in print order, garment side first:"))
        st.markdown("  \n".join(plain(each.strip()) for each in screen_lines(shown.found, best)))
        points(more)
        if best.bill.missing:
            note(f"Costs leave out: {', '.join(best.bill.missing)}.")


def offer_papers(shown: Shown) -> None:
    """The press ticket and the proof of the way shown, made when they are asked for."""
    answer, garment = shown.answer, shown.found.garment
    art, lies = shown.art, shown.job.entry.artwork
    best = shown.found.best
    if best is None or not best.screens:
        return
    name = f"ticket-{slug(answer.job.name)}-{slug(garment.name)}"

    ticket = make_ticket(
        answer, shop=shown.shop, garment=garment, made=date.today(), way=shown.number
    )

    def made() -> Ticket:
        if art is None or lies is None:
            return ticket
        return with_artwork(ticket, art, shop=shown.shop, place=lies.place, top_mm=lies.top_mm)

    def readings() -> str:
        ticket = made()
        number, _ = proof_of_ticket(ticket, shop=shown.shop, job=shown.job.key)
        return readings_table(ticket, proof=number)

    proof = None
    if art is not None:
        result = result_of_garment(answer, shown.found, art.flats, shop=shown.shop)
        proof = Proof(answer=result, **proof_fields(shown.job, viewing=answer.viewing))
    with st.container(horizontal=True, vertical_alignment="bottom"):
        offer(
            "Press ticket (PDF)",
            lambda: ticket_pdf(made()),
            file=f"{name}.pdf",
            first=True,
        )
        offer("Press ticket (text)", lambda: ticket_text(made()), file=f"{name}.txt")
        offer(
            "Table for its readings (CSV)",
            readings,
            file=f"{name}-readings.csv",
        )
        if proof:
            offer(
                "Proof sheet to sign (PDF)",
                lambda: sheet(shown.job, [proof], decided=answer),
                file=proof_name(shown.job, [proof]),
            )
    of_proof = proof.not_spelled if proof else ""
    for lost in dict.fromkeys(filter(None, (of_proof, ticket.not_spelled))):
        note(lost)
