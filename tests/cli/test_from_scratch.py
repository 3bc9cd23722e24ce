"""A shop from scratch by command: empty, filled, set, taken back, and nothing taken from others."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from inksim.calibration.history import add_rows
from inksim.calibration.print_rows import read_print_rows
from inksim.cli.commands import main
from inksim.shop import changes
from inksim.shop.fresh import new_shop
from inksim.shop.load import demo_shop_folder, load_shop

SCREEN = ("add", "screen", "--name", "160", "--threads", 160, "--thread-um", 60)
INK = ("add", "ink", "--name", "Brick", "--hex", "#B5452f")
GARMENT = ("add", "garment", "--name", "Fern", "--hex", "#5b7a5e", "--fibers", "cotton=1.0")


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def done(*words: object) -> Result:
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    return result


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    done("new", tmp_path / "own", "--empty", "--name", 'Mill "Lane"')
    return tmp_path / "own"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "copy")


def texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in folder.glob("*.toml")}


def test_an_empty_shop_has_nothing_of_the_demo(empty: Path) -> None:
    shop, demo = load_shop(empty), load_shop()
    assert shop.name == 'Mill "Lane"'
    held = (shop.inks, shop.garments, shop.screens, shop.targets, shop.palette)
    assert [len(each) for each in held] == [0] * 5
    assert (shop.invented, shop.scenario, shop.press.calibrated) == (False, "", False)
    assert shop.press.values == demo.press.values  # the model's generic starting values
    assert (shop.habits, shop.rules) == (demo.habits, demo.rules)
    assert shop.costs.labor_per_hour is None
    everything = "\n".join(texts(empty).values()).lower()
    for word in ("demo", "invented", "millrace", "regatta", *map(str.lower, demo.inks)):
        assert word not in everything


STEPS = {"screens": SCREEN, "inks": INK, "garments": GARMENT}
ASKING: tuple[tuple[Any, ...], ...] = (
    ("shop",),
    ("history",),
    ("press",),
    ("record",),
    ("job", "list"),
    ("opacity",),
    ("set", "costs.currency=EUR"),
    ("add", "target", "--name", "T", "--hex", "#123456", "--replace"),
    ("predict", "--garment", "A", "--ink", "B"),
    ("advise", "--garment", "A", "--ink", "B", "--target", "#ff0000"),
    ("palette",),
    ("preview", "none.png", "--garment", "A"),
    ("proof", "none.png", "--garment", "A"),
    ("separate", "none.png", "--garment", "A"),
    ("ticket", "none.toml"),
    ("order", "none.toml"),
    ("job", "show", "none"),
    ("job", "new", "none.png", "--name", "N", "--garment", "A=4"),
    ("calibrate", "--to-read", "out.csv"),
)


def test_every_command_on_an_empty_shop_says_what_to_add_until_it_can_print(
    empty: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done("add", "target", "--name", "T", "--hex", "#123456", "--shop", empty)
    for lacks, step in STEPS.items():
        for words in ASKING:
            result = run(*words, "--shop", empty)
            assert result.exit_code in (0, 2), (words, result.output)
            found = re.findall(rf"note: .* has no {lacks} yet; add one with '(.*?)'", result.stderr)
            assert len(found) == 1, (words, result.stderr)
            assert found[0].startswith(f"inksim {step[0]} {step[1]} --name")
            assert found[0].endswith(f"--shop {empty}")
        done(*step, "--shop", empty)
    for words in (("shop",), ("predict", "--garment", "Fern", "--ink", "Brick")):
        assert "yet; add one" not in done(*words, "--shop", empty).stderr


def test_screens_by_command(empty: Path) -> None:
    done(*SCREEN, "--ink-volume", 38.5, "--shop", empty)
    screen = load_shop(empty).screen("160")
    assert screen.threads_per_inch == pytest.approx(160)
    assert (screen.thread_um, screen.volume_cm3_m2) == (60.0, 38.5)
    taken = run(*SCREEN, "--shop", empty)
    assert taken.exit_code == 2
    assert "already has the screen '160'; give --replace to change it" in taken.stderr
    said = done("add", "screen", "--name", "160", "--threads-per-cm", 62, "--replace",
                "--shop", empty)  # fmt: skip
    assert "Replaced screen '160'" in said.stdout
    screen = load_shop(empty).screen("160")
    assert (screen.threads_per_cm, screen.thread_um, screen.volume_cm3_m2) == (62.0, 60.0, 38.5)
    for words, message in (
        (("--name", "X", "--threads", 160), "give --thread-um"),
        (("--name", "X", "--thread-um", 60), "give --threads"),
        (("--name", "X", "--threads", 160, "--thread-um", 600), "must be thinner than 159"),
        (("--name", "X", "--threads", 160, "--threads-per-cm", 62, "--thread-um", 60), "one of"),
    ):
        refused = run("add", "screen", *words, "--shop", empty)
        assert refused.exit_code == 2
        assert message in refused.stderr


def test_numbers_are_set_shown_and_taken_back(shop: Path) -> None:
    before = texts(shop)
    done("set", "costs.labor_per_hour=25", "press.stations=8", "habits.white_base_flash=no",
         "press.release=0.62±0.1", "rules.not_kept=mesh of a white, mesh of the base",
         "rules.least_chance_gain=20%", "costs.bucket_g=500,2500", "costs.energy_per_kwh=",
         "press.name=Old Bess", "tolerance_de00=2.5", "--source", "books of March",
         "--shop", shop)  # fmt: skip
    made = load_shop(shop)
    assert (made.costs.labor_per_hour, made.costs.energy_per_kwh) == (25.0, None)
    assert made.costs.bucket_g == [500.0, 2500.0]
    assert (made.stations.stations, made.habits.white_base_flash) == (8, False)
    assert made.habits.tolerance_de00 == 2.5
    assert made.press.release == (0.62, 0.1)
    assert made.press.name == "Old Bess"
    assert made.rules.not_kept == ["mesh of a white", "mesh of the base"]
    assert made.rules.least_chance_gain == 0.2
    assert made.costs.source.startswith("books of March; 20")
    # comments stay, and what was not set
    assert "# registering, taping, cleaning up" in texts(shop)["costs.toml"]
    listed = done("shop", "--shop", shop).stdout
    assert re.search(r"costs\.labor_per_hour +25 +USD/h", listed)
    assert re.search(r"costs\.energy_per_kwh +not known", listed)
    assert re.search(r"press\.release +0\.62, 0\.1", listed)
    held = json.loads(done("shop", "--shop", shop, "--json").stdout)["settings"]
    assert held["rules.least_chance_gain"]["value"] == 0.2
    for file in ("costs.toml", "press.toml", "rules.toml"):
        assert "Took back: set " in done("undo", file, "--shop", shop).stdout
    assert texts(shop) == before


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["costs.labour_per_hour=25"], "did you mean 'costs.labor_per_hour'"),
        (["zzz=1"], "'inksim shop' lists them"),
        (["costs.labor_per_hour"], "write NAME=VALUE"),
        (["costs.labor_per_hour=-2"], "labor_per_hour: must be at least"),
        (["costs.labor_per_hour=cheap"], "is 'cheap'; give a number"),
        (["costs.labor_per_hour=nan"], "is 'nan'; give a number"),
        (["press.stations=2.5"], "must be a whole number"),
        (["press.release=0.6"], "standard deviation"),
        (["press.release=7,1"], "runs from 0.1 to 1.2"),
        (["habits.white_base_flash=maybe"], "write yes or no"),
        (["rules.not_kept=whatever"], "not_kept"),
        (["costs.labor_per_hour=25", "press.stations=99"], "at most 24"),
        (["shop.name="], "name: this field is missing"),
    ],
)
def test_a_number_that_cannot_be_is_one_message_and_changes_nothing(
    shop: Path, words: list[str], message: str
) -> None:
    before = texts(shop)
    result = run("set", *words, "--shop", shop)
    assert result.exit_code == 2, result.output
    assert result.stderr.startswith("inksim: ")
    assert message in result.stderr
    assert texts(shop) == before


def test_a_calibrated_press_is_not_set_number_by_number(shop: Path) -> None:
    press = shop / "press.toml"
    press.write_text(press.read_text("utf-8").replace("calibrated = false", "calibrated = true"))
    refused = run("set", "press.release=0.62,0.1", "--shop", shop)
    assert refused.exit_code == 2
    assert "'inksim press --to 0'" in refused.stderr
    done("set", "press.stations=8", "--shop", shop)  # a station is no reading


def test_a_hex_code_lists_as_it_was_entered(empty: Path) -> None:
    done(*SCREEN, "--shop", empty)
    done(*INK, "--shop", empty)
    done("add", "garment", "--name", "White", "--hex", "#ffffff", "--fibers", "cotton", "--shop",
         empty)  # fmt: skip
    done("add", "target", "--name", "T", "--hex", "#345", "--shop", empty)
    listed = done("shop", "--shop", empty).stdout
    for name, code in (("Brick", "#B5452f"), ("White", "#ffffff"), ("T", "#345")):
        assert re.search(rf"{name} .* {code}\n", listed)
    # a reading was not entered as a code; it lists as it looks
    assert re.search(r"Coal Black .* #[0-9a-f]{6}\n", done("shop").stdout)


@pytest.mark.parametrize("kind", ["target", "garment", "ink", "cloth"])
def test_a_taken_name_is_answered_with_the_option(shop: Path, kind: str) -> None:
    words = ["add", kind, "--name", "Twice", "--hex", "#123456", "--shop", shop]
    words += ["--fibers", "cotton"] if kind == "garment" else []
    done(*words)
    refused = run(*words)
    assert refused.exit_code == 2
    assert f"already has the {kind} 'Twice'; give --replace to change it" in refused.stderr
    done(*words, "--replace")
    new = run(*[word if word != "Twice" else "Thrice" for word in words], "--replace")
    assert new.exit_code == 2
    assert "To add it, leave out --replace." in new.stderr


def keep_readings(shop: Path) -> int:
    """The demo's readings of prints, in this shop's history: how many."""
    prints = demo_shop_folder() / "readings" / "first-prints.csv"
    return add_rows(shop, read_print_rows(prints, shop=load_shop(shop)).rows, date="2026-01-02")


def write_job(shop: Path, key: str, body: str) -> None:
    folder = shop / "jobs" / key
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text(body, encoding="utf-8")


JOB = """name = "Mill logo"
garments = ["Coal Black"]
quantity = 4
[[color]]
target = "Oven Red"
ink = "Kiln Red"
area_cm2 = 20.0
"""


def test_removing_names_what_uses_the_entry_and_asks_for_leave(shop: Path) -> None:
    write_job(shop, "mill-logo", JOB)
    write_job(shop, "broken", "name = ")
    kept = keep_readings(shop)
    rows = [ink for ink in load_history(shop) if ink == "Kiln Red"]
    before = texts(shop)
    for kind, name, used in (
        ("ink", "kiln red", "job 'mill-logo' prints it"),
        ("ink", "Kiln Red", f"{len(rows)} kept reading"),
        ("ink", "Kiln Red", "job 'broken' cannot be read, so it may use it"),
        ("garment", "Coal Black", "job 'mill-logo' is on it"),
        ("target", "Oven Red", "job 'mill-logo' asks for it"),
        ("cloth", "bleached cotton", "has it as its undyed cloth"),
    ):
        refused = run("remove", kind, name, "--shop", shop)
        assert refused.exit_code == 2, (kind, name)
        assert used in refused.stderr, refused.stderr
        assert "--anyway removes it all the same" in refused.stderr
    assert texts(shop) == before
    said = json.loads(
        done("remove", "ink", "kiln red", "--anyway", "--shop", shop, "--json").stdout
    )
    assert "job 'mill-logo' prints it" in said["uses"]
    assert "Kiln Red" not in load_shop(shop).inks
    assert len(load_history(shop)) == kept  # readings stay


def load_history(shop: Path) -> list[str]:
    """Names of the inks of the kept readings."""
    said = json.loads(done("history", "--shop", shop, "--json").stdout)
    return [each["ink"] for each in said["readings"]]


def test_the_last_of_its_kind_is_said(empty: Path) -> None:
    for words in (SCREEN, INK, GARMENT):
        done(*words, "--shop", empty)
    done("add", "ink", "--name", "Chalk", "--hex", "#f4f4f0", "--kind", "white-base", "--shop",
         empty)  # fmt: skip
    for kind, name, last in (
        ("ink", "Chalk", "it is the shop's only white base"),
        ("ink", "Brick", "it is the shop's only ink that prints a color"),
        ("screen", "160", "it is the shop's only screen"),
        ("garment", "Fern", "it is the shop's only garment"),
    ):
        refused = run("remove", kind, name, "--shop", empty)
        assert refused.exit_code == 2
        assert last in refused.stderr
    done("add", "ink", "--name", "Chalk 2", "--hex", "#f4f4f0", "--kind", "white-base", "--shop",
         empty)  # fmt: skip
    done("remove", "ink", "Chalk", "--shop", empty)


def test_undo_takes_back_ones_own_and_names_it(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ann and Ben on one shop, by the names that the machine has for them."""

    def user(name: str) -> None:
        monkeypatch.setattr(changes.getpass, "getuser", lambda: name)

    user("ann")
    done(*GARMENT, "--shop", shop)
    hers = texts(shop)
    user("ben")
    refused = run("undo", "--shop", shop)
    assert refused.exit_code == 2
    assert re.search(r"not yours: ann added garment 'Fern' \(garments\.toml, 20", refused.stderr)
    assert "'inksim undo --anyway'" in refused.stderr
    assert texts(shop) == hers
    done("add", "target", "--name", "T", "--hex", "#345", "--shop", shop)
    user("ann")  # his change is the later one; hers is taken back
    assert "Took back: added garment 'Fern'" in done("undo", "--shop", shop).stdout
    assert "Fern" not in load_shop(shop).garments
    assert "T" in load_shop(shop).targets
    assert "Brought back: added garment 'Fern'" in done("undo", "--shop", shop).stdout
    assert "Fern" in load_shop(shop).garments
    assert run("undo", "targets.toml", "--shop", shop).exit_code == 2
    said = done("undo", "targets.toml", "--anyway", "--shop", shop).stdout
    assert "Took back: added target 'T'" in said
    assert "It was of ben." in said
    assert "T" not in load_shop(shop).targets


def test_a_version_that_an_older_inksim_kept_is_nobodys(shop: Path) -> None:
    (shop / ".previous").mkdir()
    (shop / ".previous" / "rules.toml").write_text("# as it was\n", encoding="utf-8")
    refused = run("undo", "--shop", shop)
    assert refused.exit_code == 2
    assert "somebody whose name was not kept changed rules.toml" in refused.stderr
    done("undo", "--anyway", "--shop", shop)
    assert texts(shop)["rules.toml"] == "# as it was\n"


OWN = {"add garment", "add cloth", "add target", "add ink", "add screen", "new", "set", "remove",
       "undo", "characterize", "record"}  # fmt: skip


@pytest.mark.parametrize("name", sorted(OWN))
def test_help_has_an_example_that_the_command_takes(name: str) -> None:
    command: click.Command = main
    for word in name.split():
        assert isinstance(command, click.Group)
        command = command.commands[word]
    said = run(*name.split(), "--help").stdout
    found = re.search(r"Example: (inksim .*?)\n\n", said, re.DOTALL)
    assert found, said
    words = re.findall(r"--[a-z-]+", " ".join(found[1].split()))
    taken = {opt for param in command.params for opt in param.opts}
    assert found[1].startswith(f"inksim {name} ")
    assert set(words) <= taken


def test_a_day_is_read_as_spreadsheets_write_it(shop: Path, tmp_path: Path) -> None:
    """A reading's date is kept as ISO, and asked for in any spelling; two readings are refused."""
    sheet = tmp_path / "prints.csv"
    head = "name,garment,ink,route,L,a,b,date\n"
    lines = [
        "a,Flour White,Kiln Red,straight,42,52,32,27.11.2024",
        "b,Flour White,Weir Teal,straight,42,-22,-12,11/27/2026",
    ]
    sheet.write_text(head + "\n".join(lines), encoding="utf-8")
    done("history", "--from", sheet, "--shop", shop)
    kept = json.loads(done("history", "--shop", shop, "--json").stdout)["readings"]
    days = {each["date"] for each in kept}
    assert days == {"2024-11-27", "2026-11-27"}
    sheet.write_text(f"{head}{lines[0].replace('27.11.2024', '03/04/2026')}\n", encoding="utf-8")
    refused = run("history", "--from", sheet, "--shop", shop)
    assert refused.exit_code == 2
    assert "date: '03/04/2026' may be 4 March 2026 or 3 April 2026" in refused.stderr
    refused = run("record", "--since", "03/04/2026", "--shop", shop)
    assert refused.exit_code == 2
    assert "may be 4 March 2026 or 3 April 2026" in refused.stderr
    for spelling in ("2025-06-01", "01.06.2025", "1 Jun 2025"):
        assert "2025-06-01" in done("record", "--since", spelling, "--shop", shop, "--json").stdout


def test_what_is_written_is_toml_that_a_person_reads(empty: Path) -> None:
    for file, text in texts(empty).items():
        tomllib.loads(text)
        assert all(len(line) <= 110 for line in text.splitlines()), file
    assert "release = { value = 0.6, sd = 0.15 }  # share of the mesh" in texts(empty)["press.toml"]
