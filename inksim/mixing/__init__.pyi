from .bucket_file import (
    asked_document as asked_document,
    bucket_document as bucket_document,
    read_bucket as read_bucket,
)
from .bucket_reading import reading_of_bucket as reading_of_bucket
from .correction import Correction as Correction, correct as correct
from .drawdown_recipes import recipes_for as recipes_for
from .find import find_recipes as find_recipes
from .found import FoundRecipe as FoundRecipe, FoundRecipes as FoundRecipes
from .instead import (
    Instead as Instead,
    not_promised as not_promised,
    out_of_reach as out_of_reach,
    palette_instead as palette_instead,
    recipes_instead as recipes_instead,
)
from .leftover import use_leftover as use_leftover
from .stored import (
    bucket_of_stored as bucket_of_stored,
    stored_entry as stored_entry,
    stored_mix as stored_mix,
    with_left as with_left,
)
from .what_a_gram_does import ShareCurve as ShareCurve, share_curves as share_curves
