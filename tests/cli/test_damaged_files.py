"""A damaged file of a shop: every command that meets it ends in a sentence, never in a traceback.

What disks, editors and hands do to text files (common practice, no source): bytes of another
encoding, a file cut short or filled with zeros, and what makes parsers give up: numbers and nesting
without end (CWE-674, uncontrolled recursion; CWE-400, resource consumption).
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.test_every_command import Place, changed, run

KEPT = b"# kept before the change "
DAMAGES: dict[str, bytes | None] = {
    "no UTF-8": b'name = "\xff\xfe"\n',
    "zeros": b"\0" * 64,
    "5 000 digits": b"x = " + b"9" * 5000 + b"\n",
    "2 000 deep": b"x = " + b"[" * 2000 + b"]" * 2000 + b"\n",
    "2 000 tables deep": b"x = " + b"{a = " * 2000 + b"1" + b"}" * 2000 + b"\n",
    "other things": b"name = 1979-05-27\nink = 3\ngarment = 3\n[calibration]\nversion = nan\n",
    "a mark cut short": KEPT + b'{"by": "\n[[target]]\nname = "\xff"\n',
    "a mark of other things": KEPT + b'{"by": 3, "when": []}\n\xff\n',
    "an object of other things": b'{"made": 1, "rests_on": {}, "garments": 4}',
    "a JSON without end": b"[" * 100_000,
    "a folder": None,
}
SHOW, LIST = "job show mill-logo", "job list"
READ_BY: dict[str, list[str]] = {
    "inks.toml": ["shop", "remove ink Weir_Teal", SHOW],
    "garments.toml": ["remove garment Mist_Gray", "add cloth --name C --hex #fff"],
    "shop.toml": [
        "shop",
        "set costs.labor_per_hour=25",
        "add target --name Q --hex #123456",
        "undo",
    ],
    "press.toml": ["press", "press --to 0", "set press.stations=6"],
    "press-history/press-0000-2026-01-01.toml": ["press", "press --to 0"],
    "targets.toml": ["undo", "add target --name Q --hex #123456"],
    ".previous/targets.toml": ["undo", "undo targets.toml --anyway"],
    "jobs/mill-logo/job.toml": [LIST, SHOW, "job set mill-logo note=z"],
    "jobs/mill-logo/.previous/job.toml": [SHOW, "job undo mill-logo --anyway"],
    "jobs/mill-logo/decided.json": [SHOW, LIST],
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = Place(tmp_path_factory.mktemp("damaged"))
    place.keep_job(changed=True)
    changed(place)
    (place.shop / "press-history").mkdir()
    shutil.copy(
        place.shop / "press.toml", place.shop / "press-history" / "press-0000-2026-01-01.toml"
    )
    (place.shop / "jobs" / "mill-logo" / "decided.json").write_text('{"made": "", "rests_on": {}}')
    return place.shop


@pytest.mark.parametrize("file", READ_BY)
def test_a_damaged_file_is_a_sentence(file: str, sound: Path, tmp_path: Path) -> None:
    for at, (name, data) in enumerate(DAMAGES.items()):
        shop = tmp_path / str(at)
        shutil.copytree(sound, shop)
        (shop / file).unlink()
        if data is None:
            (shop / file).mkdir()
        else:
            (shop / file).write_bytes(data)
        for words in READ_BY[file]:
            done = run(*(word.replace("_", " ") for word in words.split(" ")), "--shop", shop)
            assert done.exit_code in (0, 2), (name, words, done.stderr)
            assert "Traceback" not in done.stderr, (name, words)
            for line in done.stderr.splitlines():
                assert len(line) <= 300 + len(str(shop)), (name, words, line)


def test_a_field_of_a_job_that_nests_without_end_is_text(sound: Path) -> None:
    for value in ("[" * 3000, "9" * 5000):
        done = run("job", "set", "mill-logo", f"note={value}", "--shop", sound)
        assert done.exit_code in (0, 2), done.stderr
        assert "Traceback" not in done.stderr
