"""Where plain data can grow: every list, every text and every table with keys of one's own, as the JSON Schemas have them."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

from sumpwise.quantities.boundary import Argument
from sumpwise.quantities.units import INTERNAL
from sumpwise.service import schema
from sumpwise.service.keys import DATE, FLAG, MONEY, TEXT, Choice, Key, SpanOf

Path = tuple[Any, ...]
ANY = "*"
"""Stands in a path for any entry of a list, or any key of one's own."""


def growing(part: dict[str, Any], path: Path = ()) -> Iterator[tuple[Path, str]]:
    """Every place of a schema that may grow, with what stands there: "list", "text", or "keys" for a table with any keys."""
    for branch in (*part.get("anyOf", ()), *part.get("oneOf", ())):
        yield from growing(branch, path)
    kinds = part.get("type", ())
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if "string" in kinds:
        yield path, "text"
    if "array" in kinds:
        yield path, "list"
        yield from growing(part["items"], (*path, ANY))
    if "object" in kinds:
        for key, inner in part.get("properties", {}).items():
            yield from growing(inner, (*path, key))
        if isinstance(part.get("additionalProperties"), dict):
            yield path, "keys"
            yield from growing(part["additionalProperties"], (*path, ANY))


def located(data: Any, path: Path) -> Path | None:
    """The first place of plain data that a path leads to; None if it leads to none."""
    if not path:
        return ()
    step, rest = path[0], path[1:]
    if isinstance(data, dict):
        keys: list[Any] = list(data) if step == ANY else [step] if step in data else []
    else:
        keys = list(range(len(data))) if step == ANY and isinstance(data, list) else []
    for key in keys:
        found = located(data[key], rest)
        if found is not None:
            return (key, *found)
    return None


def sample(key: Key) -> Any:
    """A value that a key of a job takes."""
    kind = key.kind
    if isinstance(kind, Choice):
        return kind.words[0]
    if isinstance(kind, SpanOf):
        return f"1 to 2 {INTERNAL[kind.kind.kind]}"
    if not isinstance(kind, Argument):
        return {TEXT: "x", FLAG: True, MONEY: 1.0, DATE: "2024-05-01"}[kind]
    low, high = max(kind.minimum, kind.above), min(kind.maximum, kind.below)
    number = (low + high) / 2 if abs(low + high) < float("inf") else low + 1 if low > float("-inf") else 1.0
    if kind.kind in ("count", "number"):
        return round(number) if kind.kind == "count" else number
    return f"{100 * min(number, 0.5):g} %" if kind.kind == "fraction" else f"{number:g} {INTERNAL[kind.kind]}"


def with_key(job: dict[str, Any], table: str, key: str) -> dict[str, Any]:
    """A job that also has a key; in a list, in its last entry, or in a new one if there is none."""
    changed = copy.deepcopy(job)
    if table in schema.TABLES:
        needed = {name: sample(one) for name, one in schema.TABLES[table].items() if one.required}
        changed[table] = needed | changed.get(table, {}) | {key: sample(schema.TABLES[table][key])}
        return changed
    entries = changed.setdefault(table, [])
    if not entries:
        entries.append(entry(table))
    entries[-1][key] = sample(schema.LISTS[table][key])
    if (table, key) == ("history", "date"):  # instead of how long ago
        entries[-1].pop("ago")
        changed["vehicle"]["date"] = "2026-11-27"
    return changed


def entry(table: str, event: str = "", number: int = 0) -> dict[str, Any]:
    """An entry of a list of a job, with all its texts, which differ from those of any other number; of a log, an entry of a kind."""
    keys = schema.LISTS[table]
    needed = {*schema.EVENT_NEEDS.get(event, ()), *(name for name, key in keys.items() if key.required or key.kind == TEXT)}
    needed |= {"ago"} if table == "history" else set()
    needed -= {"for", "vessel", "fluid"}
    made = {name: f"{name} {number}" if key.kind == TEXT else sample(key) for name, key in keys.items() if name in needed}
    if "vessel" in schema.EVENT_NEEDS.get(event, ()):
        made["vessel"] = "pail"
    return made | ({"event": event} if event else {}) | ({"reading": "1 mm", "temperature": "86 °C"} if event == "stick" else {})
