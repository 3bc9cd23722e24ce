"""The picture of a record: what is drawn where."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inksim.ledger.track_record import record_of
from inksim.reports.pdf import INK
from inksim.reports.record_chart import CHANCES, LOW, TOP, draw_record, later_lots
from inksim.reports.record_report import record_text
from tests.ledger.test_track_record import ONE, prints


def ink_at(picture: np.ndarray, x: float, y: float) -> bool:
    wanted = tuple(int(INK[at : at + 2], 16) for at in (1, 3, 5))
    return tuple(int(v) for v in picture[round(y), round(x)]) == wanted


def test_a_kept_chance_is_on_the_diagonal_and_a_broken_one_below() -> None:
    left, right = CHANCES

    def at(x: float, y: float) -> tuple[float, float]:
        return left + (right - left) * x, LOW - (LOW - TOP) * y

    kept = draw_record(record_of(prints(20, 16, chance=0.8), name="any"))
    broken = draw_record(record_of(prints(20, 4, chance=0.8), name="any"))
    assert ink_at(kept, *at(0.8, 0.8))
    assert not ink_at(broken, *at(0.8, 0.8))
    assert ink_at(broken, *at(0.8, 0.2))


def test_a_later_lot_is_told_from_the_first() -> None:
    days = [("2026-01-05", "A"), ("2026-02-05", "B"), ("2026-03-05", "A"), ("2026-04-05", "")]
    listed = [replace(ONE, read_on=day, ink_lot=lot) for day, lot in days]
    assert later_lots(listed) == {"Kiln Red": {"B"}}


def test_each_month_has_its_median_and_quartiles() -> None:
    listed = [
        replace(ONE, read_on=f"2026-{month:02}-10", found=2.0 + month + at)
        for month in (1, 2) for at in range(5)
    ]  # fmt: skip
    record = record_of(listed, name="any")
    assert [(m.name, m.farther, m.low, m.high) for m in record.by("month")] == [
        ("2026-01", 3.0, 2.0, 4.0), ("2026-02", 4.0, 3.0, 5.0),
    ]  # fmt: skip
    assert "2026-02 5 2.0 6.0 +4.0 (+3.0 to +5.0)" in " ".join(record_text(record).split())
