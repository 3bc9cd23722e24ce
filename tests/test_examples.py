"""The worked scripts of docs/examples: each runs, and says what something else confirms.

What they are held against: `tests.reference`, the model written out line by line in plain Python;
the closed form of a film over a backing (Kubelka, J. Opt. Soc. Am. 38 (1948) 448), which inksim
computes another way; the numbers that the invented data were made with; the command line.
"""

from __future__ import annotations

import ast
import json
import re
import runpy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

import inksim
from inksim.calibration.print_rows import read_print_rows, reading_of
from inksim.cli.commands import main
from inksim.colour.lights import weights, white_xyz
from inksim.optics import external_from_internal, internal_from_external
from tests import reference
from tests.test_rooms import PACKAGE, face, imported
from tools.make_demo_readings import world

EXAMPLES = Path(__file__).parent.parent / "docs" / "examples"
SCRIPTS = sorted(EXAMPLES.glob("*.py"))
Run = Callable[[str], tuple[dict[str, Any], str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the script of a number: what it left in its names, and what it printed."""

    def one(number: str) -> tuple[dict[str, Any], str]:
        (path,) = EXAMPLES.glob(f"{number}_*.py")
        names = runpy.run_path(str(path))
        return names, capsys.readouterr().out

    return one


def literal(build: inksim.Build, press: inksim.Press) -> tuple[list[float], list[float]]:
    """Reflectance and Lab (D50/2°) of a build, by the reference."""
    spectrum = reference.swatch(build, press.values)
    seen = reference.xyz(spectrum, weights("D50", 2))
    return spectrum, reference.lab(seen, list(white_xyz("D50", 2)))


def closed_form(K: Any, S: Any, um: float, backing: Any) -> Any:
    """Kubelka 1948, equation for R with hyperbolic cotangent; S and um above 0."""
    a = 1.0 + K / S
    b = np.sqrt(a * a - 1.0)
    coth = 1.0 / np.tanh(b * S * um)
    return (1.0 - backing * (a - b * coth)) / (a - backing + b * coth)


def test_there_are_six_and_each_is_short() -> None:
    assert [path.name[:2] for path in SCRIPTS] == ["01", "02", "03", "04", "05", "06"]
    for path in SCRIPTS:
        text = path.read_text("utf-8")
        assert len(text.splitlines()) <= 70
        assert ast.get_docstring(ast.parse(text)), path.name


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_it_goes_through_the_front_door_or_the_face_of_a_room(path: Path) -> None:
    for each in imported("ui.outside", path):
        room, _, deeper = each.module.partition(".")
        assert not deeper, each
        assert each.name in (face(room, PACKAGE) if room else {"", *inksim.__all__}), each


def test_a_first_prediction_takes_one_import_and_six_lines(run: Run) -> None:
    path = EXAMPLES / "01_one_prediction.py"
    code = [line for line in path.read_text("utf-8").splitlines() if line.strip()][1:]
    assert [line for line in code if "import" in line] == ["import inksim"]
    assert len(code) - 1 <= 6
    names, said = run("01")
    seen = names["seen"]
    spectrum, lab = literal(seen.build, names["shop"].press)
    np.testing.assert_allclose(seen.reflectance, spectrum, rtol=0, atol=1e-10)
    wanted = names["shop"].target("#e8622c").lab_d50
    off = reference.delta_e_2000(list(wanted), lab)
    assert f"ΔE00 {off:.1f}" in said
    words = ["--garment", "Coal Black", "--ink", "Lantern Orange", "--route", "white-base"]
    told = CliRunner().invoke(main, ["predict", *words, "--target", "#e8622c", "--json"])
    (over_white,) = json.loads(told.stdout)["predictions"]
    assert said.startswith(over_white["hex"])
    assert f"{over_white['interval_90']['ciede2000'][1]:.1f}" in said


def test_mesh_against_color(run: Run) -> None:
    names, said = run("02")
    meshes, prints, press = names["meshes"], names["prints"], names["shop"].press
    assert len(said.splitlines()) == len(meshes) + 2 >= 8
    for mesh, seen in zip(meshes, prints, strict=True):
        np.testing.assert_allclose(seen.lab, literal(seen.build, press)[1], rtol=0, atol=1e-8)
        # One stroke leaves a share of what the mesh holds, and its solids stay.
        dry = mesh.volume_cm3_m2 * press.release.value * names["blue"].solids_by_volume
        assert seen.film_um == pytest.approx(dry)
    assert np.all(np.diff([mesh.threads_per_inch for mesh in meshes]) > 0)
    assert np.all(np.diff([seen.film_um for seen in prints]) < 0)
    assert np.all(np.diff([seen.lab[0] for seen in prints]) > 0), "less ink, paler on white"
    ends = [list(prints[0].lab), list(prints[-1].lab)]
    assert f"ΔE00 {reference.delta_e_2000(*ends):.1f}." in said


def test_an_ink_from_drawdowns_is_the_one_that_the_films_were_made_of(run: Run) -> None:
    names, said = run("03")
    fit, K, S = names["fit"], names["TRUE_K"]["Red"], names["TRUE_S"]["Red"]
    assert fit.K_known.sum() >= 25
    off = np.abs(np.log(fit.K / K))[fit.K_known]
    assert np.median(off) < 0.05
    assert off.max() < 0.25
    off = np.abs(np.log(fit.S / S))[fit.S_known]
    assert np.median(off) < 0.10
    mixed = [
        0.5 * table["Red"] + 0.5 * table["White"] for table in (names["TRUE_K"], names["TRUE_S"])
    ]
    card = internal_from_external(np.full(31, 0.80))  # of the 'white' that the script names
    true = external_from_internal(closed_form(*mixed, 18.0, card))
    viewing = inksim.Viewing()
    assert inksim.delta_e_2000(*(inksim.lab(R, viewing) for R in (true, names["again"]))) < 0.6
    assert re.findall(r"^(.*) on Mist Gray: #", said, flags=re.M) == ["straight", "white-base"]


def test_a_press_calibrated_comes_nearer_to_the_one_that_printed(run: Run) -> None:
    names, said = run("04")
    found, shop, made = names["found"], names["shop"], world().press
    table = read_print_rows(shop.folder / "readings" / "first-prints.csv", shop=shop)
    same = [reading_of(row, shop=shop) for row in table.rows]
    assert [(r.what, tuple(r.lab)) for r in names["readings"]] == [
        (r.what, tuple(r.lab)) for r in same
    ]
    assert f"7 readings, median ΔE00 {found.medians['before']:.1f} before" in said
    assert found.medians["after"] < found.medians["before"] / 3
    for each in found.parameters:
        if each.name in ("release", "pass_gain", "cv_cloth"):
            true = getattr(made, each.name)
            assert each.told
            assert abs(each.after.value - true) < abs(each.before.value - true)
            assert f"{each.name}: {each.before.value:.2f}, now" in said
    before, after = names["widths"]
    assert after < before / 2


def test_a_job_decided_lands_and_its_ticket_says_how(run: Run) -> None:
    names, said = run("05")
    job, answer, shop = names["job"], names["answer"], names["shop"]
    assert [each.garment.name for each in answer.garments] == [g.name for g in job.garments]
    for each in answer.garments:
        assert each.best.stations <= job.press.stations
        for plan in each.best.plans:
            _, lab = literal(plan.build, shop.press)
            off = reference.delta_e_2000(list(plan.colour.target.lab_d50), lab)
            assert (off <= job.colours[0].tolerance) == plan.nominal
            assert f"{each.garment.name}: {plan.verdict.short}; weakest" in said
    ticket = names["ticket"]
    _, _, written = said.partition("PRESS TICKET")
    assert "Mist Gray" in written
    (grey,) = (each.job for each in answer.garments if each.garment.name == "Mist Gray")
    assert f"{grey.quantity} prints" in written
    for number, screen in enumerate(ticket.screens, start=1):
        row = rf"^{number}\s+{screen.ink.name}\s+{screen.screen.threads_per_inch:.0f} /in"
        assert re.search(row, written, flags=re.M)


def test_a_film_of_ones_own_is_the_closed_form(run: Run) -> None:
    names, said = run("06")
    K, S, read, cards = (names[key] for key in ("K", "S", "read", "cards"))
    for um, film in zip(names["thickness_um"], read, strict=True):
        true = external_from_internal(cards if um == 0 else closed_form(K, S, um, cards))
        np.testing.assert_allclose(film, true, rtol=0, atol=1e-9)
    np.testing.assert_allclose(read[0], np.array([[0.04], [0.85]]) * np.ones(31), atol=1e-12)
    assert np.all(np.diff(names["hiding"]) < 0), "the more of it, the less the card shows"
    assert len(said.splitlines()) == len(read)
