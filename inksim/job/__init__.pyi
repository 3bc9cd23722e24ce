from .costs import (
    Bill as Bill,
    ink_per_print_g as ink_per_print_g,
    run_ink_g as run_ink_g,
)
from .decide import (
    GarmentAnswer as GarmentAnswer,
    JobAnswer as JobAnswer,
    decide_job as decide_job,
)
from .from_artwork import job_of_artwork as job_of_artwork
from .job import Job as Job
from .load import job_artwork as job_artwork, load_job as load_job
from .plans import Alternative as Alternative, Plan as Plan
from .press_screens import PressScreen as PressScreen
from .reasons import ColourReasons as ColourReasons, reasons_for as reasons_for
from .schema import Preference as Preference
from .what_to_tell import told as told, way_words as way_words
