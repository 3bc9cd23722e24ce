"""A film of your own through the bare physics: no shop, no press, arrays in and arrays out.

Reflectances are internal inside the film, as Kubelka and Munk have them; an instrument outside
reads them through the surface (Saunderson).
"""

import numpy as np

import inksim
from inksim.optics import external_from_internal, internal_from_external

wavelengths = np.arange(400, 701, 10)  # nm: every spectrum has these 31 bands
K = 0.005 + 0.2 * np.exp(-(((wavelengths - 560) / 45) ** 2))  # per µm: a violet
S = np.full(31, 0.012)

cards = internal_from_external(np.array([[0.04], [0.85]]) * np.ones(31))  # black, white: (2, 31)
thickness_um = np.array([0.0, 5.0, 10.0, 20.0, 40.0, 80.0])
films = inksim.film_over(K, S, thickness_um=thickness_um[:, None, None], backing=cards)
read = external_from_internal(films)  # (6, 2, 31)

viewing = inksim.Viewing(light="D65", observer=10)
colours = inksim.lab(read, viewing)  # (6, 2, 3)
hiding = inksim.delta_e_2000(colours[:, 0], colours[:, 1])
for um, lab, apart in zip(thickness_um, colours[:, 1], hiding, strict=True):
    L, a, b = lab
    print(
        f"{um:3.0f} µm on white: Lab {L:5.1f} {a:+6.1f} {b:+6.1f}; black shows by ΔE00 {apart:.1f}"
    )
