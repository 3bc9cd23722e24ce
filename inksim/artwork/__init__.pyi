from .artwork import Artwork as Artwork
from .assignment import (
    NOT_PRINTED as NOT_PRINTED,
    mapped_inks as mapped_inks,
    read_mapping as read_mapping,
)
from .background import KEEP as KEEP, parsed_wish as parsed_wish
from .cutout import without_background as without_background
from .flats import FlatColour as FlatColour, Flats as Flats, find_flats as find_flats
from .photo_codes import codes_of_photo as codes_of_photo
from .picture import (
    SURROUND as SURROUND,
    decode8 as decode8,
    encode8 as encode8,
    encode8_dithered as encode8_dithered,
    fine_codes as fine_codes,
    halve_light as halve_light,
    laid_on_ground as laid_on_ground,
    png_info as png_info,
    reduce_light as reduce_light,
    resampled_light as resampled_light,
    save_png as save_png,
    shrink_to as shrink_to,
)
from .png import unfiltered_png as unfiltered_png
from .raster import in_turn as in_turn
from .read import (
    at_width as at_width,
    printed_at as printed_at,
    read_artwork as read_artwork,
    sized_notes as sized_notes,
    too_small_note as too_small_note,
)
