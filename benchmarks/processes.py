"""Whole processes: what an import and a first answer cost over the bare interpreter, compiled files in place."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from timing import Row, side_by_side

import sumpwise

SOURCE = str(Path(sumpwise.__file__).parents[1])
FIRST = "import sumpwise; sumpwise.drain_refill('2.9 L', '7.7 L', 3)"
MINIMAL = "from sumpwise import Job, plan; plan(Job.from_dict({'vehicle': {'name': 'example wagon'}})).to_markdown()"
LIGHT = "import sys; assert not {'numpy', 'pint', 'uncertainties'} & set(sys.modules)"


def rows() -> list[Row]:
    with tempfile.TemporaryDirectory() as compiled:
        environment = {**os.environ, "PYTHONPATH": SOURCE, "PYTHONPYCACHEPREFIX": compiled}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def process(code: str) -> str:
            return subprocess.run([sys.executable, "-c", code], env=environment, check=True, capture_output=True, text=True).stdout

        def held(code: str) -> int:
            """The most memory that a process takes, in bytes, at its leanest of five; only Linux tells."""
            told = [process(f"{code}\nprint(open('/proc/self/status').read())") for _ in range(5)]
            return min(1024 * int(one.partition("VmHWM:")[2].split()[0]) for one in told)

        def row(what: str, at_most: float, code: str, peer: str, rounds: int = 25) -> Row:
            compared = side_by_side(what, at_most, lambda: process(code), lambda: process(peer), rounds=rounds, here=False)
            return compared._replace(memory=held(code) - held("") if sys.platform == "linux" else None)

        process(f"{FIRST}; {LIGHT}")
        return [
            row("`import sumpwise`, whole process / bare interpreter", 1.15, "import sumpwise", ""),
            row("first answer from text, whole process / bare interpreter", 1.8, FIRST, ""),
            row("minimal job, whole process with its sheet / bare interpreter plus numpy", 2.5, MINIMAL, "import numpy", 9),
        ]
