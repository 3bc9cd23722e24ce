"""Presses whose truth is known: the model's own, and one that prints by different rules.

Nothing here is fitted. `OtherWorld` shares the Kubelka-Munk film and the mesh with inksim and no
more: film thickness is lognormal instead of gamma, every layer is uneven on its own instead of all
together, the cloth under the ink is darkened by optical contact (ink takes the air out of between
the fibers, so that less light gets back), and K and S of every ink are off by 10 %.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from inksim.calibration.print_reading import PrintReading
from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS
from inksim.colour.viewing import Viewing, lab
from inksim.common import FloatArray
from inksim.decision.discharge import discharge_facts
from inksim.optics.kubelka_munk import external_from_internal, film_over, reflectance_from_ks
from inksim.printing.build import Build, Slabs, lower, tabulate
from inksim.printing.swatches import mean_reflectance
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usable_routes, usual_build
from inksim.stock.press import MEANINGS, PressValues
from inksim.stock.provenance import (
    CLOTH_KS_SD,
    DISCHARGE_LEFT_SD,
    INK_K_SD,
    INK_S_SD,
    Provenance,
)
from inksim.stock.stock_error import error_of, error_of_cloth

D50 = Viewing()
FITTED = (
    "release", "pass_gain", "cv_cloth", "cv_base", "soak", "pick_up", "discharge_deposit_um",
    "contact", "surface_haze",
)  # fmt: skip
READING_DE00 = 0.5
OFF = 0.10  # of K and of S of every ink, either way
CONTACT = (0.10, 0.30)  # rise of the cloth's K/S under ink, from press to press
NODES = 7  # Gauss-Hermite, for each layer: within 0.01 ΔE00 of 15


@cache
def study_shop() -> Shop:
    """The demo shop as if its inks and cloths had been measured: their sds are the small ones."""
    shop = load_shop()
    inks = {name: replace(ink, data="measured", error=None) for name, ink in shop.inks.items()}
    cloths = {name: replace(g, data="measured") for name, g in shop.garments.items()}
    return replace(shop, inks=inks, garments=cloths)


def build_of(garment: str, ink: str, route: str, **changed: object) -> Build:
    """The usual build of a route in the study's shop, with any part changed."""
    shop = study_shop()
    if "screen" in changed:
        changed["screen"] = shop.screen(str(changed["screen"]))
    return usual_build(
        shop, garment=shop.garment(garment), ink=shop.ink(ink), route=route, **changed  # type: ignore[arg-type]
    )  # fmt: skip


@cache
def all_builds() -> tuple[Build, ...]:
    """The usual build of every color on every garment by every route that it has."""
    shop = study_shop()
    colours = [ink for ink in shop.inks.values() if ink.kind == "color"]
    return tuple(
        usual_build(shop, garment=garment, ink=ink, route=route)
        for garment in shop.garments.values()
        for ink in colours
        for route in usable_routes(garment)
        if route != "discharge-base" or discharge_facts(garment).grade >= 3
    )


def three_prints() -> tuple[Build, ...]:
    """What a shop can print in one go: a color each by its three routes, on what lies about."""
    return (
        build_of("Kingcup Yellow", "Cornflower Blue", "white-base"),
        build_of("Kingcup Yellow", "Orchard Green", "straight"),
        build_of("Slate Gray", "Damson Purple", "discharge-base"),
    )


def six_prints() -> tuple[Build, ...]:
    """Six colors once each: every route, light and dark cloths, two meshes, one and two strokes."""
    return (
        *three_prints(),
        build_of("Pebble Heather", "Foxglove Pink", "straight"),
        build_of("Flour White", "Lantern Orange", "straight", passes=1, screen="230"),
        build_of("Coal Black", "Kiln Red", "white-base"),
    )


def draw_press(rng: np.random.Generator) -> PressValues:
    """A press drawn from the priors, inside the model's range."""
    press = study_shop().press.before
    found = press.values._asdict()
    for name in FITTED:
        value, sd = getattr(press, name)
        meaning = MEANINGS[name]
        while not meaning.least <= (drawn := rng.normal(value, sd)) <= meaning.most:
            pass
        found[name] = drawn
    return PressValues(**found)


@dataclass(frozen=True, kw_only=True)
class World:
    """One press and how it prints.

    inks: factors on K and S; cloths: on K/S; left: on the dye that a discharge leaves; by name. The
    first two may be (31,), of each band its own.
    """

    press: PressValues
    inks: dict[str, tuple[float | FloatArray, float | FloatArray]]
    cloths: dict[str, float | FloatArray]
    left: dict[str, float]

    def stocked(self, builds: Sequence[Build]) -> list[Build]:
        """The builds with the inks as they truly are."""
        return [
            replace(
                build,
                layers=tuple(
                    replace(layer, ink=layer.ink.times(K=K, S=S))
                    for layer in build.layers
                    for K, S in (self.inks[layer.ink.name],)
                ),
            )
            for build in builds
        ]

    def slabs(self, builds: Sequence[Build]) -> Slabs:
        """Lowered, with inks and cloths as they truly are."""
        table = tabulate(self.stocked(builds))
        factors = [np.broadcast_to(self.cloths[build.garment.name], BANDS) for build in builds]
        cloth = table.cloth_ks * np.stack(factors)
        left = np.array([self.left[build.garment.name] for build in builds])[:, None]
        most = np.maximum(cloth, table.discharged_ks)  # a discharge does not dye
        done = np.minimum(table.discharged_ks * left, most)
        done = np.where(table.discharges[:, None], done, cloth)
        return lower(replace(table, cloth_ks=cloth, discharged_ks=done), self.press)

    def prints(self, builds: Sequence[Build]) -> FloatArray:
        """Reflectance (B, 31) of real prints."""
        return mean_reflectance(self.slabs(builds))


@dataclass(frozen=True, kw_only=True)
class OtherWorld(World):
    """A press that prints by different rules: see the module. contact: rise of the cloth's K/S.

    Its face is smooth.
    """

    contact: float

    def prints(self, builds: Sequence[Build]) -> FloatArray:
        """Reflectance (B, 31): mean over every pair of the two layers' own thicknesses."""
        s = self.slabs(builds)
        first, first_weight = lognormal(float(np.asarray(self.press.cv_cloth)))
        upper, upper_weight = lognormal(float(np.asarray(self.press.cv_base)))
        mean = np.zeros_like(s.cloth_ks)
        for factor, weight in zip(first, first_weight, strict=True):
            done = -np.expm1(-s.discharge * factor)[:, None]
            ks = (s.cloth_ks + done * (s.discharged_ks - s.cloth_ks)) * (1.0 + self.contact)
            phi = (s.soak * factor)[:, None]
            ks = (s.cloth_S[0] * ks + phi * s.K[:, 0]) / (s.cloth_S[0] + phi * s.S[:, 0])
            under = film_over(
                s.K[:, 0], s.S[:, 0], thickness_um=(s.film_um[:, 0] * factor)[:, None],
                backing=reflectance_from_ks(ks),
            )  # fmt: skip
            for over, share in zip(upper, upper_weight, strict=True):
                top = film_over(
                    s.K[:, 1], s.S[:, 1], thickness_um=(s.film_um[:, 1] * over)[:, None],
                    backing=under,
                )  # fmt: skip
                mean += weight * share * external_from_internal(top)
        return mean


def lognormal(cv: float, *, nodes: int = NODES) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights of a lognormal thickness factor with mean 1 and std/mean of cv."""
    x, weight = np.polynomial.hermite_e.hermegauss(nodes)
    sigma = np.sqrt(np.log1p(cv**2))
    return np.exp(sigma * x - sigma**2 / 2.0), weight / weight.sum()


def press_only(rng: np.random.Generator) -> World:
    """The model itself; inks and cloths are as filed."""
    shop = study_shop()
    return World(
        press=draw_press(rng),
        inks=dict.fromkeys(shop.inks, (1.0, 1.0)),
        cloths=dict.fromkeys(shop.garments, 1.0),
        left=dict.fromkeys(shop.garments, 1.0),
    )


def whole_prior(rng: np.random.Generator) -> World:
    """The model itself, with everything that it calls unsure drawn from its priors."""
    shop = study_shop()
    sds = (INK_K_SD["measured"], INK_S_SD["measured"])
    return World(
        press=draw_press(rng),
        inks={name: tuple(np.exp(rng.normal(0.0, sds))) for name in shop.inks},
        cloths={n: float(np.exp(rng.normal(0.0, CLOTH_KS_SD["measured"]))) for n in shop.garments},
        left={
            n: float(np.exp(rng.normal(0.0, DISCHARGE_LEFT_SD[g.discharged is not None])))
            for n, g in shop.garments.items()
        },
    )


def in_contact(rng: np.random.Generator) -> World:
    """The whole prior, and any contact of the films with the cloth."""
    world = whole_prior(rng)
    return replace(world, press=world.press._replace(contact=float(rng.uniform(0.1, 1.2))))


def known_by(data: Provenance, builds: Sequence[Build]) -> list[Build]:
    """The builds with inks and garments that come from elsewhere than a reading."""
    return [
        replace(
            build,
            garment=replace(build.garment, data=data),
            layers=tuple(
                replace(at, ink=replace(at.ink, data=data, error=None)) for at in build.layers
            ),
        )
        for build in builds
    ]


def of_other_shapes(
    rng: np.random.Generator, builds: Sequence[Build]
) -> tuple[World, dict[str, FloatArray]]:
    """The whole prior with inks and cloths drawn from their errors, shapes and all.

    Also the coordinates of each ink: of ln K and ln S in the logarithm, along the shapes in sds.
    """
    world = whole_prior(rng)
    inks = {layer.ink.name: layer.ink for build in builds for layer in build.layers}
    places, factors = {}, {}
    for name, ink in inks.items():
        error = error_of(ink)
        z = rng.normal(size=2 + len(error.shapes)) * [error.K, error.S, *[1.0] * len(error.shapes)]
        places[name] = z
        K, S = np.exp(z[:2, None] + np.tensordot(z[2:], error.shapes, axes=1))
        factors[name] = (K, S)
    cloths = {}
    for garment in {build.garment.name: build.garment for build in builds}.values():
        lot = error_of_cloth(garment)
        z = rng.normal(size=1 + len(lot.shapes))
        cloths[garment.name] = np.exp(lot.ks * z[0] + z[1:] @ lot.shapes)
    return replace(world, inks=factors, cloths=cloths), places


def other_rules(rng: np.random.Generator) -> OtherWorld:
    """A press that prints by different rules, with inks 10 % off."""
    shop = study_shop()
    signs = rng.choice([-1.0, 1.0], (len(shop.inks), 2))
    return OtherWorld(
        press=draw_press(rng),
        inks={n: tuple(1.0 + OFF * sign) for n, sign in zip(shop.inks, signs, strict=True)},
        cloths=dict.fromkeys(shop.garments, 1.0),
        left=dict.fromkeys(shop.garments, 1.0),
        contact=float(rng.uniform(*CONTACT)),
    )


def noisy(
    reflectance: FloatArray, rng: np.random.Generator, *, off_de00: float = READING_DE00
) -> FloatArray:
    """Readings of prints (R, 31): a smooth change with a mean of 0.5 ΔE00, or what is said.

    Mostly lighter or darker, as of another place of the print, partly a slow wave over the
    wavelengths; its length is that of a normal vector in three dimensions.
    """
    at = np.linspace(0.0, np.pi, reflectance.shape[-1])
    waves = np.stack([np.ones_like(at), *(0.5 * np.cos(k * at) for k in (1, 2, 3))])
    shape = rng.normal(size=(len(reflectance), 4)) @ waves
    length = np.linalg.norm(rng.normal(size=(len(reflectance), 3)), axis=1)
    wanted = off_de00 * length / np.sqrt(8.0 / np.pi)
    clean, size = lab(reflectance, D50), np.full((len(reflectance), 1), 0.01)
    for _ in range(5):
        now = delta_e_2000(clean, lab(reflectance * np.exp(size * shape), D50))
        size *= (wanted / now)[:, None]
    return reflectance * np.exp(size * shape)


def read_prints(
    world: World, builds: Sequence[Build], rng: np.random.Generator
) -> list[PrintReading]:
    """Print the builds and read them."""
    spectra = noisy(world.prints(builds), rng)
    return [
        PrintReading(name=f"print {at}", build=build, reflectance=spectrum)
        for at, (build, spectrum) in enumerate(zip(builds, spectra, strict=True), start=1)
    ]


def some_readings(
    seed: int = 3, world: Callable[[np.random.Generator], World] = whole_prior
) -> list[PrintReading]:
    """Readings of the six prints on a press of a world."""
    rng = np.random.default_rng(seed)
    return read_prints(world(rng), six_prints(), rng)
