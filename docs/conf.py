"""Sphinx configuration. The API pages and the verification page are written at build time from the package itself."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

project = "sumpwise"
author = "The sumpwise contributors"
copyright = "2026, the sumpwise contributors"
extensions = [
    "sphinx.ext.autodoc",
    "sphinx.ext.napoleon",
    "sphinx.ext.doctest",
    "sphinx.ext.mathjax",
    "sphinx.ext.viewcode",
]
exclude_patterns = ["_build"]
html_theme = "furo"
html_title = "sumpwise"
napoleon_google_docstring = False
napoleon_use_rtype = False
autodoc_typehints = "none"
autodoc_member_order = "bysource"
doctest_global_setup = "import sumpwise\nfrom sumpwise import *"
trim_doctest_flags = True
nitpick_ignore_regex = [
    (r"py:(class|obj|exc)", r".*"),  # numpydoc types are words of the trade: "volume, scalar or array"
]

import generate  # noqa: E402  (docs/generate.py)


def setup(app: object) -> None:
    generate.write(HERE / "reference" / "generated")
