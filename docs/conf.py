"""The documentation: `python -m sphinx -W -b html docs docs/built`, from the top folder.

What a page can take from the program is made when the docs are built, into `made/`: the pictures
(by the commands that the pages name), the shop's files field by field (from their schema) and a
page of every room's face. Sphinx reads docstrings and checks links inside; MyST lets every page be
the Markdown that is read without a build, too; Furo is a kept theme, legible on a phone.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(HERE.parent))

import made_pages  # noqa: E402

import inksim  # noqa: E402
from inksim import common  # noqa: E402

project = "inksim"
author = "the inksim maintainers"
release = version = inksim.__version__
copyright = f"{author}. This is inksim {release}."  # the foot of every page
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "sphinx.ext.mathjax"]
myst_enable_extensions = ["colon_fence", "dollarmath", "deflist"]
myst_heading_anchors = 4
exclude_patterns = ["built", "examples", "made/*.md"]
html_theme = "furo"
html_title = f"inksim {release}"
html_static_path = ["site"]
html_css_files = ["site.css"]
autodoc_member_order = "bysource"
autodoc_typehints = "signature"
# Arrays by their names, not by numpy's types of all that can become one.
autodoc_type_aliases = {name: name for name in ("ArrayLike", *common.__all__) if "Array" in name}
# Rooms name their types by long paths; a page of the API is read for what a thing means.
add_module_names = False
suppress_warnings = ["misc.highlighting_failure"]


def setup(app: Any) -> None:
    """Make the pages and pictures before the sources are looked for."""
    made_pages.make(HERE / "made")
