from .cloth_tile import knit_tile as knit_tile
from .contact_sheet import (
    SheetPanel as SheetPanel,
    Swatch as Swatch,
    compose_sheet as compose_sheet,
)
from .masks import (
    Window as Window,
    hatched as hatched,
    marked as marked,
    window_on_change as window_on_change,
    window_on_edges as window_on_edges,
)
from .reduce import (
    Coverage as Coverage,
    Weave as Weave,
    reduce_labels as reduce_labels,
    reduce_tile as reduce_tile,
    reduction_factor as reduction_factor,
)
from .render import (
    MAX_LABELS as MAX_LABELS,
    Look as Look,
    colour_table as colour_table,
    recolour as recolour,
    render_crop as render_crop,
    render_flat as render_flat,
)
from .shirt import on_shirt as on_shirt
from .tonal import (
    TonalLook as TonalLook,
    beyond_screen as beyond_screen,
    draw_plates as draw_plates,
    render_tonal as render_tonal,
    shifted as shifted,
    tonal_look as tonal_look,
)
