"""The app's server: Streamlit, with the first page's work begun before anybody asks for it.

``python -m inksim.ui.serve SCRIPT [OPTIONS OF STREAMLIT]``; `inksim app` runs this.
"""

from __future__ import annotations

import gc
import logging
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from threading import Thread

from inksim.common import temporary_folder

PAGE = "index.html"


def warm_up() -> None:
    """Work out what the first page shows while a browser starts: its artwork, garment and light.

    It asks what the page asks, so that the page finds it, or waits for what is not ready yet. What
    fails here fails again where it is asked for, and is told there.
    """
    Thread(target=_load, daemon=True).start()
    try:
        from inksim.ui import cache, cached_results, current_job, job_bar, pickers, progress

        viewing = pickers.LIGHTS[pickers.LIGHT]
        with progress.ahead():
            shop = cache.open_shop(cache.served_folder())
            garment = pickers.START if pickers.START in shop.garments else next(iter(shop.garments))
            job = current_job.in_memory(shop, cache.demo_artwork(), garment, {})
            art, whole = job.art, job.drawn().job
            found = cached_results.printed(
                shop, whole, art=art.ready, garment=garment, viewing=viewing
            )
            job_bar.thumb(job, art, garment, viewing)

            import_module("inksim.ui.pages.client").client_views.work_out(
                art.ready, found, shop=shop, viewing=viewing
            )
    except Exception:
        logging.getLogger(__name__).info("not warmed up", exc_info=True)


def _load() -> None:
    """Import what the page takes of SciPy beside the first work, which leaves Python free."""
    with suppress(ImportError):
        for name in ("scipy.sparse.csgraph", "scipy.ndimage"):
            import_module(name)


def before_visitors() -> None:
    """Warm up; then leave what is there by now out of every search for garbage.

    Streamlit searches all objects after every run of a page: 60 ms for those of the libraries
    alone, while nothing else of the server goes on.
    """
    warm_up()
    gc.collect()
    gc.freeze()


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
    Thread(target=before_visitors, daemon=True).start()
    sys.argv = ["streamlit", "run", *sys.argv[1:]]
    streamlit()


if __name__ == "__main__":
    main()
