"""Whole sheets: the demo job, very long logs; and what the outlet says about the inside."""

from __future__ import annotations

import subprocess
import sys

import numpy
from timing import Row, side_by_side

from sumpwise import Circuit, Job, inside_from_outlet, plan
from sumpwise.inference.prior import Unknowns
from sumpwise.mixing.circuit.history import after


def logged(entries: int) -> Job:
    """The demo job with a log of so many entries: out of the pail's tap, into the pail, again and again."""
    data = Job.demo().to_dict()
    out = {"event": "drained", "vessel": "pail", "reading": "0.5 L", "temperature": "45 °C"}
    into = {"event": "poured", "vessel": "pail", "reading": "0.5 L", "temperature": "17 °C"}
    data["log"] = [data["log"][0], *([out, into] * entries)][:entries]
    return Job.from_dict(data)


def bare_starts() -> None:
    for _ in range(3):
        subprocess.run([sys.executable, "-c", ""], check=True)


BATCH = 1e-8
"""What the batch kernel leaves out of an old fraction of one."""
SEEN = (0.60, 0.45, 0.35, 0.30, 0.22, 0.19)


def service() -> tuple[Circuit, list[tuple[Circuit, float]]]:
    """Six bursts, each with what was matched at its end."""
    now = Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L").drain("3.65 L").pour("3.71 L")
    seen = []
    for match in SEEN:
        burst = now.pump("1.22 L")
        seen.append((burst, match))
        now = burst.pour("1.22 L")
    return now, seen


def rows() -> list[Row]:
    now, seen = service()
    drawn = Unknowns(now.history, {}).draw(10_000, numpy.random.default_rng(0))

    def batch() -> None:
        state = drawn.history.start()
        for operation in drawn.history.operations:
            state = after(drawn.history.built, state, operation, BATCH)

    short, long = logged(100), logged(1000)
    return [
        side_by_side("the demo job read and planned / three bare interpreter starts", 1.0, lambda: plan(Job.demo()), bare_starts, rounds=9),
        side_by_side("the same, and its whole sheet written / three bare interpreter starts", 1.0,
                     lambda: plan(Job.demo()).to_markdown(), bare_starts, rounds=9),
        side_by_side("inside from outlet, 10⁴ draws / the batch kernel alone", 2.0,
                     lambda: inside_from_outlet(seen, 0.8, now=now, draws=10_000), batch, rounds=5),
        side_by_side("plan with a log of 1000 entries / 100 entries", 12.0, lambda: plan(long), lambda: plan(short), rounds=5),
    ]  # fmt: skip
