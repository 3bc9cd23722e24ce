from .demo import DemoResult as DemoResult, run_demo as run_demo
from .plate_window import plates_in_window as plates_in_window
from .separation_files import (
    SeparationRequest as SeparationRequest,
    SeparationResult as SeparationResult,
    look_table as look_table,
    write_separation as write_separation,
)
from .show import (
    ArtworkResult as ArtworkResult,
    ColourAnswer as ColourAnswer,
    PreparedArtwork as PreparedArtwork,
    RouteAnswer as RouteAnswer,
    artwork_on as artwork_on,
    artwork_result as artwork_result,
    at_life_size as at_life_size,
    busiest_place as busiest_place,
    png_bytes as png_bytes,
    prepare_artwork as prepare_artwork,
    print_on as print_on,
)
from .shown_tonal import (
    TonalShown as TonalShown,
    area_colours as area_colours,
    said_of as said_of,
    show_tonal as show_tonal,
)
from .tonal_preview import (
    REACH_HEAD as REACH_HEAD,
    reach_row as reach_row,
)
from .views import Views as Views, beyond_words as beyond_words
from .write import PreviewResult as PreviewResult
from .write_preview import write_previews as write_previews
