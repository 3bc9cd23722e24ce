"""What a stated chance is worth

Shops are drawn by rules that are not the model's (tests/accuracy/_worlds.py): pigments whose bands
move, widen and rise on their own, errors with heavy or with cut tails, measured textiles dyed
deeper or paler, presses by other distributions. The owner of each knows his stock by one kind of
data, and asks for the chance of landing within a tolerance of a target. The print is then worked
out with the inks, cloths and press as they truly are, and off by what no model knows. Of all cases
for which a chance of 0.3 to 0.4 was stated, about 35 in 100 should land; and so on in every tenth.

Targets lie 0 to 10 ΔE00 from the color that is expected. Apart from them stands the look of the
ink itself over white as the target: the program is not told that it is, and an ink that is stronger
than filed is so in the target as well as in the print, so that more lands than is said. Cover: the
share of true L*, a* and b* inside the 90 % interval.

The last kind are not prints but even films of known thickness over cards and cloths, made by
radiative transfer (tests/accuracy/_radiative.py), of inks that are known by their hex alone.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from dataclasses import dataclass
from functools import cache

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.printing.build import tabulate
from inksim.printing.uncertainty import Response, errors_of_builds, respond, summarize
from tests.accuracy import Detail, Row, row
from tests.accuracy._radiative_shops import draw_radiative_shop
from tests.accuracy._shops import D50, KINDS as SHOP_KINDS, DrawnShop, draw_shop

ORDER, SLOW = 62, True
SHOPS, CASES_A_BIN = 240, 400
TOLERANCES = (1.5, 2.0, 3.0, 3.0, 4.0, 6.0, 9.0, 14.0)
AIMED = 6  # targets of a build: the last is the look of its ink
SOURCE = "known truth, simulated shops"
TENTHS = 10
RADIATIVE = "films by radiative transfer"
KINDS = (*SHOP_KINDS, RADIATIVE)


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """Cases (n,): the chance stated, whether the print landed, its shop and tolerance; own: whether
    the target is the ink's own look.

    Of builds: inside (B, 3), whether the true L*, a*, b* were; error and half (B, 3): off by, and
    half an interval; route, stock (B,).
    """

    stated: np.ndarray
    landed: np.ndarray
    shop: np.ndarray
    tolerance: np.ndarray
    own: np.ndarray
    inside: np.ndarray
    route: np.ndarray
    stock: np.ndarray
    error: np.ndarray
    half: np.ndarray


def response_of(shop: DrawnShop) -> Response:
    """What the program knows of a shop's builds."""
    table = tabulate(shop.filed)
    errors = errors_of_builds(shop.filed, layers=table.K.shape[-2])
    return respond(table, errors, press=shop.press, viewing=D50)


def away(centre: np.ndarray, distance: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Lab (B, 3) at a ΔE00 (B,) from others, whichever way."""
    way = rng.normal(size=centre.shape)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    size = distance.copy()
    for _ in range(6):
        now = delta_e_2000(centre, centre + size[:, None] * way)
        size *= np.clip(distance / np.maximum(now, 1e-6), 0.5, 2.0)
    found = centre + size[:, None] * way
    found[:, 0] = np.clip(found[:, 0], 0.0, 100.0)
    return found


@cache
def study(kind: str, shops: int = SHOPS, first: int = 0) -> Outcomes:
    """State chances in shops of a kind of data, and see what happens."""
    found: dict[str, list[np.ndarray]] = {name: [] for name in Outcomes.__dataclass_fields__}
    for number in range(shops):
        rng = np.random.default_rng([zlib.crc32(kind.encode()), number + first])
        shop = draw_radiative_shop(rng) if kind == RADIATIVE else draw_shop(rng, kind)
        response = response_of(shop)
        count = len(shop.filed)
        for at in range(AIMED):
            own = at == AIMED - 1
            standard = shop.looks if own else away(response.centre, rng.uniform(0, 10, count), rng)
            tolerance = rng.choice(TOLERANCES, count)
            said = summarize(response, standard=standard, tolerance=tolerance)
            found["stated"].append(said.within)
            found["landed"].append(delta_e_2000(standard, shop.truth) <= tolerance)
            found["shop"].append(np.full(count, number))
            found["tolerance"].append(tolerance)
            found["own"].append(np.full(count, own))
        found["inside"].append((shop.truth >= said.lab_low) & (shop.truth <= said.lab_high))
        found["route"].append(np.array([build.route for build in shop.filed]))
        found["stock"].append(np.full(count, shop.stock))
        found["error"].append(shop.truth - response.centre)
        found["half"].append((said.lab_high - said.lab_low) / 2.0)
    return Outcomes(**{name: np.concatenate(parts) for name, parts in found.items()})


@dataclass(frozen=True, kw_only=True)
class Tenth:
    """The cases of one tenth of stated chance; sd: of what happened, by shops drawn again."""

    n: int
    stated: float
    happened: float
    sd: float


def tenths(found: Outcomes, where: np.ndarray | None = None) -> list[Tenth]:
    """What happened in every tenth of stated chance, of all cases but an ink's own look."""
    where = ~found.own if where is None else where
    which = np.minimum((found.stated * TENTHS).astype(int), TENTHS - 1)
    shops = int(found.shop.max()) + 1
    again = np.random.default_rng(0).multinomial(shops, np.full(shops, 1 / shops), 400)
    made = []
    for at in range(TENTHS):
        here = (which == at) & where
        count = np.bincount(found.shop[here], minlength=shops)
        hits = np.bincount(found.shop[here], weights=found.landed[here], minlength=shops)
        drawn = (again @ hits) / np.maximum(again @ count, 1)
        empty = not here.any()
        made.append(
            Tenth(
                n=int(here.sum()),
                stated=float("nan") if empty else float(found.stated[here].mean()),
                happened=float("nan") if empty else float(found.landed[here].mean()),
                sd=float(drawn.std()),
            )
        )
    return made


def rows() -> list[Row]:
    """Stated chance against what happened, and cover, by kind of data."""
    made = []
    for kind in KINDS:
        found, bins = study(kind), tenths(study(kind))
        least = min(each.n for each in bins)
        if least < CASES_A_BIN:
            raise ValueError(f"{kind}: a tenth has only {least} cases; draw more shops")
        made += [
            row(
                f"Chance stated less what happened, by tenths, {kind}", SOURCE,
                [each.happened - each.stated for each in bins], unit="–",
                limits={"worst": 0.10}, note=f"{SHOPS} shops, {least} cases or more a tenth",
            ),
            row(
                f"Cover of the 90 % interval of L*, a* and b* less 90 %, {kind}", SOURCE,
                found.inside.mean(axis=0) - 0.90, unit="–", limits={"worst": 0.05},
            ),
        ]  # fmt: skip
    return made


def details() -> list[Detail]:
    """Every tenth, and every coordinate."""
    head = ("data", *(f"{at / TENTHS:.1f}–{(at + 1) / TENTHS:.1f}" for at in range(TENTHS)))
    cells, cover = [], []
    for kind in KINDS:
        found = study(kind)
        cells.append((kind, *(f"{t.happened:.2f} of {t.n}" for t in tenths(found))))
        inside = found.inside.mean(axis=0)
        cover.append((kind, str(len(found.inside)), *(f"{share:.1%}" for share in inside)))
    return [
        Detail(title="What happened, by the chance that was stated",
               text="Share of the cases that landed, and how many there were.",
               head=head, cells=cells),
        Detail(title="Truths inside their 90 % intervals", text="By coordinate.",
               head=("data", "builds", "L*", "a*", "b*"), cells=cover),
    ]  # fmt: skip


def main() -> int:
    """``python -m tests.accuracy.chances [--shops N] [--first N] [--kind KIND]``: a quick look."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy.chances")
    parser.add_argument("--shops", type=int, default=60)
    parser.add_argument("--first", type=int, default=0, help="240: shops the page does not show")
    parser.add_argument("--kind", choices=KINDS, action="append")
    given = parser.parse_args()
    for kind in given.kind or KINDS:
        _look(kind, study(kind, given.shops, given.first))
    return 0


def _look(kind: str, found: Outcomes) -> None:
    print(f"\n{kind}: {int(found.shop.max()) + 1} shops, {len(found.inside)} builds, "
          f"{found.stated.size} cases")  # fmt: skip
    print("stated   n     said  happened ± sd   off  | at 3 ΔE00         | the ink's own look")
    three = tenths(found, (found.tolerance == 3.0) & ~found.own)
    each = zip(tenths(found), three, tenths(found, found.own), strict=True)
    for at, (t, of3, own) in enumerate(each):
        off = t.happened - t.stated
        print(f"{at / 10:.1f}-{at / 10 + 0.1:.1f} {t.n:6d}  {t.stated:.2f}  {t.happened:.2f} ± "
              f"{t.sd:.2f}   {off:+.2f}{'!' if abs(off) > 0.1 else ' '} | {of3.n:5d} "
              f"{of3.stated:.2f} {of3.happened:.2f} | {own.n:5d} {own.stated:.2f} "
              f"{own.happened:.2f}")  # fmt: skip
    print("cover (85-95)      L*    a*    b*   | error / half-width, rms (0.61 if normal)")
    groups = [("all", np.ones(len(found.inside), dtype=bool))]
    groups += [(r, found.route == r) for r in np.unique(found.route)]
    if len(np.unique(found.stock)) > 1:
        groups += [(s, found.stock == s) for s in np.unique(found.stock)]
    for name, here in groups:
        share = found.inside[here].mean(axis=0)
        size = np.sqrt(np.mean((found.error[here] / found.half[here]) ** 2, axis=0))
        rms = np.sqrt(np.mean(found.error[here] ** 2, axis=0))
        print(f"  {name:15s} {share[0]:5.1%} {share[1]:5.1%} {share[2]:5.1%} | "
              + " ".join(f"{v:.2f}" for v in size) + "  rms error "
              + " ".join(f"{v:.1f}" for v in rms))  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
