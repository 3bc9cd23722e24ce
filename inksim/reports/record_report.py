"""A shop's record in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inksim.common import ROUTE_SHORT, counted
from inksim.ledger import ChanceBin, Distances, InsideShare, TrackRecord
from inksim.reports.text import table

INVENTED_RECORD = "INVENTED: the demo shop's record was made up; no press printed these."
KINDS = {"data": "By kind of data", "ink": "By ink", "lot": "By lot of ink", "month": "By month"}
DISTANCE_HEAD = ("Prints", "ΔE00 promised", "ΔE00 found", "Farther (quartiles)")
CHANCE_HEAD = ("Chance stated", "Prints", "Proofs", "Stated", "Landed", "Share (95 %)")


def record_text(record: TrackRecord) -> str:
    """The record for a terminal: what it comes to first, then its tables."""
    return "\n".join(_lines(record))


def record_headline(record: TrackRecord) -> str:
    """The record in a sentence: '3 proofs issued, 12 colors promised, 9 prints read.'"""
    since = f" since {record.since}" if record.since else ""
    return (
        f"{counted(record.proofs, 'proof')} issued{since}, "
        f"{counted(record.colours, 'color')} promised, "
        f"{counted(record.scored, 'print')} read."
    )


def inside_words(each: InsideShare) -> str:
    """'Straight: 40 of 49 prints, 82% (69 to 90%), lie in the interval stated …'."""
    route = ROUTE_SHORT.get(each.name, each.name)
    name = {"": "all", "route": route, "data": f"{each.name} data"}[each.by]
    return (
        f"{name[:1].upper()}{name[1:]}: {each.inside} of {counted(each.prints, 'print')}, "
        f"{100 * each.share:.0f}% ({100 * each.low:.0f} to {100 * each.high:.0f}%), "
        f"{'lies' if each.prints == 1 else 'lie'} in the interval stated; 9 in 10 should."
    )


def chance_rows(record: TrackRecord) -> list[list[str]]:
    """Rows of stated chances under `CHANCE_HEAD`."""
    return [_chance(each) for each in record.bins if each.prints]


def distance_tables(record: TrackRecord) -> Iterator[tuple[tuple[str, ...], list[list[str]]]]:
    """Head and rows of what was promised and found, for each of `KINDS` that has any."""
    for kind, words in KINDS.items():
        if listed := record.by(kind):
            yield (words, *DISTANCE_HEAD), _distance_rows(listed)


def _distance_rows(listed: Sequence[Distances]) -> list[list[str]]:
    return [
        [each.name, f"{each.prints}", f"{each.promised:.1f}", f"{each.found:.1f}",
         f"{each.farther:+.1f} ({each.low:+.1f} to {each.high:+.1f})"]
        for each in listed
    ]  # fmt: skip


def _chance(each: ChanceBin) -> list[str]:
    return [
        f"{100 * each.least:.0f}–{100 * each.most:.0f}%", f"{each.prints}", f"{each.proofs}",
        f"{each.stated:.0%}", f"{each.landed}",
        f"{each.share:.0%} ({each.low:.0%} to {each.high:.0%})",
    ]  # fmt: skip


def _lines(record: TrackRecord) -> Iterator[str]:
    if record.invented:
        yield INVENTED_RECORD
    yield record_headline(record)
    yield from record.said
    if record.prints:
        yield ""
        yield from map(inside_words, record.inside)
        yield ""
        yield table(CHANCE_HEAD, chance_rows(record))
        yield "The colors of one proof are off together: these ranges are the least they can be."
        for head, rows in distance_tables(record):
            yield ""
            yield table(head, rows)
    if record.unmatched:
        yield ""
        yield from (f"scored nothing: {words}" for words in record.unmatched)
