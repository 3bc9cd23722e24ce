"""Solids by volume: from solids by weight and densities, or by kind."""

from __future__ import annotations

import pytest

from inksim.common.errors import InputError
from inksim.stock.solids import solids_of


def test_solids_by_weight_by_hand() -> None:
    # 100 g of an ink of 1.2 g/cm³ are 83.33 cm³; 40 g of it are dry. The 60 g of water were 60 cm³,
    # so 23.33 cm³ stay: 28 % by volume. The same film has 40/23.33 = 1.714 g/cm³.
    wet = solids_of("color", by_weight=0.40, density_g_cm3=1.2)
    assert wet.by_volume == pytest.approx(23.3333 / 83.3333, rel=1e-5)
    assert (wet.sd, wet.assumed) == (0.0, "")
    dry = solids_of("color", by_weight=0.40, density_g_cm3=1.2, dry_density_g_cm3=40 / 23.3333)
    assert dry.by_volume == pytest.approx(wet.by_volume, rel=1e-5)
    other = solids_of("color", by_weight=0.40, density_g_cm3=1.2, volatile_g_cm3=0.9)
    assert other.by_volume == pytest.approx(1 - 66.6667 / 83.3333, rel=1e-5)


def test_solids_by_volume_need_nothing_else() -> None:
    assert solids_of("color", by_volume=0.3) == (0.3, 0.0, "")


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    # common practice, no source: high-solids inks 0.30-0.40, discharge 0.08-0.12
    [("color", 0.30, 0.40), ("white-base", 0.30, 0.40), ("discharge-base", 0.08, 0.12)],
)
def test_solids_nobody_states_are_of_the_kind(kind: str, least: float, most: float) -> None:
    found = solids_of(kind)
    assert least <= found.by_volume <= most
    assert found.sd >= 0.15
    assert "assumed by kind" in found.assumed


def test_weight_without_a_density_is_surer_than_nothing_and_says_what_it_took() -> None:
    found = solids_of("color", by_weight=0.45)
    assert 0 < found.sd < solids_of("color").sd
    assert found.assumed == "density of 1.05 g/cm³ assumed for its solids"
    assert found.by_volume == pytest.approx(1 - 0.55 * 1.05)


def test_solids_that_leave_no_film_are_refused() -> None:
    with pytest.raises(InputError, match=r"10% by weight at 1.3 g/cm³ would be -17% by volume"):
        solids_of("color", by_weight=0.10, density_g_cm3=1.3)
