from .advice import (
    Advice as Advice,
    RouteResult as RouteResult,
    difference_words as difference_words,
)
from .answer import (
    WHITE_NOTE as WHITE_NOTE,
    Answer as Answer,
    aimed_at as aimed_at,
    answer_of as answer_of,
    bare_cloth as bare_cloth,
    stays_bare as stays_bare,
    worth_weighing as worth_weighing,
)
from .build_evaluation import (
    ROUTE_ROOM_DE00 as ROUTE_ROOM_DE00,
    WORK_OF_FLASH as WORK_OF_FLASH,
    WORK_OF_SCREEN as WORK_OF_SCREEN,
    WORK_OF_STROKE as WORK_OF_STROKE,
    Evaluated as Evaluated,
    Landing as Landing,
    against as against,
    choose_build as choose_build,
    could_be_chosen as could_be_chosen,
    evaluate as evaluate,
    most_likely_lab as most_likely_lab,
    work_class as work_class,
    work_of as work_of,
    work_of_layers as work_of_layers,
)
from .candidate_builds import (
    NO_BASE as NO_BASE,
    BuildSpace as BuildSpace,
    build_space as build_space,
)
from .discharge import (
    discharge_barrier as discharge_barrier,
    discharge_facts as discharge_facts,
)
from .garment_gamut import (
    MEANS_ONLY_MIXED as MEANS_ONLY_MIXED,
    Gamut as Gamut,
    gamut as gamut,
    mixture_sign as mixture_sign,
)
from .joint_chance import nearer_share as nearer_share
from .one_colour import advise as advise, barrier as barrier, on_top as on_top
from .order_of_screens import PrintedScreen as PrintedScreen, print_order as print_order
from .palette_by_garment import (
    GarmentReach as GarmentReach,
    answers_on as answers_on,
    palette_on_stock as palette_on_stock,
    reach as reach,
    serves as serves,
)
from .trade_rules import RULES as RULES
from .verdict import (
    SHAPES as SHAPES,
    SHOULD_LAND as SHOULD_LAND,
    WORDS as WORDS,
    Verdict as Verdict,
    route_headline as route_headline,
    verdict_of as verdict_of,
    verdict_on_all as verdict_on_all,
    weakest as weakest,
    whole_percent as whole_percent,
)
