"""Whole sheets: the demo job, the least that a job may say, and logs that go on and on."""

from __future__ import annotations

import subprocess
import sys

from timing import Row, side_by_side

from sumpwise import Job, plan


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


def rows() -> list[Row]:
    demo, short, long = Job.demo(), logged(100), logged(1000)
    return [
        side_by_side("plan of the demo job / three bare interpreter starts", 1.0, lambda: plan(demo), bare_starts, rounds=9),
        side_by_side("plan with a log of 1000 entries / 100 entries", 12.0, lambda: plan(long), lambda: plan(short), rounds=5),
    ]
