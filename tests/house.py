"""Draws the house from its imports: `python tests/house.py` prints every module on its floor, and the circles, if there are any.

A module's floor is one above the highest module that it imports, wherever in the module the import stands; what only a type checker reads
is left out. Modules that import each other in a circle have no floor of their own.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import sumpwise

ROOT = Path(sumpwise.__file__).parent
FACE = "_face"
"""The list of public names; a room whose `__init__` hands them out by that list imports nothing of its own."""


def modules() -> dict[str, Path]:
    """Dotted name below the package -> file, without the lazy faces; a room's own `__init__` goes by the name of the room."""
    found = {}
    for path in sorted(ROOT.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        lazy = parts[-1] == FACE or (parts[-1] == "__init__" and (len(parts) == 1 or FACE in path.read_text(encoding="utf-8")))
        if not lazy:
            found[".".join(parts).removesuffix(".__init__")] = path
    return found


def _runs(body: list[ast.stmt]) -> Iterator[ast.stmt]:
    """Statements that are run: not what stands under `if TYPE_CHECKING`."""
    for node in body:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            yield from _runs(node.orelse)
            continue
        yield node
        for field in ("body", "orelse", "finalbody", "handlers"):
            for child in getattr(node, field, []):
                yield from _runs(child.body if isinstance(child, ast.ExceptHandler) else [child])


def imported(path: Path, known: dict[str, Path]) -> set[str]:
    """The modules of the package that a module imports."""
    found = set()
    for node in _runs(ast.parse(path.read_text(encoding="utf-8")).body):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "sumpwise":
            base = node.module.removeprefix("sumpwise").lstrip(".")
            for alias in node.names:
                whole = f"{base}.{alias.name}".lstrip(".")
                found.add(whole if whole in known else base)
        elif isinstance(node, ast.Import):
            found |= {name for alias in node.names if (name := alias.name.removeprefix("sumpwise.")) in known}
    return found


def arrows() -> dict[str, set[str]]:
    """Module -> the modules that it imports."""
    known = modules()
    return {name: (imported(path, known) & set(known)) - {name} for name, path in known.items()}


def reached(start: str, graph: dict[str, set[str]]) -> set[str]:
    """Everything that a module imports, directly or not."""
    seen: set[str] = set()
    waiting = [start]
    while waiting:
        for one in graph[waiting.pop()] - seen:
            seen.add(one)
            waiting.append(one)
    return seen


def circles(graph: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules that import each other."""
    below = {name: reached(name, graph) for name in graph}
    groups = {tuple(sorted({name} | {other for other in below[name] if name in below[other]})) for name in graph if name in below[name]}
    return [list(group) for group in sorted(groups)]


def room(module: str) -> str:
    """The folder of a module, or the module itself where it stands alone."""
    return module.partition(".")[0]


def rooms(graph: dict[str, set[str]]) -> dict[str, set[str]]:
    """Room -> the other rooms that it imports."""
    found: dict[str, set[str]] = {room(name): set() for name in graph}
    for name, others in graph.items():
        found[room(name)] |= {room(other) for other in others} - {room(name)}
    return found


def floors(graph: dict[str, set[str]]) -> list[list[str]]:
    """What stands on each floor, from the ground; what is in a circle, or rests on one, is left out."""
    placed: dict[str, int] = {}
    while True:
        open_still = {name: others for name, others in graph.items() if name not in placed}
        ready = {name: 1 + max((placed[o] for o in others), default=-1) for name, others in open_still.items() if others <= set(placed)}
        if not ready:
            return [sorted(n for n, floor in placed.items() if floor == level) for level in range(max(placed.values(), default=-1) + 1)]
        placed |= ready


def main() -> int:
    """Print the rooms and the modules by floors, then the circles; return how many circles there are."""
    graph = arrows()
    for title, drawn in (("rooms", rooms(graph)), ("modules", graph)):
        print(f"{title}, the ground last:")
        for level, names in reversed(list(enumerate(floors(drawn)))):
            print(f"{level:>4}  {'  '.join(names)}")
        print()
    found = [*circles(rooms(graph)), *circles(graph)]
    for circle in found:
        print("circle:", " ~ ".join(circle))
    print(f"{len(found)} circles")
    return len(found)


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
