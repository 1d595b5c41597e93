"""Write the pages that come from the package itself: the API by room, and the verification page."""

from __future__ import annotations

import inspect
from pathlib import Path

from sumpwise import _face
from sumpwise.verification.runner import verify

ABOUT = {
    "quantities": "Numbers with units",
    "measurement": "How well a number is known",
    "fluid": "The fluid",
    "mixing": "How fresh the fill gets",
    "filling": "Vessels, ledger, level, pouring, packs",
    "torque": "How tight the plug goes",
    "description": "The numbers in a text",
    "service": "The whole job",
    "verification": "The published check values",
    "plots": "Plots",
    "testing": "For the tests of those who embed the library",
    "errors": "Errors",
}


def write(folder: Path) -> None:
    """Write every generated page, replacing only what changed."""
    folder.mkdir(parents=True, exist_ok=True)
    pages = {f"{room}.rst": _room(room, modules) for room, modules in _face.ROOMS.items()}
    pages["index.rst"] = _index(list(_face.ROOMS))
    pages["verification_values.rst"] = _values()
    for name, text in pages.items():
        path = folder / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")


def _heading(text: str, mark: str = "=") -> str:
    return f"{text}\n{mark * len(text)}\n"


def _room(room: str, modules: dict[str, tuple[str, ...]]) -> str:
    parts = [_heading(f"{ABOUT[room]}: ``{room}``"), f".. currentmodule:: sumpwise\n\n``from sumpwise import …`` or ``from sumpwise.{room} import …``.\n"]
    for module, names in modules.items():
        for name in names:
            where = f"sumpwise.{room}.{module}" if module else f"sumpwise.{room}"
            thing = _face.load(where, name)
            kind = "autoclass" if inspect.isclass(thing) else "autofunction" if callable(thing) else "autodata"
            more = "\n   :members:" if kind == "autoclass" else ""
            parts.append(f".. {kind}:: {where}.{name}{more}\n")
    return "\n".join(parts)


def _index(rooms: list[str]) -> str:
    return _heading("API by room") + "\n.. toctree::\n   :maxdepth: 1\n\n" + "".join(f"   {room}\n" for room in rooms)


def _values() -> str:
    report = verify()
    lines = [
        _heading("Published check values"),
        f"{sum(row.passed for row in report.rows)} of {len(report.rows)} values agree; recompute them with ``python -m sumpwise verify``.\n",
        ".. list-table::\n   :header-rows: 1\n   :class: longtable\n",
        "   * - function\n     - source\n     - printed\n     - computed\n     - difference\n     - known",
    ]
    for row in report.rows:
        e = row.entry
        cells = [f"``{e.function}``", e.source, e.printed, row.computed, row.difference, e.known]
        lines.append("   * - " + "\n     - ".join(_escaped(str(c)) if i else str(c) for i, c in enumerate(cells)))
    return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    for c in "\\*`|_":
        text = text.replace(c, "\\" + c)
    return text or "–"
