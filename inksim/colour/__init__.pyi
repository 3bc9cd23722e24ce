from .adaptation import lab_alike as lab_alike
from .cielab import (
    chroma as chroma,
    cielab_from_xyz as cielab_from_xyz,
    delta_e_2000 as delta_e_2000,
    delta_e_cmc as delta_e_cmc,
    difference_metric as difference_metric,
    hue as hue,
)
from .grid import (
    BANDS as BANDS,
    EARLIEST_END_NM as EARLIEST_END_NM,
    LATEST_START_NM as LATEST_START_NM,
    WAVELENGTHS_NM as WAVELENGTHS_NM,
    WIDEST_STEP_NM as WIDEST_STEP_NM,
    resample as resample,
)
from .indices import (
    colour_inconstancy as colour_inconstancy,
    contrast_ratio as contrast_ratio,
    metamerism_index as metamerism_index,
)
from .lights import (
    LIGHTS as LIGHTS,
    OBSERVERS as OBSERVERS,
    Lamp as Lamp,
    stated_light as stated_light,
    weights as weights,
)
from .recovery import (
    recover_reflectance as recover_reflectance,
    reflectance_from_lab as reflectance_from_lab,
)
from .srgb import (
    decode_srgb as decode_srgb,
    encode_srgb as encode_srgb,
    hex_code as hex_code,
    hex_from_rgb8 as hex_from_rgb8,
    lab_from_hex as lab_from_hex,
    linear_srgb as linear_srgb,
    readable_on as readable_on,
    rgb8_from_hex as rgb8_from_hex,
    srgb8 as srgb8,
    within_srgb as within_srgb,
    xyz_from_srgb8 as xyz_from_srgb8,
)
from .viewing import (
    D50 as D50,
    Viewing as Viewing,
    check_plausible_lab as check_plausible_lab,
    is_plausible_lab as is_plausible_lab,
    lab as lab,
    lab_from_xyz as lab_from_xyz,
    xyz as xyz,
    xyz_from_lab as xyz_from_lab,
)
