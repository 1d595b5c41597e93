"""Every key of a job counts: writing it or leaving it out changes a sheet. A key that is read and then ignored fails here."""

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
    ("capacity", "mid_level_below_total"): "0.2 L",
}  # fmt: skip
"""For each key that none of the jobs writes, something other than its default."""


LATER = {
    "vehicle": {"name": "example wagon", "date": "2026-11-27", "age": "9 y", "interval_time": "3 y"},
    "capacity": {"total": "8.85 L"},
    "fluid": {"name": "the maker's own"},
    "history": [
        {"ago": "3 y", "share": "40 %", "note": "one drain"}, {"date": "2024-11-27", "share": "30 %"},
    ],
    "component": [{"name": "transfer case", "volume": "1.2 L", "fluid": "its own"}],
    "pack": [{"name": "bottle", "volume": "1 L", "price": 12, "for": "its own"}],
    "vessel": [{"name": "pail", "graduation": "0.1 L"}, {"name": "jug", "graduation": "0.05 L"}],
    "log": [
        {"event": "drained", "vessel": "pail", "reading": "3.3 L", "temperature": "45 °C", "thermometer": "probe"},
        {"event": "poured", "vessel": "jug", "reading": "3.3 L", "temperature": "17 °C", "thermometer": "probe"},
        {"event": "drive", "duration": "20 min", "note": "round the block"},
    ],
}  # fmt: skip
"""A job with what none of the others writes."""
REMARKS = {("history", "note")}
"""For the person who reads the file."""


@cache
def data(name: str) -> dict[str, Any]:
    if name == "later":
        return Job.from_dict(LATER).to_dict()
    if name == "halted":
        return {**data("later"), "log": [*data("later")["log"], {"event": "seen", "seen": "foam on the stick"}]}
    if name == "settled":
        return {**data("halted"), "log": [*data("later")["log"], data("halted")["log"][-1] | {"settled": "too full, let out"}]}
    if name == "timed":  # vials taken at the start of each burst, and a pump known from the log alone
        log = [entry | ({"when": "start"} if "outlet_old" in entry else {}) for entry in data("demo")["log"]]
        return {**data("demo"), "exchange": {"bursts": 6}, "log": log}
    return Job.demo().to_dict() if name == "demo" else Job.from_toml(JOBS / f"{name}.toml").to_dict()


@cache
def sections(name: str) -> object:
    return plan(Job.from_dict(data(name))).to_dict()["sections"]


def without(table: str, key: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each job that writes a key, without it."""
    for name in ("demo", "later", "halted", "settled", "timed", *NAMES):
        parts = data(name).get(table, {})
        for at, part in enumerate(parts if isinstance(parts, list) else [parts]):
            if key in part:
                changed = copy.deepcopy(data(name))
                del (changed[table][at] if isinstance(parts, list) else changed[table])[key]
                yield name, changed


def with_it(table: str, key: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each job with a key written."""
    for name in ("demo", "later", "halted", "settled", "timed", *NAMES):
        changed = copy.deepcopy(data(name))
        changed.setdefault(table, {})[key] = WRITTEN[table, key]
        yield name, changed


def differs(name: str, changed: dict[str, Any]) -> bool:
    try:
        job = Job.from_dict(changed)
    except SumpwiseError:  # without it there is no job, or the log cannot be read
        return True
    return plan(job).to_dict()["sections"] != sections(name)


KEYS = [(table, key) for table, keys in (TABLES | LISTS).items() for key in keys if (table, key) not in REMARKS]


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_a_key_counts(table, key):
    ways = with_it if (table, key) in WRITTEN else without
    assert any(differs(name, changed) for name, changed in ways(table, key))
