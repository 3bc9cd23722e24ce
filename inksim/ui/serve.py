"""The app's server: Streamlit, with the first page's work begun before anybody asks for it.

``python -m inksim.ui.serve SCRIPT [OPTIONS OF STREAMLIT]``; `inksim app` runs this.
"""

from __future__ import annotations

import logging
import sys
from threading import Thread


def warm_up() -> None:
    """Do what the first page does, for its artwork, garment and light, while a browser starts.

    What fails here fails again where it is asked for, and is told there.
    """
    try:
        from inksim.artwork import read_artwork
        from inksim.preview import artwork_result, prepare_artwork
        from inksim.shop import load_shop
        from inksim.ui import cache, pickers

        upload, viewing = cache.demo_file(), pickers.LIGHTS[pickers.LIGHT]
        shop = load_shop(cache.shop_folder())
        garment = shop.garments.get(pickers.START) or next(iter(shop.garments.values()))
        tolerance = shop.habits.tolerance_de00
        key = cache.answer_key(
            upload, shop=shop, garment=garment.name, viewing=viewing, tolerance=tolerance
        )
        promised = cache.begin(upload.sha256, key)
    except Exception:
        logging.getLogger(__name__).info("not warmed up", exc_info=True)
        return
    try:
        art = prepare_artwork(read_artwork(upload.data, name=upload.name))
        promised[0].set_result(art)
        promised[1].set_result(
            artwork_result(art, shop=shop, garment=garment, viewing=viewing, tolerance=tolerance)
        )
    except BaseException as error:
        for each in promised:
            if not each.done():
                each.set_exception(error)


def main() -> None:
    """Serve until stopped."""
    from streamlit import net_util
    from streamlit.web.cli import main as streamlit

    # It asks a service on the internet for this machine's address whenever a page from elsewhere
    # tries to connect. Nothing is sent anywhere here, and no such page is let in.
    setattr(net_util, "get_external_ip", lambda: None)  # noqa: B010  typed as another function
    Thread(target=warm_up, daemon=True).start()
    sys.argv = ["streamlit", "run", *sys.argv[1:]]
    streamlit()


if __name__ == "__main__":
    main()
