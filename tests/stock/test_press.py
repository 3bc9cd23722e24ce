"""A press: the strengths of its inks, their shapes, and where they stand in its covariance."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.common.errors import InputError
from inksim.printing.prediction import predict
from inksim.shop.load import load_shop
from inksim.shop.load_press import press_of
from inksim.shop.press_file import press_text
from inksim.shop.press_schema import PressEntry
from inksim.shop.usual_builds import usual_build
from inksim.stock.ink import Ink
from inksim.stock.press import (
    LEAST_FACTOR,
    MOST_FACTOR,
    MOST_INK_SD_FACTOR,
    MOST_LN_SD,
    MOST_MODEL_SD,
    Parameter,
    Press,
    PressValues,
    Strength,
)
from inksim.stock.spectral_error import SpectralError

AT = np.linspace(0.0, np.pi, BANDS)
SHAPES = 0.2 * np.stack([np.stack([np.cos(AT), np.sin(AT)]), np.stack([np.sin(AT), np.cos(AT)])])
INK = Ink(
    name="Ember",
    kind="color",
    K=0.2 + 0.1 * np.sin(AT),
    S=np.full(BANDS, 0.02),
    solids_by_volume=0.4,
    error=SpectralError(K=0.3, S=0.4, shapes=SHAPES),
)
EMBER = Strength(
    "Ember", Parameter(1.2, 0.1), Parameter(0.8, 0.2), "",
    (Parameter(0.7, 0.6), Parameter(-1.1, 0.9)),
)  # fmt: skip
CHALK = Strength("Chalk", Parameter(0.9, 0.05), Parameter(1.1, 0.04))
SIZE = len(PressValues._fields)


def correlated(count: int) -> tuple[tuple[float, ...], ...]:
    return tuple(map(tuple, (0.9 * np.eye(count) + 0.1).tolist()))


def test_a_strength_moves_its_ink_along_its_shapes_and_back() -> None:
    made = EMBER.printed(INK)
    np.testing.assert_allclose(
        made.K, INK.K * 1.2 * np.exp(0.7 * SHAPES[0, 0] - 1.1 * SHAPES[1, 0]), rtol=1e-12
    )
    np.testing.assert_allclose(
        made.S, INK.S * 0.8 * np.exp(0.7 * SHAPES[0, 1] - 1.1 * SHAPES[1, 1]), rtol=1e-12
    )
    back = EMBER.filed(made)
    np.testing.assert_allclose(back.K, INK.K, rtol=1e-12)
    np.testing.assert_allclose(back.S, INK.S, rtol=1e-12)


def test_a_strength_without_shapes_scales_its_ink() -> None:
    made = CHALK.printed(INK)
    np.testing.assert_allclose(made.K, 0.9 * INK.K)
    np.testing.assert_allclose(made.S, 1.1 * INK.S)


def test_the_covariance_holds_strengths_of_several_sizes() -> None:
    press = Press(name="two", strengths=(EMBER, CHALK), correlation=correlated(SIZE + 6))
    assert [rows.tolist() for rows in press.strength_rows] == [
        [SIZE, SIZE + 1, SIZE + 2, SIZE + 3],
        [SIZE + 4, SIZE + 5],
    ]
    sds = np.sqrt(np.diag(press.covariance))
    np.testing.assert_allclose(sds[SIZE:], [0.1, 0.2, 0.6, 0.9, 0.05, 0.04])
    kept = press.with_strengths(lambda strength: strength.ink == "Chalk")
    rows = [*range(SIZE), SIZE + 4, SIZE + 5]
    np.testing.assert_allclose(kept.covariance, press.covariance[np.ix_(rows, rows)])


def test_a_correlation_without_the_shapes_is_refused() -> None:
    with pytest.raises(InputError, match=rf"symmetric {SIZE + 6} × {SIZE + 6} table"):
        Press(name="two", strengths=(EMBER, CHALK), correlation=correlated(SIZE + 4))


@pytest.mark.parametrize("place", [Parameter(np.nan, 1.0), Parameter(0.0, -1.0)])
def test_an_impossible_place_along_a_shape_is_refused(place: Parameter) -> None:
    with pytest.raises(InputError, match="ink 'Ember' lies at"):
        Press(name="spoiled", strengths=(EMBER._replace(shapes=(place,)),))


@pytest.mark.parametrize("ink", [EMBER, CHALK])
def test_press_toml_keeps_strengths_with_and_without_shapes(ink: Strength) -> None:
    press = Press(name="kept", strengths=(ink,), calibrated=True)
    press = replace(press, correlation=correlated(len(press.covariance)))
    text = press_text('name = "kept"\n', press, version=1, day="2026-01-01", readings=3)
    assert ("shapes" in text) == bool(ink.shapes)
    again = press_of(PressEntry.model_validate(tomllib.loads(text)))
    assert again.strengths == press.strengths
    np.testing.assert_allclose(again.covariance, press.covariance, atol=1e-6)


def test_a_calibration_from_before_a_parameter_predicts_as_it_did() -> None:
    # As an earlier inksim wrote it: no contact and no haze anywhere, and a smaller correlation.
    earlier = list(PressValues._fields[:11])
    press = Press(name="old", strengths=(CHALK,), calibrated=True)
    text = press_text('name = "old"\n', press, version=1, day="2026-01-01", readings=3)
    entry = tomllib.loads(text)
    entry["parameters"] = {
        name: {"value": getattr(press, name).value, "sd": 0.5 * getattr(press, name).sd}
        for name in earlier
    }
    entry["calibration"]["prior"] = {name: entry["calibration"]["prior"][name] for name in earlier}
    entry["calibration"]["correlation"] = correlated(len(earlier) + 2)
    again = press_of(PressEntry.model_validate(entry))
    assert again.values._replace(contact=0.3, surface_haze=0.004) == press.values
    assert (again.contact, again.surface_haze) == (Parameter(0.0, 0.3), Parameter(0.0, 0.004))
    assert again.before.contact == press.contact
    assert again.correlation is not None
    matrix = np.array(again.correlation)
    kept = [*range(len(earlier)), SIZE, SIZE + 1]
    np.testing.assert_allclose(matrix[np.ix_(kept, kept)], correlated(len(kept)))
    np.testing.assert_array_equal(matrix[11:SIZE], np.eye(SIZE + 2)[11:SIZE])


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"model_sd": 1e300}, "model_sd is 1e\\+300; give 0 to 50"),
        ({"model_sd": np.nan}, "model_sd is nan"),
        ({"ink_sd_factor": 1e5}, "ink_sd_factor is 100000; give 0 to 50"),
        ({"strengths": (CHALK._replace(K=Parameter(1e5, 0.1)),)}, "K times 100000"),
        ({"strengths": (CHALK._replace(S=Parameter(1e-9, 0.1)),)}, "S times 1e-09"),
        ({"strengths": (CHALK._replace(K=Parameter(1.0, 1e3)),)}, "its sd 0 to 5"),
        ({"strengths": (EMBER._replace(shapes=(Parameter(1e9, 1.0),)),)}, "along a shape"),
    ],
)
def test_a_calibration_edited_out_of_bounds_is_refused(
    changed: dict[str, object], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        Press(name="edited", **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize("factor", [LEAST_FACTOR, MOST_FACTOR])
def test_within_the_bounds_every_number_is_finite(factor: float) -> None:
    shop = load_shop()
    garment, ink = shop.garment("Coal Black"), shop.ink("Weir Teal")
    wide = Parameter(factor, MOST_LN_SD)
    press = replace(
        shop.press,
        strengths=(Strength(ink.name, wide, wide),),
        model_sd=MOST_MODEL_SD,
        ink_sd_factor=MOST_INK_SD_FACTOR,
    )
    build = usual_build(shop, garment=garment, ink=ink, route="white-base")
    (found,) = predict([build], press=press, target=shop.target("River Teal"))
    interval = found.interval
    assert interval is not None
    assert np.isfinite([*interval.lab_low, *interval.lab_high]).all()
    assert interval.de_high is not None
    assert np.isfinite(interval.de_high)


def test_what_the_model_leaves_is_of_one_size_in_difference() -> None:
    """ISO/CIE 11664-6: one ΔE00 is S_L along L*, S_C along the chroma, S_H across it.

    At L* 50 and hue 0, where nothing is rotated, those are 1, 1 + 0.045 C', 1 + 0.015 C' T.
    """
    chroma = 80.0
    T = 1.0 - 0.17 * np.cos(np.radians(-30)) + 0.24 + 0.32 * np.cos(np.radians(6))
    T -= 0.20 * np.cos(np.radians(-63))
    pink, grey = np.array([50.0, chroma, 0.0]), np.array([50.0, 0.0, 0.0])
    press = Press(name="read", model_sd=0.4, calibrated=True)
    expected = [0.4, 0.4 * (1.0 + 0.045 * chroma), 0.4 * (1.0 + 0.015 * chroma * T)]
    np.testing.assert_allclose(press.left_of(pink), expected, rtol=0.02)
    # a gray's a* counts more than its L*, 1.5 to 1: what is left of it is not taken as smaller
    np.testing.assert_allclose(press.left_of(np.stack([grey, grey])), 0.4, rtol=0.02)
    np.testing.assert_array_equal(replace(press, calibrated=False).left_of(pink), [0.4] * 3)
    assert not replace(press, model_sd=0.0).left_of(pink).any()
