"""Readings of prints: how sure each is, by what it was read with and by its repeats; their lots."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.calibration.checks import contradictions
from inksim.calibration.fit import reading_noise
from inksim.calibration.print_reading import READ_BY, PrintReading, repeated_sd
from inksim.calibration.print_rows import PrintRow, read_print_rows, reading_of
from inksim.calibration.reading_model import reading_model
from inksim.common.errors import InputError
from inksim.shop.load import load_shop
from tests.press_worlds import build_of, study_shop

SHOP = load_shop()
HEAD = "name,garment,ink,route,L,a,b"
PRINT = "Flour White,Kiln Red,straight"


def read(text: str, **said: object) -> tuple[PrintRow, ...]:
    return read_print_rows(text.encode(), shop=SHOP, name="prints.csv", **said).rows


def a_reading(**fields: object) -> PrintReading:
    build = build_of("Flour White", "Kiln Red", "straight")
    return PrintReading(name="a", build=build, **{"lab": np.array([45.0, 55.0, 35.0]), **fields})  # type: ignore[arg-type]


# -- How sure a reading is


def test_a_mean_of_many_is_surer_with_an_instrument_and_not_by_eye() -> None:
    one, many = (a_reading(weight=weight).off_de00 for weight in (1.0, 25.0))
    assert many == pytest.approx(one / 5.0)
    by_eye = [a_reading(read_by="eye", weight=weight).off_de00 for weight in (1.0, 1e6)]
    assert by_eye[0] == pytest.approx(3.0, abs=0.1)
    assert by_eye[1] == pytest.approx(READ_BY["eye"].always, rel=1e-3)
    assert a_reading(read_by="camera").off_de00 == pytest.approx(2.0, abs=0.1)


def test_what_a_reading_says_of_itself_goes_before_the_table() -> None:
    assert a_reading(read_by="eye", sd_de00=1.5, weight=4.0).off_de00 == 1.5
    assert a_reading(read_by="old densitometer", sd_de00=4.0).off_de00 == 4.0


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"read_by": "densitometer"}, "give sd_de00 with it.*instrument, camera, eye"),
        ({"sd_de00": 0.0}, "sd_de00 is 0; .* above 0 and at most 30"),
        ({"sd_de00": np.nan}, "sd_de00 is nan"),
        ({"sd_de00": 31.0}, "sd_de00 is 31"),
    ],
)
def test_a_reading_of_which_nobody_knows_how_sure_it_is_is_refused(
    fields: dict[str, object], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        a_reading(**fields)


def test_a_readings_noise_is_as_wide_as_it_says() -> None:
    plain, wide = (
        reading_noise(reading_model([a_reading(sd_de00=sd)], study_shop().press))
        for sd in (0.5, 2.0)
    )
    np.testing.assert_allclose(wide, 16.0 * plain)


def test_repeats_tell_how_sure_their_mean_is() -> None:
    # Drawn repeats of a known spread: with many, the sd of the mean is that over the root of their
    # number, whatever the table says; with two it stays near the table's.
    rng = np.random.default_rng(3)
    true = 2.0 / np.sqrt(8.0 / np.pi)  # of each axis, for a mean length of 2
    drawn = rng.normal(size=(400, 3)) * true
    apart = np.linalg.norm(drawn - drawn.mean(axis=0), axis=1)
    many = repeated_sd(apart, read_by="instrument", weights=np.ones(400))
    assert many == pytest.approx(2.0 / np.sqrt(400.0), rel=0.06)
    alike = repeated_sd(np.zeros(2), read_by="instrument", weights=np.ones(2))
    table = READ_BY["instrument"].of_mean(2.0)
    assert 0.85 * table < alike < table


# -- In a file


def test_columns_say_how_sure_a_reading_is_and_of_which_lots() -> None:
    text = (
        f"{HEAD},read_by,sd_de00,weight,garment_lot,ink_lot,base_lot\n"
        f"a,{PRINT},45,55,35,Eye,,,,,\n"
        f"b,{PRINT},45,55,35,,0.8,3,A-17,3rd bucket,\n"
        f"c,{PRINT},45,55,35,,,,,,\n"
    )
    a, b, c = read(text)
    assert (a.read_by, a.sd_de00, a.garment_lot) == ("eye", None, "")
    assert (b.read_by, b.sd_de00, b.weight) == ("instrument", 0.8, 3.0)
    assert (b.garment_lot, b.ink_lot, b.base_lot) == ("A-17", "3rd bucket", "")
    assert (c.read_by, c.sd_de00) == ("instrument", None)
    found = reading_of(b, shop=SHOP)
    assert (found.off_de00, found.lots, found.garment_lot) == (0.8, ("3rd bucket",), "A-17")


def test_what_is_said_of_all_rows_holds_where_a_row_says_nothing() -> None:
    text = f"{HEAD},read_by\na,{PRINT},45,55,35,\nb,{PRINT},45,55,35,instrument\n"
    a, b = read(text, read_by="camera", sd_de00=1.4)
    assert (a.read_by, a.sd_de00) == ("camera", 1.4)
    assert (b.read_by, b.sd_de00) == ("instrument", None)


def test_rows_of_one_name_are_as_sure_as_they_agree() -> None:
    near = "".join(f"a,{PRINT},{45 + d},55,35\n" for d in (-0.1, 0.0, 0.1))
    far = "".join(f"a,{PRINT},{45 + d},55,35\n" for d in (-4.0, 0.0, 4.0))
    (sure,), (unsure,) = read(f"{HEAD}\n{near}"), read(f"{HEAD}\n{far}")
    assert (sure.weight, unsure.weight) == (3.0, 3.0)
    assert sure.sd_de00 is not None
    assert unsure.sd_de00 is not None
    assert sure.sd_de00 < READ_BY["instrument"].of_mean(3.0) < 1.0 < unsure.sd_de00


def test_repeats_that_each_say_their_sd_are_averaged() -> None:
    lines = "".join(f"a,{PRINT},45,55,35,1.2\n" for _ in range(4))
    (row,) = read(f"{HEAD},sd_de00\n{lines}")
    assert row.sd_de00 == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("column", "one", "two"), [("ink_lot", "A", "B"), ("read_by", "eye", "instrument")]
)
def test_repeats_are_of_one_lot_and_read_alike(column: str, one: str, two: str) -> None:
    text = f"{HEAD},{column}\na,{PRINT},45,55,35,{one}\na,{PRINT},45,55,35,{two}\n"
    with pytest.raises(InputError, match="are of different prints"):
        read(text)


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("read_by", "densitometer", "sample 'a': read_by is 'densitometer'; give sd_de00"),
        ("sd_de00", "-1", "sd_de00 is '-1'; give a number above 0"),
        ("sd_de00", "90", "sd_de00 is 90"),
    ],
)
def test_a_bad_column_is_told_with_its_sample(column: str, value: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(f"{HEAD},{column}\na,{PRINT},45,55,35,{value}\n")


# -- Two readings of one build


def test_unsure_readings_contradict_each_other_only_when_far_apart() -> None:
    def pair(dL: float, **fields: object) -> int:
        other = a_reading(lab=np.array([45.0 + dL, 55.0, 35.0]), **fields)
        return len(contradictions((a_reading(**fields), other)))

    assert pair(5.0) == 1
    assert pair(5.0, read_by="eye") == 0
    assert pair(25.0, read_by="eye") == 1
    one, two = a_reading(ink_lot="A"), a_reading(ink_lot="B", lab=np.array([50.0, 55.0, 35.0]))
    assert contradictions((one, two)) == ()  # other lots are other prints
