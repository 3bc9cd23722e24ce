"""What a release asks for: the core, lower bounds, licenses; what is said without the app."""

from __future__ import annotations

import subprocess
import sys
from importlib import metadata

import pytest

from inksim.reports.licenses import NOT_STATED, declared_license, licensed
from tests.release.requirements import APP, CORE, ROOT, asked_for, core, lowest

BLOCKED = "import sys\nfor name in {blocked}:\n    sys.modules[name] = None\n"
"""None there makes the import fail as if nothing were installed (Python's import system)."""
DECIDES = """
import importlib
from datetime import date
for room in {rooms}:
    importlib.import_module(f"inksim.{{room}}")
import inksim
from inksim.reports import ticket_pdf
shop = inksim.load_shop()
job = inksim.load_job("shared/jobs/choir.toml", shop=shop)
answer = inksim.decide_job(job, shop=shop)
garment = answer.garments[0].garment
ticket = inksim.make_ticket(answer, shop=shop, garment=garment, made=date(2026, 3, 9))
assert ticket_pdf(ticket).startswith(b"%PDF")
print(answer.nominal is not None)
"""


def test_the_core_is_the_dependencies_without_the_app() -> None:
    lines = [line for line in CORE.read_text("utf-8").splitlines() if not line.startswith("#")]
    assert lines == core()
    assert len(asked_for()) - len(lines) == len(APP)


def test_the_core_decides_a_job_and_makes_its_ticket_without_the_app() -> None:
    from tests.test_rooms import ROOMS

    rooms = [room for room in ROOMS if room != "ui"]
    program = (BLOCKED + DECIDES).format(blocked=APP | {"pyarrow"}, rooms=rooms)
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (0, "True\n"), done.stderr


def test_the_app_says_what_it_lacks() -> None:
    program = BLOCKED.format(blocked={"streamlit"}) + "from inksim.cli import main; main(['app'])"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "the app needs Streamlit" in done.stderr


def test_lower_bounds_become_the_lowest_versions() -> None:
    # PEP 440: '==5' is 5, 5.0 and 5.0.0
    assert lowest(["fpdf2>=2.8.5,<3", "xsdata>=25"]) == ["fpdf2==2.8.5", "xsdata==25"]
    assert len(lowest(asked_for("artwork", "dev"))) == len(asked_for("artwork", "dev"))
    with pytest.raises(ValueError, match="no lower bound: numpy"):
        lowest(["numpy"])


# -- licenses


def test_every_dependency_is_listed_however_far_down() -> None:
    rows = {each.package.lower(): each for each in licensed()}
    # streamlit asks for jinja2 through altair, and jinja2 for markupsafe
    assert {"inksim", "numpy", "fpdf2", "markupsafe"} <= set(rows)
    assert rows["numpy"].version == metadata.version("numpy")
    # outside facts: both packages' own pages
    assert rows["fpdf2"].note.startswith("copyleft")
    assert not rows["numpy"].note
    assert all(each.note for each in rows.values() if each.license == NOT_STATED)


@pytest.mark.parametrize(
    ("fields", "license_words"),
    [
        ({"License-Expression": "MIT", "License": "other"}, "MIT"),
        ({"Classifier": "License :: OSI Approved :: BSD License"}, "BSD License"),
        ({"License": "Apache-2.0"}, "Apache-2.0"),
        ({"License": "Copyright somebody\n\nPermission is granted"}, NOT_STATED),
        ({"Name": "silent"}, NOT_STATED),
    ],
)
def test_a_license_is_what_the_metadata_say(fields: dict[str, str], license_words: str) -> None:
    # as the core metadata specification has the fields
    from email.message import Message

    about = Message()
    for name, value in fields.items():
        about[name] = value
    assert declared_license(about) == license_words  # type: ignore[arg-type]
