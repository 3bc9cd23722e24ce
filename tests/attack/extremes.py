"""Shops and jobs of extreme but legal numbers: what the reader takes, the model can reckon with.

Numbers of sound files are replaced by ones far out. Where the shop then still loads, commands have
to answer, in numbers that are finite, or say in one sentence why not.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

from inksim.common import InputError
from inksim.shop import load_shop
from tests.attack.commands import called, judge
from tests.attack.engine import Broken, Suite
from tests.attack.world import World

_NUMBER = re.compile(r"(?<=[=\[,{ ])-?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?=[,\]}\s])")
JOB = "jobs/mill-logo/job.toml"
MORE = """
lines_per_inch = 45.0
cloth_m2_per_garment = 0.8
base_choke_mm = 0.3
prints_per_hour = 90.0
tolerance_de00 = 4.0
press = {stations = 6, flashes = 1}
costs = {screen_making = 18.0, labor_per_hour = 28.0, waste_share = 0.05}
"""
"""Numbers that the kept job could state and does not."""
FILES = ("inks.toml", "garments.toml", "screens.toml", "press.toml", "rules.toml", "costs.toml",
         JOB)  # fmt: skip
PRINT = ["--garment", "Coal Black", "--ink", "Kiln Red"]
CALLS = (
    ["predict", *PRINT, "--target", "Oven Red"], ["predict", *PRINT], ["lights", *PRINT],
    ["opacity", "--ink", "Kiln Red"], ["advise", *PRINT, "--target", "Oven Red"], ["shop"],
    ["job", "show", "mill-logo"], ["order", "mill-logo"], ["advise", "mill-logo"], ["press"],
)  # fmt: skip


def _far(rng: random.Random, text: str) -> str:
    """A number far from this one, mostly on its side of 0 and, of a share, of 1."""
    value = float(text)
    if "." not in text:
        most = rng.choice((2, 5, 24, 100, 10**4, 10**6, 10**9))
        return str(rng.choice((0, 1, -1, most, rng.randint(1, most), int(value) + 1)))
    far = rng.choice((0.0, 1.0, 5e-324, 1e-12, 1e-6, 1e-4, 0.02, 0.999999, rng.random()))
    if not 0.0 <= value <= 1.0 or rng.random() < 0.3:
        far = rng.choice((value * 10 ** rng.uniform(-2, 2), value * 10 ** rng.uniform(-9, 9), 1e6,
                          1e15, 1e100, 100.0, far, -value))  # fmt: skip
    return repr(far)


def suites(world: World, *, seed: int) -> list[Suite]:
    """One suite."""
    name = "extreme numbers"

    def content(at: int) -> bytes:
        rng = random.Random(f"{seed} {name} {at}")
        file = FILES[at % len(FILES)]
        text = world.file(file).decode()
        if file == JOB:
            head, mark, tables = text.partition("\n[")
            text = head + MORE + mark + tables
        for _ in range(20):
            found = list(_NUMBER.finditer(text))
            match = rng.choice(found)
            text = text[: match.start()] + _far(rng, match[0]) + text[match.end() :]
            if rng.random() < 0.6:
                break
        return text.encode()

    def attempt_with(at: int, data: bytes, folder: Path) -> None:
        rng = random.Random(f"call {seed} {at}")
        shop = world.shop_in(folder)
        path = shop / FILES[at % len(FILES)]
        path.unlink()
        path.write_bytes(data)
        with_job = [c for c in CALLS if "mill-logo" in c]
        words = rng.choice(with_job if FILES[at % len(FILES)] == JOB else CALLS)
        try:
            load_shop(shop)
        except InputError:
            return
        done = called([*words, "--json", "--shop", str(shop)])
        try:
            judge(done, as_json=True)
        except Broken as broken:
            raise Broken(f"{' '.join(words[:2])}, {broken}") from None

    return [
        Suite(
            name=name, weight=45, memory_mb=1500, batch=20, cpu_s=30, content=content,
            attempt=lambda at, folder: attempt_with(at, content(at), folder),
            attempt_with=attempt_with, suffix=".toml",
        )
    ]  # fmt: skip
