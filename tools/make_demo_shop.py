"""Draw the invented spectra of the demo shop and write its inks.toml and garments.toml.

Run from the top of the project: ``python tools/make_demo_shop.py``. Nothing here was measured.
K and S are sums of plain absorption edges and bands of the size that measured pigment films show
(peaks of K 0.1–3 per µm; S 0.002–0.03 for organic colors, 0.1–0.9 falling with wavelength for
titanium dioxide, which absorbs below about 410 nm: Levinson, Berdahl & Akbari, Sol. Energy Mater.
Sol. Cells 89 (2005) 319). Cloth is undyed cotton plus dye bands in K/S. After this run the files
are the shop's: edit them by hand.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from inksim.optics.kubelka_munk import (
    external_from_internal,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)

NM = np.linspace(400.0, 700.0, 31)
SHARED = Path(__file__).resolve().parent.parent / "shared"


def below(height: float, at: float, width: float) -> np.ndarray:
    """Absorption that ends at a wavelength: yellow, orange and red colorants."""
    return height / (1.0 + np.exp((NM - at) / width))


def above(height: float, at: float, width: float) -> np.ndarray:
    """Absorption that begins at a wavelength."""
    return height / (1.0 + np.exp((at - NM) / width))


def band(height: float, at: float, width: float) -> np.ndarray:
    """One absorption band."""
    return height * np.exp(-0.5 * ((NM - at) / width) ** 2)


def falling(height: float, power: float) -> np.ndarray:
    """Scattering that falls with wavelength, given at 550 nm."""
    return height * (550.0 / NM) ** power


# name: (kind, K, S, solids by volume, density, price, finest mesh, note)
INKS = {
    "Lantern Orange": ("colour", 0.0048 + below(0.222, 557.5, 11), falling(0.016, 1.0), 0.34, 1.08, 21.0, 305, "bright, clean, transparent"),
    "Kiln Red": ("colour", 0.013 + below(0.245, 581.5, 7) - below(0.006, 455, 14), falling(0.014, 1.0), 0.34, 1.08, 22.0, 305, "bright red"),
    "Barley Yellow": ("colour", 0.0005 + below(0.152, 509.5, 9) + below(0.009, 545, 15), falling(0.022, 1.0), 0.34, 1.07, 20.0, 305, "bright yellow"),
    "Orchard Green": ("colour", 0.0535 + below(0.150, 478, 12) + above(0.138, 598, 14), falling(0.012, 1.0), 0.34, 1.07, 21.0, 330, "mid green"),
    "Weir Teal": ("colour", 0.110 + below(0.031, 445, 22) + above(0.137, 573, 16), falling(0.014, 1.0), 0.36, 1.09, 22.0, 330, "deep and strong"),
    "Cornflower Blue": ("colour", 0.024 + above(0.120, 555, 18) + band(0.05, 540, 30), falling(0.012, 1.0), 0.34, 1.07, 22.0, 330, "clear mid blue"),
    "Damson Purple": ("colour", 0.055 + band(0.212, 555, 45) + band(0.076, 480, 35) + above(0.042, 640, 20), falling(0.014, 1.0), 0.36, 1.08, 23.0, 330, "deep and strong"),
    "Foxglove Pink": ("colour", 0.007 + band(0.177, 523, 32) + band(0.109, 490, 26), falling(0.014, 1.0), 0.33, 1.06, 22.0, 305, "bright pink"),
    "Oatcake Cream": ("colour", 0.0005 + below(0.039, 492, 30) + below(0.25, 407, 5), falling(0.20, 1.0), 0.36, 1.22, 19.0, 255, "pale, part white pigment"),
    "Hearth Black": ("colour", 0.62 + below(0.1, 500, 60), falling(0.035, 0.5), 0.34, 1.10, 18.0, 330, "carbon black"),
    "Chalk White Base": ("white-base", 0.0008 + below(0.55, 405, 5), falling(0.74, 0.7), 0.42, 1.35, 17.0, 200, "high-solids white; flash it"),
    "Quarry Discharge Base": ("discharge-base", 0.0008 + below(0.004, 450, 30), falling(0.004, 1.0), 0.10, 1.03, 14.0, 200, "mix the activator in on the day; read its safety data sheet"),
    "Rainwater Clear Base": ("clear-base", 0.0003 + below(0.002, 440, 20), falling(0.0015, 1.0), 0.30, 1.03, 11.0, 330, "extends a color without white"),
}  # fmt: skip

# undyed cloths: K/S
CLOTHS = {
    "bleached cotton": 0.0025 + below(0.009, 430, 20),
    "greige cotton": 0.030 + below(0.16, 450, 38),
    "scoured cotton": 0.012 + below(0.055, 440, 32),
    "undyed blend": 0.011 + below(0.045, 440, 30),
    "undyed polyester": 0.008 + below(0.030, 420, 20),
}

# name: (undyed cloth, dye K/S, fibers, grade, weight, note)
GARMENTS = {
    "Flour White": ("bleached cotton", 0 * NM, {"cotton": 1.0}, 5, 180, "bleached, no dye"),
    "Oat Natural": ("greige cotton", 0 * NM, {"cotton": 1.0}, 5, 185, "unbleached"),
    "Pebble Heather": ("scoured cotton", 0.043 + below(0.007, 480, 40), {"cotton": 0.9, "viscose": 0.1}, 3, 180, "light gray heather"),
    "Mist Gray": ("scoured cotton", 0.050 - above(0.004, 600, 40), {"cotton": 1.0}, 4, 180, "light gray"),
    "Slate Gray": ("scoured cotton", 1.45 - above(0.12, 600, 40), {"cotton": 1.0}, 4, 180, "mid-to-dark gray"),
    "Ember Heather": ("undyed blend", 3.6 - above(0.5, 620, 40), {"cotton": 0.6, "polyester": 0.4}, 3, 170, "charcoal heather"),
    "Coal Black": ("scoured cotton", 12.0 + below(0.9, 470, 40) - above(3.0, 670, 14), {"cotton": 1.0}, 5, 180, "reactive black that discharges"),
    "Anvil Black Sport": ("undyed polyester", 14.0 - above(2.5, 680, 10), {"polyester": 1.0}, 1, 150, "disperse black; may migrate into a base"),
    "Estuary Navy": ("scoured cotton", 3.2 + band(6.5, 610, 48) + below(0.7, 440, 30), {"cotton": 1.0}, 4, 180, "navy that discharges well"),
    "Brick Red": ("scoured cotton", 0.25 + below(6.5, 578, 9) - below(2.4, 440, 14), {"cotton": 1.0}, 4, 180, "saturated red"),
    "Kingcup Yellow": ("scoured cotton", 0.02 + below(2.6, 496, 9) + below(0.12, 540, 14), {"cotton": 1.0}, 3, 180, "saturated yellow"),
    "Clover Green": ("scoured cotton", 0.6 + below(5.5, 470, 12) + above(9.0, 585, 13), {"cotton": 1.0}, 2, 180, "kelly green; leaves a tint"),
    "Lagoon Turquoise": ("scoured cotton", 0.02 + below(0.10, 430, 20) + above(4.2, 582, 14), {"cotton": 1.0}, 1, 180, "turquoise; does not discharge"),
    "Ferry Royal": ("scoured cotton", 0.12 + above(7.5, 535, 14) + band(1.2, 620, 40), {"cotton": 1.0}, 1, 180, "royal blue; does not discharge"),
}  # fmt: skip


def numbers(values: np.ndarray, *, digits: int) -> str:
    """Write 31 numbers as the rows of a TOML array, 400–490, 500–590, 600–700 nm."""
    rounded = [f"{v:.{digits}f}" for v in values]
    rows = [rounded[:10], rounded[10:20], rounded[20:]]
    return "[\n" + "\n".join("  " + ", ".join(row) + "," for row in rows) + "\n]"


def write_inks() -> None:
    """Write inks.toml."""
    parts = [
        "# Inks of the demo shop. Everything here is INVENTED by this project: no ink was measured.\n"
        "# K, S: per µm of dry film, 400 to 700 nm at 10 nm, 31 values each.\n"
        "# solids_by_volume: dry share of the wet volume. Mesh limits in threads/inch.\n"
    ]
    for name, (kind, K, S, solids, density, price, finest, note) in INKS.items():
        coarsest = 80 if kind.endswith("base") else 125
        parts.append(
            f'\n[[ink]]\nname = "{name}"\nkind = "{kind}"\nsolids_by_volume = {solids}\n'
            f"density_g_cm3 = {density}\nprice_per_kg = {price}\n"
            f"finest_threads_per_inch = {finest}\ncoarsest_threads_per_inch = {coarsest}\n"
            f'max_passes = 2\ndata = "invented"\nnote = "{note}"\n'
            f"K = {numbers(np.maximum(K, 1e-4), digits=4)}\nS = {numbers(S, digits=4)}\n"
        )
    (SHARED / "inks.toml").write_text("".join(parts), encoding="utf-8")


def write_garments() -> None:
    """Write garments.toml."""
    parts = [
        "# Garments of the demo shop. Everything here is INVENTED by this project.\n"
        "# reflectance: external factor 0-1, 400 to 700 nm at 10 nm, as a 45:0 instrument would read.\n"
        "# discharge_grade: 5 the dye discharges fully ... 1 it does not discharge.\n"
    ]
    undyed = {name: external_from_internal(reflectance_from_ks(ks)) for name, ks in CLOTHS.items()}
    for name, reflectance in undyed.items():
        parts.append(
            f'\n[[cloth]]\nname = "{name}"\ndata = "invented"\n'
            f"reflectance = {numbers(reflectance, digits=4)}\n"
        )
    for name, (cloth, dye, fibres, grade, weight, note) in GARMENTS.items():
        ks = ks_from_reflectance(internal_from_external(undyed[cloth])) + dye
        share = ", ".join(f"{fibre} = {value}" for fibre, value in fibres.items())
        parts.append(
            f'\n[[garment]]\nname = "{name}"\nfibers = {{ {share} }}\nundyed = "{cloth}"\n'
            f"discharge_grade = {grade}\nweight_g_m2 = {weight}\n"
            f'data = "invented"\nnote = "{note}"\n'
            f"reflectance = {numbers(external_from_internal(reflectance_from_ks(ks)), digits=5)}\n"
        )
    (SHARED / "garments.toml").write_text("".join(parts), encoding="utf-8")


if __name__ == "__main__":
    write_inks()
    write_garments()
