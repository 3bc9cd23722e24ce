"""The app's server: Streamlit, with the first page's work begun before anybody asks for it.

``python -m inksim.ui.serve SCRIPT [OPTIONS OF STREAMLIT]``; `inksim app` runs this.
"""

from __future__ import annotations

import logging
import sys
from concurrent.futures import Future
from pathlib import Path
from threading import Thread
from typing import Any

from inksim.common import temporary_folder

PAGE = "index.html"


def warm_up() -> None:
    """Do what the first page does, for its artwork, garment and light, while a browser starts.

    What fails here fails again where it is asked for, and is told there.
    """
    promised: tuple[Future[Any], ...] = ()
    try:
        from inksim.job import decide_job, drawn_job, entry_in_memory
        from inksim.shop import load_shop
        from inksim.ui import cache, cached_results, current_job, pickers

        upload, viewing = cache.demo_file(), pickers.LIGHTS[pickers.LIGHT]
        shop = load_shop(cache.served_folder())
        garment = shop.garments.get(pickers.START) or next(iter(shop.garments.values()))
        promised = cache.begin(cache.drawn_key(upload))
        drawn = cache.placed_and_ready(upload)
        said = {"artwork": {}, "garments": [garment.name], "quantity": current_job.QUANTITY}
        job = drawn_job(
            entry_in_memory(upload.name, shop=shop, said=said),
            folder=Path(),
            shop=shop,
            placed=drawn.placed,
        ).job
        # begun before the artwork is there: who waits for that asks for this next
        promised += cache.begin(cached_results.job_key(shop, job, viewing=viewing))
        promised[0].set_result(drawn)
        promised[1].set_result(decide_job(job, shop=shop, viewing=viewing))
    except BaseException as error:
        logging.getLogger(__name__).info("not warmed up", exc_info=True)
        for each in promised:
            if not each.done():
                each.set_exception(error)


def with_style(folder: Path, static: Path) -> bool:
    """Fill a folder with Streamlit's own files, our style in the page: it stands at first paint.

    As an element of the page it would come late, and move all that is there. Returns whether that
    could be done: it takes a system with symbolic links.
    """
    from inksim.ui import first_screen, style

    try:
        for each in static.iterdir():
            if each.name != PAGE:
                (folder / each.name).symlink_to(each, target_is_directory=each.is_dir())
        page = (static / PAGE).read_text("utf-8")
    except OSError:
        return False
    said = f"{style.STYLE}{first_screen.STYLE}</head>"
    (folder / PAGE).write_text(page.replace("</head>", said, 1), "utf-8")
    return True


def main() -> None:
    """Serve until stopped."""
    with temporary_folder() as folder:
        _serve(folder)


def _serve(folder: Path) -> None:
    from streamlit import file_util, net_util
    from streamlit.web.cli import main as streamlit

    # It asks a service on the internet for this machine's address whenever a page from elsewhere
    # tries to connect. Nothing is sent anywhere here, and no such page is let in.
    setattr(net_util, "get_external_ip", lambda: None)  # noqa: B010  typed as another function
    if with_style(folder, Path(file_util.get_static_dir())):
        setattr(file_util, "get_static_dir", lambda: str(folder))  # noqa: B010
    Thread(target=warm_up, daemon=True).start()
    sys.argv = ["streamlit", "run", *sys.argv[1:]]
    streamlit()


if __name__ == "__main__":
    main()
