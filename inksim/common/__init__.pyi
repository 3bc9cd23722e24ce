from .arrays import (
    BoolArray as BoolArray,
    Float32Array as Float32Array,
    FloatArray as FloatArray,
    IndexArray as IndexArray,
    Int64Array as Int64Array,
    Uint8Array as Uint8Array,
    Uint32Array as Uint32Array,
)
from .database import Database as Database, version_of as version_of
from .days import day_of as day_of, now as now
from .disk import PREVIOUS as PREVIOUS, make_folder as make_folder, sync_folder as sync_folder
from .errors import (
    InksimError as InksimError,
    InputError as InputError,
    ShopFaults as ShopFaults,
    cut as cut,
    shortened as shortened,
    unknown as unknown,
)
from .files import (
    DATA as DATA,
    PACKAGE as PACKAGE,
    STDOUT as STDOUT,
    UNFINISHED as UNFINISHED,
    locked as locked,
    sweep as sweep,
    temporary_folder as temporary_folder,
    write_whole as write_whole,
)
from .fonts import BOLD as BOLD, REGULAR as REGULAR, not_in_font as not_in_font, spelled as spelled
from .outward import (
    MADE_BY as MADE_BY,
    Markup as Markup,
    cell as cell,
    check_file_names as check_file_names,
    csv_lines as csv_lines,
    csv_text as csv_text,
    drop as drop,
    escape as escape,
    file_name as file_name,
    forgive_encodings as forgive_encodings,
    from_cell as from_cell,
    json_text as json_text,
    markdown as markdown,
    patch as patch,
    settle_streams as settle_streams,
    slug as slug,
    tell as tell,
    tell_json as tell_json,
    visible as visible,
    width as width,
)
from .read_only import (
    check_may_change as check_may_change,
    is_read_only as is_read_only,
)
from .text_files import json_of as json_of, text_of as text_of, toml_of as toml_of
from .units import CM_PER_INCH as CM_PER_INCH, MM_PER_INCH as MM_PER_INCH
from .wording import (
    KIND_WORDS as KIND_WORDS,
    NOT_A_PROOF as NOT_A_PROOF,
    PROGRAM as PROGRAM,
    ROUTE_NAMES as ROUTE_NAMES,
    ROUTE_SHORT as ROUTE_SHORT,
    ROUTE_TITLES as ROUTE_TITLES,
    ROUTE_WORDS as ROUTE_WORDS,
    STRIKE_OFF as STRIKE_OFF,
    capital as capital,
    counted as counted,
    counted_routes as counted_routes,
    hex_key as hex_key,
    lab_words as lab_words,
    listed as listed,
    on_garment as on_garment,
    sentence as sentence,
)
from .workspace import scratch as scratch
