"""The least shop there is, whole or with faults, and the demo shop with few inks."""

from __future__ import annotations

import re
from pathlib import Path

from inksim.colour.grid import BANDS
from inksim.shop.load import demo_shop_folder


def numbers(*values: float, count: int = BANDS) -> str:
    """A TOML array: the values given, and the last one again up to the count."""
    row = [*values, *[values[-1]] * (count - len(values))][:count]
    return "[" + ", ".join(f"{v}" for v in row) + "]"


GREY = numbers(0.4)
WHOLE: dict[str, str] = {
    "shop.toml": 'name = "Test shop"\nformat = 2\n',
    "inks.toml": f'[[ink]]\nname = "ember"\nkind = "color"\nsolids_by_volume = 0.3\n'
    f"K = {numbers(0.1)}\nS = {numbers(0.02)}\n",
    "garments.toml": f'[[cloth]]\nname = "raw"\nreflectance = {numbers(0.7)}\n'
    f'[[garment]]\nname = "gray"\nfibers = {{cotton = 1.0}}\nreflectance = {GREY}\n'
    'undyed = "raw"\ndischarge_grade = 3\n',
    "screens.toml": '[[screen]]\nname = "160"\nthreads_per_inch = 160\nthread_um = 60\n',
    "press.toml": 'name = "press"\n[parameters]\nrelease = {value = 0.5, sd = 0.1}\n',
}
"""The least shop there is, as text."""


def write(folder: Path, **changed: str | None) -> Path:
    """Write the least shop; a file given as text is added to, one given as None is left out.

    Keyword ``inks`` stands for inks.toml. Text that begins with ``=`` replaces the file.
    """
    for file, text in WHOLE.items():
        extra = changed.get(file.removesuffix(".toml"), "")
        if extra is None:
            continue
        whole = extra[1:] if extra.startswith("=") else text + extra
        (folder / file).write_text(whole, encoding="utf-8")
    return folder


FOR_PICTURES = (
    "Barley Yellow", "Kiln Red", "Cornflower Blue", "Weir Teal", "Chalk White Base",
    "Quarry Discharge Base",
)  # fmt: skip
"""Inks of the demo shop that print a picture, where it is not their choice that is tested."""


def few_inks(folder: Path, *names: str) -> Path:
    """The demo shop with no other inks than these: a tonal picture has less to choose from."""
    folder.mkdir()
    for file in demo_shop_folder().glob("*.toml"):
        (folder / file.name).write_bytes(file.read_bytes())
    head, *inks = re.split(
        r"^(?=\[\[ink\]\])", (folder / "inks.toml").read_text("utf-8"), flags=re.M
    )
    kept = [each for each in inks if any(f'name = "{name}"\n' in each for name in names)]
    assert len(kept) == len(names)
    (folder / "inks.toml").write_text(head + "".join(kept), encoding="utf-8")
    return folder
