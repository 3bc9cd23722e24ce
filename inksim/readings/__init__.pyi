from .formats import (
    format_names as format_names,
    reading_suffixes as reading_suffixes,
    split_reference as split_reference,
)
from .lamp import read_lamp as read_lamp
from .noise import cells_of as cells_of
from .palette_file import palette_from_file as palette_from_file, parse_palette as parse_palette
from .read import (
    MOST_BYTES as MOST_BYTES,
    REPEATABLE as REPEATABLE,
    Reading as Reading,
    average as average,
    read_readings as read_readings,
)
from .record import number as number, raise_faults as raise_faults
from .selection import (
    Picked as Picked,
    listed_colour as listed_colour,
    pick as pick,
    specular_excluded as specular_excluded,
    target_from_reading as target_from_reading,
)
