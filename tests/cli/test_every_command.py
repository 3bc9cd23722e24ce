"""Every command keeps what README promises of all: exit codes, stdout, --shop and --json.

The commands are walked from the group itself, so that a new one fails here until it has a row in
`GOOD`; what it may be given wrongly is worked out from its parameters.
"""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click
import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

import inksim
from inksim.calibration.history import add_rows
from inksim.calibration.print_rows import read_print_rows
from inksim.cli.commands import TOPICS, main
from inksim.cli.options import OWN_FAULT, STOPPED, plainly
from inksim.ledger.kept_job import change_job, new_job, open_job
from inksim.shop.load import demo_shop_folder, load_shop
from tests.cli.test_drawdowns import sheet
from tests.small_shop import few_inks

TOP = Path(__file__).parents[2]
README = "".join(
    (TOP / page).read_text(encoding="utf-8") for page in ("README.md", "docs/first_steps.md")
)
INKS = ("Kiln Red", "Weir Teal", "Chalk White Base", "Quarry Discharge Base")
PRINT = ("--garment", "Coal Black", "--ink", "Kiln Red")
NOT_REACHED = "#00ff00"  # greener than any ink of the shop on anything


def walk(group: click.Group, *path: str) -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from walk(command, *path, name)
        else:
            yield " ".join((*path, name)), command


COMMANDS = dict(walk(main))
EACH = pytest.mark.parametrize("name", COMMANDS)


class Place:
    """A shop of few inks that a command may change, and one file of every kind that one reads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.shop = few_inks(folder / "shop", *INKS)
        self.new = folder / "new-shop"
        self.out = folder / "out"
        self.art = folder / "art.png"
        pixels = np.zeros((40, 60, 4), dtype=np.uint8)
        pixels[5:35, 5:55] = (0xC9, 0x34, 0x2F, 255)
        Image.fromarray(pixels).save(self.art, dpi=(150, 150))
        self.tonal = folder / "tonal.png"
        ramp = np.broadcast_to(np.linspace(20, 230, 60).astype(np.uint8)[None, :], (40, 60))
        Image.fromarray(np.dstack([ramp, ramp // 2, ramp[::-1, ::-1]])).save(
            self.tonal, dpi=(150, 150)
        )
        artwork = self.shop / "artwork" / "harvest-regatta.png"  # what `demo` draws
        artwork.parent.mkdir()
        artwork.write_bytes(self.art.read_bytes())
        self.job = self.write_job("job.toml", "#e8622c", tolerance=60)
        self.table = folder / "table.csv"
        self.readings = folder / "readings.csv"
        prints = demo_shop_folder() / "readings" / "first-prints.csv"
        head, *rows = prints.read_text("utf-8").splitlines()[1:]
        kept = [row for row in rows if row.split(",")[2] in INKS]
        assert len(kept) > 1
        self.readings.write_text("\n".join([head, *kept]), encoding="utf-8")
        self.drawdowns = sheet(folder / "drawdowns.csv")

    def write_job(self, name: str, target: str, *, tolerance: float) -> Path:
        path = self.folder / name
        path.write_text(
            'name = "any"\ngarments = ["Coal Black"]\nquantity = 10\n'
            f"tolerance_de00 = {tolerance:g}\n"
            f'[[color]]\ntarget = "{target}"\nink = "Kiln Red"\narea_cm2 = 100\n',
            encoding="utf-8",
        )
        return path

    def keep_readings(self) -> None:
        read = read_print_rows(self.readings, shop=load_shop(self.shop))
        add_rows(self.shop, read.rows, date="2026-03-04")

    def keep_job(self, *, changed: bool = False) -> None:
        """Keep a job of the picture."""
        if not (self.shop / "jobs").exists():
            new_job(self.shop, name="Mill logo", artwork=self.art, garments={"Coal Black": 40})
        if changed:
            change_job(open_job(self.shop, "mill-logo"), {"note": "by hand"})

    def __str__(self) -> str:
        return str(self.folder)


def changed(place: Place) -> None:
    """Change the shop once, so that there is something to undo."""
    done = run("add", "target", "--name", "Lichen", "--hex", "#6f7d3a", "--shop", place.shop)
    assert done.exit_code == 0, done.stderr


GOOD: dict[str, tuple[Callable[[Place], Any], Callable[[Place], list[Any]]]] = {
    "shop": (lambda _: None, lambda _: []),
    "new": (lambda _: None, lambda p: [p.new]),
    "remove": (lambda _: None, lambda _: ["garment", "Mist Gray"]),
    "undo": (changed, lambda _: []),
    "set": (lambda _: None, lambda _: ["costs.labor_per_hour=25", "press.stations=8"]),
    "add screen": (
        lambda _: None,
        lambda _: ["--name", "S", "--threads", "195", "--thread-um", "55"],
    ),
    "add garment": (
        lambda _: None, lambda _: ["--name", "Fern", "--hex", "#35523a", "--fibers", "cotton=1"],
    ),
    "add cloth": (lambda _: None, lambda _: ["--name", "Raw", "--lab", "88,1,9"]),
    "add target": (lambda _: None, lambda _: ["--name", "Moss", "--hex", "#6f7d3a"]),
    "add ink": (lambda _: None, lambda _: ["--name", "Moss", "--hex", "#6f7d3a"]),
    "calibrate": (lambda _: None, lambda p: [p.readings, "--dry-run"]),
    "press": (lambda _: None, lambda _: []),
    "history": (Place.keep_readings, lambda _: []),
    "characterize": (lambda _: None, lambda p: [p.drawdowns, "--dry-run"]),
    "job new": (
        lambda _: None,
        lambda p: [p.art, "--name", "Weir Regatta", "--garment", "Coal Black=40"],
    ),
    "job list": (lambda p: p.keep_job(), lambda _: []),
    "job show": (lambda p: p.keep_job(), lambda _: ["mill-logo"]),
    "job set": (lambda p: p.keep_job(), lambda _: ["mill-logo", "client=Weir Mill"]),
    "job undo": (lambda p: p.keep_job(changed=True), lambda _: ["mill-logo"]),
    "job copy": (lambda p: p.keep_job(), lambda _: ["mill-logo", "--name", "Again"]),
    "order": (lambda p: p.keep_job(), lambda _: ["mill-logo"]),
    "photo": (
        lambda _: None,
        lambda p: [p.art, "--chart", "gray", "--corners", "6,6", "54,6", "54,34", "6,34",
                   "--region", "ink=10,10,30,20"],
    ),
    "predict": (lambda _: None, lambda _: [*PRINT, "--target", NOT_REACHED]),
    "lights": (lambda _: None, lambda _: [*PRINT, "--target", NOT_REACHED]),
    "opacity": (lambda _: None, lambda _: ["--ink", "Kiln Red"]),
    "advise": (
        lambda _: None, lambda _: [*PRINT, "--target", "Oven Red", "--tolerance", "60"],
    ),
    "mix": (
        lambda _: None,
        lambda _: ["--garment", "Coal Black", "--target", "Oven Red", "--tolerance", "60"],
    ),
    "ticket": (lambda _: None, lambda p: [p.job, "--out", p.out]),
    "palette": (
        lambda _: None,
        lambda _: ["--garments", "Coal Black", "--palette", "Oven Red", "--tolerance", "60"],
    ),
    "preview": (lambda _: None, lambda p: [p.art, "--garment", "Coal Black", "--out", p.out]),
    "proof": (
        lambda _: None,
        lambda p: [p.art, "--garment", "Coal Black", "--tolerance", "60", "--out", p.out],
    ),
    "record": (lambda _: None, lambda p: ["--csv", p.folder / "record.csv"]),
    "demo": (lambda _: None, lambda p: ["--out", p.out]),
    "separate": (
        lambda _: None,
        lambda p: [p.tonal, "--garment", "Coal Black", "--ink", "Kiln Red", "--base", "white",
                   "--screen-dpi", "600", "--out", p.out],
    ),
    "batch": (
        lambda p: p.table.write_text("artwork,garment\nart.png,Coal Black\n", encoding="utf-8"),
        lambda p: [p.table, "--workers", "1", "--out", p.out],
    ),
    "look": (lambda _: None, lambda p: [*PRINT, "--out", p.folder / "look.icc"]),
}  # fmt: skip
"""What has to be there first, and the words of a good run, for every command."""
GOOD["characterise"] = GOOD["characterize"]
SERVES = "app"  # ends when it is stopped: its good run is the browser's tests
RUNS = pytest.mark.parametrize("name", [name for name in COMMANDS if name != SERVES])


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def options(name: str) -> set[str]:
    return {option for each in COMMANDS[name].params for option in each.opts}


def call(name: str, place: Place, *more: object, words: list[Any] | None = None) -> Result:
    """Run a command with its good words, or others, on the shop of the place."""
    own = GOOD[name][1](place) if words is None else words
    shop = ["--shop", place.shop] if "--shop" in options(name) else []
    return run(*name.split(), *own, *shop, *more)


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Place:
    """One place for runs that are refused and change nothing."""
    place = Place(tmp_path_factory.mktemp("every"))
    place.keep_readings()
    place.keep_job(changed=True)
    changed(place)
    return place


def one_sentence(result: Result, *, code: int = 2) -> None:
    said = (result.exit_code, result.stdout, result.stderr)
    assert result.exit_code == code, said
    assert result.stdout == "", said
    assert result.stderr.strip(), said
    assert "Traceback" not in result.stderr, said


def test_every_topic_is_walked_and_every_command_has_a_good_run() -> None:
    of_topics = {each.name for topic in TOPICS for each in topic.COMMANDS}
    assert of_topics == {name.split()[0] for name in COMMANDS} - {SERVES}
    assert set(GOOD) == set(COMMANDS) - {SERVES}


# -- 0


@RUNS
def test_a_good_run_ends_with_0_and_is_one_json_document(name: str, tmp_path: Path) -> None:
    place = Place(tmp_path)
    GOOD[name][0](place)
    done = call(name, place, "--json")
    assert done.exit_code == 0, done.stderr
    assert json.loads(done.stdout)["inksim"] == inksim.__version__


# -- 1


@pytest.mark.parametrize(
    "words",
    [
        lambda _: ["advise", *PRINT, "--target", NOT_REACHED],
        lambda p: ["advise", p.write_job("lost.toml", NOT_REACHED, tolerance=1)],
        lambda _: ["mix", "--garment", "Coal Black", "--target", NOT_REACHED],
        lambda _: ["palette", "--garments", "Coal Black", "--palette", f"{NOT_REACHED}; Oven Red"],
        lambda p: [
            "proof",
            p.art,
            "--garment",
            "Coal Black",
            "--tolerance",
            "0.01",
            "--out",
            p.out,
        ],
    ],
    ids=["advise", "advise a job", "mix", "palette", "proof"],
)
@pytest.mark.parametrize("more", [[], ["--json"]], ids=["text", "json"])
def test_a_decision_that_finds_nothing_ends_with_1(
    words: Callable[[Place], list[Any]], more: list[str], once: Place
) -> None:
    done = run(*words(once), "--shop", once.shop, *more)
    assert done.exit_code == 1, done.stderr
    assert done.stdout  # it is an answer: said on stdout like any other


# -- 2


@EACH
def test_an_option_that_is_not_there_ends_with_2(name: str, once: Place) -> None:
    one_sentence(call(name, once, "--no-such-option", words=[]))


@EACH
def test_a_shop_that_is_not_there_ends_with_2(name: str, once: Place) -> None:
    if "--shop" not in options(name):
        pytest.skip("it takes no shop, as README says")
    words = [] if name == SERVES else GOOD[name][1](once)
    one_sentence(run(*name.split(), *words, "--shop", once.folder / "nowhere"))


def wrong_values(param: click.Parameter, place: Place) -> list[str]:
    """Values that no parameter of this type can mean."""
    below_a_file = str(place.art / "below")
    if isinstance(param.type, click.types.FloatParamType):
        return ["nan", "inf", "-inf", "much"]
    if isinstance(param.type, click.types.IntParamType):
        return ["-999999", "much"]
    if isinstance(param.type, click.Choice):
        return ["no such word"]
    if isinstance(param.type, click.Path):
        return [below_a_file]
    return {
        "light": ["moon", ""], "reference": ["moon"], "more": ["moon"], "garment": ["no such"],
        "ink": ["no such"], "inks": ["no such"], "target": ["no such"],
        "garments": ["no such", "no such=3", "Coal Black=none"],
        "screen": ["no such"], "base_screen": ["no such"], "palette": ["no such"],
        "code": ["#12345"], "lab": ["1,2", "nan,0,0"], "xyz": ["1,2", "nan,0,0"],
        "references": [below_a_file], "angles": ["a,b", "nan"], "fibres": ["cotton=nan", "felt=1"],
        "card_white": ["nan", below_a_file], "card_black": ["nan", below_a_file],
        "since": ["yesterday"], "solids": ["nan", "no such"], "density": ["nan"],
        "kinds": ["no such"], "names": ["no such"], "background": ["moon", "#12345"],
        "routes": ["straight", "#c9342f=moon"], "tolerances": ["much", "nan", "#c9342f=much"],
        "chart": [below_a_file, "moon"], "corners": ["moon"], "regions": ["ink=moon", "9,9,9,9"],
        "rows": ["a,b"], "surround": ["moon", "1,1,0,0"],
        "fields": ["no field", "prints=3", "artwork.width_mm=wide"],
    }.get(str(param.name), [])  # fmt: skip


def wrong_runs() -> Iterator[tuple[str, str]]:
    for name, command in COMMANDS.items():
        for param in command.params:
            if param.name not in ("shop_folder", "as_json") and name != "characterize":
                yield name, str(param.name)


@pytest.mark.parametrize(("name", "param"), list(wrong_runs()))
def test_a_value_that_nothing_can_mean_ends_with_2(name: str, param: str, once: Place) -> None:
    (of,) = [each for each in COMMANDS[name].params if each.name == param]
    values = wrong_values(of, once)
    if not values:
        pytest.skip("any word, or none, is right")
    words = [] if name == SERVES else GOOD[name][1](once)
    for value in values:
        if isinstance(of, click.Argument):
            arguments = [p.name for p in COMMANDS[name].params if isinstance(p, click.Argument)]
            at = arguments.index(param)
            own = [value] if name == "advise" else [*words[:at], value, *words[at + 1 :]]
            one_sentence(call(name, once, words=own))
        else:
            one_sentence(call(name, once, of.opts[0], value, words=words))


def test_an_app_that_cannot_be_served_ends_with_2() -> None:
    # a port somebody else has: the server's own code, 1, would mean that nothing is nominal
    with socket.create_server(("localhost", 0)) as taken:
        port = taken.getsockname()[1]
        program = [sys.executable, "-m", "inksim.cli", "app", "--no-browser", "--port", str(port)]
        done = subprocess.run(program, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 2, done.stderr
    assert f"could not be served on port {port}" in done.stderr


# -- neither


def test_a_stop_and_a_fault_are_no_answer() -> None:
    def ending(error: BaseException) -> Result:
        @click.command()
        @plainly
        def command() -> None:
            raise error

        return CliRunner().invoke(command)

    stopped, broken = ending(KeyboardInterrupt()), ending(ZeroDivisionError("by hand"))
    assert (stopped.exit_code, stopped.stdout) == (STOPPED, "")
    assert (broken.exit_code, broken.stdout) == (OWN_FAULT, "")
    assert "ZeroDivisionError: by hand" in broken.stderr
    assert {STOPPED, OWN_FAULT}.isdisjoint({0, 1, 2})


# -- README's words


SAYS = " ".join(README.split())


@EACH
def test_every_command_takes_what_readme_says_that_each_takes(name: str) -> None:
    assert "each but `photo` takes `--shop DIR` for your own shop (`new` makes one)" in SAYS
    assert "and, but for `app`, `--json` for machines" in SAYS
    wanted = {"--shop": name not in ("new", "photo"), "--json": name != SERVES}
    assert {option for option, said in wanted.items() if said} <= options(name)


def test_every_option_that_readme_shows_is_one_of_its_command() -> None:
    shown = re.findall(r"inksim ((?:[a-z]+ ?)+)((?:[^`\n]|\\\n)*)", README)
    seen = []
    for words, rest in shown:
        for option in re.findall(r"(?<!\S)--[a-z-]+", rest):
            name = next((n for n in COMMANDS if f"{words} ".startswith(f"{n} ")), None)
            known = {"--help", "--version"} | (options(name) if name else set())
            assert option in known, (words, option)
            seen.append(option)
    assert len(seen) > 15


def test_the_codes_that_readme_names_are_those_tested_here() -> None:
    assert "the exit code is 0 when done, 1 when" in SAYS
    assert "(`advise`, `mix`, `proof`; in a palette, a color on no garment" in SAYS
    assert f"{STOPPED} when stopped by Ctrl-C, {OWN_FAULT} for a fault of inksim itself" in SAYS


def test_what_changes_or_lists_says_where_in_its_json(once: Place, tmp_path: Path) -> None:
    def said(*words: object) -> Any:
        return json.loads(run(*words, "--json").stdout)

    own = said("new", tmp_path / "own")["folder"]
    removed = said("remove", "garment", "mist gray", "--shop", own)
    assert (removed["kind"], removed["name"]) == ("garment", "Mist Gray")
    assert "Mist Gray" not in load_shop(own).garments
    assert said("undo", "--shop", own)["file"] == removed["file"] == f"{own}/garments.toml"
    assert "Mist Gray" in load_shop(own).garments
    kept = said("history", "--shop", once.shop)["readings"]
    assert [each["number"] for each in kept] == [1, 2]
    assert {each["ink"] for each in kept} <= set(INKS)
    assert all(len(each["lab"]) == 3 for each in kept)
