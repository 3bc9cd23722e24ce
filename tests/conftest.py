"""What all tests share: one profile of Hypothesis, the split on workers, the reference data."""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Generator
from pathlib import Path
from typing import Any, NamedTuple

# Before numpy is loaded. The matrices here are small, and a second thread that waits for work
# takes the core of the other worker: the fits to drawdowns take four times as long with it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import hypothesis
import numpy as np
import pytest
from xdist.scheduler import LoadScopeScheduling

# Where a machine forbids to keep compiled modules, each process that a test starts compiles what it
# loads of inksim anew: a third of a command's time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

IN_CI = os.environ.get("CI", "").lower() in {"1", "true"}

# How fast a machine draws examples is no fault of what is tested; in CI every run draws the same.
hypothesis.settings.register_profile(
    "inksim",
    deadline=None,
    derandomize=IN_CI,
    suppress_health_check=[
        hypothesis.HealthCheck.data_too_large,
        hypothesis.HealthCheck.too_slow,
    ],
)
hypothesis.settings.load_profile("inksim")

BROWSER = "browser"
HEAVY = (BROWSER, "test_docs", "ui", "cli", "test_attack", "calibration")
"""Rooms and files that take longest, longest first."""
REFERENCE_DATA = Path(__file__).resolve().parent.parent / "reference_data"


class Textiles(NamedTuple):
    """Measured textiles (Vrhel, Gershon & Iwan 1994) as they were read, at 2 nm."""

    names: tuple[str, ...]
    wavelengths_nm: np.ndarray  # (171,)
    reflectance: np.ndarray  # (33, 171), factor 0-1


def read_check_values() -> dict[str, Any]:
    """The check values; ``provenance`` inside says which are published, which computed."""
    values: dict[str, Any] = json.loads((REFERENCE_DATA / "check_values.json").read_text("utf-8"))
    return values


def read_textiles() -> Textiles:
    """The measured textiles, one row each."""
    path = REFERENCE_DATA / "textile_reflectances.csv"
    names = path.read_text("utf-8").partition("\n")[0].split(",")[1:]
    table = np.loadtxt(path, delimiter=",", skiprows=1)
    return Textiles(tuple(names), table[:, 0], table[:, 1:].T)


class ByFile(LoadScopeScheduling):
    """The tests of a file stay on one worker; those that drive the browser share two."""

    def _split_scope(self, nodeid: str) -> str:
        _, of_browser, file = nodeid.partition(f"/{BROWSER}/test_")
        if not of_browser:
            return str(super()._split_scope(nodeid))
        # halves of about the same work: each serves the app and starts Chromium once
        return f"{BROWSER} {'a to h' if file < 'i' else 'i to z'}"


@pytest.hookimpl(wrapper=True, optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> Generator[None, int, int]:
    """One worker more than cores: the browser's waits for the server and for Chromium."""
    cores = yield
    return cores + 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling | None:
    """For ``pytest -n``; another ``--dist`` is left to pytest-xdist."""
    if config.option.dist != "loadscope":
        return None
    config.option.loadscopereorder = False
    return ByFile(config, log)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """``-m benchmark`` reads only the files that have one: the others take nine seconds to load."""
    if config.option.markexpr != "benchmark" or collection_path.suffix != ".py":
        return None
    return "mark.benchmark" not in collection_path.read_text(encoding="utf-8") or None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The heavy ones first: what is left to the end are short files, shared out evenly."""

    def weight(item: pytest.Item) -> int:
        names = (item.path.parent.name, item.path.stem)
        return min((HEAVY.index(name) for name in names if name in HEAVY), default=len(HEAVY))

    items.sort(key=weight)


# A third of the time to read six thousand tests is a search for garbage that is not there.
def pytest_collection(session: pytest.Session) -> None:
    gc.disable()


def pytest_collection_finish(session: pytest.Session) -> None:
    gc.freeze()
    gc.enable()


@pytest.fixture(autouse=True)
def own_main_module() -> Generator[None]:
    """A page's test leaves its page as the main module, which a new process would then run."""
    main = sys.modules["__main__"]
    yield
    sys.modules["__main__"] = main


@pytest.fixture(scope="session")
def reference_data() -> Path:
    """The folder of published values and open data."""
    return REFERENCE_DATA


@pytest.fixture(scope="session")
def check_values() -> dict[str, Any]:
    """See read_check_values."""
    return read_check_values()


@pytest.fixture(scope="session")
def textiles() -> Textiles:
    """See read_textiles."""
    return read_textiles()
