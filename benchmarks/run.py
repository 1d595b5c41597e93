"""Run every benchmark side by side with its peers and write a Markdown table.

python benchmarks/run.py [table.md] [name …]   names: processes calls arrays uncertainty circuits plans descriptions decades
"""

from __future__ import annotations

import importlib
import os
import platform
import sys
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "src")]

NAMES = ("processes", "calls", "arrays", "uncertainty", "circuits", "plans", "descriptions", "decades")
PEERS = ("numpy", "pint", "uncertainties", "scipy")


def machine() -> str:
    kind = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    python = f"{platform.python_implementation()} {platform.python_version()}"
    return f"{kind}; {python}, {', '.join(f'{name} {version(name)}' for name in PEERS)}"


def shown(seconds: float) -> str:
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "µs")):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-9:.3g} ns"


def held(memory: int | None) -> str:
    if memory is None:
        return "–"
    return f"{memory / 1e6:.3g} MB" if memory >= 1e5 else f"{memory / 1e3:.2g} kB"


def table(names: list[str]) -> tuple[str, bool]:
    lines = ["| what | at most | ratio | of medians | ours | memory | holds |", "|---|---|---|---|---|---|---|"]
    good = True
    for name in names:
        for row in importlib.import_module(name).rows():
            good &= row.holds
            unit = f" {row.unit}" if row.unit else ""
            values = f"{row.at_most:g}{unit} | {row.ratio:.3g}{unit} | {row.median:.3g}{unit} | {shown(row.seconds)} | {held(row.memory)}"
            lines.append(f"| {row.what} | {values} | {'yes' if row.holds else 'NO'} |")
            print(lines[-1], flush=True)
    foot = "Ours and the peer take turns in one run; the ratio is that of the fastest rounds, which other work disturbs least. "
    foot += "Memory is the most that one of our calls holds beside what was held before it; that of a process, the most that it takes "
    foot += "beside the bare interpreter."
    return "\n".join([*lines, "", foot, "", f"{machine()}."]) + "\n", good


def main(arguments: list[str]) -> int:
    names = [a for a in arguments if a in NAMES] or list(NAMES)
    text, good = table(names)
    print(f"\n{machine()}.")
    for path in arguments:
        if path not in NAMES:
            Path(path).write_text(text, encoding="utf-8")
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
