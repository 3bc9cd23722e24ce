from .demo import DemoResult as DemoResult, run_demo as run_demo
from .fine_check import FineArt as FineArt, fine_art as fine_art
from .flat_routes import (
    AS_DRAWN as AS_DRAWN,
    DECIDED as DECIDED,
    ArtworkResult as ArtworkResult,
    Key as Key,
    RouteAnswer as RouteAnswer,
    against_drawn as against_drawn,
    at_life_size as at_life_size,
    build_look as build_look,
    job_colours as job_colours,
    result_of_garment as result_of_garment,
)
from .plate_window import plates_in_window as plates_in_window
from .plates_zip import tonal_plates_zip as tonal_plates_zip
from .prepare import (
    PreparedArtwork as PreparedArtwork,
    artwork_on as artwork_on,
    busiest_place as busiest_place,
    png_bytes as png_bytes,
    prepare_artwork as prepare_artwork,
    print_on as print_on,
)
from .preview_files import PreviewResult as PreviewResult, preview_job as preview_job
from .separation_files import (
    SeparationRequest as SeparationRequest,
    SeparationResult as SeparationResult,
    look_table as look_table,
    write_separation as write_separation,
)
from .tonal_print import (
    REACH_HEAD as REACH_HEAD,
    TonalReach as TonalReach,
    reach_row as reach_row,
)
from .tonal_routes import (
    CLOSE_PX as CLOSE_PX,
    AreaColour as AreaColour,
    TonalResult as TonalResult,
    area_colours as area_colours,
    tonal_in_a_word as tonal_in_a_word,
    tonal_result as tonal_result,
    tonal_run as tonal_run,
    tonal_verdict as tonal_verdict,
)
from .views import (
    Views as Views,
    beyond_words as beyond_words,
    check_views as check_views,
)
