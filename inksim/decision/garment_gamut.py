"""Gamut of a garment: the hull of all prints of the shop's inks, tints and two-ink mixtures.

The convex hull of those prints in CIELAB is an outer bound: a color outside it cannot be printed
with these inks on this garment, one inside may need a mixture of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from inksim.colour import Viewing, delta_e_2000
from inksim.common import BoolArray, FloatArray, InputError
from inksim.decision.answer import Answer
from inksim.decision.build_evaluation import most_likely_lab
from inksim.decision.candidate_builds import BuildSpace, build_space
from inksim.printing import ROUTES, Build, Route, check_route
from inksim.shop import Shop
from inksim.stock import Garment, Ink, mix_inks

MIX_SHARES = (0.25, 0.5, 0.75)
"""Wet share of the first of two colors mixed."""
TINT_SHARES = (0.125, 0.25, 0.5)
"""Wet share of a color in clear base or in white."""
ONLY_MIXED = "◇ only a mixture"
"""Shape and word where a mixture of the shop's inks comes within the tolerance, no ink alone."""
MEANS_ONLY_MIXED = f"{ONLY_MIXED}: comes within the tolerance where no ink does by itself."
EDGE = 1e-9
"""A color this far outside a face of the hull, in units of CIELAB, still counts as inside."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Gamut:
    """The prints of a garment and their hull.

    lab (N, 3): of the builds of `space`. faces (F, 4): outward normals and offsets of the hull.
    volume: of the hull, in cubic units of CIELAB.
    """

    garment: Garment
    viewing: Viewing
    space: BuildSpace
    lab: FloatArray
    faces: FloatArray
    volume: float

    def outside(self, lab: FloatArray) -> FloatArray:
        """Distance (...) of colors (..., 3) beyond the farthest face, CIELAB units; 0 inside."""
        beyond = np.asarray(lab) @ self.faces[:, :3].T + self.faces[:, 3]
        return np.asarray(np.maximum(beyond.max(axis=-1), 0.0))

    def contains(self, lab: FloatArray) -> BoolArray:
        """Whether colors (..., 3) lie in the hull."""
        return np.asarray(self.outside(lab) <= EDGE)

    def edge(self, through: FloatArray, *, across: FloatArray, up: FloatArray) -> FloatArray:
        """Corners (n, 2), in turn, of what a plane cuts out of the hull; none where it misses it.

        through (3,): a color in the plane, where both coordinates are 0; across, up (3,): unit
        vectors in it, at right angles.
        """
        from scipy.optimize import linprog
        from scipy.spatial import ConvexHull, HalfspaceIntersection

        flat = self.faces[:, :3] @ np.stack([across, up], axis=1)
        rest = self.faces[:, 3] + self.faces[:, :3] @ through
        room = np.column_stack([flat, np.linalg.norm(flat, axis=1)])
        centre = linprog([0, 0, -1], room, -rest, bounds=(None, None))
        if not centre.success or centre.x[2] <= EDGE:  # the widest circle inside has no width
            return np.empty((0, 2))
        halves = np.column_stack([flat, rest])
        corners = HalfspaceIntersection(halves, centre.x[:2]).intersections
        corners = corners[np.isfinite(corners).all(axis=1)]
        return np.asarray(corners[ConvexHull(corners).vertices])

    def nearest(self, lab: FloatArray) -> tuple[float, Build]:
        """ΔE00 and build of the print nearest one color (3,), the standard."""
        off = delta_e_2000(lab, self.lab)
        at = int(np.argmin(off))
        return float(off[at]), self.space.build(at)

    def only_mixed(self, answer: Answer) -> bool:
        """Whether a print of `space` is nominally inside the tolerance where no stock ink's is."""
        if answer.nominal or answer.build.bare:
            return False
        off, _ = self.nearest(answer.target.lab(self.viewing))
        return off <= answer.interval.tolerance


def mixture_sign(answer: Answer, gamuts: Mapping[str, Gamut]) -> str:
    """`ONLY_MIXED` of an answer that only a mixture reaches, else ''.

    gamuts: by garment; of one that has none nothing is said.
    """
    found = gamuts.get(answer.garment.name)
    return ONLY_MIXED if found is not None and found.only_mixed(answer) else ""


def mixtures(shop: Shop) -> list[Ink]:
    """Inks of the shop, two-color mixtures, and tints of each color in clear base or white."""
    colours = shop.colour_inks
    made = list(colours)
    for one, two in combinations(colours, 2):
        made += [
            mix_inks([(one, s), (two, 1.0 - s)], name=f"{one.name} {s:.0%} in {two.name}")
            for s in MIX_SHARES
        ]
    thinned = [i for i in shop.inks.values() if i.kind in ("clear-base", "white-base")]
    if any(i.kind == "white-base" and not i.blocks_dye for i in thinned):
        thinned = [i for i in thinned if not i.blocks_dye]
    for ink, other in product(colours, thinned):
        made += [
            mix_inks([(ink, s), (other, 1.0 - s)], name=f"{ink.name} {s:.1%} in {other.name}")
            for s in TINT_SHARES
        ]
    return made


def gamut(
    shop: Shop,
    *,
    garment: Garment,
    viewing: Viewing = Viewing(),
    routes: Sequence[Route] = ROUTES,
    inks: Sequence[Ink] | None = None,
) -> Gamut:
    """Gamut of a garment: predict every ink and mixture by every build, and take the hull.

    Parameters
    ----------
    shop : whose inks, screens and press are used.
    garment : to print on.
    viewing : the light and the observer of the CIELAB that the hull is spanned in.
    routes : to print by; all of them if not given.
    inks : instead of `mixtures`.

    Raises
    ------
    InputError : no such route; fewer than four prints, or all on one plane: they span nothing.
    """
    from scipy.spatial import ConvexHull, QhullError

    for route in routes:
        check_route(route)
    stock = mixtures(shop) if inks is None else list(inks)
    space = build_space(shop, garments=[garment], inks=stock, routes=routes) if stock else None
    lab = (
        np.empty((0, 3))
        if space is None
        else most_likely_lab(space, press=shop.press, viewing=viewing)
    )
    try:
        if space is None or len(lab) < 4:
            raise QhullError
        hull = ConvexHull(lab)
    except QhullError:
        raise InputError(
            f"{len(lab)} prints on '{garment.name}' span no space of colors; the shop needs at "
            "least a few colors that differ."
        ) from None
    return Gamut(
        garment=garment,
        viewing=viewing,
        space=space,
        lab=lab,
        faces=np.asarray(hull.equations),
        volume=float(hull.volume),
    )
