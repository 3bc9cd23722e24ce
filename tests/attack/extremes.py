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

_NUMBER = re.compile(r"(?<=[=\[,{ ])-?\d+(?:\.\d+)?(?:e-?\d+)?(?=[,\]}\s])")
FILES = ("inks.toml", "garments.toml", "screens.toml", "press.toml", "rules.toml", "costs.toml",
         "jobs/mill-logo/job.toml")  # fmt: skip
PRINT = ["--garment", "Coal Black", "--ink", "Kiln Red"]
CALLS = (
    ["predict", *PRINT, "--target", "Oven Red"], ["predict", *PRINT], ["lights", *PRINT],
    ["opacity", "--ink", "Kiln Red"], ["advise", *PRINT, "--target", "Oven Red"], ["shop"],
    ["job", "show", "mill-logo"], ["order", "mill-logo"], ["advise", "mill-logo"], ["press"],
)  # fmt: skip


def _far(rng: random.Random, text: str) -> str:
    """A number far from this one, or at an end of what numbers of its kind may be."""
    value = float(text)
    far = rng.choice(
        (0.0, 1.0, 100.0, 5e-324, 1e-12, 1e-6, 1e-3, 0.01, 0.999999, 5.0, 60.0, 400.0, 1e3, 1e6,
         1e9, 1e15, 1e100, value * 1e-3, value * 0.1, value * 10, value * 1e3, value / 3, -value)
    )  # fmt: skip
    return str(int(far)) if "." not in text and abs(far) < 1e18 and far == int(far) else repr(far)


def suites(world: World, *, seed: int) -> list[Suite]:
    """One suite."""
    name = "extreme numbers"

    def content(at: int) -> bytes:
        rng = random.Random(f"{seed} {name} {at}")
        text = world.file(FILES[at % len(FILES)]).decode()
        for _ in range(20):
            match = rng.choice(list(_NUMBER.finditer(text)))
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
        words = rng.choice(with_job if "jobs" in FILES[at % len(FILES)] else CALLS)
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
