"""Sphinx configuration. Everything that comes from the package itself is written into `reference/generated` when the build starts."""

from __future__ import annotations

import doctest
import itertools
import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import generate  # noqa: E402  (docs/generate.py)
from docutils import nodes  # noqa: E402
from sphinx import addnodes  # noqa: E402

ROOM_OF = {name: where.split(".")[1] for name, where in generate.places().items()}

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
doctest_default_flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
trim_doctest_flags = True
nitpick_ignore_regex = [
    (r"py:(class|obj|exc)", r".*"),  # numpydoc types are words of the trade: "volume, scalar or array"
]


def linked(app: object, doctree: nodes.document) -> None:
    """Link every public name that stands in code style; keep the words of the trade from being linked to methods of that name."""
    for node in list(doctree.findall(addnodes.pending_xref)):
        word = node["reftarget"].islower() and "." not in node["reftarget"]
        if (node.get("reftype") == "class" and word) or (node.get("reftype") == "obj" and node.get("refspecific")):
            node.replace_self(node.children)
    for literal in list(doctree.findall(nodes.literal)):
        name, cell = literal.astext(), literal.parent.parent
        if isinstance(cell, nodes.entry) and cell.parent.index(cell) == 1 and name.islower():
            continue  # an argument in the nomenclature, though a function may have its name
        if name.partition(".")[0] in ROOM_OF and not isinstance(literal.parent, (nodes.reference, nodes.title, addnodes.pending_xref)):
            target = f"sumpwise.{ROOM_OF[name.partition('.')[0]]}.{name}"
            document = app.env.docname  # type: ignore[attr-defined]
            reference = addnodes.pending_xref("", refdomain="py", reftype="obj", reftarget=target, refdoc=document, refexplicit=True)
            literal.replace_self(reference)
            reference += literal


def one_by_one(app: object, what: str, name: str, obj: object, options: object, lines: list[str]) -> None:
    """Attributes that share a type and a description get one each, which napoleon does for parameters alone."""
    for i, line in reversed(list(enumerate(lines[:-1]))):
        names, colon, kind = line.partition(" : ")
        if colon and ", " in names and not line.startswith(" ") and "Attributes" in lines[:i]:
            shared = list(itertools.takewhile(lambda text: text.startswith(" "), lines[i + 1 :]))
            lines[i : i + 1 + len(shared)] = [text for one in names.split(", ") for text in (f"{one} : {kind}", *shared)]


def setup(app: object) -> None:
    generate.write(HERE / "reference" / "generated")
    app.connect("autodoc-process-docstring", one_by_one, priority=400)  # type: ignore[attr-defined]
    app.connect("doctree-read", linked)  # type: ignore[attr-defined]
