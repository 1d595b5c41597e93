"""The page of the documentation from results kept: tables before and after, and a reliability diagram.

    python tests/calibration/report.py BEFORE.json AFTER.json docs/reference/calibration.rst docs/calibration.svg
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from calibration.score import QUANTITIES, STATEMENTS
from calibration.worlds import TABLE

HEAD = """Calibration study
=================

What is a ± worth where worlds do not share the library's assumptions? A simulator written apart from the library's models does whole
services: compartments as stirred tanks integrated by their own scheme, expansion by a published relation, pails with a scale, growth,
tilt, film and froth, a stick read by a person on a floor that is not level, a thermometer, vials matched by one pair of eyes. Each
service is written down as a job, and what a sheet says of it is held against what truly happened.

.. code-block:: sh

   python tests/calibration/run.py --worlds 60 --seed 1,2,3,4,5 --inside 0

Four kinds of worlds are drawn. *Ideal*: nothing errs but scales and rounding. *Assumed*: every fault has the distribution that the
library takes by default. *Realistic*: ranges of the trade, chosen without regard to the defaults. *Misspecified*: outside them, to see
what breaks first. *Drawn first*: realistic, with 30 % of every pour drawn before it has mixed. *Typo*: realistic, with one entry of the
log a litre off. *Sceptic*: ranges that somebody who doubts the study would draw, written down before their first run and run once. A
short form runs in the suite.

What the outlet tells of the inside takes longest to work out, and was asked in an earlier run of 40 worlds a study: within two standard
uncertainties lay 92 % of the worlds as assumed, 98 % of the realistic ones.

Coverage is the share of worlds in which the truth lies within one and two standard uncertainties: 68 % and 95 % where ± means what it
says. "u / rms" is the mean standard uncertainty over the true root mean square error: 1 where it is as large as it should be. *Before* is
the library as it was when only a reading's rounding and a vessel's scale were counted.
"""


def percent(share: float | None) -> str:
    return "–" if share is None else f"{100 * share:.0f} %"


def coverage(study: str, before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """The table of one study."""
    worlds = f"{after['worlds']} worlds" + (f", before: {before['worlds']}" if before else "")
    title = f"{study.capitalize()} ({worlds})"
    lines = [title, "-" * len(title), ""]
    if after["named"] is not None:
        told = f"The wrong entry is noticed in {percent(after['noticed'])} of the worlds and named in {percent(after['named'])}."
        return [*lines, told, ""]
    lines += [".. list-table::", "   :header-rows: 1", ""]
    head = ["", "2 u before", "u / rms before", "1 u", "2 u", "rms error", "mean u", "u / rms"]

    def row(cells: list[str]) -> None:
        lines.extend(f"   {'* -' if i == 0 else '  -'} {cell}".rstrip() for i, cell in enumerate(cells))

    row(head)
    for key, name in QUANTITIES.items():
        now, then = after["quantities"][key], before.get("quantities", {}).get(key, {"count": 0})
        if not now["count"]:
            continue
        old = [percent(then["two"]), f"{then['u'] / then['rms']:.2f}"] if then["count"] and key != "plug" else ["–", "–"]
        new = [percent(now["one"]), percent(now["two"]), f"{now['rms']:.3f}", f"{now['u']:.3f}", f"{now['u'] / now['rms']:.2f}"]
        row([name, *old, *new])
    share = before.get("unanswered")
    told = "" if after["interval"] is None else f"The 95 % interval of the inside holds in {percent(after['interval'])} of the worlds. "
    told += f"Without an answer: {100 * after['unanswered']:.1f} %"
    told += "." if share is None else f" (before: {100 * share:.0f} %)."
    return [*lines, "", told, ""]


WEAK = """What comes true less or more often than stated is told as it is. Before the work a plan takes the circuit for better known than it
turns out: it leaves out what is drawn before it has mixed and what runs back of the converter."""


def reliability(results: dict[str, Any]) -> list[str]:
    """What was stated, and how often it came true, over the studies without a typing error."""
    title = "Stated probabilities"
    picture = [".. image:: ../calibration.svg", "   :alt: Stated probability against how often it came true.", ""]
    lines = [title, "-" * len(title), "", *picture]
    for statement, name in STATEMENTS.items():
        said = [
            f"{percent(sum(p * n for p, _, n in one) / sum(n for *_, n in one))} stated, "
            f"{percent(sum(f * n for _, f, n in one) / sum(n for *_, n in one))} true ({sum(n for *_, n in one)})"
            for one in pooled(results, statement)
        ]
        if said:
            lines.append(f"* {name.capitalize()}: {'; '.join(said)}.")
    return [*lines, "", WEAK, ""]


def pooled(results: dict[str, Any], statement: str) -> list[list[list[float]]]:
    """The bins of all studies that make no typing error and lie within the trade's ranges, put together by stated probability."""
    edges = (0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.1)
    found: dict[int, list[list[float]]] = {}
    for study in ("assumed", "realistic", "drawn first"):
        for one in results.get(study, {"statements": {statement: {"bins": []}}})["statements"][statement]["bins"]:
            found.setdefault(sum(one[0] >= edge for edge in edges), []).append(one)
    return [found[place] for place in sorted(found)]


COLOURS = {"planned": "#1f5fa8", "short": "#b2541a", "outside": "#3d7d3a"}


def diagram(results: dict[str, Any]) -> str:
    """The reliability diagram as SVG: on the diagonal a probability means what it says."""
    size, left, top = 300, 60, 20

    def at(p: float, f: float) -> tuple[float, float]:
        return left + size * p, top + size * (1 - f)

    box = f'viewBox="0 0 {left + size + 220} {top + size + 60}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {box} font-family="sans-serif" font-size="12">',
        f'<rect x="{left}" y="{top}" width="{size}" height="{size}" fill="none" stroke="#888"/>',
        f'<line x1="{left}" y1="{top + size}" x2="{left + size}" y2="{top}" stroke="#bbb" stroke-dasharray="4 4"/>',
        f'<text x="{left + size / 2}" y="{top + size + 40}" text-anchor="middle" fill="#555">stated probability</text>',
        f'<text x="18" y="{top + size / 2}" text-anchor="middle" fill="#555" transform="rotate(-90 18 {top + size / 2})">came true</text>',
    ]
    for tick in (0, 0.25, 0.5, 0.75, 1):
        x, y = at(tick, tick)
        parts.append(f'<text x="{x:.0f}" y="{top + size + 18}" text-anchor="middle" fill="#555">{100 * tick:.0f} %</text>')
        parts.append(f'<text x="{left - 6}" y="{y + 4:.0f}" text-anchor="end" fill="#555">{100 * tick:.0f} %</text>')
    for row, (statement, colour) in enumerate(COLOURS.items()):
        points = []
        for one in pooled(results, statement):
            count = sum(n for *_, n in one)
            p, f = (sum(values[i] * values[2] for values in one) / count for i in (0, 1))
            spread = (f * (1 - f) / count) ** 0.5
            x, y = at(p, f)
            points.append(f"{x:.1f},{y:.1f}")
            parts.append(f'<line x1="{x:.1f}" y1="{y - size * spread:.1f}" x2="{x:.1f}" y2="{y + size * spread:.1f}" stroke="{colour}"/>')
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{2 + count**0.5 / 4:.1f}" fill="{colour}"/>')
        parts.append(f'<polyline points="{" ".join(points)}" fill="none" stroke="{colour}"/>')
        parts.append(f'<text x="{left + size + 12}" y="{top + 16 + 18 * row}" fill="{colour}">{STATEMENTS[statement]}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def ranges() -> list[str]:
    """The worlds, each range with its reason."""
    lines = ["The worlds", "----------", "", ".. list-table::", "   :header-rows: 1", ""]
    rows = [["", "unit", "assumed", "realistic", "misspecified", "why"]]
    rows += [
        [name.replace("_", " "), row.unit, str(row.assumed), str(row.realistic), str(row.misspecified), row.reason]
        for name, row in TABLE.items()
    ]
    for cells in rows:
        lines.extend(f"   {'* -' if i == 0 else '  -'} {cell}".rstrip() for i, cell in enumerate(cells))
    return [*lines, ""]


def page(before: dict[str, Any], after: dict[str, Any]) -> str:
    """The whole page."""
    lines = [HEAD]
    for study, now in after.items():
        lines += coverage(study, before.get(study, {}), now)
    return "\n".join([*lines, *reliability(after), *ranges()])


if __name__ == "__main__":
    old, new = (json.loads(Path(name).read_text()) for name in sys.argv[1:3])
    Path(sys.argv[3]).write_text(page(old, new))
    Path(sys.argv[4]).write_text(diagram(new))
