"""The entries of a ledger to and from plain data: the numbers as they were read, and the sources that several of them share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import _jsonschema as schema
from sumpwise import uncertainty
from sumpwise.errors import FileError, SumpwiseError, expect_finite, expect_keys, expect_stored
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
MOVED = (("vessel", "reading", "temperature"), ("cumulative", "thermometer"))
LINES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "started": (("reading",), ()), "drained": MOVED, "poured": MOVED, "lost": (("reading", "what"), ("temperature",)),
    "emptied": (("vessel",), ()),
}  # fmt: skip
"""Kind of entry -> the keys that it has, and those that it may have."""


class Call(NamedTuple):
    """One entry to be made again: its place in the stored data, the method of `Ledger` that makes it, and the arguments."""

    place: str
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
        for key, value in (("cumulative", line.cumulative), ("thermometer", line.thermometer), ("what", line.what)):
            if value:
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
    expect_stored(data, "ledger", set(KEYS), FORMAT, VERSION)
    place = "ledger"
    try:
        numbers = _Numbers(data["sources"])
        began = (numbers.read(data["density_15"], "density"), numbers.read(data["reference"], "temperature"))
        capacity = numbers.read(data["capacity"], "volume")
        unit = None if data["unit"] is None else volume_unit(data["unit"], "unit")
        vessels = {v["name"]: Vessel.from_dict(v) for v in data["vessels"]}
        entries = []
        for position, entry in enumerate(data["lines"], 1):
            place = f"ledger, line {position}"
            entries.append(Call(place, entry["kind"], tuple(_arguments(entry, numbers, vessels))))
    except SumpwiseError as error:
        raise misplaced(place, error) from None
    except (KeyError, TypeError, AttributeError, ArithmeticError, ValueError) as error:
        raise FileError("lacks a field or has one of the wrong type", code="key.type", argument=place, value=str(error)) from None
    return Book(*began, capacity, unit, entries)


def json_schema() -> dict[str, Any]:
    """A ledger as JSON Schema."""
    doubtful = schema.table(dict(zip(DOUBTFUL, (schema.NUMBER, schema.map_of(schema.NUMBER)), strict=True)))
    number = {"anyOf": [schema.NUMBER, doubtful]}
    held = {
        "vessel": schema.TEXT, "reading": number, "temperature": number, "cumulative": schema.FLAG, "thermometer": schema.TEXT,
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


def _arguments(entry: Any, numbers: _Numbers, vessels: dict[str, Vessel]) -> Iterator[Any]:
    """The arguments of the method that made an entry."""
    kind = entry["kind"]
    if kind not in LINES:
        raise FileError("is not a kind of entry", code="value.choice", value=kind, allowed=", ".join(LINES))
    needed, seldom = LINES[kind]
    expect_keys(entry, f"{kind} entry", {"kind", *needed}, seldom)
    reading, warm = numbers.read(entry.get("reading"), "volume"), numbers.read(entry.get("temperature"), "temperature")
    if kind == "started":
        yield reading
    elif kind == "emptied":
        yield vessels[entry["vessel"]]
    elif kind == "lost":
        yield from (reading, entry["what"], warm)
    else:
        yield from (vessels[entry["vessel"]], reading, warm, entry.get("cumulative", False), entry.get("thermometer"))


class _Numbers:
    """The numbers of stored data; those that shared a source share it again."""

    def __init__(self, sources: dict[str, Any]) -> None:
        for cause in sources.values():
            expect_keys(cause, "source", set(CAUSE))
            if not isinstance(cause["name"], str):
                raise FileError("is not the name of a source", code="file.content", value=cause["name"])
        self.sources = {
            name: uncertainty.source(0.0, s["standard"], shape=s["shape"], dof=s["dof"] or float("inf"), name=s["name"])
            for name, s in sources.items()
        }

    def read(self, x: Any, kind: str) -> Any:
        """A Quantity of a kind, or None."""
        if isinstance(x, dict):
            expect_keys(x, "number", set(DOUBTFUL))
        best = x["value"] if isinstance(x, dict) else x
        for size in (best, *(x["contributions"].values() if isinstance(x, dict) else ())):
            if size is not None:
                expect_finite(size)
        if isinstance(x, dict):
            x = uncertainty.contributed(x["value"], {self.sources[name]: size for name, size in x["contributions"].items()})
        return None if x is None else answer(x, kind)


def misplaced(place: str, error: SumpwiseError) -> FileError:
    """An error about an entry, with its place in the stored data."""
    return FileError(f"cannot be entered: {error}", code=error.code, argument=place)
