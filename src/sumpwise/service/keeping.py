"""Reading a service record from plain JSON data: version 2, and version 1, which held one service."""

from __future__ import annotations

import datetime
from itertools import pairwise
from math import hypot
from typing import Any

from sumpwise import _jsonschema as schema
from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import FileError, SumpwiseError, expect_finite, expect_keys, expect_shallow, expect_stored, expect_table
from sumpwise.service.job import Job
from sumpwise.service.json_schema import json_schema as job_schema
from sumpwise.service.learning import Known
from sumpwise.uncertainty import nominal, source, standard

FORMAT = "sumpwise record"
VERSION = 2
KEYS = ("format", "version", "vehicle", "services", "learned", "next_due")
SERVICE_KEYS = ("job", "fresh", "learned")
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
    expect_shallow(data, "record")
    first = isinstance(data, dict) and data.get("version") == 1 and data["version"] is not True
    keys = FIRST_KEYS if first else KEYS
    own = {key: value for key, value in data.items() if key not in keys} if isinstance(data, dict) else {}
    ours = {key: value for key, value in data.items() if key in keys} if isinstance(data, dict) else data
    expect_stored(ours, "record", set(keys), FORMAT, 1 if first else VERSION)
    _text(data["vehicle"], "vehicle")
    _known_table(data["learned"], "learned")
    for key, value in expect_table(data["next_due"], "next_due").items():
        _text(value, f"next_due: {key}")
    if first:
        FluidHistory.from_dict(expect_table(data["history"], "history"))
        _text(data["distance"], "distance")
        return [_service({key: data[key] for key in SERVICE_KEYS}, "")], own
    services = data["services"]
    if not isinstance(services, list) or not 0 < len(services) <= MOST_SERVICES:
        problem, allowed = "is not a list of services", f"1 to {MOST_SERVICES} of them"
        raise FileError(problem, code="key.type", argument="services", value=services, allowed=allowed)
    found = [_service(one, f"services {i}: ") for i, one in enumerate(services, 1)]
    _in_order(found)
    return found, own


_DATED = {"properties": {"job": {"properties": {"vehicle": {"required": ["date"]}}}}}
"""Schema of a service whose date is known."""


def json_schema() -> dict[str, Any]:
    """The record of a vehicle as JSON Schema."""
    text = schema.TEXT | {"maxLength": LONGEST}
    size = {"value": schema.NUMBER, "standard_uncertainty": schema.NUMBER | {"minimum": 0}}
    known = schema.table({**size, "unit": text, "from": text, "shared": schema.map_of(schema.NUMBER)}, ("shared",))
    fresh = schema.table({**size, "value": schema.NUMBER | {"minimum": 0, "maximum": 1}, "unit": text}, ("unit",))
    job = {key: value for key, value in job_schema().items() if key != "$schema"}
    parts = {"job": job, "fresh": fresh, "learned": schema.map_of(known)}
    service = schema.table({key: parts[key] for key in SERVICE_KEYS}, (), schema.ANYTHING)
    whole = {
        "format": {"const": FORMAT}, "version": {"const": VERSION}, "vehicle": text,
        "services": schema.list_of(service, minItems=1, maxItems=MOST_SERVICES), "learned": schema.map_of(known),
        "next_due": schema.map_of(text),
    }  # fmt: skip
    several = {"if": {"properties": {"services": {"minItems": 2}}}, "then": {"properties": {"services": {"items": _DATED}}}}
    about = "The services of one vehicle and what was learned from them; other keys are the user's own."
    return schema.root(FORMAT, about, schema.table({key: whole[key] for key in KEYS}, (), schema.ANYTHING) | several)


def _service(data: Any, place: str) -> Parts:
    content = expect_table(data, place.removesuffix(": "))
    for key in SERVICE_KEYS:
        if key not in content:
            raise FileError("is missing", code="key.missing", argument=f"{place}{key}", allowed=", ".join(SERVICE_KEYS))
    try:
        job = Job.from_dict(content["job"])
    except FileError as error:
        error.argument = f"{place}{error.argument}"
        raise
    fresh = _number(content["fresh"], f"{place}fresh")
    if not 0 <= nominal(fresh) <= 1:
        raise FileError("is not a share of one", code="range.outside", argument=f"{place}fresh", value=content["fresh"])
    expect_keys(content["fresh"], "share", {"value", "standard_uncertainty"}, ("unit",), f"{place}fresh")
    learned = _known_table(content["learned"], f"{place}learned")
    return job, fresh, learned, {key: value for key, value in content.items() if key not in SERVICE_KEYS}


def _in_order(services: list[Parts]) -> None:
    """Check that several services have their dates, in order."""
    days = [job.value("vehicle", "date") for job, *_ in services]
    for i, (before, after) in enumerate(pairwise(days), 2):
        if before is None or after is None:
            place = f"services {i if after is None else i - 1}: job: vehicle: date"
            raise FileError("is missing", code="key.missing", argument=place, hint="if there are several services, each needs its date")
        if after < before:
            problem, allowed = "is before the previous service", f"from {before} on"
            raise FileError(problem, code="time.order", argument=f"services {i}: date", value=str(after), allowed=allowed)


def _text(value: Any, place: str) -> str:
    if not isinstance(value, str) or len(value) > LONGEST:
        raise FileError("is not a short text", code="key.type", argument=place, value=value)
    return value


def _number(value: Any, place: str) -> Any:
    content = expect_table(value, place)
    try:
        best, spread = expect_finite(content["value"]), expect_finite(content["standard_uncertainty"])
        return source(best, spread, name=place)
    except (KeyError, SumpwiseError):
        raise FileError("is not a value with a standard uncertainty", code="key.type", argument=place, value=value) from None


def _known_table(value: Any, place: str) -> dict[str, Known]:
    return {str(key): _known(one, f"{place}: {key}") for key, one in expect_table(value, place).items()}


def _known(value: Any, place: str) -> Known:
    content = expect_table(value, place)
    best = _number(content, place)
    known = {
        "value": nominal(best), "unit": _text(content.get("unit"), f"{place}: unit"), "standard_uncertainty": standard(best),
        "from": _text(content.get("from"), f"{place}: from"),
    }  # fmt: skip
    expect_keys(content, "learned value", set(known), ("shared",), place)
    if "shared" not in content:
        return known
    causes = expect_table(content["shared"], f"{place}: shared")
    shared = {_text(cause, f"{place}: shared"): expect_finite(part, f"{place}: shared") for cause, part in causes.items()}
    if hypot(*shared.values()) > standard(best) * (1 + 1e-9):
        problem = "is more than the standard uncertainty it is part of"
        raise FileError(problem, code="file.content", argument=f"{place}: shared", value=causes)
    return known | {"shared": shared}


def with_days(inputs: dict[str, Any]) -> dict[str, Any]:
    """The inputs of a job with its dates as TOML dates."""

    def dated(content: dict[str, Any]) -> dict[str, Any]:
        return {key: datetime.date.fromisoformat(value) if key == "date" else value for key, value in content.items()}

    return inputs | {"vehicle": dated(inputs["vehicle"]), "history": [dated(entry) for entry in inputs.get("history", [])]}
