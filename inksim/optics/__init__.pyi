from .directness import (
    DIRECTNESS_RANGE as DIRECTNESS_RANGE,
    effective_ks as effective_ks,
    effective_ks_slopes as effective_ks_slopes,
    mixing_ks as mixing_ks,
)
from .halftone import (
    COMFORTABLE_MESH_RATIO as COMFORTABLE_MESH_RATIO,
    LEAST_MESH_RATIO as LEAST_MESH_RATIO,
    compensated as compensated,
    demichel as demichel,
    dot_coverage as dot_coverage,
    dot_radius as dot_radius,
    mesh_ratio as mesh_ratio,
    nested as nested,
    ruling_warning as ruling_warning,
    yule_nielsen as yule_nielsen,
)
from .kubelka_munk import (
    SURFACE as SURFACE,
    Surface as Surface,
    contact_ks as contact_ks,
    external_from_internal as external_from_internal,
    film_over as film_over,
    films_over as films_over,
    internal_from_external as internal_from_external,
    ks_from_reflectance as ks_from_reflectance,
    mix as mix,
    net_flux as net_flux,
    reflectance_from_ks as reflectance_from_ks,
)
from .unevenness import (
    LEVELS as LEVELS,
    factors_at as factors_at,
    level_quantiles as level_quantiles,
    quantile_nodes as quantile_nodes,
    thickness_factor as thickness_factor,
)
