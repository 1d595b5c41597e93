"""The entries of a ledger to and from plain data: the numbers as they were read, and the sources that several of them share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import _jsonschema as schema
from sumpwise import uncertainty
from sumpwise._stored import field, finite, flag, known, one_of, rows, stored, table, text, within
from sumpwise.filling import vessel
from sumpwise.filling.vessel import Vessel, volume_unit
from sumpwise.quantities.boundary import answer

if TYPE_CHECKING:
    from sumpwise.filling.lines import Line
    from sumpwise.quantities.units import Unit

FORMAT = "sumpwise ledger"
VERSION = 1


KEYS = ("format", "version", "unit", "density_15", "reference", "capacity", "vessels", "sources", "lines")
CAUSE = ("name", "standard", "shape", "dof")
DOUBTFUL = ("value", "contributions")
FLAGS = "cumulative", "weighed"
MOVED = (("vessel", "reading", "temperature"), ("cumulative", "thermometer", "weighed"))
LINES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "started": (("reading",), ()), "drained": MOVED, "poured": MOVED, "lost": (("reading", "what"), ("temperature",)),
    "emptied": (("vessel",), ()),
}  # fmt: skip
"""Kind of entry -> the keys that it has, and those that it may have."""


class Call(NamedTuple):
    """One entry to be made again: the method of `Ledger` that makes it, and the arguments."""

    method: str
    arguments: tuple[Any, ...]


class Book(NamedTuple):
    """What stored data hold: the arguments of the ledger, the unit of its answers, and its entries in order."""

    density: Any
    reference: Any
    capacity: Any
    unit: Unit | None
    entries: list[Call]


def written(density: Any, reference: float, capacity: Any, unit: Unit | None, lines: Sequence[Line]) -> dict[str, Any]:
    """The arguments of a ledger and its entries, as plain data."""
    sources: dict[Any, str] = {}

    def number(x: Any) -> Any:
        if x is None or not uncertainty.is_uncertain(x):
            return x
        parts = {sources.setdefault(s, f"s{len(sources) + 1}"): size for s, size in uncertainty.contributions(x)}
        return {"value": uncertainty.nominal(x), "contributions": parts}

    began = {"density_15": number(density), "reference": reference, "capacity": number(capacity)}
    vessels: dict[str, Vessel] = {}
    entries = []
    for line in lines:
        entry: dict[str, Any] = {"kind": line.kind}
        if line.vessel is not None:
            vessels[line.vessel.name] = line.vessel
            entry["vessel"] = line.vessel.name
        if line.kind != "emptied":
            entry["reading"] = number(line.reading)
        if line.temperature is not None:
            entry["temperature"] = number(line.temperature)
        for key in ("cumulative", "thermometer", "weighed", "what"):
            if value := getattr(line, key):
                entry[key] = value
        entries.append(entry)
    return {
        "format": FORMAT, "version": VERSION, "unit": None if unit is None else unit.symbol, **began,
        "vessels": [vessel.to_dict() for vessel in vessels.values()],
        "sources": {name: _described(source) for source, name in sources.items()}, "lines": entries,
    }  # fmt: skip


def _described(source: Any) -> dict[str, Any]:
    dof = uncertainty.dof_of(source)
    return {
        "name": source.tag or "", "standard": source.std_dev, "shape": uncertainty.shape_of(source),
        "dof": None if dof == float("inf") else dof,
    }  # fmt: skip


def read(data: Any) -> Book:
    """Read plain data; an error names the place."""
    stored(data, "ledger", KEYS, FORMAT, VERSION)
    sources = field(data, "sources", table)
    with within("sources"):
        causes = {name: field(sources, name, _cause) for name in sources}
    number = partial(_number, causes)
    began = (field(data, "density_15", number, "density"), field(data, "reference", number, "temperature"))
    capacity = None if data["capacity"] is None else field(data, "capacity", number, "volume")
    unit = None if data["unit"] is None else field(data, "unit", volume_unit)
    vessels: dict[str, Vessel] = {}
    for i, held in enumerate(field(data, "vessels", rows)):
        with within("vessels", i):
            one = Vessel.from_dict(held)
            vessels[one.name] = one
    entries = []
    for i, entry in enumerate(field(data, "lines", rows)):
        with within("lines", i):
            entries.append(Call(*_entry(entry, number, vessels)))
    return Book(*began, capacity, unit, entries)


def json_schema() -> dict[str, Any]:
    """A ledger as JSON Schema."""
    doubtful = schema.table(dict(zip(DOUBTFUL, (schema.NUMBER, schema.map_of(schema.NUMBER)), strict=True)))
    number = {"anyOf": [schema.NUMBER, doubtful]}
    held = {
        "vessel": schema.TEXT, "reading": number, "temperature": number, **dict.fromkeys(FLAGS, schema.FLAG), "thermometer": schema.TEXT,
        "what": schema.TEXT,
    }  # fmt: skip
    lines = [
        schema.table({"kind": {"const": kind}, **{key: held[key] for key in (*needed, *seldom)}}, optional=seldom)
        for kind, (needed, seldom) in LINES.items()
    ]
    shape, dof = {"enum": list(uncertainty.SHAPES)}, schema.or_null(schema.NUMBER)
    cause = schema.table(dict(zip(CAUSE, (schema.TEXT, schema.NUMBER, shape, dof), strict=True)))
    parts = {
        "format": {"const": FORMAT}, "version": {"const": VERSION}, "unit": schema.or_null(schema.TEXT), "density_15": number,
        "reference": schema.NUMBER, "capacity": schema.or_null(number), "vessels": schema.list_of(vessel.json_schema()),
        "sources": schema.map_of(cause), "lines": schema.list_of({"oneOf": lines}),
    }  # fmt: skip
    about = "What was entered, with the sources of uncertainty that entries share."
    return schema.root(FORMAT, about, schema.table({key: parts[key] for key in KEYS}))


def _entry(entry: Any, number: Callable[..., Any], vessels: dict[str, Vessel]) -> tuple[str, tuple[Any, ...]]:
    """The method that made an entry, and its arguments."""
    known(entry, "entry", {"kind"}, entry if isinstance(entry, dict) else ())
    kind = field(entry, "kind", one_of, LINES, "kind of entry")
    needed, seldom = LINES[kind]
    known(entry, f"{kind} entry", {"kind", *needed}, seldom)
    said: dict[str, Any] = {}
    for key in entry:
        if key in ("reading", "temperature"):
            said[key] = field(entry, key, number, "volume" if key == "reading" else "temperature")
        elif key == "vessel":
            said[key] = vessels[field(entry, key, one_of, vessels, "vessel of this ledger")]
        elif key != "kind":
            said[key] = field(entry, key, flag if key in FLAGS else text)
    return kind, tuple(said.get(key, False if key in FLAGS else None) for key in (*needed, *seldom))


def _source(name: str, causes: dict[str, Any]) -> str:
    """The name of a source, if there is one of that name."""
    with within(name):
        return one_of(name, causes, "source of this ledger")


def _cause(data: Any) -> Any:
    """The source of stored data."""
    known(data, "source", CAUSE)
    dof = float("inf") if data["dof"] is None else field(data, "dof", finite)
    standard, shape = field(data, "standard", finite), field(data, "shape", one_of, uncertainty.SHAPES, "distribution shape")
    return uncertainty.source(0.0, standard, shape=shape, dof=dof, name=field(data, "name", text))


def _number(causes: dict[str, Any], data: Any, kind: str) -> Any:
    """A Quantity of a kind; numbers that shared a source share it again."""
    if not isinstance(data, dict):
        return answer(finite(data), kind)
    known(data, "number", DOUBTFUL)
    best, parts = field(data, "value", finite), field(data, "contributions", table)
    with within("contributions"):
        sizes = {causes[_source(name, causes)]: field(parts, name, finite) for name in parts}
    return answer(uncertainty.contributed(best, sizes), kind)
