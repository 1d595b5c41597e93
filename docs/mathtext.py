"""Formulas drawn by matplotlib when the pages are built, so that they read without a network."""

from __future__ import annotations

import base64
import io
import re
from html import escape
from typing import Any

SIZES = {"inline": 11.0, "block": 13.0}
_drawn: dict[tuple[str, str], str] = {}


def image(tex: str, place: str) -> str:
    """One line of TeX as an HTML image that stands on the line of the text around it."""
    if (tex, place) not in _drawn:
        import matplotlib
        from matplotlib.figure import Figure
        from matplotlib.font_manager import FontProperties
        from matplotlib.mathtext import MathTextParser

        font = FontProperties(family="serif", size=SIZES[place], math_fontfamily="dejavuserif")
        tex_here = tex.replace(r"\frac", r"\dfrac") if place == "block" else tex
        drawn = "$" + re.sub(r"\\(ge|le)\b", r"\\\1q", tex_here) + "$"  # matplotlib knows the longer names only
        width, height, depth, _, _ = MathTextParser("path").parse(drawn, dpi=72, prop=font)
        figure = Figure(figsize=(width / 72, height / 72))
        figure.text(0, depth / height, drawn, fontproperties=font)
        file = io.BytesIO()
        with matplotlib.rc_context({"svg.hashsalt": "math", "svg.fonttype": "path"}):
            figure.savefig(file, format="svg", transparent=True, metadata={"Date": None})
        source = base64.b64encode(file.getvalue()).decode()
        style = f"vertical-align: -{depth:.1f}pt; width: {width:.1f}pt; height: {height:.1f}pt"
        _drawn[tex, place] = f'<img class="math" alt="{escape(tex)}" style="{style}" src="data:image/svg+xml;base64,{source}"/>'
    return _drawn[tex, place]


def lines(tex: str) -> list[str]:
    """The lines of a displayed formula, each small enough for the page: a gap or a line break ends one."""
    joined = " ".join(tex.split())
    for gap in (r"\qquad", r"\\", r",\;"):
        joined = joined.replace(gap, "\n")
    return [line.strip().rstrip(",") for line in joined.split("\n") if line.strip()]


def visit_inline(translator: Any, node: Any) -> None:
    """Write an inline formula."""
    from docutils.nodes import SkipNode

    translator.body.append(image(node.astext(), "inline"))
    raise SkipNode


def visit_block(translator: Any, node: Any) -> None:
    """Write a displayed formula, each of its lines on one of its own."""
    from docutils.nodes import SkipNode

    drawn = "".join(f"<div>{image(line, 'block')}</div>" for line in lines(node.astext()))
    translator.body.append(f'<div class="math">{drawn}</div>\n')
    raise SkipNode


def setup(app: Any) -> dict[str, bool]:
    """Register the renderer with Sphinx."""
    app.add_html_math_renderer("mathtext", (visit_inline, None), (visit_block, None))
    return {"parallel_read_safe": True}
