"""What the log of a job tells about this vehicle and these tools: drain, pan, flow, the sump's reserve, the scales of the vessels."""

from __future__ import annotations

from math import sqrt
from typing import Any

from sumpwise._uncertain import nominal, standard
from sumpwise.errors import SumpwiseError
from sumpwise.fluid.density import volume_at
from sumpwise.quantities.boundary import answer
from sumpwise.service.balance import traced, vessels_of
from sumpwise.service.job import BUBBLES, Job
from sumpwise.service.outlet import by_the_line


def learned_from(job: Job) -> dict[str, dict[str, Any]]:
    """Name -> value, unit, standard uncertainty, and where it comes from."""
    vessels = vessels_of(job)
    density = answer(nominal(job.value("fluid", "density_15")), "density")
    learned: dict[str, dict[str, Any]] = {}

    def at_20(litres: Any, temperature: Any) -> Any:
        return volume_at(answer(litres, "volume"), answer(nominal(temperature), "temperature"), "20 °C", density).magnitude

    def true(entry: dict[str, Any]) -> tuple[float, float]:
        volume = vessels[entry["vessel"]].volume(answer(nominal(entry["reading"]), "volume")).m_as("L")
        return nominal(volume), standard(volume)

    def keep(name: str, value: float, u: float, unit: str, where: str) -> None:
        learned[name] = {"value": value, "unit": unit, "standard_uncertainty": u, "from": where}

    log = job.entries("log")
    plug = next((e for e in log if e["event"] == "drained" and not by_the_line(e)), None)
    if plug:
        volume, u = true(plug)
        keep("plug_drain", at_20(volume, plug["temperature"]), u, "L", "the first drain of the log, at 20 °C")
    lost = [e for e in log if e["event"] == "lost"]
    if lost:
        total = sum(at_20(nominal(e["volume"]), e.get("temperature", 20.0)) for e in lost)
        keep("pan_and_filter", total, sqrt(sum(standard(e["volume"]) ** 2 for e in lost)), "L", "what the log counts as lost, at 20 °C")
    rates, inside = [], dict.fromkeys(vessels, 0.0)
    for entry in log:
        if entry["event"] == "emptied":
            inside[entry["vessel"]] = 0.0
        elif entry["event"] == "drained":
            out = reading = true(entry)[0]
            if entry.get("cumulative"):
                out -= inside[entry["vessel"]]
                inside[entry["vessel"]] = reading
            if nominal(entry.get("duration", 0.0)) > 0 and out > 0:
                rates.append(out / nominal(entry["duration"]))
    if len(rates) > 1:
        mean = sum(rates) / len(rates)
        keep("flow", mean, sqrt(sum((r - mean) ** 2 for r in rates) / (len(rates) - 1)), "L/min", f"{len(rates)} timed bursts of the log")
    for name, litres, u, where in _reserve(job):
        keep(name, litres, u, "L", where)
    for written in job.entries("vessel"):
        if "reads_high" in written:
            vessel = vessels[written["name"]]
            keep(f"{vessel.name} scale", vessel.scale, vessel.scale_uncertainty, "1", "weighed with water")
    return learned


def _reserve(job: Job) -> list[tuple[str, float, float, str]]:
    """How far below the start level the sump stood at the end of each burst: without air the reserve is more, with bubbles it is less."""
    depths: list[Any] = []
    air: list[Any] = []
    try:
        for entry, ledger, _ in traced(job):
            if entry["event"] == "drained" and by_the_line(entry):
                depths.append(-ledger.balance.m_as("L"))
            elif entry.get("seen") == BUBBLES and depths:
                air.append(depths.pop())
    except SumpwiseError:
        return []  # the count cannot be followed; the sheet says why
    if not air:
        deepest = max(depths, key=nominal, default=0.0)
        where = f"the deepest of {len(depths)} bursts without air"
        return [("reserve at least", nominal(deepest), standard(deepest), where)] if depths else []
    first = min(air, key=nominal)
    quiet = [depth for depth in depths if nominal(depth) < nominal(first)]
    safe = max(quiet, key=nominal, default=0.0)
    between = (nominal(first) - nominal(safe)) / sqrt(12)
    u = sqrt(between**2 + standard(first) ** 2 + standard(safe) ** 2)
    return [("reserve", (nominal(first) + nominal(safe)) / 2, u, "between the deepest burst without air and the one with bubbles")]
