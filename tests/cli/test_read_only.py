"""INKSIM_READ_ONLY: every command that would change a shop says so and changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from inksim.common.read_only import READ_ONLY_VARIABLE
from tests.cli.test_every_command import COMMANDS, GOOD, SERVES, Place, call, changed

WRITES = {
    "remove", "undo", "set", "add screen", "add garment", "add cloth", "add target", "add ink",
    "job new", "job set", "job undo", "job copy",
}  # fmt: skip
"""Commands of which the good run changes the shop; of the others it looks, or writes elsewhere."""
LONG = ("demo", "palette", "preview", "separate", "look", "ticket", "characterize")
"""Commands that take long and write nothing but what --out names."""


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    made = Place(tmp_path_factory.mktemp("only"))
    made.keep_readings()
    made.keep_job(changed=True)
    changed(made)
    GOOD["batch"][0](made)  # a table, which is no file of the shop
    return made


def refused(place: Place, *command: object, shop: bool = True) -> None:
    before = contents(place.shop)
    name = next(n for n in COMMANDS if " ".join(map(str, command)).startswith(n))
    done = call(name, place, words=list(command)[len(name.split()) :])
    assert done.exit_code == 2, (done.stdout, done.stderr)
    assert READ_ONLY_VARIABLE in done.stderr
    assert len(done.stderr) <= 300 + len(str(place.shop))
    assert contents(place.shop) == before


@pytest.mark.parametrize("name", [n for n in COMMANDS if n not in (SERVES, *LONG)])
def test_nothing_of_a_shop_changes_where_its_host_says_so(
    name: str, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(READ_ONLY_VARIABLE, "1")
    before = contents(place.shop)
    done = call(name, place)
    assert done.exit_code == (2 if name in WRITES else 0), (done.stdout, done.stderr)
    assert (READ_ONLY_VARIABLE in done.stderr) == (name in WRITES)
    assert contents(place.shop) == before
    assert set(GOOD) > WRITES


def test_so_do_options_that_write(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(READ_ONLY_VARIABLE, "1")
    refused(place, "history", "--remove", "1")
    refused(place, "history", "--from", place.readings)
    refused(place, "press", "--back")
    refused(place, "calibrate", place.readings)
    refused(place, "characterize", place.drawdowns)
    refused(place, "proof", "mill-logo")


def test_a_decision_is_told_and_not_kept(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(READ_ONLY_VARIABLE, "1")
    before = contents(place.shop)
    done = call("advise", place, words=["mill-logo"])
    assert done.exit_code in (0, 1)
    assert "what was decided is not kept" in done.stderr
    assert contents(place.shop) == before
