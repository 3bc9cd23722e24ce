"""Calibrate the press to readings: residuals before and after, parameters, store."""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Sequence
from datetime import date

import streamlit as st

from inksim.calibration import (
    Calibration,
    PrintRow,
    ShopCalibration,
    calibrate_shop,
    calibration_findings,
    history_file,
    keep,
    read_print_rows,
    rows_kept,
    table_to_fill_in,
)
from inksim.common import InksimError, Markup, counted, escape
from inksim.shop import Shop, open_draft, versions
from inksim.ui import cache, cached_results, changes
from inksim.ui.changes import Done, locked_reason
from inksim.ui.charts import CALIBRATED, calibration_chart, frame
from inksim.ui.download import offer
from inksim.ui.pages.shop_calibrated import lots, parameters
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_readings import given_readings, sureness
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import note, pads, plain, points, table, verdict

HELP = (
    "A row for each print: garment, ink and route by their names here, then the spectrum or L, a, "
    "b. Columns screen, passes, base_screen and flash only where a print was not made as usual; "
    "garment_lot, ink_lot and base_lot if you know them. "
    "Six prints are a good start: the table to fill in has those that would tell most about this "
    "press; choosing them takes some seconds."
)
STORED, PLACE = "calibration stored", "calibration"
CHOICES = (
    "calibrate-files", "calibrate-pasted", "calibrate-read-by", "calibrate-sd", "calibrate-only",
    "calibrate-all",
)  # fmt: skip
"""Keys of what a calibration is made by."""
BEST = 40  # readings drawn in the chart, the furthest first


def calibrate_here(shop: Shop) -> None:
    """Draw the part of the press tab that calibrates the press."""
    with st.expander("Calibrate to readings of real prints"):
        said_here(shop, PLACE)
        note(HELP)
        offer("A table to fill in (CSV)", lambda: table_to_fill_in(shop), file="prints-to-read.csv")
        given = given_readings()
        old = len(rows_kept(shop.folder, faulty=True))
        with st.container(horizontal=True):
            only = old > 0 and st.checkbox(
                f"Without the {counted(old, 'reading')} kept from before", key="calibrate-only"
            )
            keep_all = st.checkbox("Use readings that look wrong, too", key="calibrate-all")
        read_by, sd_de00 = sureness()
        if not given:
            return
        choices = (_digest(given), read_by, sd_de00, bool(only), keep_all)
        if st.session_state.get(STORED) == (choices, _version(shop)):
            note("These readings are stored, and the press above is made of them.")
            return
        try:
            rows, found = _calibrated(
                shop, given, read_by=read_by, sd_de00=sd_de00, only=only, keep_all=keep_all
            )
        except InksimError as error:
            st.error(plain(str(error)))
            return
        _show(found)
        _store(shop, rows, found, choices=choices)


def _digest(given: Sequence[tuple[str, bytes]]) -> str:
    return hashlib.sha256(b"".join(name.encode() + data for name, data in given)).hexdigest()


def _version(shop: Shop) -> int | None:
    return next((each.number for each in versions(shop.folder) if each.current), None)


def _calibrated(
    shop: Shop,
    given: Sequence[tuple[str, bytes]],
    *,
    read_by: str,
    sd_de00: float | None,
    only: bool,
    keep_all: bool,
) -> tuple[list[PrintRow], ShopCalibration]:
    """Read and fit, once for the same readings, shop and history."""
    digest = _digest(given)
    history = history_file(shop.folder)
    kept = rows_kept(shop.folder, faulty=True) if history.exists() else ()
    stamp = [(each.row.mark, each.fault) for each in kept]
    today = date.today().isoformat()

    def fit() -> tuple[list[PrintRow], ShopCalibration]:
        files = [
            read_print_rows(data, shop=shop, name=name, read_by=read_by, sd_de00=sd_de00)
            for name, data in given
        ]
        rows = [row for file in files for row in file.rows]
        notes = [note for file in files for note in file.notes]
        found = calibrate_shop(shop, rows, notes=notes, only=only, keep_all=keep_all, day=today)
        return rows, found

    key = (digest, cache.shop_key(shop), tuple(stamp), read_by, sd_de00, only, keep_all, today)
    return cached_results.fitted(key, fit)


def _show(found: ShopCalibration) -> None:
    """Chart of residuals, table of readings, table of parameters."""
    made = found.calibration
    verdict(
        f"Half of new prints should come within ΔE00 {made.medians['by_the_others']:.1f} of their "
        f"prediction; before it was {made.medians['before']:.1f}.",
        f"The middle of {counted(len(made.used), 'reading')}, each predicted by a press that was "
        f"calibrated without it. {found.fresh} new, {found.old} kept from before.",
    )
    _picture(made)
    _readings(made)
    st.header("What the readings say")
    points(calibration_findings(found))
    parameters(made)
    lots(made)


def _readings(made: Calibration) -> None:
    """Each reading beside its prediction, before and after."""
    rows = [  # each cell says what it is: on a phone the heads are gone
        [
            r.name,
            _beside(r.hexes[0], r.hexes[1], f"before: ΔE00 {r.before:.1f}"),
            _beside(
                r.hexes[2],
                r.hexes[1],
                f"after: {'left out' if r.left_out else f'ΔE00 {r.after:.1f}'}",
            ),
            f"{r.alone:.1f}",
        ]
        for r in made.readings
    ]
    head = ("Print", "Predicted before, read", "Predicted after, read", "ΔE00 by the others")
    table(head, rows, label="Readings, before and after")


def _beside(predicted: str, read: str, words: str) -> Markup:
    """Prediction and reading, touching, and how far they are apart."""
    label = f"predicted {predicted}, read {read}: {words}"
    both = pads([(predicted, "predicted"), (read, "read")], label=label)
    return Markup(f"{both}<span>{escape(words)}</span>")


def _picture(made: Calibration) -> None:
    shown = sorted(made.readings, key=lambda r: -r.before)[:BEST]
    names = list(CALIBRATED)
    rows = [
        {"Reading": r.name, "Predicted": words, "ΔE00": value}
        for r in shown
        for words, value in zip(names, (r.before, r.after, r.alone), strict=True)
        if not (r.left_out and words == "after")
    ]
    st.altair_chart(
        calibration_chart(frame(rows)), width="stretch", theme=None,
        alt=(
            "Distance of each reading from its prediction, before and after calibration; half of "
            f"new prints within ΔE00 {made.medians['by_the_others']:.1f}, before "
            f"{made.medians['before']:.1f}"
        ),
    )  # fmt: skip
    if len(made.readings) > BEST:
        note(f"The picture shows the {BEST} that were furthest off; the table has all.")


def _store(
    shop: Shop, rows: Sequence[PrintRow], found: ShopCalibration, *, choices: Hashable
) -> None:
    """The next version of the press, unless somebody has changed it since this was worked out."""
    if why := locked_reason(shop):
        note(f"Not stored: {why}")
        return
    draft = open_draft(shop.folder, "press.toml")
    today = date.today().isoformat()
    check = changes.as_shown(*CHOICES)

    def store() -> Done:
        check()
        done = keep(shop.folder, found, rows, day=today, draft=draft)
        assert done.version is not None
        st.session_state[STORED] = (choices, done.version.number)
        are = "is" if done.added == 1 else "are"
        kept = f"{counted(done.added, 'reading')} {are} kept with it."
        return Done(f"The press is version {done.version.number} now; {kept}", PLACE)

    st.button("Store as the new press version", type="primary", on_click=do,
              args=(store, "", None, f"{PLACE} store"))  # fmt: skip
    changes.say_what_was_done(f"{PLACE} store")
