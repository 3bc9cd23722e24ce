"""How the command line ends: full disks, narrow encodings, signals, and what a kill leaves.

Exit codes: 2 of bad input; 128 and the signal's number, as POSIX shells have it.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from inksim.cli.commands import main
from inksim.shop import fresh
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.small_shop import write

needs_posix = pytest.mark.skipif(sys.platform == "win32", reason="devices and signals of POSIX")

# One start of Python for all cases: each is a child whose streams are other files.
CASES = """
import io, json, os, sys
from inksim.cli.commands import main
for words, out, err, encoding in json.loads(sys.argv[1]):
    child = os.fork()
    if child == 0:
        for handle, target in ((1, out), (2, err)):
            os.dup2(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_APPEND), handle)
        sys.stdout = io.TextIOWrapper(open(1, "wb", closefd=False), encoding=encoding)
        sys.stderr = io.TextIOWrapper(open(2, "wb", closefd=False), encoding=encoding)
        main(words, prog_name="inksim")
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


def ends(*cases: tuple[list[str], object, object, str]) -> list[int]:
    """Exit codes of commands, each with its standard output, error, and their encoding."""
    asked = json.dumps([(words, str(out), str(err), code) for words, out, err, code in cases])
    run = subprocess.run(
        [sys.executable, "-c", CASES, asked], capture_output=True, text=True, check=True
    )
    return [int(line) for line in run.stdout.splitlines()]


def small(folder: Path, **changed: str) -> Path:
    folder.mkdir()
    return write(folder, **changed)


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@needs_posix
def test_streams_that_are_full_or_narrow_change_no_answer(tmp_path: Path) -> None:
    shop = str(small(tmp_path / "shop", garments='[[cloth]]\nname = "Größe"\nhex = "#aabbcc"\n'))
    full, out, err = "/dev/full", tmp_path / "out", tmp_path / "err"
    wide = tmp_path / "wide"
    bad = ["predict", "--garment", "none\x1b[2J", "--ink", "ember", "--shop", shop]
    listed = ["shop", "--shop", shop]
    codes = ends(
        (bad, out, full, "utf-8"),  # bad input
        (["predict", "--garment"], out, full, "utf-8"),  # bad usage
        (["no\x1b[2Jsuch"], out, err, "utf-8"),
        (bad, out, err, "ascii"),
        (listed, full, err, "utf-8"),  # nowhere to write results to
        (["--help"], full, err, "utf-8"),
        (listed, wide, err, "ascii"),
        ([*listed, "--json"], tmp_path / "json", err, "ascii"),
    )
    assert codes == [2, 2, 2, 2, 2, 2, 0, 0]
    said = err.read_text("utf-8")
    assert "Traceback" not in said
    assert "\x1b" not in said
    assert "none\\x1b[2J" in said, "what was asked for is seen"
    assert "no\\x1b[2Jsuch" in said
    assert "?" * 6 in wide.read_text("ascii", "strict"), "a replacement for the rule of a table"
    json.loads((tmp_path / "json").read_text("ascii"))


@needs_posix
def test_nothing_is_written_over_a_device_a_pipe_or_a_folder(tmp_path: Path) -> None:
    shop = small(tmp_path / "shop")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    main_end, end = os.openpty()  # a device whose folder takes no files: nothing can be lost
    (tmp_path / "link").symlink_to(os.ttyname(end))
    for target, why in (
        (Path(os.ttyname(end)), "is a device or a pipe"),
        (tmp_path / "link", "is a device or a pipe"),
        (tmp_path / "pipe", "is a device or a pipe"),
        (tmp_path / "circle", "cannot be written"),
        (tmp_path, "is a folder"),
    ):
        done = run("history", "--csv", target, "--shop", shop)
        assert done.exit_code == 2, target
        assert f"'{target}' {why}" in done.stderr
    os.close(main_end)
    os.close(end)
    assert (tmp_path / "pipe").is_fifo()


def test_a_dash_is_standard_output(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    shop = small(tmp_path / "shop")
    table = run("history", "--csv", "-", "--shop", shop)
    assert table.exit_code == 0
    assert table.stdout.startswith("name,garment,ink,")
    record = run("record", "--csv", "-")  # the demo's, with its report on stderr
    assert record.stdout.startswith("# INVENTED: no press printed these.\nproof,")
    assert "INVENTED" in record.stderr
    both = run("record", "--csv", "-", "--json")
    assert both.exit_code == 2
    assert "two things would go to standard output" in both.stderr
    assert not (tmp_path / "-").exists()


def test_two_garments_of_one_file_name_are_told_before_anything_is_drawn(tmp_path: Path) -> None:
    cloth = 'hex = "#334455"\nfibers = {cotton = 1.0}\n'
    more = "".join(f'[[garment]]\nname = "{name}"\n{cloth}' for name in ("Coal Tee", "Coal/Tee"))
    shop = small(tmp_path / "shop", garments=more)
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "any"\ngarments = ["Coal Tee", "Coal/Tee"]\nquantity = 1\n'
        '[[color]]\nhex = "#c9342f"\narea_cm2 = 10\n'
    )
    for words in (("ticket", job, "--out", tmp_path / "out"), ("advise", job, "--chart", "c.png")):
        done = run(*words, "--shop", shop)
        assert done.exit_code == 2
        assert "'Coal Tee' and 'Coal/Tee' would both be written to 'coal-tee'" in done.stderr
    assert not (tmp_path / "out").exists()


APP = """
import sys
from inksim import launch
from inksim.cli.commands import main
launch.SERVER = "sleeper"
main(["app", "--no-browser"], prog_name="inksim")
"""
SLEEPER = """
import os, pathlib, time
pathlib.Path(os.environ["SAID"]).write_text(str(os.getpid()))
time.sleep(60)
"""


def is_running(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@needs_posix
@pytest.mark.parametrize(("sent", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)])
def test_what_stops_the_app_stops_its_server(tmp_path: Path, sent: int, code: int) -> None:
    (tmp_path / "sleeper.py").write_text(SLEEPER)
    said = tmp_path / "pid"
    path = os.pathsep.join([str(tmp_path), str(Path(__file__).parents[2])])
    app = subprocess.Popen(
        [sys.executable, "-c", APP],
        env={**os.environ, "PYTHONPATH": path, "SAID": str(said)},
        stderr=subprocess.PIPE,
    )
    try:
        give_up = time.monotonic() + 60
        while not (said.exists() and said.read_text()) and time.monotonic() < give_up:
            time.sleep(0.05)
        server = int(said.read_text())
        app.send_signal(sent)
        _, words = app.communicate(timeout=20)
        assert app.returncode == code
        assert b"Traceback" not in words
        assert not is_running(server)
    finally:
        app.kill()


KILLED = """
import os, signal
from inksim.common.files import temporary_folder
with temporary_folder() as folder:
    (folder / "inks.toml").write_bytes(b"a shop's copy")
    os.kill(os.getpid(), signal.SIGKILL)
"""


@needs_posix
def test_what_a_kill_leaves_the_next_run_sweeps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inksim.common.files import temporary_folder

    (tmp_path / "inksim-my-shop").mkdir()
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    subprocess.run([sys.executable, "-c", KILLED], check=False)
    [left] = tmp_path.glob("inksim-*.part")
    with temporary_folder() as one, temporary_folder() as two:
        assert not left.exists()
        assert one.exists(), "in use"
        assert one != two
    assert [each.name for each in tmp_path.iterdir()] == ["inksim-my-shop"]


def test_a_new_shop_that_was_stopped_half_way_is_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, write_whole = tmp_path / "own", fresh.write_whole

    def stopped(path: Path, data: bytes) -> None:
        if path.name == "rules.toml":
            (folder / ".inksim-half.part").write_bytes(b"ha")
            raise KeyboardInterrupt
        write_whole(path, data)

    monkeypatch.setattr(fresh, "write_whole", stopped)
    with pytest.raises(KeyboardInterrupt):
        new_shop(folder)
    monkeypatch.undo()
    assert len(list(folder.iterdir())) > 2
    load_shop(new_shop(folder))
    assert not list(folder.glob(".*"))
    assert run("new", folder).exit_code == 2, "a shop is not made anew"
