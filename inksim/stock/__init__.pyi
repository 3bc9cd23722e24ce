from .garment import BRIGHTEST as BRIGHTEST, DISCHARGE_SHARE as DISCHARGE_SHARE, Garment as Garment
from .handling import (
    LOW_CURE_WAIT_HOURS as LOW_CURE_WAIT_HOURS,
    USUAL as USUAL,
    Handling as Handling,
    cure_of as cure_of,
    handling_of as handling_of,
)
from .ink import (
    INK_KINDS as INK_KINDS,
    Ink as Ink,
    mix_inks as mix_inks,
    prints_through as prints_through,
)
from .ink_look import Covers as Covers, Known as Known, ink_from_look as ink_from_look
from .lab_noise import (
    MOST_OFF_DE00 as MOST_OFF_DE00,
    PHOTO as PHOTO,
    LabNoise as LabNoise,
    lab_root as lab_root,
    noise_fault as noise_fault,
    noise_of_mean as noise_of_mean,
    stated_noise as stated_noise,
)
from .look_film import CARD_BLACK as CARD_BLACK, CARD_WHITE as CARD_WHITE
from .mixture import mixed_ks as mixed_ks
from .place import (
    MOST_MM as MOST_MM,
    USUAL_TOP_MM as USUAL_TOP_MM,
    Place as Place,
    check_fit as check_fit,
)
from .press import (
    MEANINGS as MEANINGS,
    MODEL_LAB_SD as MODEL_LAB_SD,
    Parameter as Parameter,
    Press as Press,
    PressValues as PressValues,
    Strength as Strength,
)
from .provenance import (
    CAUTIOUS_INK_SD_FACTOR as CAUTIOUS_INK_SD_FACTOR,
    CAUTIOUS_MODEL_SD as CAUTIOUS_MODEL_SD,
    CLOTH_KS_SD as CLOTH_KS_SD,
    DISCHARGE_LEFT_SD as DISCHARGE_LEFT_SD,
    INK_K_SD as INK_K_SD,
    INK_S_SD as INK_S_SD,
    INK_SD_FACTOR_PRIOR as INK_SD_FACTOR_PRIOR,
    MEAN_LENGTH as MEAN_LENGTH,
    MODEL_SD_PRIOR as MODEL_SD_PRIOR,
    READING_DE00 as READING_DE00,
    Provenance as Provenance,
    frozen_spectrum as frozen_spectrum,
    least_sure as least_sure,
)
from .ranges import (
    Density as Density,
    Grade as Grade,
    Mesh as Mesh,
    Money as Money,
    Passes as Passes,
    Positive as Positive,
    Share as Share,
    Solids as Solids,
)
from .recipe import (
    Recipe as Recipe,
    RecipePart as RecipePart,
    check_grams as check_grams,
    grams_words as grams_words,
    recipe_of as recipe_of,
    stored_recipe as stored_recipe,
)
from .screen import Screen as Screen
from .solids import USUAL_DENSITY_G_CM3 as USUAL_DENSITY_G_CM3, solids_of as solids_of
from .spectral_error import (
    UNSEEN_NM as UNSEEN_NM,
    UNSEEN_SD as UNSEEN_SD,
    SpectralError as SpectralError,
    smooth as smooth,
)
from .stock_error import (
    error_of as error_of,
    error_of_cloth as error_of_cloth,
    with_film_sd as with_film_sd,
)
from .target import (
    Target as Target,
    parse_target as parse_target,
    target_from_hex as target_from_hex,
    target_from_lab as target_from_lab,
    target_from_reflectance as target_from_reflectance,
)
