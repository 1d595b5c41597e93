"""The schema of a job in words, and as JSON Schema for editors that complete and check a job file as you type."""

from __future__ import annotations

from math import inf
from typing import Any

from sumpwise import _jsonschema as schema
from sumpwise.quantities.boundary import Argument
from sumpwise.quantities.units import INTERNAL
from sumpwise.service.intake import FEWER, FORMAT, MOST_ENTRIES, VERSION
from sumpwise.service.keys import DATE, FLAG, LONGEST_TEXT, MONEY, TEXT, Choice, Field, Key, SpanOf, described
from sumpwise.service.schema import EVENT_NEEDS, LISTS, MINUTES_A_DAY, NEEDED_TABLES, TABLES


def json_schema() -> dict[str, Any]:
    """The keys of a job file as JSON Schema."""
    properties: dict[str, Any] = {
        "format": {"const": FORMAT}, "version": {"const": VERSION}, "title": {"type": "string", "description": "Heading of the sheet."},
    }  # fmt: skip
    properties |= {name: _table(keys) for name, keys in TABLES.items()}
    for name, keys in LISTS.items():
        properties[name] = {"type": "array", "maxItems": FEWER.get(name, MOST_ENTRIES), "items": _table(keys)}
    needs = [
        {"if": {"properties": {"event": {"const": event}}, "required": ["event"]}, "then": {"required": list(keys)}}
        for event, keys in EVENT_NEEDS.items() if keys
    ]  # fmt: skip
    properties["log"]["items"]["allOf"] = needs
    bolt = properties["bolt"]["items"]
    bolt["required"].remove("torque")  # which is in the middle of a window
    bolt["anyOf"] = [{"required": ["torque"]}, {"required": ["window"]}]
    properties["history"]["items"]["oneOf"] = [{"required": ["ago"]}, {"required": ["date"]}]
    properties["level"]["dependentRequired"] = {"marks_volume": ["marks_length"], "marks_length": ["marks_volume"]}
    dated = {"contains": {"required": ["date"]}}
    together = [
        {"if": {"properties": {"history": dated}, "required": ["history"]}, "then": {"properties": {"vehicle": {"required": ["date"]}}}},
    ]
    optional = [key for key in properties if key not in NEEDED_TABLES]
    return schema.root(FORMAT, "One service of one vehicle.", schema.table(properties, optional) | {"allOf": together})


def _table(keys: dict[str, Key]) -> dict[str, Any]:
    return schema.table({name: _key(key) for name, key in keys.items()}, [name for name, key in keys.items() if not key.required])


def _key(key: Key) -> dict[str, Any]:
    said = [key.meaning, in_words(key.kind), without(key), found(key)]
    not_blank = {"pattern": r"\S"} if key.required and key.kind == TEXT else {}
    return _type(key.kind) | not_blank | {"description": " ".join(f"{part[0].upper()}{part[1:]}." for part in said if part)}


def _type(kind: Field) -> dict[str, Any]:
    """What JSON itself can say about a value; limits of a text in workshop notation are in the description."""
    if isinstance(kind, Choice):
        return {"enum": list(kind.words)}
    if isinstance(kind, SpanOf):
        return {"type": "string"}
    if kind == FLAG:
        return {"type": "boolean"}
    if kind == DATE:
        return {"type": "string", "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
    if kind == MONEY:
        return {"type": "number", "minimum": 0}
    if kind == TEXT:
        return {"type": "string", "maxLength": LONGEST_TEXT}
    assert isinstance(kind, Argument)
    if kind.needs_unit:
        return {"type": "string"}
    return {"type": ["string", "integer"]} if kind.kind == "count" else {"type": ["string", "number"]}


def in_words(kind: Field) -> str:
    """What a value must be."""
    if isinstance(kind, Choice):
        return "one of " + ", ".join(kind.words)
    if isinstance(kind, SpanOf):
        return described(kind)
    if not isinstance(kind, Argument):
        return kind
    name = " or ".join(kind.kinds)
    unit, size = ("d", MINUTES_A_DAY) if name == "time" and kind.minimum >= MINUTES_A_DAY else (INTERNAL.get(name, "1"), 1.0)
    limits = [
        f"{word} {limit / size:g}"
        for word, limit in (("above", kind.above), ("at least", kind.minimum), ("below", kind.below), ("at most", kind.maximum))
        if abs(limit) < inf
    ]
    return name + (f", {' and '.join(limits)}{'' if unit == '1' else f' {unit}'}" if limits else "")


def found(key: Key) -> str:
    """Where to find its value, or how to measure it."""
    return f"to find it: {key.find}" if key.find else ""


def without(key: Key) -> str:
    """What is assumed if a key is left out, or written without an uncertainty."""
    if callable(key.doubt):
        return "without a ± it is good to a few percent, depending on the kind of unit"
    if key.doubt is not None:
        share = key.doubt.value
        size = f"{100 * share:g} %" if isinstance(share, float) else share
        return f"without a ± it is good to {size}, one standard uncertainty ({key.doubt.reason})"
    default = key.default
    if default is None:
        return ""
    if callable(default):
        return "default: depends on the rest of the job"
    ends = f"{default.low} to {default.high}" if default.low != "" else ""
    value = ends if default.shape else str(default.value).lower() if isinstance(default.value, bool) else f"{default.value}"
    return f"default: {value}{f' of the {default.of}' if default.of else ''}{f' ({default.reason})' if default.reason else ''}"
