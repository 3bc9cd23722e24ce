"""A press calibrated: a few readings of real prints make every later prediction nearer and surer.

The demo's readings are INVENTED; see shared/readings/first-prints.csv.
"""

import inksim

shop = inksim.load_shop()
filed = shop.before  # inks as their entries say, not as a calibrated press prints them
readings = []
for read in inksim.read_readings(shop.folder / "readings" / "first-prints.csv"):
    build = inksim.usual_build(
        filed,
        garment=filed.garment(read.labels["garment"]),
        ink=filed.ink(read.labels["ink"]),
        route=read.labels["route"],
        screen=filed.screen(f"{read.device['screen']:g}"),
        passes=int(read.device["passes"]),
    )
    readings.append(inksim.PrintReading(name=read.name, build=build, lab=read.lab))

found = inksim.calibrate(readings, press=shop.press)
print(f"{len(found.used)} readings, median ΔE00 {found.medians['before']:.1f} before, ", end="")
print(f"{found.medians['after']:.1f} after")
for each in found.parameters:
    if each.told:
        print(f"{each.name}: {each.before.value:.2f}, now {each.low:.2f} to {each.high:.2f}")

build = inksim.usual_build(
    shop, garment=shop.garment("Coal Black"), ink=shop.ink("Kiln Red"), route="white-base"
)
widths = []
for press in (shop.press, found.press):
    [seen] = inksim.predict([build], press=press)
    widths.append(seen.interval.lab_high[0] - seen.interval.lab_low[0])
    print(f"{press.calibrated=}: {seen.hex}, L* within {widths[-1]:.1f}")
