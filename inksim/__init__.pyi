from .artwork import read_artwork as read_artwork
from .calibration import PrintReading as PrintReading, calibrate as calibrate
from .colour import (
    Lamp as Lamp,
    Viewing as Viewing,
    delta_e_2000 as delta_e_2000,
    lab as lab,
    recover_reflectance as recover_reflectance,
)
from .common import InputError as InputError
from .decision import (
    advise as advise,
    gamut as gamut,
    palette_on_stock as palette_on_stock,
    verdict_of as verdict_of,
)
from .drawdowns import (
    Drawdown as Drawdown,
    characterise as characterise,
    predict_drawdown as predict_drawdown,
)
from .job import decide_job as decide_job, load_job as load_job
from .mixing import find_recipes as find_recipes, recipes_for as recipes_for
from .optics import film_over as film_over
from .printing import Build as Build, Layer as Layer, predict as predict, swatch as swatch
from .readings import read_lamp as read_lamp, read_readings as read_readings
from .reports import make_ticket as make_ticket
from .separation import separate as separate
from .shop import Shop as Shop, load_shop as load_shop, usual_build as usual_build
from .stock import (
    Garment as Garment,
    Ink as Ink,
    Press as Press,
    Screen as Screen,
    Target as Target,
    mix_inks as mix_inks,
)

__version__: str
__all__: list[str]
_FACE: dict[str, str]
