"""Calibrate a shop's press from new and kept readings, and save its next version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from inksim.calibration.history import add_rows, remove_row, rows_kept
from inksim.calibration.press_estimate import Calibration, calibrate
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.print_rows import PrintRow, reading_of
from inksim.common import InputError, counted
from inksim.shop import Draft, Shop, Version, editable_folder, save_press


@dataclass(frozen=True, kw_only=True)
class ShopCalibration:
    """A calibration of a shop's press, and what of it was saved.

    fresh, old: number of readings from the file and from the history. unused: kept readings that
    no longer resolve in the shop, one sentence each. version: None if nothing was written. added:
    number of readings new in the history. scoring: of the new ones, how many are kept to score
    proofs only. notes: assumptions made in reading the new ones.
    """

    calibration: Calibration
    fresh: int
    old: int
    unused: tuple[str, ...]
    version: Version | None = None
    added: int = 0
    scoring: int = 0
    notes: tuple[str, ...] = ()


def calibrate_shop(
    shop: Shop,
    rows: Sequence[PrintRow],
    *,
    notes: Sequence[str] = (),
    only: bool = False,
    since: str = "",
    keep_all: bool = False,
    day: str = "",
) -> ShopCalibration:
    """Calibrate a shop's press to new readings and, unless `only`, the kept ones from `since` on.

    notes: of the file they come from, reported with the findings.

    Nothing is written: see `keep`. A kept reading that is among the new ones counts once; one
    whose garment, ink or screen the shop no longer has is left out and reported. One that only
    scores proofs takes no part.
    """
    fresh = {row.mark: row for row in rows if not row.scores_only}
    kept = () if only else rows_kept(shop.folder, since=since)
    readings = [reading_of(replace(row, date=row.date or day), shop=shop) for row in fresh.values()]
    names = {reading.name for reading in readings}
    old: list[PrintReading] = []
    unused = []
    for each in kept:
        if each.row.mark in fresh or each.row.scores_only:
            continue
        try:
            reading = reading_of(each.row, shop=shop)
        except InputError as error:
            unused.append(f"kept reading {each.number}, '{each.row.name}': {error}")
            continue
        if reading.name in names:
            reading = replace(reading, name=f"{reading.name} (kept as {each.number})")
        names.add(reading.name)
        old.append(reading)
    total = len(readings) + len(old)
    source = f"calibrated to {counted(total, 'reading')} of prints" + (f", {day}" if day else "")
    found = calibrate([*readings, *old], press=shop.press, source=source, keep_all=keep_all)
    return ShopCalibration(
        calibration=found,
        fresh=len(readings),
        old=len(old),
        unused=tuple(unused),
        notes=tuple(notes),
    )


def keep(
    folder: Path | None,
    found: ShopCalibration,
    rows: Sequence[PrintRow],
    *,
    day: str,
    draft: Draft | None = None,
) -> ShopCalibration:
    """Save the new readings, then write the press's next version.

    Those that were left out are kept to score proofs only, but not one whose label another reading
    seems to have: nobody knows what it is a print of. In this order a crash between the two
    loses nothing: the next calibration uses the readings.

    draft: press.toml as it was when the calibration was worked out.

    Raises
    ------
    InputError : the demo shop, or a folder that cannot be written to; nothing is written then.
    """
    shop = editable_folder(folder)
    out = {reading.name for reading in found.calibration.readings if reading.left_out}
    swapped = {each.name for each in found.calibration.suspects if each.swapped_with} & out
    said = [
        replace(row, scores_only=row.scores_only or row.name in out)
        for row in rows
        if row.name not in swapped
    ]
    used = len(found.calibration.used)
    known = {each.row.mark for each in rows_kept(shop, faulty=True)}
    added = add_rows(shop, said, date=day)
    try:
        version = save_press(shop, found.calibration.press, day=day, readings=used, draft=draft)
    except BaseException:
        new = {row.mark for row in said} - known
        for each in rows_kept(shop, faulty=True):
            if each.row.mark in new:
                remove_row(shop, each.number)
        raise
    return replace(
        found, version=version, added=added, scoring=sum(row.scores_only for row in said)
    )
