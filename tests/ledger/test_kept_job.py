"""A kept job: whole or absent, edited by hand and by command, taken back, copied, shared by two."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inksim.common.errors import InputError, ShopFaults
from inksim.common.files import UNFINISHED, temporary_folder
from inksim.ledger.kept_job import (
    KeptJob,
    change_job,
    copy_job,
    garments_of,
    job_file,
    kept_at,
    kept_keys,
    new_job,
    open_job,
    undo_job,
)
from inksim.shop.changes import acting_as
from inksim.shop.load import load_shop
from tests.small_shop import write

GARMENTS = {"gray": 40}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    return write(folder)


@pytest.fixture
def art(tmp_path: Path) -> Path:
    pixels = np.zeros((40, 60, 3), dtype=np.uint8)
    pixels[5:35, 5:55] = (0xC9, 0x34, 0x2F)
    path = tmp_path / "Logo of May.PNG"
    Image.fromarray(pixels).save(path, dpi=(150, 150))
    return path


def kept(shop: Path, art: Path, name: str = "Mill logo") -> KeptJob:
    return new_job(
        shop,
        name=name,
        artwork=art,
        garments=GARMENTS,
        fields={"artwork.width_mm": 280.0, "client": "Weir Mill", "reference": "PO 12 / Süd"},
    )


def says(job: KeptJob) -> dict[str, object]:
    return tomllib.loads(job.file.read_text("utf-8"))


def test_a_job_is_a_folder_with_a_plain_file_and_the_artwork_as_it_came(
    shop: Path, art: Path
) -> None:
    job = kept(shop, art)
    assert job.folder == shop / "jobs" / "mill-logo"
    assert sorted(p.name for p in job.folder.iterdir()) == ["job.toml", "logo-of-may.png"]
    assert (job.folder / "logo-of-may.png").read_bytes() == art.read_bytes()
    assert says(job) == {
        "name": "Mill logo",
        "garments": ["gray"],
        "quantity": {"gray": 40},
        "client": "Weir Mill",
        "reference": "PO 12 / Süd",
        "artwork": {"file": "logo-of-may.png", "width_mm": 280},
    }
    for name in ("mill-logo", "Mill logo"):
        assert open_job(shop, name).entry == job.entry
    assert kept_keys(shop) == ["mill-logo"]


@pytest.mark.parametrize(
    "case",
    [
        ("Mill logo", GARMENTS, {}, "there is a job 'mill-logo' already"),
        ("New", {}, {}, "at least one garment"),
        ("New", GARMENTS, {"artwork.with_mm": 280}, "not known; check its spelling"),
        ("New", GARMENTS, {"artwork.width_mm": 0.1}, "artwork, width_mm"),
        ("New", {"navy": 3}, {}, "navy"),
        ("New", GARMENTS, {"artwork.inks": {"#c9342f": "no such"}}, "no such"),
    ],
)
def test_what_would_be_a_fault_leaves_nothing_behind(
    case: tuple[str, dict[str, int], dict[str, object], str], shop: Path, art: Path
) -> None:
    name, garments, fields, said = case
    kept(shop, art)
    before = sorted(shop.rglob("*"))
    with pytest.raises((InputError, ShopFaults), match=re.escape(said)):
        new_job(
            shop, name=name, artwork=art, garments=garments, fields=fields, shop=load_shop(shop)
        )
    assert sorted(shop.rglob("*")) == before


def test_a_name_cannot_lead_out_of_the_shop(shop: Path, art: Path) -> None:
    job = kept(shop, art, name="../../outside")
    assert job.folder.parent == shop / "jobs"
    with pytest.raises(InputError, match="no job"):
        open_job(shop, "../../shop")


def test_what_a_person_wrote_in_the_file_stays(shop: Path, art: Path) -> None:
    job = kept(shop, art)
    text = job.file.read_text("utf-8").replace("[artwork]", "# ask Ann about the width\n[artwork]")
    job.file.write_text(text, "utf-8")
    changed = change_job(
        open_job(shop, job.key), {"artwork.width_mm": 250, "note": "rush", "client": None}
    )
    assert "# ask Ann about the width" in changed.file.read_text("utf-8")
    assert says(changed)["artwork"] == {"file": "logo-of-may.png", "width_mm": 250}
    assert says(changed)["note"] == "rush"
    assert "client" not in says(changed)


def test_other_garments_take_the_old_quantities_with_them(shop: Path, art: Path) -> None:
    changed = change_job(kept(shop, art), {}, garments={"navy": 7, "gray": 1})
    assert says(changed)["garments"] == ["navy", "gray"]
    assert says(changed)["quantity"] == {"navy": 7, "gray": 1}


# -- undo


def test_undo_says_whose_change_it_takes_back_and_what_it_was(shop: Path, art: Path) -> None:
    first = kept(shop, art)
    with pytest.raises(InputError, match="nothing to undo"):
        undo_job(first)
    second = change_job(first, {"artwork.width_mm": 250.0, "note": "rush"})
    back, change = undo_job(second)
    assert back.data == first.data == back.file.read_bytes()
    assert change.mine
    assert set(change.what.removeprefix("set ").split("; ")) == {
        "note: nothing → rush",
        "artwork.width_mm: 280 → 250",
    }
    assert change.back.startswith("took back: ")
    again, change = undo_job(back)
    assert again.data == second.data
    assert change.back.startswith("brought back: ")


def test_undo_never_takes_back_somebody_elses_change(shop: Path, art: Path) -> None:
    with acting_as("ann"):
        change_job(kept(shop, art), {"note": "rush"})
    job = open_job(shop, "mill-logo")
    with acting_as("ben"):
        with pytest.raises(InputError, match="not yours: ann set note: nothing → rush") as told:
            undo_job(job)
        assert "'inksim job undo mill-logo --anyway' takes it back" in str(told.value)
        assert open_job(shop, "mill-logo").data == job.data
        back, change = undo_job(job, anyone=True)
    assert change.by == "ann"
    assert "note" not in says(back)


# -- two people


def test_who_saves_second_is_told_and_nothing_is_lost(shop: Path, art: Path) -> None:
    kept(shop, art)
    ann, ben = open_job(shop, "mill-logo"), open_job(shop, "mill-logo")
    saved = change_job(ann, {"artwork.width_mm": 250.0})
    for late in (lambda: change_job(ben, {"note": "ben's"}), lambda: undo_job(ben, anyone=True)):
        with pytest.raises(InputError, match="changed by somebody else since it was read"):
            late()
    assert saved.file.read_bytes() == saved.data
    merged = change_job(open_job(shop, "mill-logo"), {"note": "ben's"})
    assert says(merged)["note"] == "ben's"
    assert merged.entry.artwork is not None
    assert merged.entry.artwork.width_mm == 250


# -- the same again


def test_a_copy_has_the_artwork_and_other_garments_but_no_proofs(shop: Path, art: Path) -> None:
    job = kept(shop, art)
    (job.folder / "proofs").mkdir()
    (job.folder / "proofs" / "proof-1.pdf").write_bytes(b"signed")
    again = copy_job(shop, open_job(shop, job.key), name="Again, on navy", garments={"navy": 5})
    assert (again.key, again.entry.again_of) == ("again-on-navy", "mill-logo")
    assert again.quantities == {"navy": 5}
    assert again.artwork is not None
    assert again.artwork.read_bytes() == art.read_bytes()
    assert again.entry.client == "Weir Mill"
    assert (len(job.proofs), len(again.proofs)) == (1, 0)
    assert job.file.read_bytes() == job.data
    assert copy_job(shop, job, name="And again").quantities == GARMENTS


# -- by name


def test_a_job_is_found_by_file_folder_or_name(
    shop: Path, art: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = kept(shop, art)
    for word in (job.file, job.folder, "mill-logo", "Mill logo"):
        assert job_file(word, shop).resolve() == job.file.resolve()
        found = kept_at(job_file(word, shop), shop)
        assert found is not None
        assert found.key == "mill-logo"
    alone = shop.parent / "job.toml"
    alone.write_bytes(job.data)
    assert job_file(alone, None) == alone
    assert kept_at(alone, shop) is None
    with pytest.raises(InputError, match="has mill-logo"):
        job_file("Mills", shop)
    with pytest.raises(InputError, match="the demo shop keeps no jobs"):
        job_file("Mills", None)
    with pytest.raises(InputError, match=r"no job's file .*'inksim job new'"):
        job_file(art, shop)


@pytest.mark.parametrize(
    "text",
    [
        "Coal Black", "Coal Black=", "=4", "Coal Black=0", "Coal Black=-3", "Coal Black=1.5",
        pytest.param("Coal Black=" + "9" * 5000, id="more digits than Python converts"),
    ],
)  # fmt: skip
def test_garments_want_a_whole_number(text: str) -> None:
    with pytest.raises(InputError, match="no garment and quantity"):
        garments_of([text])


def test_garments_are_told_apart_whatever_their_capitals() -> None:
    assert garments_of(["A=b=4", "Coal Black = 40"]) == {"A=b": 4, "Coal Black": 40}
    with pytest.raises(InputError, match="given twice"):
        garments_of(["Coal Black=1", "coal black=2"])


# -- killed

KILLED = """
import os, signal, sys
from pathlib import Path
from inksim.ledger.kept_job import change_job, copy_job, new_job, open_job
from inksim.shop.changes import acting_as
from inksim.shop.load import load_shop

act, art, *places = sys.argv[1:]

def run(shop):
    checked, job = load_shop(shop), open_job(shop, "mill-logo")
    if act == "new":
        new_job(shop, name="Fresh", artwork=Path(art), garments={"gray": 3}, shop=checked)
    elif act == "set":
        change_job(job, {"artwork.width_mm": 250.0, "note": "x" * 20_000}, shop=checked)
    else:
        copy_job(shop, job, name="Fresh", garments={"gray": 3}, shop=checked)

def counted(shop, at):
    steps = 0

    def die(*_):
        os.kill(os.getpid(), signal.SIGKILL)

    def touched(event, args):
        nonlocal steps
        if event.split(".")[0] not in ("open", "os", "shutil", "tempfile", "fcntl"):
            return
        if event.startswith("fcntl") or any(str(shop / "jobs") in str(a) for a in args):
            steps += 1
            if steps == at:  # dies when it is done, before the next line of the program
                frame = sys._getframe(1)
                while frame is not None:
                    frame.f_trace, frame = die, frame.f_back
                sys.settrace(die)

    sys.addaudithook(touched)  # nobody takes it out again: each run is a process of its own
    run(shop)
    print("steps", steps, flush=True)

run(Path(places.pop(0)))  # whatever is loaded when it is used is loaded now
for place in places:
    shop, at = place.rsplit(":", 1)
    child = os.fork()
    if child == 0:
        try:
            counted(Path(shop), int(at))
        finally:
            os._exit(0)
    _, status = os.waitpid(child, 0)
    print("killed" if os.WIFSIGNALED(status) else "ended", flush=True)
"""


def killed(act: str, first: Path, places: list[tuple[Path, int]], art: Path) -> list[str]:
    """Run one act on each shop, killed at its n-th touch of the jobs (0: never): what became.

    On the first it just runs.
    """
    words = [act, str(art), str(first), *(f"{shop}:{at}" for shop, at in places)]
    done = subprocess.run(
        [sys.executable, "-c", KILLED, *words], capture_output=True, text=True, timeout=300,
        check=True,
    )  # fmt: skip
    return done.stdout.splitlines()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes are forked here")
@pytest.mark.parametrize("act", ["new", "set", "copy"])
def test_a_kill_leaves_a_job_whole_or_absent_old_or_new(
    act: str, tmp_path: Path, art: Path
) -> None:
    def fresh(name: str) -> Path:
        folder = tmp_path / name
        folder.mkdir()
        kept(write(folder), art)
        return folder

    through = fresh("through")
    counted, ended = killed(act, fresh("first"), [(through, 0)], art)
    assert ended == "ended"
    steps = int(counted.removeprefix("steps "))
    assert steps >= 10
    old, new = open_job(fresh("old"), "mill-logo").data, open_job(through, "mill-logo").data
    places = [(fresh(f"killed-{at}"), at) for at in range(1, steps + 1)]
    assert killed(act, fresh("second"), places, art) == ["killed"] * steps
    seen = set()
    for shop, _ in places:
        keys, job = kept_keys(shop), open_job(shop, "mill-logo")
        there = "fresh" in keys
        assert keys == [*(["fresh"] if there else []), "mill-logo"]
        assert job.data in ((old, new) if act == "set" else (old,))
        if there:
            made = open_job(shop, "fresh")
            assert made.quantities == {"gray": 3}
            assert made.artwork is not None
            assert made.artwork.read_bytes() == art.read_bytes()
        seen.add(there or job.data != old)
        # nobody is in the way of whoever does it again, and of who takes it back
        if act == "set":
            undone, _ = undo_job(change_job(job, {"note": "once more"}))
            assert undone.data == job.data
        elif not there:
            assert copy_job(shop, job, name="Fresh").key == "fresh"
    assert seen == {True, False}


def test_what_a_kill_left_is_cleared_away_later(shop: Path, art: Path) -> None:
    home = shop / "jobs"
    home.mkdir()
    with temporary_folder(home) as somebodys:
        left = home / UNFINISHED.replace("*", "abc")
        (left / "fresh").mkdir(parents=True)
        kept(shop, art)
        assert somebodys.exists()
        assert not left.exists()
