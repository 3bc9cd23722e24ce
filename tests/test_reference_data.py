"""Every reference file is listed in the manifest with source, license, kind and its true hash."""

from __future__ import annotations

import hashlib
import tomllib
from typing import Any

import numpy as np
import pytest

from tests.conftest import REFERENCE_DATA, Textiles

KINDS = {"published", "measured", "computed", "invented"}
FIELDS = {"path", "source", "license", "kind", "sha256", "note"}


def manifest() -> list[dict[str, Any]]:
    text = (REFERENCE_DATA / "manifest.toml").read_text("utf-8")
    entries: list[dict[str, Any]] = tomllib.loads(text)["file"]
    return entries


def files() -> set[str]:
    return {
        path.relative_to(REFERENCE_DATA).as_posix()
        for path in REFERENCE_DATA.rglob("*")
        if path.is_file() and path.name != "manifest.toml"
    }


def test_every_file_is_listed_once_and_every_listed_file_exists() -> None:
    listed = [entry["path"] for entry in manifest()]
    assert sorted(listed) == sorted(files())


@pytest.mark.parametrize("entry", manifest(), ids=lambda entry: entry["path"])
def test_entry_is_complete_and_its_hash_is_true(entry: dict[str, Any]) -> None:
    assert set(entry) == FIELDS
    assert entry["kind"] in KINDS
    assert all(entry[field].strip() for field in FIELDS - {"note"})
    content = (REFERENCE_DATA / entry["path"]).read_bytes()
    assert hashlib.sha256(content).hexdigest() == entry["sha256"]


def test_the_license_notice_of_the_textiles_is_beside_them() -> None:
    notice = (REFERENCE_DATA / "textile_reflectances.LICENSE.txt").read_text("utf-8")
    assert "Copyright (c) 1996-2007 David Brainard, Denis Pelli, Allen Ingling" in notice
    assert "The above copyright notice and this permission notice shall be included" in notice


def test_textiles_are_33_factors_at_2_nm(textiles: Textiles) -> None:
    assert len(textiles.names) == 33
    assert textiles.reflectance.shape == (33, 171)
    assert np.array_equal(textiles.wavelengths_nm, np.arange(390, 732, 2))
    assert textiles.reflectance.min() > 0.0
    assert textiles.reflectance.max() < 1.0
