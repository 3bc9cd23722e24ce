from .characterisation import (
    MILD_SMOOTHNESS_SD as MILD_SMOOTHNESS_SD,
    Characterisation as Characterisation,
    characterise as characterise,
    film_reading as film_reading,
    film_thickness as film_thickness,
    predict_drawdown as predict_drawdown,
)
from .chart import ChartPanel as ChartPanel, panel_svg as panel_svg
from .drawdown import Drawdown as Drawdown
from .files import Drawdowns as Drawdowns, read_drawdowns as read_drawdowns
from .to_shop import (
    CHARTS as CHARTS,
    chart_of as chart_of,
    fit_sheet as fit_sheet,
    inks_drafted as inks_drafted,
    panels_of as panels_of,
)
