"""From the label of a mesh to the ink it carries, against a weaver's published table."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import assume, given, strategies as st

from inksim.common.errors import InputError
from inksim.common.units import CM_PER_INCH
from inksim.stock.press import MEANINGS
from inksim.stock.screen import FABRIC_PER_THREAD, Screen
from tests.conftest import read_check_values

# A weaver's published specification table, 225 threads/inch with three thread diameters; whole
# units, so every figure is good to ±1 (opening and fabric in µm, open area in %, ink in cm³/m²).
ROWS: list[dict[str, Any]] = read_check_values()["mesh_published"]
WET: list[dict[str, Any]] = read_check_values()["wet_height_published"]

rows = pytest.mark.parametrize("row", ROWS, ids=lambda row: f"225 d{row['d']}")


def mesh(row: dict[str, Any], **own: float) -> Screen:
    return Screen(name="225", threads_per_cm=225 / CM_PER_INCH, thread_um=row["d"], **own)


# -- Published figures


@rows
def test_opening(row: dict[str, Any]) -> None:
    assert mesh(row).mesh_opening_um == pytest.approx(row["w"], abs=1)


@rows
def test_open_area(row: dict[str, Any]) -> None:
    assert 100 * mesh(row).open_area == pytest.approx(row["a0"], abs=1)


@rows
def test_ink_volume_with_the_weavers_fabric_thickness(row: dict[str, Any]) -> None:
    assert mesh(row, fabric_um=row["D"]).volume_cm3_m2 == pytest.approx(row["V"], abs=1)


@rows
def test_ink_volume_from_the_label_alone(row: dict[str, Any]) -> None:
    assert mesh(row).volume_cm3_m2 == pytest.approx(row["V"], abs=1)


@rows
def test_fabric_thickness_from_the_thread(row: dict[str, Any]) -> None:
    # D/d of the three rows is 1.475, 1.500 and 1.556: one factor cannot hold them to ±1 µm. It
    # stays inside the range of the trade, 1.5 to 1.6, and within 3 µm of every row.
    assert 1.5 <= FABRIC_PER_THREAD <= 1.6
    assert mesh(row).thickness_um == pytest.approx(row["D"], abs=3.1)


@rows
def test_the_weavers_relaxed_opening_gives_the_same_open_area(row: dict[str, Any]) -> None:
    # The table's open area is that of its own opening: (w/pitch)².
    assert 100 * mesh(row, opening_um=row["w"]).open_area == pytest.approx(row["a0"], abs=1)


@rows
def test_the_metric_label_is_a_rounding(row: dict[str, Any]) -> None:
    # The same mesh is sold as "90": the weaver's openings belong to 225/inch = 88.6/cm, and at
    # exactly 90/cm they come out 2 µm too narrow. So a label in threads/inch is the one to enter.
    assert pytest.approx(88.58, abs=0.01) == mesh(row).threads_per_cm
    nominal = Screen(name="90", threads_per_cm=90, thread_um=row["d"])
    assert 1 < row["w"] - nominal.mesh_opening_um < 2.5
    assert nominal.volume_cm3_m2 == pytest.approx(row["V"], abs=1)


def test_published_wet_height_is_a_release_that_the_model_allows() -> None:
    # A weaver's rule of thumb for plain weave up to 42/cm: wet height 1.82·d·(1 − M·d)². Over the
    # theoretical volume that is a release of 1.17, near the top of the range a press may have.
    case = WET[0]
    screen = Screen(name="39", threads_per_cm=case["M_per_cm"], thread_um=case["d_um"])
    assert 1.82 * case["d_um"] * screen.open_area == pytest.approx(case["result_um"], abs=0.01)
    release = case["result_um"] / screen.volume_cm3_m2
    assert MEANINGS["release"].least < release < MEANINGS["release"].most


# -- Geometry


def test_by_hand() -> None:
    # 50/cm, d 50: pitch 200, opening 150, open area 0.5625, D 77.5, volume 43.59.
    screen = Screen(name="50", threads_per_cm=50, thread_um=50)
    assert screen.pitch_um == 200
    assert screen.mesh_opening_um == 150
    assert screen.open_area == 0.5625
    assert screen.thickness_um == pytest.approx(77.5)
    assert screen.volume_cm3_m2 == pytest.approx(43.59375)
    assert screen.threads_per_inch == pytest.approx(127)


@pytest.mark.parametrize(
    ("own", "volume"),
    [
        ({"opening_um": 100}, 0.25 * 77.5),
        ({"fabric_um": 60}, 0.5625 * 60),
        ({"opening_um": 100, "fabric_um": 60}, 0.25 * 60),
        ({"ink_volume_cm3_m2": 19}, 19),
        ({"opening_um": 100, "fabric_um": 60, "ink_volume_cm3_m2": 24}, 24),
    ],
)
def test_the_weavers_own_figures_override(own: dict[str, float], volume: float) -> None:
    screen = Screen(name="50", threads_per_cm=50, thread_um=50, **own)
    assert screen.volume_cm3_m2 == pytest.approx(volume)


@given(count=st.floats(20, 150), share=st.floats(0.1, 0.8))
def test_open_area_and_volume_are_possible(count: float, share: float) -> None:
    screen = Screen(name="any", threads_per_cm=count, thread_um=share * 10_000 / count)
    assert screen.open_area == pytest.approx((1 - share) ** 2)
    # A screen holds no more than its fabric's thickness, the volume of a mesh without threads.
    assert 0 < screen.volume_cm3_m2 < screen.thickness_um


@given(count=st.floats(20, 150), share=st.floats(0.1, 0.4), finer=st.floats(1.05, 2.0))
def test_the_same_mesh_drawn_smaller_carries_less_in_proportion(
    count: float, share: float, finer: float
) -> None:
    # Similar figures: every length is divided by the same number, and so is volume per area.
    assume(count * finer <= 200)
    thread = share * 10_000 / count
    coarse = Screen(name="coarse", threads_per_cm=count, thread_um=thread)
    fine = Screen(name="fine", threads_per_cm=count * finer, thread_um=thread / finer)
    assert fine.volume_cm3_m2 == pytest.approx(coarse.volume_cm3_m2 / finer)


# -- Refusals


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"threads_per_cm": 3}, "4 to 200 threads/cm"),
        ({"threads_per_cm": 225}, "4 to 200 threads/cm"),
        ({"threads_per_cm": float("nan")}, "4 to 200"),
        ({"thread_um": 200}, "thinner than 200 µm"),
        ({"thread_um": 0}, "thinner than 200 µm"),
        ({"opening_um": 0}, "opening_um is 0"),
        ({"opening_um": 200}, "opening_um is 200; .* less than the 200 µm"),
        ({"fabric_um": -1}, "fabric_um is -1"),
        ({"ink_volume_cm3_m2": 0}, "ink_volume_cm3_m2 is 0"),
    ],
)
def test_a_mesh_that_cannot_be_is_refused(fields: dict[str, float], said: str) -> None:
    whole = {"name": "odd", "threads_per_cm": 50, "thread_um": 50, **fields}
    with pytest.raises(InputError, match=said) as refusal:
        Screen(**whole)  # type: ignore[arg-type]
    assert "'odd'" in str(refusal.value)
