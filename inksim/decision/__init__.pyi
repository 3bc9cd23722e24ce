from .build_evaluation import (
    NEAR_SHARE as NEAR_SHARE,
    Evaluated as Evaluated,
    Landing as Landing,
    against as against,
    choose_build as choose_build,
    evaluate as evaluate,
    most_likely_lab as most_likely_lab,
    near_best as near_best,
)
from .candidate_builds import (
    NO_BASE as NO_BASE,
    BuildSpace as BuildSpace,
    build_space as build_space,
)
from .garment_gamut import Gamut as Gamut, gamut as gamut
from .one_artwork import (
    best_way as best_way,
    evaluate_colours as evaluate_colours,
    why_not as why_not,
)
from .one_colour import (
    Advice as Advice,
    RouteResult as RouteResult,
    advise as advise,
    barrier as barrier,
    difference_words as difference_words,
)
from .palette_by_garment import (
    MARKS as MARKS,
    Cell as Cell,
    GarmentReach as GarmentReach,
    cells as cells,
    palette_on_stock as palette_on_stock,
    reach as reach,
    serves as serves,
)
from .trade_rules import (
    RULES as RULES,
    discharge_barrier as discharge_barrier,
    discharge_facts as discharge_facts,
)
