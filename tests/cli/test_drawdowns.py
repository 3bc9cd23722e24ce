"""From a sheet of drawdowns to inks in a shop, against inks whose K and S are known."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.colour.grid import BANDS, WAVELENGTHS_NM
from inksim.common.errors import InputError
from inksim.drawdowns.files import read_drawdowns
from inksim.drawdowns.to_shop import fit_sheet, merged_entry, solids_of_mixture
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests import reference

NM = WAVELENGTHS_NM
TRUTH: dict[str, tuple[np.ndarray, np.ndarray]] = {
    "Ember": (
        0.004 + 0.12 / (1 + np.exp((NM - 570) / 12)),
        0.012 - 0.000015 * (NM - 400),
    ),
    "Chalk": (
        0.0006 + 0.05 * np.exp(-(NM - 400) / 12),
        0.30 - 0.0003 * (NM - 400),
    ),
}
CARDS = {"black": np.full(BANDS, 0.012), "white": np.full(BANDS, 0.81)}
SHEET: list[tuple[str, dict[str, float], float]] = [
    ("Ember", {"Ember": 1.0}, 12.0),
    ("Ember 20 % + Chalk 80 %", {"Ember": 0.2, "Chalk": 0.8}, 10.0),
    ("Chalk", {"Chalk": 1.0}, 10.0),
]


def reading_of(parts: Mapping[str, float], thickness_um: float, backing: str) -> np.ndarray:
    """The film by the slow twin, which shares no code with the fit."""
    K = sum(c * TRUTH[ink][0] for ink, c in parts.items())
    S = sum(c * TRUTH[ink][1] for ink, c in parts.items())
    card = CARDS[backing]
    return np.array(
        [
            reference.outside(
                reference.over(
                    float(K[w]), float(S[w]), thickness_um, reference.inside(float(card[w]))
                )
            )
            for w in range(BANDS)
        ]
    )


def row(cells: list[str], spectrum: np.ndarray) -> str:
    return ",".join([*cells, *(f"{v:.6f}" for v in spectrum)])


def sheet(
    path: Path,
    *,
    films: list[tuple[str, dict[str, float], float]] = SHEET,
    state_thickness: bool = True,
    words: Mapping[str, str] | None = None,
) -> Path:
    lines = ["name,ink,backing,thickness_um,geometry," + ",".join(f"{nm:.0f}" for nm in NM)]
    lines += [row(["card", "", b, "", "45:0"], card) for b, card in CARDS.items()]
    for at, (recipe, parts, thick) in enumerate(films):
        for backing in CARDS:
            stated = f"{thick:g}" if state_thickness else ""
            called = (words or {}).get(recipe, recipe)
            cells = [f"{at}{backing[0]}", called, backing, stated, "45:0"]
            lines.append(row(cells, reading_of(parts, thick, backing)))
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def done(*words: object) -> Result:
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    return result


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "own")


@pytest.fixture
def drawdowns(tmp_path: Path) -> Path:
    return sheet(tmp_path / "drawdowns.csv")


SOLIDS = ["--solids", "Ember=0.34", "--solids", "Chalk=0.4"]


def test_inks_come_out_with_the_K_and_S_they_have(shop: Path, drawdowns: Path) -> None:
    result = done("characterize", drawdowns, *SOLIDS, "--kind", "Chalk=white-base", "--shop", shop)
    assert "'Ember', 'Chalk'. 'inksim undo' takes them back" in result.stdout
    inks = load_shop(shop).inks
    assert (inks["Ember"].kind, inks["Chalk"].kind) == ("color", "white-base")
    assert (inks["Ember"].solids_by_volume, inks["Ember"].data) == (0.34, "measured")
    for name, (K, S) in TRUTH.items():
        # readings without noise, to 6 decimals; the priors on thickness and strength remain
        np.testing.assert_allclose(inks[name].K, K, rtol=0.05, atol=2e-4)
        np.testing.assert_allclose(inks[name].S, S, rtol=0.05, atol=2e-4)
    source = inks["Ember"].source
    assert source.startswith("drawdowns.csv (45:0): 4 drawdowns, fit within 0.0")


def test_every_drawdown_is_told_and_drawn(shop: Path, drawdowns: Path) -> None:
    result = done("characterize", drawdowns, *SOLIDS, "--shop", shop)
    for recipe, _, _ in SHEET:
        assert f"{recipe} over black" in result.stdout
    chart = (shop / "charts" / "ember-chalk.svg").read_text(encoding="utf-8")
    assert chart.count("<polyline") == 2 * 2 * len(SHEET)
    assert str(shop / "charts" / "ember-chalk.svg") in result.stdout


def test_a_chart_that_cannot_be_written_keeps_the_inks_out(
    shop: Path, drawdowns: Path, tmp_path: Path
) -> None:
    (tmp_path / "taken").mkdir()
    before = (shop / "inks.toml").read_bytes()
    words = ("characterize", drawdowns, *SOLIDS, "--shop", shop, "--chart", tmp_path / "taken")
    result = run(*words)
    assert result.exit_code == 2
    assert result.stderr.strip().endswith("is a folder; name a file to write.")
    assert (shop / "inks.toml").read_bytes() == before


def test_smooth_is_said_where_the_ink_comes_from(shop: Path, drawdowns: Path) -> None:
    done("characterize", drawdowns, *SOLIDS, "--smooth", "--shop", shop)
    assert "smooth over wavelength" in load_shop(shop).inks["Ember"].source


def test_only_the_named_inks_are_written(shop: Path, drawdowns: Path) -> None:
    done("characterize", drawdowns, "--name", "ember", *SOLIDS, "--shop", shop)
    assert "Ember" in load_shop(shop).inks
    assert "Chalk" not in load_shop(shop).inks
    assert (shop / "charts" / "ember.svg").exists()
    done("undo", "--shop", shop)
    assert "Ember" not in load_shop(shop).inks


def test_the_other_spelling_does_the_same(shop: Path, drawdowns: Path) -> None:
    done("characterise", drawdowns, *SOLIDS, "--shop", shop)
    assert "Chalk" in load_shop(shop).inks
    assert "characterise" not in run("--help").stdout


def test_a_file_of_one_ink_gets_its_name_from_outside(shop: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "one.csv", films=SHEET[:1], words={"Ember": "sample 7"})
    done("characterize", path, "--name", "Cinder", "--solids", 0.3, "--shop", shop)
    assert load_shop(shop).ink("Cinder").solids_by_volume == 0.3


def test_replace_gives_a_known_ink_new_K_and_S_and_keeps_the_rest(
    shop: Path, tmp_path: Path
) -> None:
    path = sheet(tmp_path / "one.csv", films=SHEET[:1], words={"Ember": "Kiln Red"})
    refused = run("characterize", path, "--shop", shop)
    assert refused.exit_code == 2
    assert "already has the ink 'Kiln Red'; give --replace" in refused.stderr
    before = load_shop(shop).ink("Kiln Red")
    done("characterize", path, "--replace", "--shop", shop)
    after = load_shop(shop).ink("Kiln Red")
    np.testing.assert_allclose(after.K, TRUTH["Ember"][0], rtol=0.05, atol=2e-4)
    assert after.data == "measured"
    assert (after.price_per_kg, after.solids_by_volume, after.density_g_cm3) == (
        before.price_per_kg, before.solids_by_volume, before.density_g_cm3,
    )  # fmt: skip


def test_an_ink_of_a_look_loses_it_when_it_gets_K_and_S() -> None:
    old = {"name": "x", "hex": "#123456", "film_um": 6.0, "price_per_kg": 3.0}
    entry = merged_entry(old, {"K": [1.0], "S": [1.0]}, {"kind": None})
    assert entry == {"name": "x", "price_per_kg": 3.0, "K": [1.0], "S": [1.0]}


# -- thickness and recipes


def test_a_wet_film_is_the_dry_one_over_the_solids(tmp_path: Path) -> None:
    """By hand: 40 µm wet at 30 % solids is 12 µm dry; of 20 and 80 parts dry at 0.2 and 0.4,

    20/0.2 + 80/0.4 = 300 wet parts leave 100 dry: a third.
    """
    assert solids_of_mixture({"a": 1.0}, {"a": 0.3}) == pytest.approx(0.3)
    assert solids_of_mixture({"a": 0.2, "b": 0.8}, {"a": 0.2, "b": 0.4}) == pytest.approx(1 / 3)
    path = sheet(tmp_path / "wet.csv", films=SHEET[:1], state_thickness=False)
    found = fit_sheet(read_drawdowns([path]), wet_film_um=40.0, solids={"Ember": 0.3})
    np.testing.assert_allclose(found.inks["Ember"].S, TRUTH["Ember"][1], rtol=0.05)


def test_grams_are_turned_into_dry_volume(tmp_path: Path) -> None:
    """The sheet's 20 : 80 by dry volume, weighed: volume / solids · density."""
    solids, density = {"Ember": 0.30, "Chalk": 0.40}, {"Ember": 1.05, "Chalk": 1.40}
    grams = {ink: part / solids[ink] * density[ink] for ink, part in SHEET[1][1].items()}
    weighed = " + ".join(f"{ink} {g:.5f} g" for ink, g in grams.items())
    by_mass = sheet(tmp_path / "mass.csv", words={SHEET[1][0]: weighed})
    by_volume = sheet(tmp_path / "volume.csv")
    one = fit_sheet(read_drawdowns([by_mass]), densities=density, solids=solids)
    two = fit_sheet(read_drawdowns([by_volume]))
    for ink in TRUTH:
        np.testing.assert_allclose(one.inks[ink].K, two.inks[ink].K, rtol=1e-3)
    with pytest.raises(InputError, match="in grams, but the solids of 'Ember' is not known; give"):
        fit_sheet(read_drawdowns([by_mass]), densities=density)


def test_without_any_thickness_nothing_is_written_but_all_is_shown(
    shop: Path, tmp_path: Path
) -> None:
    path = sheet(tmp_path / "x.csv", state_thickness=False)
    before = (shop / "inks.toml").read_bytes()
    result = run("characterize", path, *SOLIDS, "--shop", shop)
    assert result.exit_code == 2
    assert "give --thickness (dry, µm) or --wet-film" in result.stderr
    assert (shop / "inks.toml").read_bytes() == before
    shown = done("characterize", path, "--dry-run", "--json")
    document = json.loads(shown.stdout)
    assert document["unit"] == "film"
    assert document["written"] is None
    done("characterize", path, *SOLIDS, "--thickness", 10, "--shop", shop)


def test_json_has_the_fit_and_its_errors(shop: Path, drawdowns: Path) -> None:
    document = json.loads(done("characterize", drawdowns, *SOLIDS, "--shop", shop, "--json").stdout)
    assert set(document["inks"]) == {"Ember", "Chalk"}
    ember = document["inks"]["Ember"]
    assert {len(ember[k]) for k in ("K", "S", "K_error", "S_error", "K_known")} == {BANDS}
    assert document["written"] == str(shop / "inks.toml")
    written: dict[str, Any] = tomllib.loads((shop / "inks.toml").read_text(encoding="utf-8"))
    assert written["ink"][-2]["K"] == ember["K"]
    for ink in load_shop(shop).inks.values():  # the light of the films; the demo shop's have none
        assert (ink.directness != 0.0) is (ink.name in ("Ember", "Chalk"))
    assert all(d["delta_e"] < 0.2 for d in document["drawdowns"])


def test_a_new_look_takes_the_directness_of_the_old_films_away(shop: Path, drawdowns: Path) -> None:
    done("characterize", drawdowns, *SOLIDS, "--shop", shop)
    done("add", "ink", "--name", "Ember", "--kind", "color", "--hex", "#c04020", "--solids", "0.34",
         "--replace", "--shop", shop)  # fmt: skip
    fresh, chalk = (load_shop(shop).inks[name] for name in ("Ember", "Chalk"))
    assert fresh.directness == 0.0
    assert chalk.directness != 0.0


# -- what the sheet says of itself, and what goes into the entry

FOUR = [*SHEET, ("Ember 50 % + Chalk 50 %", {"Ember": 0.5, "Chalk": 0.5}, 10.0)]


def test_what_was_left_out_is_told_everywhere(shop: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "x.csv", films=FOUR)
    told = done("characterize", path, *SOLIDS, "--shop", shop).stdout
    assert "Recipes that were left out of the fit are predicted within 0." in told
    assert "Verdict on the sheet: good." in told
    assert ", left out within 0." in load_shop(shop).inks["Ember"].source
    check = json.loads(done("characterize", path, "--dry-run", "--json").stdout)["check"]
    assert (check["good"], check["verdict"], check["again"]) == (True, "good", [])
    assert {each["name"] for each in check["recipes"]} == {recipe for recipe, _, _ in FOUR}
    assert check["left_out_delta_e"] == pytest.approx(
        np.mean([each["delta_e"] for each in check["recipes"]]), abs=1e-3
    )


def test_the_errors_of_the_fit_stand_in_the_entry(shop: Path, drawdowns: Path) -> None:
    """Three figures, a spectrum a line; what is loaded is what was written."""
    done("characterize", drawdowns, *SOLIDS, "--shop", shop)
    text = (shop / "inks.toml").read_text(encoding="utf-8")
    entry = text[text.index('name = "Ember"') : text.index('name = "Chalk"')]
    shapes = entry[entry.index("error = {") :]
    assert 2 <= shapes.count("\n  [[") <= 6
    assert len(entry.splitlines()) < 30
    error = load_shop(shop).inks["Ember"].error
    assert error is not None
    written = tomllib.loads(text)["ink"][-2]["error"]["shapes"]
    np.testing.assert_array_equal(error.shapes, written)
    assert all(float(f"{v:.3g}") == v for v in np.ravel(written))
    assert (error.K, error.S) == (0.025, 0.035)


def test_a_thickness_typed_wrong_is_named_and_not_saved_unless_it_is_said(
    shop: Path, tmp_path: Path
) -> None:
    """Chalk's 30 µm typed as 3."""
    path = sheet(tmp_path / "x.csv", films=[*FOUR[:2], FOUR[3], ("Chalk", {"Chalk": 1.0}, 30.0)])
    path.write_text(path.read_text().replace(",30,45:0", ",3,45:0"))
    before = (shop / "inks.toml").read_bytes()
    result = run("characterize", path, *SOLIDS, "--shop", shop)
    assert result.exit_code == 2
    said = "read this film again: Chalk over black (3b) and Chalk over white (3w), because it fits"
    assert said in result.stdout
    assert said in result.stderr
    assert " not 3: the thickness is mistyped" in result.stderr
    assert (shop / "inks.toml").read_bytes() == before
    done("characterize", path, *SOLIDS, "--anyway", "--shop", shop)
    ink = load_shop(shop).inks["Chalk"]
    assert "saved although: read this film again: Chalk over black" in ink.source
    assert ink.error is not None
    assert np.median(ink.error.total()[1]) > 0.3


def test_an_ink_read_once_is_not_measured(shop: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "once.csv", films=SHEET[:1])
    path.write_text(
        "\n".join(row for row in path.read_text().splitlines() if ",Ember,black," not in row)
    )
    result = done("characterize", path, "--solids", 0.3, "--shop", shop)
    assert "nothing speaks against it, but no film tests another" in result.stdout
    ink = load_shop(shop).inks["Ember"]
    assert ink.data == "recovered"
    assert "one reading, absorption and scattering not told apart" in ink.source
    assert "scattering not known at all bands" in ink.source
    assert ink.error is not None
    assert ink.error.total()[1].min() > 0.9


def test_a_part_that_is_no_number_is_refused_with_its_sample_and_column(tmp_path: Path) -> None:
    path = sheet(tmp_path / "parts.csv")
    head, *rows = path.read_text().splitlines()
    path.write_text(
        "\n".join(
            [f"{head},ink: Ember", *(f"{each},{'NaN' if at == 2 else 1}"
             for at, each in enumerate(rows))]
        ).replace(",ink,", ",series,")
    )  # fmt: skip
    with pytest.raises(InputError, match=r"sample '0b': 'NaN' in column 'ink: Ember' is not a num"):
        read_drawdowns([path])


# -- what is refused, and what is warned of


def test_a_film_that_hides_is_warned_of(shop: Path, tmp_path: Path) -> None:
    thick = [("Chalk", {"Chalk": 1.0}, 200.0), ("Chalk", {"Chalk": 1.0}, 180.0)]
    path = sheet(tmp_path / "thick.csv", films=thick)
    result = done("characterize", path, "--solids", 0.4, "--shop", shop)
    assert "warning: Chalk hides" in result.stderr
    assert "thinner film or a tint with white" in result.stderr


def test_an_ink_that_glows_is_not_written_with_a_straight_face(shop: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "glow.csv")
    lines = path.read_text().splitlines()
    for at in (3, 4):  # the masstone's readings
        cells = lines[at].split(",")
        for w in range(20, 26):  # 600-650 nm
            cells[5 + w] = f"{float(cells[5 + w]) + 0.35:.6f}"
        lines[at] = ",".join(cells)
    path.write_text("\n".join(lines))
    result = run("characterize", path, *SOLIDS, "--shop", shop)
    assert result.exit_code == 2
    assert "read this film again: Ember over black (0b) and Ember over white (0w)" in result.stderr
    assert "without fluorescence" in result.stderr


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "need the solids of 'Ember'"),
        (["--name", "Embre", *SOLIDS], "no ink 'Embre' in drawdowns.csv; did you mean 'Ember'"),
        ([*SOLIDS, "--solids", "Cinder=0.3"], "no ink 'Cinder' in drawdowns.csv"),
        (["--solids", "much"], "--solids: 'much' is no number above 0"),
        (["--solids", "34"], "must be at most 1"),
        ([*SOLIDS, "--kind", "base"], "--kind: 'base' is none of color, white-base"),
        (
            [*SOLIDS, "--thickness", "10", "--wet-film", "30"],
            "the dry thickness or the wet film, not both",
        ),
    ],
)
def test_bad_input_is_one_message_and_changes_nothing(
    shop: Path, drawdowns: Path, words: list[str], message: str
) -> None:
    before = sorted((p.name, p.read_bytes()) for p in shop.glob("*.toml"))
    result = run("characterize", drawdowns, *words, "--shop", shop)
    assert result.exit_code == 2
    assert message in result.stderr
    assert sorted((p.name, p.read_bytes()) for p in shop.glob("*.toml")) == before
    assert not (shop / "charts").exists()


def test_the_demo_shop_is_not_written_to(drawdowns: Path) -> None:
    result = run("characterize", drawdowns, *SOLIDS)
    assert result.exit_code == 2
    assert "'inksim new DIR'" in result.stderr


def test_what_nobody_states_of_a_new_ink_is_said_and_what_is_stated_is_saved(
    shop: Path, drawdowns: Path
) -> None:
    """Kind, price and density are no reading: each is an option, and said where it is not given."""
    result = run(
        "characterize", drawdowns, "--solids", 0.34, "--price", "Ember=31.5", "--kind",
        "Chalk=white-base", "--density", "Ember=1.2", "--shop", shop,
    )  # fmt: skip
    assert result.exit_code == 0, result.stderr
    ember, chalk = (load_shop(shop).ink(name) for name in ("Ember", "Chalk"))
    assert (ember.kind, ember.price_per_kg, ember.density_g_cm3) == ("color", 31.5, 1.2)
    assert (chalk.kind, chalk.price_per_kg) == ("white-base", None)
    assert "note: Ember: taken as an ink of a color; --kind" in result.stderr
    assert "note: Chalk: price not known, left out of costs; --price" in result.stderr
    assert "note: Chalk: density taken as usual; --density" in result.stderr
    assert "note: Ember: price" not in result.stderr
