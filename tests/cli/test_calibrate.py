"""inksim calibrate, press and history: what they write, say, refuse, and take back."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from inksim.calibration.history import add_rows, rows_kept, to_csv
from inksim.calibration.print_rows import PrintRow, row_of_build
from inksim.cli.commands import main
from inksim.common.errors import InputError
from inksim.printing.prediction import predict_nominal
from inksim.shop.fresh import new_shop
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.shop.press_file import PRESS_HISTORY, go_back, press_text, save_press, versions
from inksim.shop.usual_builds import usual_build
from inksim.stock.stock_error import error_of
from tests.press_worlds import D50, read_prints, six_prints, whole_prior

DAY = "2026-03-04"


def rows(seed: int = 21) -> list[PrintRow]:
    rng = np.random.default_rng(seed)
    return [
        row_of_build(
            r.build, name=r.name, geometry="45:0",
            reflectance=tuple(float(v) for v in r.reflectance),  # type: ignore[union-attr]
        )
        for r in read_prints(whole_prior(rng), six_prints(), rng)
    ]  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "shop")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(to_csv(rows()), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def calibrated_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("calibrated")
    shop, path = new_shop(folder / "shop"), folder / "readings.csv"
    path.write_text(to_csv(rows()), encoding="utf-8")
    assert run("calibrate", path, "--shop", shop).exit_code == 0
    return shop


@pytest.fixture
def calibrated(calibrated_once: Path, tmp_path: Path) -> Path:
    """A shop whose press is calibrated, to change."""
    return Path(shutil.copytree(calibrated_once, tmp_path / "shop"))


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_dry_run_writes_nothing(shop: Path, file: Path) -> None:
    before = {p: p.read_bytes() for p in shop.iterdir() if p.is_file()}
    result = run("calibrate", file, "--shop", shop, "--dry-run")
    assert result.exit_code == 0, result.stderr
    assert "Nothing was written." in result.stdout
    assert {p: p.read_bytes() for p in shop.iterdir() if p.is_file()} == before


def test_it_writes_a_version_and_keeps_the_readings(shop: Path, file: Path) -> None:
    result = run("calibrate", file, "--shop", shop, "--json", "--note", "first pull")
    assert result.exit_code == 0, result.stderr
    said = json.loads(result.stdout)
    assert (said["version"], said["added_to_history"], said["from_file"]) == (1, 6, 6)
    assert said["median"]["after"] < said["median"]["before"]
    assert {p["name"]: p["told"] for p in said["parameters"]}["dot_growth_um"] is False
    assert [kept.row.note for kept in rows_kept(shop)] == ["first pull"] * 6
    text = (shop / "press.toml").read_text(encoding="utf-8")
    assert "# share of the mesh's ink volume that reaches the shirt" in text  # comments stay
    assert (
        tomllib.loads(text)["habits"]
        == tomllib.loads((demo_shop_folder() / "press.toml").read_text(encoding="utf-8"))["habits"]
    )
    assert load_shop(shop).press.calibrated


def test_the_saved_press_predicts_what_the_report_says(shop: Path, file: Path) -> None:
    said = json.loads(run("calibrate", file, "--shop", shop, "--json").stdout)
    saved = load_shop(shop)
    plain = load_shop(demo_shop_folder())
    for ink in said["inks"]:
        filed = plain.inks[ink["name"]]
        places = [place["value"] for place in ink["shapes"]]
        shape = np.exp(np.tensordot(places, error_of(filed).shapes, axes=1))
        expected = filed.K * ink["K"]["value"] * shape[0]
        np.testing.assert_allclose(saved.inks[ink["name"]].K, expected, rtol=1e-5)
    assert float(saved.press.release.value) == pytest.approx(
        {p["name"]: p["after"]["value"] for p in said["parameters"]}["release"], rel=1e-5
    )
    for name, ink in saved.before.inks.items():
        np.testing.assert_allclose(ink.K, plain.inks[name].K, rtol=1e-12)


def test_the_same_file_again_counts_once(shop: Path, file: Path) -> None:
    first = json.loads(run("calibrate", file, "--shop", shop, "--json").stdout)
    again = json.loads(run("calibrate", file, "--shop", shop, "--json").stdout)
    assert (again["from_file"], again["from_history"], again["added_to_history"]) == (6, 0, 0)
    # the second start is from inks multiplied and divided again: equal to rounding
    for one, two in zip(first["parameters"], again["parameters"], strict=True):
        assert two["after"] == pytest.approx(one["after"], rel=1e-9)
    assert again["version"] == 2


def test_kept_readings_take_part_unless_told_not_to(shop: Path, tmp_path: Path) -> None:
    made = rows()
    for name, part in (("a.csv", made[:4]), ("b.csv", made[4:])):
        (tmp_path / name).write_text(to_csv(part), encoding="utf-8")
    run("calibrate", tmp_path / "a.csv", "--shop", shop)
    both = json.loads(
        run("calibrate", tmp_path / "b.csv", "--shop", shop, "--dry-run", "--json").stdout
    )
    only = json.loads(
        run("calibrate", tmp_path / "b.csv", "--shop", shop, "--dry-run", "--only", "--json").stdout
    )
    assert (both["from_file"], both["from_history"]) == (2, 4)
    assert (only["from_file"], only["from_history"]) == (2, 0)


def test_swapped_labels_are_said_and_not_kept(shop: Path, tmp_path: Path) -> None:
    made = rows()
    made[1], made[3] = (
        replace(made[1], reflectance=made[3].reflectance),
        replace(made[3], reflectance=made[1].reflectance),
    )
    path = tmp_path / "swapped.csv"
    path.write_text(to_csv(made), encoding="utf-8")
    result = run("calibrate", path, "--shop", shop)
    assert result.exit_code == 0
    assert "'print 2' and 'print 4' look as if their labels were swapped" in result.stdout
    assert {kept.row.name for kept in rows_kept(shop)} == {
        "print 1", "print 3", "print 5", "print 6",
    }  # fmt: skip


def test_back_brings_the_file_back_byte_for_byte(shop: Path, file: Path) -> None:
    original = (shop / "press.toml").read_bytes()
    run("calibrate", file, "--shop", shop)
    calibrated = (shop / "press.toml").read_bytes()
    assert run("press", "--back", "--shop", shop).exit_code == 0
    assert (shop / "press.toml").read_bytes() == original
    assert run("press", "--to", 1, "--shop", shop).exit_code == 0
    assert (shop / "press.toml").read_bytes() == calibrated
    listed = json.loads(run("press", "--list", "--shop", shop, "--json").stdout)["versions"]
    assert [(v["number"], v["readings"], v["current"]) for v in listed] == [
        (0, 0, False), (1, 6, True),
    ]  # fmt: skip
    run("press", "--back", "--shop", shop)
    result = run("press", "--back", "--shop", shop)
    assert result.exit_code == 2
    assert "there is none before" in result.stderr


def test_a_version_edited_by_hand_is_kept_as_well(calibrated: Path) -> None:
    press = load_shop(calibrated).press
    for note in ("# one", "# two"):
        path = calibrated / "press.toml"
        path.write_text(path.read_text(encoding="utf-8") + note, encoding="utf-8")
        go_back(calibrated, day=DAY, number=0)
        go_back(calibrated, day=DAY, number=1)
    texts = [
        p.read_text(encoding="utf-8")
        for p in (calibrated / PRESS_HISTORY).glob("press-0001-*.toml")
    ]
    assert {text.rpartition("#")[2] for text in texts} >= {" one", " two"}
    assert save_press(calibrated, press, day=DAY, readings=6).number == 2
    assert [version.number for version in versions(calibrated)] == [0, 1, 2]


@pytest.mark.parametrize("readings", ['"many"', "[]", "true", "-4"])
def test_a_count_that_is_none_does_not_hide_the_versions(calibrated: Path, readings: str) -> None:
    text = (calibrated / "press.toml").read_text(encoding="utf-8")
    spoiled = re.sub(r"(?m)^readings = .*$", f"readings = {readings}", text)
    assert spoiled != text
    (calibrated / "press.toml").write_text(spoiled, encoding="utf-8")
    assert [(v.number, v.readings) for v in versions(calibrated)] == [(0, 0), (1, 0)]


def test_an_ink_characterized_anew_is_not_strengthened(calibrated: Path) -> None:
    text = (calibrated / "inks.toml").read_text(encoding="utf-8")
    ink = tomllib.loads(text)["ink"][0]
    first = f"{ink['K'][0]}"
    assert first in text
    (calibrated / "inks.toml").write_text(text.replace(first, f"{ink['K'][0] * 1.5}", 1), "utf-8")
    name, changed = ink["name"], load_shop(calibrated)
    assert name not in [s.ink for s in changed.press.strengths]
    assert float(changed.inks[name].K[0]) == pytest.approx(ink["K"][0] * 1.5)
    garment = next(iter(changed.garments.values()))
    build = usual_build(changed, garment=garment, ink=changed.inks[name], route="straight")
    assert predict_nominal([build], press=changed.press.values, viewing=D50)


def test_a_press_file_of_a_newer_format_is_said_and_left(shop: Path, file: Path) -> None:
    path = shop / "press.toml"
    text = "format = 3\n" + path.read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    result = run("calibrate", file, "--shop", shop)
    assert result.exit_code == 2
    assert "the file is of format 3, and this inksim reads formats up to 2" in result.stderr
    assert path.read_text(encoding="utf-8") == text


def test_an_older_press_file_is_calibrated_and_nothing_is_lost(shop: Path, file: Path) -> None:
    older = '# our press\nname = "Old press"\n[parameters]\nrelease = { value = 0.5, sd = 0.2 }\n'
    (shop / "press.toml").write_text(older, encoding="utf-8")
    assert run("calibrate", file, "--shop", shop).exit_code == 0
    kept = list((shop / PRESS_HISTORY).glob("press-0000-*.toml"))
    assert [path.read_text(encoding="utf-8") for path in kept] == [older]
    assert (shop / "press.toml").read_text(encoding="utf-8").startswith("# our press\n")
    assert load_shop(shop).press.before.release == (0.5, 0.2)


def test_the_press_survives_its_file(calibrated: Path) -> None:
    press = load_shop(calibrated).press
    text = press_text(
        (calibrated / "press.toml").read_text("utf-8"), press, version=5, day=DAY, readings=6
    )
    (calibrated / "press.toml").write_text(text, encoding="utf-8")
    again = load_shop(calibrated).press
    assert again.values == press.values
    np.testing.assert_allclose(again.covariance, press.covariance, rtol=1e-4, atol=1e-9)


def test_the_demo_shop_is_never_written(file: Path) -> None:
    press = (demo_shop_folder() / "press.toml").read_bytes()
    for words in (("calibrate", file), ("press", "--back"), ("history", "--from", file)):
        result = run(*words)
        assert result.exit_code == 2
        assert "demo shop that comes with inksim is not changed" in result.stderr
    assert run("calibrate", file, "--dry-run").exit_code == 0
    assert (demo_shop_folder() / "press.toml").read_bytes() == press
    assert not (demo_shop_folder() / "history.sqlite").exists()


def test_a_shop_that_cannot_be_written_says_so(
    shop: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # root may write anywhere; click asks whether it may read
    monkeypatch.setattr("os.access", lambda path, mode, **_: not mode & os.W_OK)
    result = run("calibrate", file, "--shop", shop)
    assert result.exit_code == 2
    assert "cannot be written to" in result.stderr


def test_every_fault_of_a_file_at_once(shop: Path, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(
        "name,garment,ink,route,passes,L,a,b\n"
        "a,Mist Grey,Kiln Red,straight,1,40,30,10\n"
        "b,Mist Gray,Kiln Red,sideways,1,40,30,10\n"
        "c,Mist Gray,,straight,1,40,30,10\n"
        "d,Mist Gray,Kiln Red,straight,7,40,30,10\n",
        encoding="utf-8",
    )
    result = run("calibrate", path, "--shop", shop)
    assert result.exit_code == 2
    for said in ("did you mean 'Mist Gray'", "route is 'sideways'", "which ink was printed",
                 "1 to 4 passes"):  # fmt: skip
        assert said in result.stderr
    assert not (shop / "history.sqlite").exists()


def test_history_out_in_and_remove(calibrated: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    assert run("history", "--csv", out, "--shop", calibrated).exit_code == 0
    other = new_shop(tmp_path / "other")
    assert "6 of 6 readings are new" in run("history", "--from", out, "--shop", other).stderr
    assert [k.row.mark for k in rows_kept(other)] == [k.row.mark for k in rows_kept(calibrated)]
    assert "Removed reading 1" in run("history", "--remove", 1, "--shop", other).stderr
    assert len(rows_kept(other)) == 5


def measured(shop: Path) -> Path:
    """The shop as if its inks and cloths had been measured."""
    for name in ("inks.toml", "garments.toml"):
        text = (shop / name).read_text("utf-8")
        (shop / name).write_text(text.replace('data = "invented"', 'data = "measured"'), "utf-8")
    return shop


def said_of(shop: Path) -> tuple[str, list[float]]:
    """The honest words, and how wide the 90 % intervals of the two routes are."""
    words = ("predict", "--garment", "Kingcup Yellow", "--ink", "Orchard Green", "--target",
             "#3a7a3a", "--shop", shop)  # fmt: skip
    plain, found = run(*words), json.loads(run(*words, "--json").stdout)["predictions"]
    wide = [p["interval_90"]["lab_high"][0] - p["interval_90"]["lab_low"][0] for p in found]
    return plain.stdout.strip().splitlines()[-1], wide


def test_what_is_promised_follows_where_ink_cloth_and_press_come_from(
    shop: Path, file: Path
) -> None:
    # 1-2 ΔE00 only where ink, cloth and press were all read; invented inks stay good for ranking
    assert "ranking only; " in said_of(shop)[0]
    run("calibrate", file, "--shop", shop)
    assert said_of(shop)[0].endswith("the press is calibrated to its own prints.")
    assert "ranking only; " in said_of(shop)[0]
    run("press", "--back", "--shop", shop)
    words, wide = said_of(measured(shop))
    assert "measured; mesh and press are generic." in words
    run("calibrate", file, "--shop", shop)
    words, narrow = said_of(shop)
    assert "measured; the press is calibrated to its own prints." in words
    assert all(after < 0.7 * before for after, before in zip(narrow, wide, strict=True))


def test_many_contradicting_readings_are_summed_up(shop: Path, tmp_path: Path) -> None:
    # Six readings of one build far apart are 15 pairs: the three worst are told.
    head = "name,garment,ink,route,screen,passes,L,a,b\n"
    labs = ((60, 50, 50), (50, 50, 50), (62, 40, 50), (52, 45, 40), (68, 40, 60), (56, 50, 38))
    lines = [
        f"c{at},Flour White,Lantern Orange,straight,160,1,{lab[0]},{lab[1]},{lab[2]}"
        for at, lab in enumerate(labs)
    ]
    file = tmp_path / "far-apart.csv"
    file.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    result = run("calibrate", file, "--shop", shop, "--dry-run")
    assert result.exit_code == 0, result.stderr
    pairs = [line for line in result.stdout.splitlines() if "are of one build but" in line]
    assert len(pairs) == 3
    far = [float(re.findall(r"but ([\d.]+) ΔE00", line)[0]) for line in pairs]
    assert far == sorted(far, reverse=True)
    assert re.search(
        r"\b\d+ more pairs of readings of one build lie more than 3 ΔE00 apart\.", result.stdout
    )


def test_a_shop_saved_by_a_windows_editor_is_calibrated_and_changed_like_any(
    shop: Path, file: Path
) -> None:
    # A byte order mark and CRLF: what reads such a shop must also be able to write it.
    for path in shop.glob("*.toml"):
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert run("calibrate", file, "--shop", shop).exit_code == 0
    assert load_shop(shop).press.calibrated
    assert [v.number for v in versions(shop)] == [0, 1]
    assert run("press", "--back", "--shop", shop).exit_code == 0
    assert not load_shop(shop).press.calibrated
    assert run("remove", "target", "Barley", "--shop", shop).exit_code == 0
    assert "Barley" not in load_shop(shop).targets
    assert run("undo", "--shop", shop).exit_code == 0
    assert "Barley" in load_shop(shop).targets


@pytest.mark.parametrize("spoiled", ["", 'version = "b"\n', "version = 0\n"])
def test_a_calibrated_press_that_lost_its_number_still_has_a_way_back(
    calibrated: Path, spoiled: str
) -> None:
    text = (calibrated / "press.toml").read_text(encoding="utf-8")
    changed = re.sub(r"(?m)^version = .*\n", spoiled, text)
    assert changed != text
    (calibrated / "press.toml").write_text(changed, encoding="utf-8")
    assert [(v.number, v.current) for v in versions(calibrated)] == [(0, False), (1, True)]
    assert run("press", "--back", "--shop", calibrated).exit_code == 0
    assert not load_shop(calibrated).press.calibrated


@pytest.mark.parametrize("gone", [True, False])
def test_a_press_file_that_is_lost_is_told_where_its_copies_are(
    calibrated: Path, gone: bool
) -> None:
    if gone:
        (calibrated / "press.toml").unlink()
    else:
        (calibrated / "press.toml").write_text("name = [", encoding="utf-8")
    result = run("press", "--shop", calibrated)
    assert result.exit_code == 2
    (kept,) = (calibrated / PRESS_HISTORY).glob("press-0000-*.toml")
    assert str(kept) in result.stderr


def test_a_crash_before_the_press_is_written_loses_no_reading(shop: Path, file: Path) -> None:
    # what a kill leaves behind: the readings are kept, the press is as it was
    code = (
        "import os, inksim.calibration.press_to_shop as c; from inksim.cli.commands import main\n"
        "c.save_press = lambda *a, **k: os._exit(9)\n"
        f"main(['calibrate', {str(file)!r}, '--shop', {str(shop)!r}])"
    )
    before = (shop / "press.toml").read_bytes()
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 9, done.stderr
    assert (shop / "press.toml").read_bytes() == before
    assert len(rows_kept(shop)) == 6
    again = run("calibrate", file, "--shop", shop)
    assert again.exit_code == 0, again.stderr
    assert len(rows_kept(shop)) == 6
    assert load_shop(shop).press.calibrated


def test_a_press_that_cannot_be_written_takes_its_readings_back(
    shop: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = rows()[0]
    add_rows(shop, [first], date=DAY)

    def refuse(*_: object, **__: object) -> None:
        raise InputError("the press cannot be written.")

    monkeypatch.setattr("inksim.calibration.press_to_shop.save_press", refuse)
    result = run("calibrate", file, "--shop", shop)
    assert result.exit_code == 2
    assert [each.row.mark for each in rows_kept(shop)] == [first.mark]


def test_what_was_taken_for_granted_is_told(shop: Path, tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    path.write_text(
        "name,garment,ink,route,light,L,a,b\n"
        "one,Flour White,Kiln Red,straight,XYZ,45,50,30\n"
        "two,Flour White,Weir Teal,straight,XYZ,40,-20,-15\n",
        encoding="utf-8",
    )
    result = run("calibrate", path, "--shop", shop, "--dry-run")
    assert result.exit_code == 0, result.stderr
    assert "2 readings: light 'XYZ' is not understood: taken as unknown." in result.stdout


def test_readings_by_eye_count_less_and_it_is_said(shop: Path, tmp_path: Path) -> None:
    path = tmp_path / "fan.csv"
    path.write_text(
        "name,garment,ink,route,read_by,L,a,b\n"
        "one,Flour White,Kiln Red,straight,,42,52,32\n"
        "two,Flour White,Weir Teal,straight,instrument,30,-15,-8\n"
        "three,Mist Gray,Kiln Red,straight,,38,48,30\n",
        encoding="utf-8",
    )

    def said(*words: str) -> dict[str, Any]:
        result = run("calibrate", path, "--shop", shop, "--dry-run", *words)
        assert result.exit_code == 0, result.stderr
        found = json.loads(
            run("calibrate", path, "--shop", shop, "--dry-run", "--json", *words).stdout
        )
        return {"text": result.stdout, **found}

    plain, eye, own = said(), said("--read-by", "eye"), said("--read-by", "eye", "--sd", "1.5")
    assert [(r["read_by"], r["sd_de00"]) for r in eye["readings"]] == [
        ("eye", 3.023), ("instrument", 0.5), ("eye", 3.023)
    ]  # fmt: skip
    assert "2 readings by eye may be 3.0 ΔE00 off" in eye["text"]
    assert "by eye" not in plain["text"]
    assert [r["sd_de00"] for r in own["readings"]] == [1.5, 0.5, 1.5]

    # the less sure a reading, the less the fit follows it
    after = [found["median"]["after"] for found in (plain, own, eye)]
    assert after == sorted(after)
    assert after[2] > 1.5 * after[0]
    refused = run("calibrate", path, "--shop", shop, "--dry-run", "--read-by", "guess")
    assert refused.exit_code == 2
    assert "give sd_de00 with it" in refused.stderr
