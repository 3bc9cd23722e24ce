"""Mesh against color: what one ink looks like through every screen that it prints through.

A finer mesh leaves less ink. On a white shirt the color gets paler; by how much decides which
screens are worth trying.
"""

import inksim

shop = inksim.load_shop()
shirt, blue = shop.garment("Flour White"), shop.ink("Cornflower Blue")
meshes = [
    screen
    for screen in shop.screens.values()
    if blue.coarsest_threads_per_inch <= screen.threads_per_inch <= blue.finest_threads_per_inch
]
builds = [
    inksim.usual_build(shop, garment=shirt, ink=blue, route="straight", screen=mesh, passes=1)
    for mesh in meshes
]
prints = inksim.predict(builds, press=shop.press)

print("threads/in  dry film      L*   90 %      color")
for mesh, seen in zip(meshes, prints, strict=True):
    low, high = seen.interval.lab_low[0], seen.interval.lab_high[0]
    print(
        f"{mesh.threads_per_inch:10.0f}  {seen.film_um:5.1f} µm  {seen.lab[0]:6.1f}   "
        f"{low:.0f} to {high:.0f}  {seen.hex}"
    )

thick, thin = prints[0], prints[-1]
apart = inksim.delta_e_2000(thick.lab, thin.lab)
print(f"From the coarsest mesh to the finest the color moves by ΔE00 {apart:.1f}.")
