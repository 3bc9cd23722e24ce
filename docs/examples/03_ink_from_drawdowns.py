"""An ink from a sheet of drawdowns: K and S of a color, and what it then looks like on a shirt.

The readings are INVENTED: films of a made-up red, alone and let down with white, on the black and
the white of a card, worked out by the bare physics with some noise. With an instrument they would
come from `inksim.read_readings("sheet.csv")`.
"""

import numpy as np

import inksim
from inksim.optics import external_from_internal, internal_from_external

WAVELENGTHS = np.arange(400, 701, 10)
TRUE_K = {"Red": 0.02 + 0.28 / (1 + np.exp((WAVELENGTHS - 590) / 9)), "White": np.full(31, 0.001)}
TRUE_S = {"Red": np.linspace(0.020, 0.014, 31), "White": np.linspace(0.30, 0.22, 31)}
CARD = {"black": np.full(31, 0.04), "white": np.full(31, 0.85)}
rng = np.random.default_rng(7)


def read(recipe: dict[str, float], card: str, thickness_um: float) -> np.ndarray:
    """What an instrument would read of such a film: (31,) external reflectance."""
    K = sum(share * TRUE_K[ink] for ink, share in recipe.items())
    S = sum(share * TRUE_S[ink] for ink, share in recipe.items())
    under = internal_from_external(CARD[card])
    film = inksim.film_over(K, S, thickness_um=thickness_um, backing=under)
    return external_from_internal(film) + rng.normal(0, 0.001, 31)


sheet = [
    inksim.Drawdown(
        recipe=recipe, backing=CARD[card], reading=read(recipe, card, um), thickness_um=um
    )
    for recipe in ({"Red": 1.0}, {"Red": 0.2, "White": 0.8}, {"White": 1.0})
    for um in (12.0, 25.0)
    for card in ("black", "white")
]
# Films of plain Kubelka-Munk, so their light is known to be diffuse: directness_sd 0.
found = inksim.characterise(sheet, directness_sd=0.0)
for warning in found.warnings:
    print("-", warning)
fit = found.inks["Red"]
print(f"fitted to ΔE00 {found.mean_delta_e:.2f} on average")

again = inksim.predict_drawdown(
    found, recipe={"Red": 0.5, "White": 0.5}, backing="white", thickness_um=18.0
)
print(f"half and half, 18 µm on white: L* {inksim.lab(again, inksim.Viewing())[0]:.1f}")

red = inksim.Ink(
    name="New Red", kind="color", K=fit.K, S=fit.S, solids_by_volume=0.35, data="invented"
)
shop = inksim.load_shop()
for route in ("straight", "white-base"):
    build = inksim.usual_build(shop, garment=shop.garment("Mist Gray"), ink=red, route=route)
    [seen] = inksim.predict([build], press=shop.press)
    print(f"{route} on Mist Gray: {seen.hex}")
