"""Reading a service record from plain JSON data: version 2, and version 1, which held one service."""

from __future__ import annotations

import datetime
from itertools import pairwise
from math import hypot
from typing import Any

from sumpwise import _jsonschema as schema
from sumpwise._stored import field, finite, known, reading, rows, stored, table, text, within
from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import FileError, expect_shallow
from sumpwise.service.job import Job
from sumpwise.service.json_schema import json_schema as job_schema
from sumpwise.service.learning import Known
from sumpwise.uncertainty import nominal, source, standard

FORMAT = "sumpwise record"
VERSION = 2
KEYS = ("format", "version", "vehicle", "services", "learned", "next_due")
SERVICE_KEYS = ("job", "fresh", "learned")
SIZE = ("value", "standard_uncertainty")
DUE = ("time", "date", "distance")
"""How a record says when the next service is due; each only if it is known."""
FIRST_KEYS = ("format", "version", "vehicle", "distance", "job", "learned", "fresh", "history", "next_due")
"""Keys of version 1."""
MOST_SERVICES = 500
"""The most services in a record; more than any vehicle lives to see."""
LONGEST = 1000
"""The longest text, in characters."""

Parts = tuple[Job, Any, dict[str, Known], dict[str, Any]]
"""Job, fresh share, what was learned, the user's own fields: a service."""


def read(data: Any) -> tuple[list[Parts], dict[str, Any]]:
    """The services of a record, and the user's own fields.

    Raises
    ------
    FileError
        With the key.
    """
    with reading("record"):
        return _read(data)


def _read(data: Any) -> tuple[list[Parts], dict[str, Any]]:
    expect_shallow(data, "")
    first = isinstance(data, dict) and data.get("version") == 1 and data["version"] is not True
    keys = FIRST_KEYS if first else KEYS
    own = {key: value for key, value in data.items() if key not in keys} if isinstance(data, dict) else {}
    ours = {key: value for key, value in data.items() if key in keys} if isinstance(data, dict) else data
    stored(ours, "record", keys, FORMAT, 1 if first else VERSION)
    field(data, "vehicle", text, LONGEST)
    field(data, "learned", _known_table)
    due = field(data, "next_due", known, "next service", (), DUE)
    with within("next_due"):
        for key in due:
            field(due, key, text, LONGEST)
    if first:
        field(data, "history", FluidHistory.from_dict)
        field(data, "distance", text, LONGEST)
        return [_service({key: data[key] for key in SERVICE_KEYS})], own
    services = field(data, "services", rows, "list of services")
    with within("services"):
        if not 0 < len(services) <= MOST_SERVICES:
            raise FileError("is not a list of services", code="key.type", value=services, allowed=f"1 to {MOST_SERVICES} of them")
    found = []
    for i, one in enumerate(services):
        with within("services", i):
            found.append(_service(known(one, "service", SERVICE_KEYS, table(one))))
    _in_order(found)
    return found, own


_DATED = {"properties": {"job": {"properties": {"vehicle": {"required": ["date"]}}}}}
"""Schema of a service whose date is known."""


def json_schema() -> dict[str, Any]:
    """The record of a vehicle as JSON Schema."""
    words = schema.TEXT | {"maxLength": LONGEST}
    size = {"value": schema.NUMBER, "standard_uncertainty": schema.NUMBER | {"minimum": 0}}
    known = schema.table({**size, "unit": words, "from": words, "shared": schema.map_of(schema.NUMBER)}, ("shared",))
    fresh = schema.table({**size, "value": schema.NUMBER | {"minimum": 0, "maximum": 1}, "unit": words}, ("unit",))
    job = {key: value for key, value in job_schema().items() if key != "$schema"}
    parts = {"job": job, "fresh": fresh, "learned": schema.map_of(known)}
    service = schema.table({key: parts[key] for key in SERVICE_KEYS}, (), schema.ANYTHING)
    whole = {
        "format": {"const": FORMAT}, "version": {"const": VERSION}, "vehicle": words,
        "services": schema.list_of(service, minItems=1, maxItems=MOST_SERVICES), "learned": schema.map_of(known),
        "next_due": schema.table(dict.fromkeys(DUE, words), DUE),
    }  # fmt: skip
    several = {"if": {"properties": {"services": {"minItems": 2}}}, "then": {"properties": {"services": {"items": _DATED}}}}
    about = "The services of one vehicle and what was learned from them; other keys are the user's own."
    return schema.root(FORMAT, about, schema.table({key: whole[key] for key in KEYS}, (), schema.ANYTHING) | several)


def _service(data: dict[str, Any]) -> Parts:
    job = field(data, "job", Job.from_dict)
    with within("fresh"):
        fresh = _number(known(data["fresh"], "share", SIZE, ("unit",)), "fresh")
        if not 0 <= nominal(fresh) <= 1:
            raise FileError("is not a share of one", code="range.outside", value=nominal(fresh), limits=(0.0, 1.0, ""))
        if "unit" in data["fresh"]:
            field(data["fresh"], "unit", text, LONGEST)
    return job, fresh, field(data, "learned", _known_table), {key: value for key, value in data.items() if key not in SERVICE_KEYS}


def _in_order(services: list[Parts]) -> None:
    """Check that several services have their dates, in order."""
    days = [job.value("vehicle", "date") for job, *_ in services]
    for i, (before, after) in enumerate(pairwise(days), 1):
        first = before is None and after is not None
        with within("services", i - first), within("job"), within("vehicle"), within("date"):
            if before is None or after is None:
                raise FileError("is missing", code="key.missing", hint="if there are several services, each needs its date")
            if after < before:
                raise FileError("is before the previous service", code="time.order", value=str(after), allowed=f"from {before} on")


def _number(data: dict[str, Any], name: str) -> Any:
    """A value with its standard uncertainty."""
    return source(field(data, "value", finite), field(data, "standard_uncertainty", finite), name=name)


def _known_table(data: Any) -> dict[str, Known]:
    return {str(key): field(data, key, _known) for key in table(data)}


def _known(data: Any) -> Known:
    known(data, "learned value", (*SIZE, "unit", "from"), ("shared",))
    best = _number(data, "learned")
    told = {
        "value": nominal(best), "unit": field(data, "unit", text, LONGEST), "standard_uncertainty": standard(best),
        "from": field(data, "from", text, LONGEST),
    }  # fmt: skip
    if "shared" not in data:
        return told
    shared = field(data, "shared", _causes)
    if hypot(*shared.values()) > standard(best) * (1 + 1e-9):
        with within("shared"):
            raise FileError("is more than the standard uncertainty it is part of", code="file.content", value=shared)
    return told | {"shared": shared}


def _causes(data: Any) -> dict[str, float]:
    """What a value shares with others: the name of each cause, and how much of its uncertainty comes from it."""
    return {text(cause, LONGEST): field(data, cause, finite) for cause in table(data)}


def with_days(inputs: dict[str, Any]) -> dict[str, Any]:
    """The inputs of a job with its dates as TOML dates."""

    def dated(content: dict[str, Any]) -> dict[str, Any]:
        return {key: datetime.date.fromisoformat(value) if key == "date" else value for key, value in content.items()}

    return inputs | {"vehicle": dated(inputs["vehicle"]), "history": [dated(entry) for entry in inputs.get("history", [])]}
