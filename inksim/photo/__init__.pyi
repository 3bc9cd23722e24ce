from .charts import Chart as Chart, chart_of as chart_of
from .geometry import (
    Point as Point,
    Region as Region,
    Row as Row,
    outline_of as outline_of,
    point_of as point_of,
    region_of as region_of,
    sheet_places as sheet_places,
    wanted_of as wanted_of,
)
from .picture import read_picture as read_picture
from .read import (
    PhotoFault as PhotoFault,
    PhotoRead as PhotoRead,
    read_photo as read_photo,
)
from .seen import PhotoReading as PhotoReading
from .show import drawn as drawn
