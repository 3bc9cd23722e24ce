"""Kept jobs as text and JSON: a list, one with what was decided last, and its ink order."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from inksim import __version__
from inksim.common import counted, sentence
from inksim.job import InkOrder, JobAnswer, OrderLine
from inksim.ledger import Decided, KeptJob, keep_decision, last_decision
from inksim.reports.job_report import headline
from inksim.reports.json_documents import document
from inksim.reports.text import table
from inksim.shop import Shop


def kept_document(kept: KeptJob) -> dict[str, Any]:
    """One job's row in a list of jobs."""
    entry = kept.entry
    return {
        "job": kept.key,
        "name": entry.name,
        "client": entry.client,
        "reference": entry.reference,
        "garments": kept.quantities,
        "quantity": sum(kept.quantities.values()),
        "changed": kept.changed,
        "proofs": [path.name for path in kept.proofs],
        "again_of": entry.again_of,
    }


def jobs_text(jobs: Sequence[KeptJob], broken: Sequence[str]) -> str:
    """The jobs of a shop, a line each, and what is wrong with those that cannot be read."""
    if not jobs and not broken:
        return "No job is kept yet; 'inksim job new' makes one."
    rows = [
        [
            kept.key,
            kept.entry.client or "–",
            ", ".join(kept.quantities),
            str(sum(kept.quantities.values())),
            kept.changed[:10],
            str(len(kept.proofs)),
            kept.entry.again_of or "–",
        ]
        for kept in jobs
    ]
    head = ["job", "client", "garments", "prints", "changed", "proofs", "again of"]
    made = [table(head, rows, left=3)] if rows else []
    return "\n".join([*made, *(f"note: {each}" for each in broken)])


def job_shown_document(kept: KeptJob, shop: Shop) -> dict[str, Any]:
    """A job: what its file says, its files, what was decided last and what has changed since."""
    last = last_decision(kept)
    said = kept.entry.model_dump(exclude_unset=True, mode="json")
    change = kept.last_change
    return {
        **kept_document(kept),
        "folder": kept.folder,
        "says": said,
        "files": [path.name for path in kept.files],
        "last_change": None if change is None else f"{change.whose}: {change.words}",
        "decided": None if last is None else last.said,
        "changed_since": None if last is None else list(last.changed(kept, shop)),
    }


def job_shown_text(kept: KeptJob, shop: Shop) -> str:
    """A kept job as text: see `job_shown_document`."""
    entry = kept.entry
    prints = ", ".join(f"{name} {count}" for name, count in kept.quantities.items())
    lines = [f"{entry.name} ({kept.key}): {prints}"]
    lines += [
        f"{what}: {words}"
        for what, words in (
            ("client", entry.client),
            ("reference", entry.reference),
            ("again of", entry.again_of),
            ("note", entry.note),
        )
        if words
    ]
    art = entry.artwork
    if art is not None:
        wide = "" if art.width_mm is None else f", {art.width_mm:g} mm wide"
        lines.append(f"artwork: {art.file}{wide}, {art.place}; background: {art.background}")
        for what, by_hand in (
            ("inks", art.inks), ("routes", art.routes), ("tolerances", art.tolerances),
        ):  # fmt: skip
            if by_hand:
                each = ", ".join(f"{code} {value}" for code, value in by_hand.items())
                lines.append(f"{what} by hand: {each}")
        if art.halftone_inks:
            lines.append(f"inks of the halftones by hand: {', '.join(art.halftone_inks)}")
    elif entry.color:
        lines.append(f"colors: {counted(len(entry.color), 'color')} listed in the file")
    if entry.tolerance_de00 is not None:
        lines.append(f"tolerance: ΔE00 {entry.tolerance_de00:g}")
    lines += [f"folder: {kept.folder}", f"files: {', '.join(path.name for path in kept.files)}"]
    if kept.proofs:
        lines.append(f"proofs: {', '.join(path.name for path in kept.proofs)}")
    if kept.last_change is not None:
        lines.append(f"last change: {kept.last_change.whose}, {kept.last_change.words}")
    return "\n".join([*lines, *_decided_lines(kept, last_decision(kept), shop)])


def _decided_lines(kept: KeptJob, last: Decided | None, shop: Shop) -> list[str]:
    decide = f"inksim advise {kept.key} --shop {shop.folder}"
    if last is None:
        return [f"Nothing is decided yet: {decide}"]
    since = last.changed(kept, shop)
    changed = (
        f"Since then changed: {', '.join(since)}. Decide again: {decide}"
        if since
        else "Job, inks, garments and press are as they were."
    )
    said = [str(each.get("outcome", "")) for each in last.said.get("garments", [])]
    return [f"Decided {last.made}:", *(f"  {each}" for each in said), changed]


def keep_decided(kept: KeptJob, answer: JobAnswer, *, shop: Shop, made: str) -> Path:
    """Keep what was decided in a job's folder: see `keep_decision`. made: ISO date and time.

    Raises
    ------
    InputError : the folder cannot be written to, or nothing may be changed here.
    """
    return keep_decision(kept, shop, _decision_document(answer), made=made, program=__version__)


def _decision_document(answer: JobAnswer) -> dict[str, Any]:
    """What is kept of a decision: answers, and the way taken on each garment."""
    return {
        "conditions": document(answer.viewing),
        "nominal": answer.nominal,
        "answers": document(answer.answers),
        "garments": [
            {
                "garment": found.garment.name,
                "quantity": found.job.quantity,
                "outcome": headline(found),
                "way": None if found.best is None else document(found.best),
            }
            for found in answer.garments
        ],
    }


def order_document(answer: JobAnswer, order: InkOrder) -> dict[str, Any]:
    """The ink order of a job as JSON-ready values."""
    return {"job": answer.job.name, "quantity": answer.job.quantity, **document(order)}


def order_text(answer: JobAnswer, order: InkOrder) -> str:
    """The ink order of a job, to read."""
    job = answer.job
    each = ", ".join(f"{found.garment.name} {found.job.quantity}" for found in answer.garments)
    lines = [f"Ink for {job.name}: {each}", ""]
    if order.lines:
        head = ["ink", "g", "buckets", "left over g", "mixed in"]
        rows = [[l.ink, f"{l.ink_g:.0f}", _buckets(l), f"{l.over_g:.0f}", _mixed(l)]
                for l in order.lines]  # fmt: skip
        lines += [
            table(head, rows, left_last=True),
            "",
            f"{counted(order.screens, 'screen')}, those that garments share counted once. The "
            "amounts are to have ready, waste and flooded screens included.",
        ]
    else:
        lines.append("Nothing is printed: no ink to order.")
    lines += [f"note: left out, {sentence(why)}" for why in order.not_printed]
    return "\n".join(lines)


def _buckets(line: OrderLine) -> str:
    return " + ".join(f"{count} × {size / 1000:g} kg" for size, count in line.buckets)


def _mixed(line: OrderLine) -> str:
    return f"{line.additive} {line.additive_g:.0f} g" if line.additive else ""
