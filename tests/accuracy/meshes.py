"""Meshes

From the label of a mesh, threads and their diameter, to its opening, open area and the ink it can
carry, against a weaver's printed table. The table has whole units: half a unit is its rounding.
"""

from __future__ import annotations

from inksim.common.units import CM_PER_INCH
from inksim.stock.screen import Screen
from tests.accuracy import Row, row
from tests.conftest import read_check_values

ORDER = 36
SOURCE = "a mesh weaver's published specification table, 225 threads/inch"


def rows() -> list[Row]:
    """Opening, open area and ink volume of three meshes."""
    table = read_check_values()["mesh_published"]
    meshes = [
        (Screen(name="225", threads_per_cm=225 / CM_PER_INCH, thread_um=line["d"]), line)
        for line in table
    ]
    return [
        row(
            "Mesh opening",
            SOURCE,
            [mesh.mesh_opening_um - line["w"] for mesh, line in meshes],
            unit="µm",
            limits={"worst": 1.0},
        ),
        row(
            "Open area",
            SOURCE,
            [100 * mesh.open_area - line["a0"] for mesh, line in meshes],
            unit="%",
            limits={"worst": 1.0},
        ),
        row(
            "Theoretical ink volume from the label alone",
            SOURCE,
            [mesh.volume_cm3_m2 - line["V"] for mesh, line in meshes],
            unit="cm³/m²",
            limits={"worst": 1.0},
        ),
    ]
