"""A value of 5 000 characters is refused in one readable sentence, and refused when it is given.

300 characters: three or four lines of a terminal of 80 columns (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
import pytest

from inksim.common.errors import LONGEST, InputError, ShopFaults, cut
from tests.cli.test_every_command import COMMANDS, GOOD, SERVES, Place, call, run

LONG = ("x" * 5000, "9" * 5000, "a, b. c; " * 556, "\x1b[31m" * 1000)
FREE = {
    "name", "new_name", "note", "source", "client", "order_number", "folder", "out", "shop_name",
}  # fmt: skip
"""Parameters that are any text or a place to write to: what is too long of them is told as well, if
it is."""
SLOW = {"demo", "palette", "preview", "separate", "proof", "look", "ticket", "calibrate"}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    made = Place(tmp_path_factory.mktemp("long"))
    made.keep_readings()
    made.keep_job(changed=True)
    return made


def valued() -> list[tuple[str, str]]:
    return [
        (name, str(param.name))
        for name, command in COMMANDS.items()
        for param in command.params
        if not getattr(param, "is_flag", False)
        and name != "characterize"
        and not (name in SLOW and param.name in FREE)
    ]


def refused(done: Any, *, always: bool) -> None:
    if done.exit_code in (0, 1) and not always:
        return
    assert done.exit_code == 2, (done.exit_code, done.stderr[-300:])
    assert "Traceback" not in done.stderr
    longest = max(map(len, done.stderr.splitlines()))
    assert longest <= LONGEST + len("inksim: "), done.stderr[:400]


@pytest.mark.parametrize(("name", "param"), valued())
def test_a_long_value_is_one_readable_sentence(name: str, param: str, place: Place) -> None:
    (of,) = [each for each in COMMANDS[name].params if each.name == param]
    words = [] if name == SERVES else GOOD[name][1](place)
    # one kind of long value each, for time; typed ones are refused by click before anything
    typed = isinstance(
        of.type, click.types.FloatParamType | click.types.IntParamType | click.Choice
    )
    at = sum(map(ord, name + param)) % len(LONG)
    for value in LONG if typed else [LONG[at]]:
        if isinstance(of, click.Argument):
            own = [p.name for p in COMMANDS[name].params if isinstance(p, click.Argument)]
            spot = own.index(param)
            done = call(name, place, words=[*words[:spot], value, *words[spot + 1 :]])
        else:
            done = call(name, place, of.opts[0], value, words=words)
        refused(done, always=typed)


GIVEN = [
    ("separate", ["no.png", "--garment", "no such", "--angles", "a,b"], "--angles"),
    ("separate", ["no.png", "--garment", "no such", "--angles", "15,nan"], "--angles"),
    ("separate", ["no.png", "--garment", "no such", "--choke", "nan"], "--choke"),
    ("separate", ["no.png", "--garment", "no such", "--light", "moon"], "--light"),
    ("preview", ["no.png", "--garment", "no such", "--background", "moon"], "--background"),
    ("preview", ["no.png", "--garment", "no such", "--print-width", "inf"], "--print-width"),
    ("proof", ["no.png", "--background", "#12345"], "--background"),
    ("calibrate", ["no.csv", "--since", "yesterday"], "--since"),
    ("calibrate", ["no.csv", "--since", "03/04/2026"], "--since"),
    ("record", ["--since", "31.02.2026"], "--since"),
    ("lights", ["--garment", "no such", "--ink", "no", "--also", "moon"], "--also"),
    ("job new", ["no.png", "--name", "A", "--background", "moon"], "--background"),
    ("add ink", ["--name", "A", "--from", "no.csv", "--density", "nan"], "--density"),
    ("app", ["--host", "https://inks.example"], "no name of a host"),
]


@pytest.mark.parametrize(("name", "words", "told"), GIVEN)
def test_an_option_is_checked_when_it_is_given(
    name: str, words: list[str], told: str, tmp_path: Path
) -> None:
    # before the shop is opened, which is not there, or the file is read, which is not either
    shop = [] if name == SERVES else ["--shop", tmp_path / "nowhere"]
    done = run(*name.split(), *words, *shop)
    assert done.exit_code == 2
    assert told in done.stderr
    assert "nowhere" not in done.stderr
    assert "no.png" not in done.stderr


def test_days_and_lights_mean_what_they_meant() -> None:
    assert run("record", "--since", "1.2.2026").exit_code == 0
    print_ = ("--garment", "Coal Black", "--ink", "Kiln Red")
    small = run("predict", *print_, "--light", "d65")
    assert small.exit_code == 0
    assert small.stdout == run("predict", *print_, "--light", "D65").stdout


def test_a_message_is_cut_in_its_middle_and_once() -> None:
    words = f"the value '{'x' * 5000}' is none; write 3."
    said = str(InputError(words))
    assert len(said) <= LONGEST
    assert said.startswith("the value 'xxx")
    assert said.endswith("xxx' is none; write 3.")
    assert cut(said) == said
    assert str(InputError("it is short.")) == "it is short."


def test_every_fault_of_many_is_cut_by_itself() -> None:
    faults = ShopFaults(["a.toml: " + "y" * 900, "b.toml: short"])
    assert [len(line) <= LONGEST for line in str(faults).splitlines()] == [True] * 3
    assert faults.faults[1] == "b.toml: short"
