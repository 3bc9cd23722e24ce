"""Tables of jobs and manifests of batches: sound ones, and all that inksim does with one."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from inksim.batch.chunks import of_shard
from inksim.batch.listing import Listing, Shard
from inksim.batch.manifest import Manifest
from inksim.batch.report import write_reports
from inksim.batch.task import ItemOutcome

TABLE = (
    b"artwork,garment,width_mm,client,artwork.inks\n"
    b'a.png,Coal Black,250,Weir Mill,"{""#c9342f"" = ""Kiln Red""}"\nb.png,*,,,\nc.png\n'
)
FOUND = {"garments": [], "notes": ["one"]}


def tables() -> Sequence[bytes]:
    """One with commas, one with semicolons."""
    return [TABLE, b"\xef\xbb\xbfartwork;garment\r\na.png;Coal Black\r\n"]


def read_table(path: Path) -> None:
    """List it, as a whole and a shard."""
    listing = Listing(path, garments=["Coal Black", "Flour White"])
    assert listing.digest
    list(listing)
    list(of_shard(listing, Shard(2, 3)))


def manifests() -> Sequence[bytes]:
    """One with something done, something failed and something open."""
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / "jobs.csv"
        table.write_bytes(TABLE)
        manifest = Manifest(path=Path(folder) / "manifest.sqlite", list_id="one")
        manifest.keep_list(iter(Listing(table, garments=["Coal Black", "Flour White"])))
        manifest.claim({0: "a", 1: "b", 2: "c"})
        manifest.finish(
            [(ItemOutcome(key="a", found=FOUND), ()), (ItemOutcome(key="b", fault="no"), ())]
        )
        return [manifest.path.read_bytes()]


def read_manifest(path: Path) -> None:
    """Go on with it, report it, and take it over as a shard's."""
    manifest = Manifest(path=path, list_id="one")
    manifest.keep_list(iter(()))
    manifest.claim({0: "a", 1: "b", 2: "c"})
    list(manifest.rows(left=True))
    manifest.counted()
    write_reports(manifest, path.parent, ending="", pictures=True)
    Manifest(path=path.parent / "whole.sqlite", list_id="two").take_over(path)
