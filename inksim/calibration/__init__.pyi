from .history import (
    HistoryRow as HistoryRow,
    add_rows as add_rows,
    history_file as history_file,
    marks_ever as marks_ever,
    remove_row as remove_row,
    rows_kept as rows_kept,
    to_csv as to_csv,
)
from .lots import LotResult as LotResult
from .press_estimate import Calibration as Calibration, calibrate as calibrate
from .press_to_shop import (
    ShopCalibration as ShopCalibration,
    calibrate_shop as calibrate_shop,
    keep as keep,
)
from .print_reading import READ_BY as READ_BY, PrintReading as PrintReading
from .print_rows import (
    PrintFile as PrintFile,
    PrintRow as PrintRow,
    read_print_rows as read_print_rows,
    reading_of as reading_of,
    row_of_build as row_of_build,
)
from .prints_to_read import table_to_fill_in as table_to_fill_in
from .row_words import note_of as note_of, proof_and_note as proof_and_note
from .wording import (
    NOT_SHOWN as NOT_SHOWN,
    calibration_findings as calibration_findings,
    interval_words as interval_words,
    lot_words as lot_words,
    plus_minus as plus_minus,
    told_strengths as told_strengths,
)
