"""A build: films printed on a garment in order; builds as arrays, and lowered to slabs.

Layers are listed garment side first. `tabulate` gathers builds into one `BuildTable`; `lower`
turns the table and the press's parameters into `Slabs`, all that the optics take. Press values and
tables may both carry leading axes (samples × builds): they broadcast.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Literal, get_args

import numpy as np

from inksim.colour import BANDS
from inksim.common import BoolArray, FloatArray, IndexArray, InputError
from inksim.optics import internal_from_external, ks_from_reflectance
from inksim.stock import DISCHARGE_SHARE, Garment, Ink, PressValues, Screen

Route = Literal["straight", "discharge-base", "white-base"]
ROUTES: tuple[Route, ...] = get_args(Route)
BARE: Literal["bare"] = "bare"
"""In place of a route: nothing is printed, the cloth itself is the color."""


def check_route(route: str) -> None:
    """Refuse what is no route, before it is taken for a base that the shop lacks."""
    if route not in ROUTES:
        raise InputError(f"there is no route '{route}'; choose one of {', '.join(ROUTES)}.")


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One ink through one screen.

    Parameters
    ----------
    ink : see `Ink`.
    screen : see `Screen`; what the ink's limits say of it is for `usual_build` to check.
    passes : print strokes, 1 to 4.
    flash : dry it before the next film; of no effect on the top layer.
    """

    ink: Ink
    screen: Screen
    passes: int = 1
    flash: bool = True

    def __post_init__(self) -> None:
        """Refuse a number of passes that no press prints."""
        if not 1 <= self.passes <= 4:
            raise InputError(f"passes is {self.passes}; a screen prints 1 to 4 passes.")


@dataclass(frozen=True, kw_only=True)
class Build:
    """One print: layers of ink on a garment.

    Parameters
    ----------
    garment : see `Garment`.
    layers : garment side first; a discharge base only as the first, and only on cloth whose
        discharge is known. None for the bare cloth.
    route : 'straight', 'discharge-base' or 'white-base'; 'bare' where there is no layer.
    """

    garment: Garment
    layers: tuple[Layer, ...]
    route: Route | Literal["bare"] = "straight"

    def __post_init__(self) -> None:
        """Refuse an unknown route, an empty build, a discharge base that cannot be predicted."""
        if self.route != BARE:
            check_route(self.route)
        if bool(self.layers) == (self.route == BARE):
            raise InputError("a build needs at least one layer; only the bare cloth has none.")
        for above, layer in enumerate(self.layers):
            if layer.ink.kind != "discharge-base":
                continue
            if above:
                raise InputError("a discharge base works on the cloth: it must be the first layer.")
            if not self.garment.discharge_is_known:
                raise InputError(
                    f"garment '{self.garment.name}' has no discharge data: give it a discharged "
                    "reading, or the undyed cloth and a discharge_grade from 1 to 5."
                )

    @property
    def bare(self) -> bool:
        """Whether nothing is printed."""
        return not self.layers

    @property
    def colour(self) -> Layer:
        """The top layer: the color the eye sees; the bare cloth has none."""
        return self.layers[-1]

    @property
    def top(self) -> Layer | None:
        """The top layer; None on bare cloth."""
        return self.layers[-1] if self.layers else None

    @property
    def ink(self) -> Ink | None:
        """The ink of the top layer; None on bare cloth."""
        return self.top.ink if self.top else None

    @property
    def base(self) -> Layer | None:
        """The base under the color, if there is one."""
        return self.layers[0] if len(self.layers) > 1 else None

    @property
    def lies(self) -> str:
        """How the color lies, a key of `ROUTE_WORDS`: by its route, or as the base itself."""
        top = self.top
        if top is None or not top.ink.is_base or (self.base and self.base.ink.name != top.ink.name):
            return self.route
        return "in-white" if top.ink.kind == "white-base" else "discharged"


@dataclass(frozen=True, kw_only=True, eq=False)
class BuildTable:
    """B builds of at most L layers as arrays, independent of the press.

    ink_volume_um (B, L): theoretical ink volume of each screen, cm³/m² = µm; 0 pads.
    passes (B, L); solids (B, L); flash (B, L) bool; K, S (B, L, 31) per µm dry.
    cloth_ks, discharged_ks (B, 31): K/S, internal, of the cloth and of it fully discharged.
    discharges (B,) bool: the first layer is a discharge base.
    """

    ink_volume_um: FloatArray
    passes: FloatArray
    solids: FloatArray
    flash: BoolArray
    K: FloatArray
    S: FloatArray
    cloth_ks: FloatArray
    discharged_ks: FloatArray
    discharges: BoolArray

    def take(self, which: IndexArray | slice) -> BuildTable:
        """Return some of the builds."""
        return BuildTable(**{f.name: getattr(self, f.name)[which] for f in fields(self)})


@dataclass(frozen=True, kw_only=True, eq=False)
class Slabs:
    """Films over cloth as the optics take them: mean thicknesses, leading axes (..., B).

    K, S (..., B, L, 31) per µm; film_um, cv (..., B, L): dry film on top and its unevenness.
    cloth_ks, discharged_ks (B, 31); discharge (..., B): wet deposit of the discharge base over
    its characteristic deposit, 0 without one.
    soak (..., B): φ = σ·t/d_c of the first film; first_cv (..., B): unevenness of what the cloth
    takes up; cloth_S (..., 1) or (..., B) per µm.
    touch (..., B): dry deposit of the first film over that which makes 63 % of its contact;
    contact, haze (..., 1) or (..., B): share of full contact, and light that the face of the print
    scatters, both of a thick film.
    """

    K: FloatArray
    S: FloatArray
    film_um: FloatArray
    cv: FloatArray
    cloth_ks: FloatArray
    discharged_ks: FloatArray
    discharge: FloatArray
    soak: FloatArray
    first_cv: FloatArray
    cloth_S: FloatArray
    touch: FloatArray
    contact: FloatArray
    haze: FloatArray


def cloth_ks(garment: Garment) -> FloatArray:
    """Internal K/S (31,) of the dyed cloth, from its reading."""
    return ks_from_reflectance(internal_from_external(garment.reflectance))


def discharged_ks(garment: Garment) -> FloatArray:
    """K/S (31,) of the cloth after a full discharge.

    From its own discharged reading if there is one; else
    (K/S)' = (K/S)undyed + (1 − D·c)·[(K/S)dyed − (K/S)undyed], D by grade, c the cellulosic share
    (only its dye is reached).

    Raises
    ------
    InputError : neither a discharged reading nor undyed cloth with a grade.
    """
    if garment.discharged is not None:
        return ks_from_reflectance(internal_from_external(garment.discharged))
    if garment.undyed is None or garment.discharge_grade is None:
        raise InputError(f"garment '{garment.name}' has no discharge data.")
    undyed = ks_from_reflectance(internal_from_external(garment.undyed))
    removed = DISCHARGE_SHARE[garment.discharge_grade] * garment.cellulose
    return np.asarray(undyed + (1.0 - removed) * (cloth_ks(garment) - undyed))


def tabulate(builds: Sequence[Build]) -> BuildTable:
    """Put builds into one table; shorter ones are padded with films of zero thickness."""
    if not builds:
        raise InputError("there is no build to evaluate.")
    B, L = len(builds), max(1, *(len(build.layers) for build in builds))
    volume, passes, solids = np.zeros((B, L)), np.ones((B, L)), np.zeros((B, L))
    flash = np.ones((B, L), dtype=np.bool_)
    K, S = np.zeros((B, L, BANDS)), np.zeros((B, L, BANDS))
    cloth, discharged = np.empty((B, BANDS)), np.empty((B, BANDS))
    discharges = np.zeros(B, dtype=np.bool_)
    for b, build in enumerate(builds):
        for layer_at, layer in enumerate(build.layers):
            volume[b, layer_at] = layer.screen.volume_cm3_m2
            passes[b, layer_at] = layer.passes
            solids[b, layer_at] = layer.ink.solids_by_volume
            flash[b, layer_at] = layer.flash
            K[b, layer_at], S[b, layer_at] = layer.ink.K, layer.ink.S
        cloth[b] = cloth_ks(build.garment)
        discharges[b] = not build.bare and build.layers[0].ink.kind == "discharge-base"
        discharged[b] = discharged_ks(build.garment) if discharges[b] else cloth[b]
    return BuildTable(
        ink_volume_um=volume,
        passes=passes,
        solids=solids,
        flash=flash,
        K=K,
        S=S,
        cloth_ks=cloth,
        discharged_ks=discharged,
        discharges=discharges,
    )


def wet_deposit_um(table: BuildTable, press: PressValues) -> FloatArray:
    """Wet deposit (..., B, L), µm: Vth · release · [1 + gain·(passes − 1)]."""
    release, gain = (np.asarray(v)[..., None, None] for v in (press.release, press.pass_gain))
    return np.asarray(table.ink_volume_um * release * (1.0 + gain * (table.passes - 1.0)))


def lower(table: BuildTable, press: PressValues, *, overwrite: bool = False) -> Slabs:
    """Lower builds to slabs: deposit, soak into the cloth, wet-on-wet pick-up.

    Soak [assumption]: share σ of the first film's dry volume goes into the cloth; a film over a
    base sits on top. Pick-up [assumption]: over a film that was not flashed, the next one takes up
    share p of it and mixes with it. Unevenness [assumption]: cv_cloth for the film on bare cloth,
    cv_base for every film over an earlier one. Contact and haze [assumption]: see `swatches`.

    Press values may be numbers or arrays (...,); the slabs then have leading axes (..., B).
    overwrite: the table's K and S, which then have all leading axes, may be changed.
    """
    wet = wet_deposit_um(table, press)
    sigma, pick_up, cv_cloth, cv_base = (
        np.asarray(v)[..., None] for v in (press.soak, press.pick_up, press.cv_cloth, press.cv_base)
    )
    dry = wet * table.solids
    soaked = sigma * dry[..., 0]
    lead = np.broadcast_shapes(dry.shape[:-2], *(np.shape(value) for value in press))
    films = [np.broadcast_to(dry[..., 0] - soaked, (*lead, dry.shape[-2]))]
    K, S = table.K, table.S
    for at in range(1, dry.shape[-1]):
        taken = np.where(table.flash[..., at - 1], 0.0, pick_up) * films[at - 1]
        # A film of zero thickness pads a shorter build: it takes nothing up.
        taken = np.where(dry[..., at] > 0, taken, 0.0)
        film = dry[..., at] + taken
        films[at - 1] = films[at - 1] - taken
        films.append(film)
        if taken.any():
            share = taken / np.where(film > 0, film, 1.0)
            K, S = (_with_film_below(each, share, at=at, own=overwrite) for each in (K, S))
    film_um = np.stack(np.broadcast_arrays(*films), axis=-1)
    cv = np.stack(
        [
            np.broadcast_to(cv_cloth if at == 0 else cv_base, film_um.shape[:-1])
            for at in range(len(films))
        ],
        axis=-1,
    )
    depth = np.asarray(press.cloth_depth_um)[..., None]
    characteristic, contact_um = (
        np.asarray(v)[..., None] for v in (press.discharge_deposit_um, press.contact_um)
    )
    return Slabs(
        K=K,
        S=S,
        film_um=film_um,
        cv=cv,
        cloth_ks=table.cloth_ks,
        discharged_ks=table.discharged_ks,
        discharge=np.where(table.discharges, wet[..., 0] / characteristic, 0.0),
        soak=soaked / depth,
        first_cv=np.broadcast_to(cv_cloth, film_um.shape[:-1]),
        cloth_S=np.asarray(press.cloth_S)[..., None],
        touch=dry[..., 0] / contact_um,
        contact=np.asarray(press.contact)[..., None],
        haze=np.asarray(press.surface_haze)[..., None],
    )


def _with_film_below(spectra: FloatArray, share: FloatArray, *, at: int, own: bool) -> FloatArray:
    """K or S (..., B, L, 31) with a share (..., B) of the film below in film `at`.

    own: it is changed in place; else in a copy.
    """
    shape = np.broadcast_shapes(spectra.shape[:-2], share.shape)
    share = np.broadcast_to(share, shape)
    made = spectra if own else np.array(np.broadcast_to(spectra, (*shape, *spectra.shape[-2:])))
    upper, below = made[..., at, :], made[..., at - 1, :]
    where = np.nonzero(share)
    part = share[where][:, None]
    upper[where] = upper[where] * (1.0 - part) + below[where] * part
    return made


_PER_BUILD = {"K": 3, "S": 3, "film_um": 2, "cv": 2, "cloth_ks": 2, "discharged_ks": 2,
              "discharge": 1, "soak": 1, "first_cv": 1, "cloth_S": 1, "touch": 1,
              "contact": 1, "haze": 1}  # fmt: skip
"""Number of axes of each field of `Slabs` from the builds on."""


def flattened(slabs: Slabs) -> Slabs:
    """Flatten the leading axes and the builds of slabs into one axis.

    One large batch costs less than many small ones.
    """
    shape = slabs.film_um.shape[:-1]

    def flat(values: FloatArray, own: int) -> FloatArray:
        inner = values.shape[values.ndim - own + 1 :]
        return np.broadcast_to(values, (*shape, *inner)).reshape(-1, *inner)

    return Slabs(**{f: flat(getattr(slabs, f), own) for f, own in _PER_BUILD.items()})
