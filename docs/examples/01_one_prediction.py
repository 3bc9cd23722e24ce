"""One prediction: an orange ink over a white base on a black shirt."""

import inksim

shop = inksim.load_shop()  # the demo shop; load_shop("my-shop") reads your own
shirt, orange = shop.garment("Coal Black"), shop.ink("Lantern Orange")
build = inksim.usual_build(shop, garment=shirt, ink=orange, route="white-base")
[seen] = inksim.predict([build], press=shop.press, target=shop.target("#e8622c"))
print(f"{seen.hex}, ΔE00 {seen.delta_e_2000:.1f}, 9 in 10 within {seen.interval.de_high:.1f}")
