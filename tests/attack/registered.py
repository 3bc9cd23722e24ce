"""What has to have a row among the readers: found in inksim itself, so that none is forgotten."""

from __future__ import annotations

import re
from collections.abc import Sequence

from inksim.artwork.read import READERS
from inksim.readings.formats import FORMATS
from inksim.shop.load import FILES
from tests.attack.engine import ROOT, Suite

READS = re.compile(r"(?:as )((?:read|load|open|parse)_\w+|\w+_from_file),?$", re.MULTILINE)
NO_FILES = {"shop:parse_fibres", "shop:read_checked", "stock:parse_target"}
"""Of the faces' names, those that read words only, or stand under another that is attacked."""


def needed() -> set[str]:
    """What has to have a row: pictures, readings, files of a shop, databases, reading functions."""
    files = [path for ending in ("py", "pyi") for path in (ROOT / "inksim").rglob(f"*.{ending}")]
    sources = {path: path.read_text("utf-8") for path in files}
    return (
        {f"picture {kind}" for kind in READERS}
        | {f"readings {form.name}" for form in FORMATS}
        | {f"shop {file}" for file in FILES}
        | {
            f"{path.parent.name}/{path.name}"
            for path, text in sources.items()
            if path.suffix == ".py" and re.search(r"\bDatabase\(\n", text)
        }
        | {
            f"{path.parent.name}:{name}"
            for path, text in sources.items()
            if path.name == "__init__.pyi" and path.parent.name != "inksim"
            for name in READS.findall(text)
        }
    ) - NO_FILES


def check_registered(suites: Sequence[Suite]) -> None:
    """Refuse to begin while something that is read has no row."""
    missing = needed() - {each for suite in suites for each in suite.covers}
    if missing:
        raise LookupError(f"no row of tests/attack/readers.py covers {', '.join(sorted(missing))}")
