"""Memory over many reruns of the pages, as visitors choose, without a browser.

``python -m tests.benchmarks reruns`` runs 10 000 (about an hour of a core); a small fixed part
is a test. Each visitor opens a page and chooses on it some times: garment, light, ink, tolerance.
"""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.bench_app import Rows
from tests.ui.conftest import open_page

EARLY, ALL = 1_000, 10_000
PAGES = ("client", "base", "base", "palette", "shop")
CHOICES = 9
"""Of each visitor, after the first run of his page."""
FEW, RARE = 4, 0.03
"""Most visitors look at the same few things; some choose from all there is."""
KEYS = ("garment", "light", "ink", "target", "tolerance")
WINDOW = 200
"""The least of so many reruns is what is held: reading an artwork takes more for a while."""
MOST_GROWN_MB = 150.0


def resident_mb() -> float:
    """Memory of this process."""
    words = Path("/proc/self/status").read_text(encoding="utf-8")
    return float(words.split("VmRSS:")[1].split()[0]) / 1024


def reruns(seed: int) -> Iterator[str]:
    """Reruns without end, the same for the same seed; what each was."""
    chance = random.Random(seed)
    while True:
        name = chance.choice(PAGES)
        page = open_page(name)
        for _ in range(CHOICES):
            assert not page.exception
            yield name
            widgets = [
                each
                for kind in ("pills", "segmented_control", "selectbox")
                for each in getattr(page, kind)
                if each.key in KEYS and len(each.options) > 1
            ]
            if widgets:
                one = chance.choice(widgets)
                every = one.options if chance.random() < RARE else one.options[:FEW]
                said = chance.choice(every).replace("\\", "")
                page = one.set_value([said] if isinstance(one.value, list) else said).run()
            else:
                page = page.run()
        yield name


def main() -> Rows:
    """Rows of the benchmark."""
    early, lately = 0.0, deque[float](maxlen=WINDOW)
    for done, _ in enumerate(reruns(1), start=1):
        lately.append(resident_mb())
        if done == EARLY:
            early = min(lately)
        if done == ALL:
            break
    late = min(lately)
    return [
        (f"memory after {EARLY} reruns", early, None, "MB"),
        (f"memory after {ALL} reruns", late, None, "MB"),
        (f"what the last {ALL - EARLY} add", late - early, MOST_GROWN_MB, "MB"),
    ]
