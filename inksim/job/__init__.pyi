from .amounts import ink_uses as ink_uses
from .costs import (
    Bill as Bill,
    InkUse as InkUse,
    bill as bill,
    ink_per_print_g as ink_per_print_g,
    rates_of as rates_of,
    run_ink_g as run_ink_g,
)
from .decide import (
    GarmentAnswer as GarmentAnswer,
    JobAnswer as JobAnswer,
    decide_job as decide_job,
)
from .drying import (
    DryerLoad as DryerLoad,
    dryer_load as dryer_load,
    film_water_g as film_water_g,
)
from .from_artwork import job_of_artwork as job_of_artwork
from .job import Job as Job
from .load import (
    DrawnJob as DrawnJob,
    drawn_job as drawn_job,
    entry_in_memory as entry_in_memory,
    job_in_memory as job_in_memory,
    load_drawn_job as load_drawn_job,
    load_job as load_job,
    press_of as press_of,
)
from .mixes import mixed_instead as mixed_instead
from .order import (
    InkOrder as InkOrder,
    OrderLine as OrderLine,
    ink_order as ink_order,
)
from .placed import (
    PlacedArtwork as PlacedArtwork,
    misfit_note as misfit_note,
    placed_artwork as placed_artwork,
)
from .plans import Alternative as Alternative, Plan as Plan
from .press_screens import PressScreen as PressScreen
from .reasons import ColourReasons as ColourReasons, reasons_for as reasons_for
from .recipe_run import recipe_run_g as recipe_run_g
from .schema import (
    BASE_CHOKE_MM as BASE_CHOKE_MM,
    CLOTH_M2 as CLOTH_M2,
    JobArtworkEntry as JobArtworkEntry,
    JobEntry as JobEntry,
    Preference as Preference,
)
from .typed import typed_value as typed_value
from .what_to_tell import told as told, way_words as way_words
