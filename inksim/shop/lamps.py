"""The lamps of a shop: spectra that it read of its own booth or of a client's store, a file each.

A file lies in the folder `lamps` of the shop's, in any format of readings; its name without ending
is the lamp's.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from inksim.colour import LIGHTS, Lamp
from inksim.common import InputError, shortened
from inksim.shop.faults import Faults

LAMPS = "lamps"


def lamp_files(folder: Path) -> tuple[Path, ...]:
    """The files of a shop's lamps, by name."""
    from inksim.readings import reading_suffixes

    found = (folder / LAMPS).glob("*")
    return tuple(sorted(path for path in found if path.suffix.lower() in reading_suffixes()))


def lamps_of(folder: Path, faults: Faults) -> Mapping[str, Lamp]:
    """The lamps of a shop by name; faults of their files are collected.

    Names are looked up whatever their capitals, so two that differ in those only are one.
    """
    made: dict[str, Lamp] = {}
    if not (folder / LAMPS).is_dir():
        return MappingProxyType(made)  # most have none, and readings take a while to import
    from inksim.readings import read_lamp

    for path in lamp_files(folder):
        where = f"{LAMPS}/{path.name}"
        if path.stem.lower() in {name.lower() for name in made}:
            faults.append(f"{where}: used twice, '{path.stem}'; give each lamp its own name")
        elif lamp := faults.attempt(where, lambda path=path: read_lamp(path)):  # type: ignore[misc]
            made[lamp.name] = lamp
    return MappingProxyType(made)


def light_of(text: str, folder: Path) -> str | Lamp:
    """The light that somebody names: of the CIE, a lamp of a shop's folder, or a lamp's file.

    Raises
    ------
    InputError : none of these, or a file that is no lamp's.
    """
    from inksim.readings import read_lamp, reading_suffixes

    wanted = text.strip()
    for light in LIGHTS:
        if light.lower() == wanted.lower():
            return light
    files = {path.stem: path for path in lamp_files(folder)}
    for name, path in files.items():
        if name.lower() == wanted.lower():
            return read_lamp(path)
    if Path(wanted).suffix.lower() in reading_suffixes():
        return read_lamp(wanted)
    known = ", ".join((*list(files)[:4], *LIGHTS))
    raise InputError(
        f"there is no light '{shortened(text)}'; choose one of {known}, or a lamp's file."
    )
