"""Tables and folders of jobs: every row is listed, a wrong one with its fault."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from inksim.batch.chunks import MOST_AT_ONCE, of_shard
from inksim.batch.listing import Listed, Listing, Shard
from inksim.common import InputError


def table(folder: Path, *lines: bytes | str) -> Path:
    path = folder / "jobs.csv"
    path.write_bytes(b"\n".join(x if isinstance(x, bytes) else x.encode() for x in lines))
    return path


def listed(path: Path, garments: tuple[str, ...] = ("One", "Two")) -> list[Listed]:
    return list(Listing(path, garments=garments))


def test_a_row_is_a_job_in_memory_and_its_cells_are_fields(tmp_path: Path) -> None:
    path = table(
        tmp_path,
        "artwork,garment,width_mm,client,quantity,artwork.inks",
        'a.png,One,250,012,40,"{""#c9342f"" = ""Kiln Red""}"',
    )
    (one,) = listed(path)
    assert (one.source, one.name, one.art) == ("jobs.csv line 2", "a", str(tmp_path / "a.png"))
    assert one.said == {
        "garments": ["One"], "quantity": 40, "client": "012",
        "artwork": {"file": "a.png", "width_mm": 250, "inks": {"#c9342f": "Kiln Red"}},
    }  # fmt: skip


def test_a_broken_row_is_listed_with_its_fault_and_no_other_is_lost(tmp_path: Path) -> None:
    path = table(
        tmp_path,
        "artwork,garment", "a.png,One", "b.png", '"c.png,One', "d.png,One,more", "", ",One",
        b"\xff.png,One", "e.png,", "f.png,Two",
    )  # fmt: skip
    rows = listed(path)
    assert [(row.source.rpartition(" ")[2], bool(row.fault)) for row in rows] == [
        ("2", False), ("3", True), ("4", True), ("5", True), ("7", True), ("8", True), ("9", True),
        ("10", False),
    ]  # fmt: skip
    assert all("jobs.csv line" in row.fault for row in rows if row.fault)


def test_a_cell_means_what_a_spreadsheet_wrote(tmp_path: Path) -> None:
    """A spreadsheet's decimal comma, and the day that it makes of '3-4' (common practice)."""
    path = table(
        tmp_path, "artwork;garment;width_mm;reference;tolerance_de00;quantity",
        "a.png;One;280,5;4711;2026-04-03;1,000", "a.png;One;280;2026-04-03;nan;",
    )  # fmt: skip
    first, second = listed(path)
    assert first.said["artwork"]["width_mm"] == 280.5
    assert (first.said["reference"], second.said["reference"]) == ("4711", "2026-04-03")
    # what no field is stays text, and the job's check refuses it by name; a thousand is not one
    assert (first.said["tolerance_de00"], second.said["tolerance_de00"]) == ("2026-04-03", "nan")
    assert first.said["quantity"] == "1,000"
    json.dumps([first.said, second.said], allow_nan=False)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_star_is_every_garment_and_a_spreadsheets_separators_do(
    tmp_path: Path, separator: str
) -> None:
    path = table(tmp_path, f"\ufeffartwork{separator}garment", f"a.png{separator}*")
    assert [row.said["garments"] for row in listed(path)] == [["One"], ["Two"]]


@pytest.mark.parametrize(
    ("head", "fault"),
    [
        ("artwork,cloth", "column 'cloth' is no field"),
        ("artwork,quantity", "has no column garment"),
        ("artwork,garment,garment", "two columns 'garment'"),
        ("", "no column artwork and no garment"),
    ],
)
def test_a_table_that_is_none_is_refused(tmp_path: Path, head: str, fault: str) -> None:
    with pytest.raises(InputError, match=fault):
        listed(table(tmp_path, head, "a.png,One"))


def test_a_folder_has_its_jobs_and_those_of_its_folders(tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept" / "job.toml").write_text('name = "Mill"\n[artwork]\nfile = "m.png"\n')
    (tmp_path / "plain.toml").write_text("garments = [")
    (tmp_path / "dated.toml").write_text("note = 2026-11-29\n")
    (tmp_path / "nan.toml").write_text("color = [{area_cm2 = nan}]\n")
    dated, mill, no_number, plain = listed(tmp_path)
    assert (mill.name, mill.art) == ("Mill", str(tmp_path / "kept" / "m.png"))
    assert "'dated.toml', note: no day" in dated.fault
    assert "'nan.toml', color.0.area_cm2: " in no_number.fault
    assert "plain.toml" in plain.fault
    assert "not TOML" in plain.fault


@pytest.mark.parametrize("what", ["empty", "lost", "file.txt"])
def test_where_no_job_is_it_is_said(tmp_path: Path, what: str) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file.txt").write_text("artwork,garment")
    with pytest.raises(InputError):
        listed(tmp_path / what)


@pytest.mark.parametrize("text", ["3/2", "0/2", "1", "a/b", "1/0", "-1/2", ""])
def test_a_shard_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="shard"):
        Shard.parsed(text)


def test_shards_are_the_whole_each_job_once_and_alike_in_size() -> None:
    """Each job stands in one shard; what an artwork has stays together, so many at a time."""
    jobs = [Listed(source=f"{a} {g}", art=f"{a}.png") for a in range(7) for g in range(40)]
    parts = [list(of_shard(jobs, Shard(part, 3))) for part in (1, 2, 3)]
    assert sorted(each.source for part in parts for each in part) == sorted(
        each.source for each in jobs
    )
    assert max(map(len, parts)) - min(map(len, parts)) <= 2 * MOST_AT_ONCE
    pieces = {each.source: at for at, part in enumerate(parts) for each in part}
    assert len({pieces[f"0 {g}"] for g in range(MOST_AT_ONCE)}) == 1
