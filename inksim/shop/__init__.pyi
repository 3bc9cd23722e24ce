from .changes import (
    Change as Change,
    acting_as as acting_as,
    change_kept as change_kept,
    check_mine as check_mine,
    keep_before as keep_before,
    last_change as last_change,
    write_changed as write_changed,
)
from .edit import (
    ChangedMeanwhile as ChangedMeanwhile,
    Draft as Draft,
    check as check,
    editable_folder as editable_folder,
    is_demo as is_demo,
    open_draft as open_draft,
    save as save,
    undo as undo,
)
from .entries import (
    KnownColour as KnownColour,
    colour_from_hex as colour_from_hex,
    colour_from_lab as colour_from_lab,
    colour_from_readings as colour_from_readings,
    colour_from_xyz as colour_from_xyz,
    garment_entry as garment_entry,
    ink_assumptions as ink_assumptions,
    ink_entry_from_look as ink_entry_from_look,
)
from .faults import checked as checked, read_checked as read_checked
from .fibres import (
    COMMON_BLENDS as COMMON_BLENDS,
    fibre_words as fibre_words,
    parse_fibres as parse_fibres,
)
from .fresh import new_shop as new_shop, next_step as next_step
from .ink_opacity import Hiding as Hiding, hiding as hiding
from .ink_schema import (
    LOOKS as LOOKS,
    NOISE as NOISE,
    OPACITIES as OPACITIES,
    SOLIDS as SOLIDS,
)
from .lamps import LAMPS as LAMPS, lamp_files as lamp_files, light_of as light_of
from .listing import catalogue as catalogue, ink_look as ink_look
from .load import (
    FILES as FILES,
    changes_of as changes_of,
    demo_shop_folder as demo_shop_folder,
    load_shop as load_shop,
)
from .migration import calibrated_without as calibrated_without
from .press_file import (
    PRESS_HISTORY as PRESS_HISTORY,
    Version as Version,
    archived as archived,
    go_back as go_back,
    save_press as save_press,
    versions as versions,
)
from .schema import (
    CostsEntry as CostsEntry,
    Entry as Entry,
    Hex as Hex,
    Lab as Lab,
    Name as Name,
    NotNegative as NotNegative,
    RuleName as RuleName,
    RulesEntry as RulesEntry,
    StationsEntry as StationsEntry,
)
from .settings import settings_drafted as settings_drafted
from .shop import Shop as Shop
from .spelling import spelled as spelled
from .targets import target_of as target_of
from .toml_text import NameTaken as NameTaken, set_values as set_values
from .undo_words import what_undo_brings as what_undo_brings
from .usual_builds import (
    check_allowed as check_allowed,
    check_usable as check_usable,
    usable_routes as usable_routes,
    usual_build as usual_build,
)
from .usual_start import (
    PRESSES as PRESSES,
    SCREENS as SCREENS,
    USUAL_PRESS as USUAL_PRESS,
    StartPress as StartPress,
    save_start_press as save_start_press,
    with_usual_white as with_usual_white,
)
from .words import Asked as Asked, numbers_asked as numbers_asked
