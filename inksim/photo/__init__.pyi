from .charts import chart_of as chart_of
from .geometry import (
    Region as Region,
    outline_of as outline_of,
    point_of as point_of,
    region_of as region_of,
)
from .picture import read_picture as read_picture
from .read import PhotoRead as PhotoRead, read_photo as read_photo
from .seen import PhotoReading as PhotoReading
from .show import drawn as drawn
