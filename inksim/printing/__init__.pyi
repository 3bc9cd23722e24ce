from .build import (
    BARE as BARE,
    ROUTES as ROUTES,
    Build as Build,
    BuildTable as BuildTable,
    Layer as Layer,
    Route as Route,
    Slabs as Slabs,
    check_route as check_route,
    cloth_ks as cloth_ks,
    discharged_ks as discharged_ks,
    flattened as flattened,
    lower as lower,
    tabulate as tabulate,
    wet_deposit_um as wet_deposit_um,
)
from .many_lights import (
    USUAL_LIGHTS as USUAL_LIGHTS,
    SeenInLight as SeenInLight,
    under_lights as under_lights,
)
from .opacity import (
    OPAQUE as OPAQUE,
    Card as Card,
    covering_thickness_um as covering_thickness_um,
    film_contrast_ratio as film_contrast_ratio,
    flat_card as flat_card,
)
from .prediction import (
    Prediction as Prediction,
    build_words as build_words,
    file_words as file_words,
    honest_words as honest_words,
    on_card as on_card,
    predict as predict,
    predict_nominal as predict_nominal,
)
from .sensitivity import (
    StockErrors as StockErrors,
    press_axes as press_axes,
    stock_errors as stock_errors,
)
from .swatches import (
    mean_reflectance as mean_reflectance,
    point_reflectance as point_reflectance,
    swatch as swatch,
)
from .uncertainty import (
    NORMAL_HIGH as NORMAL_HIGH,
    SAMPLES as SAMPLES,
    Interval as Interval,
    Response as Response,
    Spread as Spread,
    interval_of as interval_of,
    normal_points as normal_points,
    respond as respond,
    summarize as summarize,
)
