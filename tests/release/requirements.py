"""What pyproject.toml asks for, as the files that pip takes."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CORE = ROOT / "requirements-core.txt"
APP = {"altair", "pandas", "streamlit"}
"""What only the app imports."""
_BOUND = re.compile(r"(?P<name>[\w.-]+)>=(?P<least>[\d.]+)")


def asked_for(*extras: str) -> list[str]:
    """Requirements of the package, and of some of its extras, as pyproject.toml writes them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    further = [project["optional-dependencies"][extra] for extra in extras]
    return [each for group in (project["dependencies"], *further) for each in group]


def lowest(requirements: list[str]) -> list[str]:
    """Constraints that hold every requirement to its lower bound; ValueError if it has none."""
    bounds = [(each, _BOUND.match(each)) for each in requirements]
    unbounded = [each for each, bound in bounds if bound is None]
    if unbounded:
        raise ValueError(f"no lower bound: {', '.join(unbounded)}")
    return [f"{bound['name']}=={bound['least']}" for _, bound in bounds if bound]


def core() -> list[str]:
    """Requirements of everything but the app."""
    return [each for each in asked_for() if re.split(r"[^\w.-]", each)[0] not in APP]
