"""One prediction: an orange ink over a white base on a black shirt."""

import inksim

shop = inksim.load_shop()  # the demo shop; load_shop("my-shop") reads your own
shirt, orange = shop.garment("Coal Black"), shop.ink("Lantern Orange")
build = inksim.usual_build(shop, garment=shirt, ink=orange, route="white-base")
[seen] = inksim.predict([build], press=shop.press, target=shop.target("#e8622c"))
said = inksim.verdict_of(seen.interval).short
print(f"{seen.hex}, nominally ΔE00 {seen.delta_e_2000:.1f}: {said}")
