from .dots import ANGLES as ANGLES, Screening as Screening
from .fine_lines import (
    FineParts as FineParts,
    fine_parts as fine_parts,
    least_gap_mm as least_gap_mm,
    least_line_mm as least_line_mm,
)
from .flat_art import (
    flat_plates as flat_plates,
    flat_shirts as flat_shirts,
    screen_layers as screen_layers,
)
from .halftone_print import (
    DEFAULT_LINES_PER_INCH as DEFAULT_LINES_PER_INCH,
    MOST_INKS as MOST_INKS,
    TonalModel as TonalModel,
    TonalSet as TonalSet,
    quick_xyz as quick_xyz,
    tonal_set as tonal_set,
)
from .inversion import mosaic as mosaic, mosaic_xyz as mosaic_xyz
from .plate_files import PlateFile as PlateFile, fine_map as fine_map, write_plates as write_plates
from .plate_run import PlateRun as PlateRun, run_of_plates as run_of_plates
from .plates import (
    Plate as Plate,
    PlateSet as PlateSet,
    separate as separate,
    tonal_plates as tonal_plates,
)
from .register import MOST_EDGE_MM as MOST_EDGE_MM, Misfit as Misfit, fitted as fitted
from .rgb_lattice import (
    Axes as Axes,
    SeenColours as SeenColours,
    at_colours as at_colours,
    by_strips as by_strips,
    laid_on as laid_on,
    nodes_near as nodes_near,
)
from .soft_proof import (
    check_ending as check_ending,
    look_words as look_words,
    write_look as write_look,
)
from .tonal_inks import (
    choose_inks as choose_inks,
    choose_route as choose_route,
    chosen_set as chosen_set,
    inks_that_fit as inks_that_fit,
    picture_colours as picture_colours,
    press_barrier as press_barrier,
    routes_on as routes_on,
)
from .tonal_separation import (
    Separation as Separation,
    SeparationTable as SeparationTable,
    colours_seen as colours_seen,
    separate_picture as separate_picture,
    separation_table as separation_table,
    share_out_of_reach as share_out_of_reach,
)
