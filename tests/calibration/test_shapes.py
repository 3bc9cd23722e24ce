"""Calibration of inks known by no reading: shapes, honest noise, lots, and how long it takes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.calibration.press_estimate import Calibration, calibrate, printed
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.reading_model import reading_model
from inksim.colour.viewing import lab
from inksim.printing.build import Build
from inksim.printing.uncertainty import spread
from inksim.stock.press import PressValues
from inksim.stock.provenance import CLOTH_KS_SD, INK_K_SD
from tests.press_worlds import (
    D50,
    World,
    all_builds,
    build_of,
    known_by,
    noisy,
    of_other_shapes,
    press_only,
    six_prints,
    study_shop,
    whole_prior,
)

PRESS = study_shop().press
SIX = known_by("invented", six_prints())
OTHERS = known_by("invented", [b for b in all_builds()[::9] if b not in six_prints()])


def read(world: World, builds: list[Build], *, off_de00: float, seed: int) -> list[PrintReading]:
    spectra = noisy(world.prints(builds), np.random.default_rng(seed), off_de00=off_de00)
    return [
        PrintReading(name=f"print {at}", build=build, reflectance=spectrum, sd_de00=off_de00)
        for at, (build, spectrum) in enumerate(zip(builds, spectra, strict=True))
    ]


def test_honest_noise_widens_intervals_that_hold_and_the_shapes_errors_are_right() -> None:
    # The same six prints read with 0.5 and with 2 ΔE00 of noise, each as it says. Cover differs by
    # 0.07 from press to press: of six it is known to 0.03. Of inks that were not read an interval
    # is as wide as the others let expect (κ), which surer readings may well find larger.
    covers: dict[float, list[float]] = {0.5: [], 2.0: []}
    widths: dict[float, list[float]] = {0.5: [], 2.0: []}
    scores = []
    for seed in range(6):
        world, places = of_other_shapes(np.random.default_rng(400 + seed), [*SIX, *OTHERS])
        truth = lab(world.prints(OTHERS), D50)
        for off, cover in covers.items():
            readings = read(world, SIX, off_de00=off, seed=seed)
            found = calibrate(readings, press=PRESS).press
            seen = spread([printed(b, press=found) for b in OTHERS], press=found, viewing=D50)
            cover.append(float(np.mean((truth >= seen.lab_low) & (truth <= seen.lab_high))))
            colours = {strength.ink for strength in found.strengths}
            known = np.array([build.colour.ink.name in colours for build in OTHERS])
            widths[off].append(float(np.mean((seen.lab_high - seen.lab_low)[known])))
            for strength in found.strengths:
                for place, true in zip(strength.shapes, places[strength.ink][2:], strict=True):
                    scores.append((place.value - true) / place.sd)
    assert np.all(np.array(widths[2.0]) >= np.array(widths[0.5]))
    for cover in covers.values():
        assert 0.85 - 0.035 <= np.mean(cover) <= 0.95 + 0.035
    assert 0.85 < np.sqrt(np.mean(np.square(scores))) < 1.15


def test_many_prints_of_an_ink_find_its_shape() -> None:
    builds = known_by(
        "invented",
        [
            build_of(garment, "Weir Teal", "straight", passes=passes, screen=screen)
            for garment in ("Flour White", "Mist Gray", "Oat Natural")
            for passes in (1, 2)
            for screen in ("160", "230")
        ],
    )
    world, places = of_other_shapes(np.random.default_rng(8), builds)
    found = calibrate(read(world, builds, off_de00=0.2, seed=1), press=PRESS).press
    (strength,) = found.strengths
    filed = builds[0].layers[0].ink
    made = strength.printed(filed)
    truth = world.stocked(builds)[0].layers[0].ink
    true = places["Weir Teal"]
    assert len(strength.shapes) == len(true) - 2
    assert min(place.sd for place in strength.shapes) < 0.4
    # where it absorbs, K is nearer to the truth's, up to the strength that the press may share
    bands = 0.2 * filed.K.max() < filed.K
    before, after = (np.std(np.log(ink.K / truth.K)[bands]) for ink in (filed, made))
    assert after < 0.5 * before


def test_the_slopes_of_shapes_are_those_of_small_steps() -> None:
    world, _ = of_other_shapes(np.random.default_rng(2), SIX)
    model = reading_model(read(world, SIX, off_de00=0.5, seed=0), PRESS)
    u = np.random.default_rng(0).normal(size=model.unknowns.size) * 0.3
    h = 1e-4
    both = [model.lab(u + sign * h * np.eye(u.size)) for sign in (1, -1)]
    expected = np.moveaxis((both[0] - both[1]) / (2 * h), 0, -1)
    np.testing.assert_allclose(model.jacobian(u), expected, atol=5e-3)
    assert "shape 1 of Kiln Red" in model.unknowns.labels


# -- Lots


def two_lots(named: bool) -> Calibration:
    """One ink in a strong and a weak lot, 10 % either way, each on eight prints."""
    builds = [
        build_of(garment, "Kiln Red", "straight", passes=passes)
        for garment in ("Flour White", "Mist Gray", "Oat Natural", "Pebble Heather")
        for passes in (1, 2)
    ]
    world = press_only(np.random.default_rng(4))
    readings = []
    for at, (lot, factor) in enumerate((("A", 1.1), ("B", 0.9))):
        here = replace(world, inks={**world.inks, "Kiln Red": (factor, 1.0)})
        for reading in read(here, builds, off_de00=0.3, seed=at):
            name = f"{reading.name} {lot}"
            readings.append(replace(reading, name=name, ink_lot=lot if named else ""))
    return calibrate(readings, press=PRESS, keep_all=True)


def test_lots_of_an_ink_have_their_own_strength_and_share_the_inks() -> None:
    named, not_named = two_lots(True), two_lots(False)
    assert named.medians["after"] < 0.6 * not_named.medians["after"]
    # what the model leaves is not blamed for what the lots differ by
    assert named.press.model_sd < 0.5 * not_named.press.model_sd
    (strength,) = named.press.strengths
    assert len(named.press.covariance) == len(PressValues._fields) + 2  # no lot is kept
    # two lots know the ink no better than their spread lets them
    assert strength.K.value == pytest.approx(1.0, abs=0.1)


def test_one_lot_alone_leaves_the_ink_as_unsure_as_lots_are() -> None:
    world = whole_prior(np.random.default_rng(6))
    readings = read(world, list(six_prints()), off_de00=0.5, seed=2)
    of_lot = [replace(reading, ink_lot="A", garment_lot="7") for reading in readings]
    plain, named = (calibrate(each, press=PRESS).press for each in (readings, of_lot))
    for one, other in zip(plain.strengths, named.strengths, strict=True):
        assert one.ink == other.ink
    model = reading_model(of_lot, PRESS)
    lots = {part.name: part for part in model.unknowns.parts if part.kind.endswith("lot")}
    assert lots["Kiln Red, lot A"].scale[0] == INK_K_SD["measured"]
    assert lots["Coal Black, lot 7"].scale[0] == CLOTH_KS_SD["measured"]
    assert not np.any([model.unknowns.kept[lot.columns].any() for lot in lots.values()])
    # the base has no lot of its own: only the colors' are named
    assert not any(name.startswith("Chalk White Base") for name in lots)
