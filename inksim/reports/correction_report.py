"""A bucket's correction as text and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inksim.reports.json_documents import document
from inksim.reports.text import table
from inksim.stock import grams_words

if TYPE_CHECKING:
    from inksim.mixing import Correction


def correction_text(correction: Correction, *, step_g: float) -> str:
    """What is in the bucket, what to add, and what comes of it."""
    bucket = correction.bucket
    adds = {each.ink: each for each in correction.added}
    rows = []
    for ink, grams, strength in zip(
        bucket.inks, bucket.batches.sum(axis=0), correction.strengths, strict=True
    ):
        added = adds.get(ink.name)
        rows.append(
            [
                ink.name,
                grams_words(float(grams), step_g),
                "–" if added is None else grams_words(added.grams, step_g),
                "–" if added is None else f"{added.per_kg:.1f} g",
                f"{strength.K:.2f} ±{strength.K * strength.K_sd:.2f}",
                f"{strength.S:.2f} ±{strength.S * strength.S_sd:.2f}",
            ]
        )
    head = ["ink", "in the bucket", "add", "per kg", "absorbs", "scatters"]
    return "\n".join([table(head, rows), "", said_of_correction(correction)])


def said_of_correction(correction: Correction) -> str:
    """Sentences on what was read, what to do and what to expect."""
    c = correction
    read = "" if c.read_de00 is None else f"It was read ΔE00 {c.read_de00:.1f} from the target. "
    if c.anew is not None:
        return (
            f"{read}Adding does not get there: the next print is expected at ΔE00 "
            f"{c.now_de00:.1f}, and a new mix of these inks at {c.anew_de00:.1f}. Start again with "
            f"{c.anew.words}."
        )
    best = f"The best of these inks is {c.anew_de00:.1f}."
    if not c.added:
        return (
            f"{read}Add nothing: the next print is expected at ΔE00 {c.now_de00:.1f}, and no "
            f"addition brings it visibly nearer. {best}"
        )
    what = ", ".join(f"{each.per_kg:.1f} g {each.ink}" for each in c.added)
    return (
        f"{read}Add per kilogram in the bucket {what}: the next print is then expected at ΔE00 "
        f"{c.expected_de00:.1f}, without it at {c.now_de00:.1f}. {best}"
    )


def correction_document(correction: Correction) -> dict[str, Any]:
    """The correction as JSON-ready values; 'bucket' of its file stands beside them."""
    c = correction
    return {
        "add": [
            {"ink": a.ink, "grams": round(a.grams, 3), "per_kg": round(a.per_kg, 2)}
            for a in c.added
        ],
        "read_ciede2000": None if c.read_de00 is None else round(c.read_de00, 3),
        "expected_ciede2000": {
            "as_it_is": round(c.now_de00, 3),
            "corrected": round(c.expected_de00, 3),
            "new_mix": round(c.anew_de00, 3),
        },
        "strengths": [
            {
                "ink": s.ink,
                "K": round(s.K, 4),
                "K_sd_of_ln": round(s.K_sd, 4),
                "S": round(s.S, 4),
                "S_sd_of_ln": round(s.S_sd, 4),
            }
            for s in c.strengths
        ],
        "start_again": None if c.anew is None else document(c.anew),
        "says": said_of_correction(c),
    }
