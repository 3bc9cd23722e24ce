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
        from inksim.ui import client, kept, pickers

        del client  # only loaded
        kept.begin(kept.demo_file(), garment=pickers.START, viewing=pickers.LIGHTS[pickers.LIGHT])
    except Exception:
        logging.getLogger(__name__).info("not warmed up", exc_info=True)


def main() -> None:
    """Serve until stopped."""
    from streamlit.web.cli import main as streamlit

    Thread(target=warm_up, daemon=True).start()
    sys.argv = ["streamlit", "run", *sys.argv[1:]]
    streamlit()


if __name__ == "__main__":
    main()
