"""Format of a shop's files: which one a shop is of, what changed since, and the step to the newest.

A shop of an older format opens as it is. At the first change its files are kept as they are, in a
folder beside them, and shop.toml says the new format.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from inksim.common import InputError, counted, make_folder, toml_of, write_whole
from inksim.shop.toml_text import set_values
from inksim.stock import Ink, PressValues

FORMAT = 2
"""Of shop.toml: raised when the same files mean something else, or an older inksim could not read
them rightly. 1: without a number."""
FORMAT_1_PARAMETERS = (
    "release", "pass_gain", "cv_cloth", "cv_base", "soak", "pick_up", "discharge_deposit_um",
    "cloth_S", "cloth_depth_um", "dot_growth_um", "yule_nielsen_n",
)  # fmt: skip
"""Parameters that a press of format 1 has."""
FILE = "shop.toml"
NAMES_SAID = 3


def kept_folder(format_: int) -> str:
    """Return the folder of a shop that keeps its files as they were in a format."""
    return f"format-{format_}"


def format_of(folder: Path) -> int:
    """Return the format of a shop's files; 1 where shop.toml does not say it, or cannot be read.

    Raises
    ------
    InputError : a format that this inksim does not know.
    """
    try:
        found = toml_of((folder / FILE).read_bytes()).get("format", 1)
    except (OSError, InputError):
        return 1  # what is wrong with the file is told when it is read
    if not isinstance(found, int) or isinstance(found, bool) or found < 1:
        return 1
    if found > FORMAT:
        raise InputError(
            f"the shop '{folder}' is of format {found}, and this inksim reads formats up to "
            f"{FORMAT}; use the inksim that wrote it, or a newer one. Nothing was changed."
        )
    return found


def what_changed(
    format_: int, *, folder: Path, inks: Mapping[str, Ink], calibrated: bool, lost: Sequence[str]
) -> tuple[str, ...]:
    """Say what changed for a shop of an older format since it was written.

    Parameters
    ----------
    inks : of the shop. calibrated : whether its press was, in that format.
    lost : inks whose calibrated strength no longer holds.
    """
    if format_ >= FORMAT:
        return ()
    said = [
        f"this shop is of format {format_}, of an earlier inksim. It opens, and nothing is changed "
        f"yet: at the first save its files are kept in {folder / kept_folder(format_)} and it "
        f"becomes format {FORMAT}.",
        "intervals are made of more than before: of a spectrum that was not read its shape is open "
        "too, and an ink fitted to drawdowns is as sure as they were, once it is fitted again.",
    ]
    guessed = [name for name, ink in inks.items() if "opacity assumed by kind" in ink.assumed]
    if guessed:
        said.append(
            f"{_named(guessed)}: how an ink known by its color alone covers is assumed by kind and "
            "color now (all were clear before, whites too); say it with covers, contrast_ratio or "
            "over_black in inks.toml."
        )
    fresh = [name for name in PressValues._fields if name not in FORMAT_1_PARAMETERS]
    if fresh:
        said.append(
            f"the press has new parameters at their generic values: {', '.join(fresh)}. "
            + (
                calibrated_without(fresh)
                if calibrated
                else "A film now darkens the cloth under it."
            )
        )
    if lost:
        said.append(
            f"{_named(lost)}: the calibrated strength was for another K and S; calibrate again."
        )
    return tuple(said)


def calibrated_without(names: Sequence[str]) -> str:
    """Say that a calibration knew nothing of some parameters."""
    return f"The press was calibrated before it had {', '.join(names)}: calibrate again."


def migrate(folder: Path) -> None:
    """Bring a shop's files to the newest format; a copy of all is kept first. Within its lock.

    A shop.toml that cannot be read is left as it is; loading the shop says so.
    """
    format_ = format_of(folder)
    try:
        toml_of((folder / FILE).read_bytes())
    except (OSError, InputError):
        return
    if format_ >= FORMAT:
        return
    name, more = kept_folder(format_), 1
    while (kept := folder / (name if more == 1 else f"{name}-{more}")).exists():
        more += 1
    make_folder(kept)
    for source in sorted(folder.glob("*.toml")):
        write_whole(kept / source.name, source.read_bytes())
    text = (folder / FILE).read_bytes().decode("utf-8-sig")
    write_whole(folder / FILE, set_values(text, {"format": FORMAT}, file=FILE).encode())


def _named(names: Sequence[str]) -> str:
    """Name a few and count the rest."""
    rest = len(names) - NAMES_SAID
    shown = ", ".join(names[:NAMES_SAID])
    return shown if rest <= 0 else f"{shown} and {counted(rest, 'more ink')}"
