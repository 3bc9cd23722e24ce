"""The packages that this installation rests on, each with its license as it declares it."""

from __future__ import annotations

import re
from importlib import metadata
from typing import NamedTuple

from inksim.reports.text import table

NOT_STATED = "not stated"
MIT_GRANT = "Permission is hereby granted, free of charge, to any person obtaining a"
LONGEST = 60
"""Letters of a license's name; what is longer is its whole text."""
_NAME = re.compile(r"[A-Za-z0-9][\w.-]*")
_COPYLEFT = re.compile(r"\b[AL]?GPL|General Public|\bMPL|Mozilla|\bEPL|\bEUPL|\bCDDL")
_PERMISSIVE = re.compile(
    r"\bMIT\b|BSD|Apache|\bISC\b|Python Software Foundation|\bPSF|HPND|Zlib|Unlicense|CC0"
)
_OSI = "License :: OSI Approved :: "


class Licensed(NamedTuple):
    """A package, its version, its license in its own words, and what to know of that."""

    package: str
    version: str
    license: str
    note: str


def licensed(package: str = "inksim") -> tuple[Licensed, ...]:
    """A package and all installed ones that it needs, however far down, by name.

    The extras of the package itself count where they are installed, those of others do not.

    Raises
    ------
    importlib.metadata.PackageNotFoundError : the package is not installed.
    """
    found: dict[str, Licensed] = {}
    waiting = [package]
    while waiting:
        name = waiting.pop()
        key = re.sub(r"[-_.]+", "-", name).lower()
        if key in found:
            continue
        try:
            installed = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            if name == package:
                raise
            continue  # of another system, or of an extra that is not installed
        license_words = declared_license(installed.metadata)
        if license_words == NOT_STATED:
            license_words = _of_file(installed)
        found[key] = Licensed(
            installed.metadata["Name"], installed.version, license_words, _note(license_words)
        )
        for needed in installed.requires or []:
            match = _NAME.match(needed)
            if match and (name == package or "extra ==" not in needed):
                waiting.append(match[0])
    return tuple(found[key] for key in sorted(found))


def declared_license(about: metadata.PackageMetadata) -> str:
    """What a package's metadata says of its license: expression, classifiers or one line."""
    expression, line = (
        " ".join(about.get_all(key) or []) for key in ("License-Expression", "License")
    )
    told = [each.removeprefix(_OSI) for each in about.get_all("Classifier") or [] if _OSI in each]
    if not expression and not told and ("\n" in line or len(line) > LONGEST):
        return NOT_STATED
    return expression or ", ".join(told) or line.strip() or NOT_STATED


def _of_file(installed: metadata.Distribution) -> str:
    """What the license's own file says, where one comes with the package."""
    for name in installed.metadata.get_all("License-File") or []:
        if MIT_GRANT in (installed.read_text(f"licenses/{name}") or ""):
            return "MIT, by its text"
    return NOT_STATED


def _note(words: str) -> str:
    if words == NOT_STATED:
        return "read the package's own files"
    if _COPYLEFT.search(words):
        return "copyleft: its own terms hold for passing it on"
    return "" if _PERMISSIVE.search(words) else "not a license known here: read it"


def licenses_text() -> str:
    """A table of `licensed`, and how many of them call for a look."""
    rows = licensed()
    head = ["package", "version", "license", "note"]
    told = sum(bool(each.note) for each in rows)
    summed = f"{len(rows)} packages, {told} with a note; all others are permissive."
    return f"{table(head, rows, left=4)}\n\n{summed}"
