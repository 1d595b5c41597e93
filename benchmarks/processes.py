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

        def process(code: str) -> None:
            subprocess.run([sys.executable, "-c", code], env=environment, check=True)

        process(f"{FIRST}; {LIGHT}")
        return [
            side_by_side(
                f"{what}, whole process / bare interpreter", at_most, lambda code=code: process(code), lambda: process(""), here=False
            )
            for what, at_most, code in (("`import sumpwise`", 1.15, "import sumpwise"), ("first answer from text", 1.8, FIRST))
        ] + [
            side_by_side("minimal job, whole process with its sheet / bare interpreter plus numpy", 2.5,
                         lambda: process(MINIMAL), lambda: process("import numpy"), rounds=9, here=False)
        ]  # fmt: skip
