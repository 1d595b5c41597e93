"""Ledgers as plain data: the entries, and the sources that several of them share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise import uncertainty
from sumpwise.errors import FileError, SumpwiseError, expect_record
from sumpwise.filling._state import State
from sumpwise.filling.vessel import Vessel, volume_unit
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.units import by_symbol

if TYPE_CHECKING:
    from sumpwise.filling._lines import Line
    from sumpwise.filling.ledger import Ledger

FORMAT = "sumpwise ledger"
VERSION = 1


def written(ledger: Ledger) -> dict[str, Any]:
    """A ledger as plain data."""
    sources: dict[Any, str] = {}

    def number(x: Any) -> Any:
        if x is None or not uncertainty.is_uncertain(x):
            return x
        parts = {sources.setdefault(s, f"s{len(sources) + 1}"): size for s, size in uncertainty.contributions(x)}
        return {"value": uncertainty.nominal(x), "contributions": parts}

    density, capacity = number(ledger._fluid.density), number(ledger._capacity)
    vessels: dict[str, Vessel] = {}
    lines = []
    for line in ledger._log[: ledger._count]:
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
        lines.append(entry)
    return {
        "format": FORMAT, "version": VERSION, "unit": None if ledger._unit is None else ledger._unit.symbol, "density_15": density,
        "reference": ledger._fluid.reference, "capacity": capacity, "vessels": [v.to_dict() for v in vessels.values()],
        "sources": {name: _described(source) for source, name in sources.items()}, "lines": lines,
    }  # fmt: skip


def _described(source: Any) -> dict[str, Any]:
    dof = getattr(source, "dof", float("inf"))
    return {
        "name": source.tag or "", "standard": source.std_dev, "shape": getattr(source, "shape", "normal"),
        "dof": None if dof == float("inf") else dof,
    }  # fmt: skip


def read(data: Any) -> Ledger:
    """A ledger from plain data; every entry is read and checked as if it were made anew."""
    from sumpwise.filling.ledger import Ledger

    keys = {"format", "unit", "density_15", "reference", "capacity", "vessels", "sources", "lines"}
    expect_record(data, "ledger", keys, FORMAT, VERSION)
    place = "ledger"
    try:
        for cause in data["sources"].values():
            if not isinstance(cause["name"], str):
                raise FileError("is no name of a source", value=cause["name"])
        sources = {
            name: uncertainty.source(0.0, s["standard"], shape=s["shape"], dof=s["dof"] or float("inf"), name=s["name"])
            for name, s in data["sources"].items()
        }

        def number(x: Any, kind: str) -> Any:
            best = x["value"] if isinstance(x, dict) else x
            for size in (best, *(x["contributions"].values() if isinstance(x, dict) else ())):
                if size is not None and (isinstance(size, bool) or not isinstance(size, (int, float)) or not abs(size) < 1e300):
                    raise FileError("is no finite number", value=size)
            if isinstance(x, dict):
                terms = [(size / sources[name].std_dev, sources[name]) for name, size in x["contributions"].items()]
                x = uncertainty.combine(x["value"], terms)
            return None if x is None else answer(x, kind)

        capacity = number(data["capacity"], "volume")
        ledger = Ledger(number(data["density_15"], "density"), number(data["reference"], "temperature"), capacity=capacity)
        ledger._unit = None if data["unit"] is None else volume_unit(data["unit"], "unit")
        vessels = {v["name"]: Vessel.from_dict(v) for v in data["vessels"]}
        for position, entry in enumerate(data["lines"], 1):
            place = f"ledger, line {position}"
            kind, reading = entry["kind"], number(entry.get("reading"), "volume")
            warm = number(entry.get("temperature"), "temperature")
            if kind == "started":
                ledger = ledger.started(reading)
            elif kind == "emptied":
                ledger = ledger.emptied(vessels[entry["vessel"]])
            elif kind == "lost":
                ledger = ledger.lost(reading, entry["what"], warm)
            elif kind in ("drained", "poured"):
                enter = ledger.drained if kind == "drained" else ledger.poured
                ledger = enter(vessels[entry["vessel"]], reading, warm, entry.get("cumulative", False), entry.get("thermometer"))
            else:
                raise FileError("is no kind of entry", value=kind, allowed="started, drained, poured, emptied, lost")
    except SumpwiseError as error:
        raise FileError(f"cannot be entered: {error}", argument=place) from None
    except (KeyError, TypeError, AttributeError, ArithmeticError, ValueError) as error:
        raise FileError("lacks a field or has one of another kind", argument=place, value=str(error)) from None
    return ledger


def restored(density: Any, reference: float, capacity: Any, unit: str | None, lines: list[Line]) -> Ledger:
    """A ledger from its own lines: what a pickle holds, sources and all."""
    from sumpwise.filling.ledger import Ledger

    ledger = Ledger(answer(density, "density"), f"{reference!r} °C", capacity=None if capacity is None else answer(capacity, "volume"))
    ledger._unit = None if unit is None else by_symbol(unit)
    ledger._begin(State(lines))
    return ledger
