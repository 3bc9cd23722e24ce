"""The command line with hostile words: every command, from its good words spoiled.

A run ends with 0, 1 or 2 and says nothing of Python's; with ``--json`` what it prints is one JSON
document without NaN or infinity.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from tests.attack.engine import LONGEST_FAULT, Broken, Suite, message_fault
from tests.attack.mutators import HOSTILE_NUMBERS, HOSTILE_WORDS
from tests.attack.world import World
from tests.cli.test_every_command import COMMANDS, GOOD, SERVES, Place

SLOW = {"calibrate", "separate", "look", "palette", "demo", "preview", "ticket", "characterize",
        "proof"}  # fmt: skip
"""Commands whose good run takes a second or more: they are tried seldom."""
WORDS = [*HOSTILE_WORDS, *HOSTILE_NUMBERS, "\udcff", "x\udce9.png", "Coal Black", "Kiln Red", "230",
         "mill-logo", "#c9342f", "50,10,-10", "press.release=0.5", "Coal Black=40"]  # fmt: skip


def judge(done: Result, *, as_json: bool) -> None:
    """Raise what a run broke."""
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    if "Traceback" in done.stderr:
        last = [line for line in done.stderr.splitlines() if line and line[0] != " "]
        raise Broken(f"traceback {last[-2] if len(last) > 1 else ''}:\n{done.stderr}")
    if done.exit_code not in (0, 1, 2):
        raise Broken(f"exit code {done.exit_code}: {done.stderr}")
    # click's own words quote what was typed, however long it is
    longest = 10**9 if done.stderr.startswith("Usage:") else LONGEST_FAULT
    if bad := message_fault(done.stderr, longest=longest):
        first = " ".join(done.stderr.split()[:6])
        raise Broken(f"stderr, {bad} ({first}): {done.stderr[:800]!r}")
    if done.exit_code == 2:
        return
    if as_json:
        _one_document(done.stdout)
    elif bad := message_fault(done.stdout, longest=10**9):
        raise Broken(f"stdout, {bad}: {done.stdout[:800]!r}")


def _one_document(text: str) -> Any:
    def refuse(word: str) -> None:
        raise Broken(f"JSON holds {word}: {text[:300]!r}")

    try:
        return json.loads(text, parse_constant=refuse)
    except ValueError as error:
        raise Broken(f"no JSON document ({error}): {text[:300]!r}") from None


def called(words: list[str]) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, words)


def _spoiled(rng: random.Random, words: list[str], command: click.Command) -> list[str]:
    """A word or two replaced, taken out, or an option put in with a hostile value."""
    words = list(words)
    for _ in range(rng.choice((1, 1, 2))):
        act = rng.randrange(5)
        if act <= 1 and words:
            words[rng.randrange(len(words))] = rng.choice(WORDS)
        elif act == 2 and words:
            del words[rng.randrange(len(words))]
        elif act == 3:
            words.append(rng.choice(WORDS))
        else:
            options = [p for p in command.params if isinstance(p, click.Option)]
            option = rng.choice(options)
            words.append(option.opts[0])
            if not option.is_flag:
                kinds: list[str] = HOSTILE_NUMBERS + HOSTILE_WORDS if rng.random() < 0.5 else WORDS  # type: ignore[assignment]
                words.append(rng.choice(kinds))
    return words


def suites(world: World, *, seed: int) -> list[Suite]:
    """Two suites: commands that are quick when they are right, and those that are not."""

    def suite(name: str, names: list[str], weight: float, cpu_s: float) -> Suite:
        def attempt(at: int, folder: Path) -> None:
            rng = random.Random(f"{seed} {name} {at}")
            command = rng.choice(names)
            place: Place = world.place_in(folder)
            good: Callable[[Place], list[Any]] = GOOD[command][1]
            words = [str(word) for word in good(place)]
            whole = _spoiled(rng, words, COMMANDS[command]) if rng.random() < 0.95 else words
            if "--shop" in {o for p in COMMANDS[command].params for o in p.opts}:
                whole += ["--shop", str(place.shop)]
            as_json = rng.random() < 0.5
            whole = [w.replace("\x00", "") for w in whole]  # no program can be given one
            done = called([*command.split(), *whole, *(["--json"] if as_json else [])])
            try:
                judge(done, as_json=as_json and "--help" not in whole)
            except Broken as broken:
                raise Broken(f"{command}, {broken}\n{whole}") from None

        return Suite(
            name=name, weight=weight, attempt=attempt, memory_mb=1500, batch=15, cpu_s=cpu_s
        )

    quick = [name for name in COMMANDS if name not in SLOW and name != SERVES]
    slow = [name for name in COMMANDS if name in SLOW]
    return [suite("commands", quick, 60, 20), suite("slow commands", slow, 12, 60)]
