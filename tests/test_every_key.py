"""Every key of a job counts: to leave it out, or to write it, changes a sheet. A key that is read and then forgotten goes red here."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from sumpwise import Job, plan
from sumpwise.errors import SumpwiseError
from sumpwise.service.schema import LISTS, TABLES

JOBS = Path(__file__).parent / "files" / "jobs"
NAMES = sorted((path.stem for path in JOBS.glob("*.toml")), key=lambda name: ("rich" not in name, name))

WRITTEN = {
    ("capacity", "unmeasured"): "0.3 L", ("capacity", "too_much"): "0.5 L", ("fluid", "drained"): "70 °C",
    ("wrench", "repeatability"): "3 %", ("wrench", "angle"): "30 deg",
    ("level", "reading"): "1 mm", ("level", "floor"): "5 mm", ("level", "before"): "0.1 L", ("level", "bulk"): "5 Δ°C",
    ("level", "idling"): "4 Δ°C", ("level", "air"): "1 %", ("level", "warming"): "5 °C/min",
    ("filler", "rate"): "0.4 L/min", ("filler", "venting"): "30 %",
    ("exchange", "drains"): 4, ("exchange", "drive_flow"): "20 L/min", ("exchange", "helper"): True, ("exchange", "reaction"): "5 s",
    ("exchange", "change"): "100 s", ("exchange", "emptying"): "500 s",
    ("circuit", "sump"): "4 L", ("circuit", "converter"): "2 L", ("circuit", "cooler"): "1 L", ("circuit", "clutches"): "0.2 L",
    ("circuit", "pockets"): "0.3 L", ("circuit", "bypass"): "20 %", ("circuit", "clutch_circulation"): "0.2",
    ("circuit", "pocket_circulation"): "0.01", ("circuit", "drawn_first"): "20 %", ("circuit", "drain_back"): "0.3 L",
    ("circuit", "bypass_drift"): "0.1", ("circuit", "converter_tanks"): 2, ("circuit", "sump_floor"): "0.5 L", ("circuit", "left"): "0.1 L",
    ("target", "probability"): "99 %", ("target", "worth"): "50 %", ("target", "vial_step"): "10 %", ("target", "portion"): "0.5 L",
    ("target", "horizon"): "10 y",
    ("hours", "drain"): "90 min", ("hours", "bursts"): "200 min", ("hours", "machine"): "100 min",
    ("report", "units"): "imperial", ("costs", "hour"): 30,
}  # fmt: skip
"""For each key that none of the jobs writes, something other than its default."""


@cache
def data(name: str) -> dict[str, Any]:
    return Job.demo().to_dict() if name == "demo" else Job.from_toml(JOBS / f"{name}.toml").to_dict()


@cache
def sections(name: str) -> object:
    return plan(Job.from_dict(data(name))).to_dict()["sections"]


def without(table: str, key: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each job that writes a key, without it."""
    for name in ("demo", *NAMES):
        parts = data(name).get(table, {})
        for at, part in enumerate(parts if isinstance(parts, list) else [parts]):
            if key in part:
                changed = copy.deepcopy(data(name))
                del (changed[table][at] if isinstance(parts, list) else changed[table])[key]
                yield name, changed


def with_it(table: str, key: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each job with a key written."""
    for name in ("demo", *NAMES):
        changed = copy.deepcopy(data(name))
        changed.setdefault(table, {})[key] = WRITTEN[table, key]
        yield name, changed


def differs(name: str, changed: dict[str, Any]) -> bool:
    try:
        job = Job.from_dict(changed)
    except SumpwiseError:  # without it there is no job, or the log cannot be read
        return True
    return plan(job).to_dict()["sections"] != sections(name)


KEYS = [(table, key) for table, keys in (TABLES | LISTS).items() for key in keys]


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_a_key_counts(table, key):
    ways = with_it if (table, key) in WRITTEN else without
    assert any(differs(name, changed) for name, changed in ways(table, key))
