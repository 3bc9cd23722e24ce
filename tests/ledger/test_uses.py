"""What would miss an entry of a shop is told, and what cannot be read is not passed over."""

from __future__ import annotations

from pathlib import Path

from inksim.ledger.uses import uses_of
from tests.small_shop import write


def test_a_file_that_cannot_be_read_may_use_the_entry(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "garments.toml").write_text("[[garment]\n", "utf-8")
    assert uses_of(tmp_path, "cloth", "any") == ("garments.toml cannot be read, so it may use it",)
