"""Sphinx configuration. Everything that comes from the package itself is written into `reference/generated` when the build starts."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import generate  # noqa: E402  (docs/generate.py)
from docutils import nodes  # noqa: E402
from sphinx import addnodes  # noqa: E402

project = "sumpwise"
author = "The sumpwise contributors"
copyright = "2026, the sumpwise contributors"
release = generate.version()
extensions = [
    "sphinx.ext.autodoc",
    "sphinx.ext.napoleon",
    "sphinx.ext.doctest",
    "mathtext",
    "sphinx.ext.viewcode",
]
exclude_patterns = ["_build"]
default_role = "py:obj"
html_theme = "furo"
html_title = "sumpwise"
html_math_renderer = "mathtext"
html_static_path = ["static"]
html_css_files = ["docs.css"]
napoleon_google_docstring = False
napoleon_use_rtype = False
napoleon_use_ivar = True
autodoc_typehints = "none"
autodoc_member_order = "bysource"
doctest_test_doctest_blocks = ""  # examples in docstrings are run by pytest, with its flag NUMBER
trim_doctest_flags = True
nitpick_ignore_regex = [
    (r"py:(class|obj|exc)", r".*"),  # numpydoc types are words of the trade: "volume, scalar or array"
]


def words_of_the_trade(app: object, doctree: nodes.document) -> None:
    """Keep "volume" in a list of types from being linked to whatever method has that name."""
    for node in list(doctree.findall(addnodes.pending_xref)):
        if node.get("reftype") == "class" and node["reftarget"].islower() and "." not in node["reftarget"]:
            node.replace_self(node.children)


def setup(app: object) -> None:
    generate.write(HERE / "reference" / "generated")
    app.connect("doctree-read", words_of_the_trade)  # type: ignore[attr-defined]
