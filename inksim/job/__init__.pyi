from .costs import ink_per_print_g as ink_per_print_g, run_ink_g as run_ink_g
from .decide import (
    Alternative as Alternative,
    GarmentAnswer as GarmentAnswer,
    JobAnswer as JobAnswer,
    Plan as Plan,
    decide_job as decide_job,
)
from .drying import CURE as CURE
from .from_artwork import job_of_artwork as job_of_artwork
from .job import Job as Job, load_job as load_job
from .reasons import ColourReasons as ColourReasons, reasons_for as reasons_for
from .schema import Preference as Preference
from .search import WORK as WORK
