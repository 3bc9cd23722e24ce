"""The numbers of costs.toml, of the habits in press.toml and of rules.toml, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Asked(NamedTuple):
    """A number as it is asked for: what and unit; times: shown over filed (100 for percent)."""

    what: str
    unit: str = ""
    times: float = 1.0


COSTS: Mapping[str, Asked] = {
    "currency": Asked("Currency"),
    "screen_making": Asked("Making a screen: film, emulsion, exposing, reclaiming", "money"),
    "setup_minutes_per_screen": Asked("Setting a screen up and cleaning it", "min"),
    "labor_per_hour": Asked("Labor", "money/h"),
    "seconds_per_garment": Asked("Loading and unloading a garment", "s"),
    "seconds_per_pass": Asked("A pass", "s"),
    "seconds_per_flash": Asked("A flash", "s"),
    "energy_per_kwh": Asked("Energy", "money/kWh"),
    "dryer_efficiency": Asked("Share of the dryer's energy that reaches the shirts", "%", 100),
    "waste_share": Asked("Spoiled prints and ink wiped off", "%", 100),
    "ink_left_g_per_screen": Asked("Ink left in a screen and on its tools", "g"),
}
HABITS: Mapping[str, Asked] = {
    "straight_threads_per_inch": Asked("Mesh straight on the cloth", "threads/in"),
    "straight_passes": Asked("Passes straight on the cloth"),
    "over_base_threads_per_inch": Asked("Mesh of a color over a base", "threads/in"),
    "over_base_passes": Asked("Passes of a color over a base"),
    "white_base_threads_per_inch": Asked("Mesh of a white base", "threads/in"),
    "white_base_passes": Asked("Passes of a white base"),
    "white_base_flash": Asked("A white base is flashed"),
    "discharge_base_threads_per_inch": Asked("Mesh of a discharge base", "threads/in"),
    "discharge_base_passes": Asked("Passes of a discharge base"),
    "discharge_base_flash": Asked("A discharge base is flashed"),
    "tolerance_de00": Asked("A color lands within", "ΔE00"),
}
LIMITS: Mapping[str, Asked] = {
    "coarsest_on_cloth_threads_per_inch": Asked("Coarsest mesh on bare cloth", "threads/in"),
    "finest_on_cloth_threads_per_inch": Asked("Finest mesh on bare cloth", "threads/in"),
    "most_passes_on_cloth": Asked("Most passes of a color on bare cloth"),
    "most_passes_over_base": Asked("Most passes of a color over a base"),
    "coarsest_base_threads_per_inch": Asked("Coarsest mesh of a base", "threads/in"),
    "finest_base_threads_per_inch": Asked("Finest mesh of a base", "threads/in"),
    "most_passes_white_base": Asked("Most passes of a white base"),
    "most_passes_discharge_base": Asked("Most passes of a discharge base"),
    "least_cellulose_share": Asked("Least cotton and other cellulose for a discharge", "%", 100),
    "least_discharge_grade": Asked("Least discharge grade, of 5"),
    "least_dye_de00": Asked("Least change of the cloth that a discharge is worth", "ΔE00"),
    "least_threads_per_line": Asked("Least threads for a line of a halftone"),
    "comfortable_threads_per_line": Asked("Comfortable threads for a line of a halftone"),
    "most_lines_per_inch": Asked("Most lines of a halftone", "lines/in"),
}
