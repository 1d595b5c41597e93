"""What the log saw at the outlet, and what it says of the inside."""

from __future__ import annotations

from typing import Any

from sumpwise._uncertain import nominal
from sumpwise.errors import SumpwiseError
from sumpwise.fluid.density import volume_correction_factor
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.outlet_evidence import inside_from_outlet
from sumpwise.quantities.boundary import answer
from sumpwise.service.figures import number, percent
from sumpwise.service.job import Job
from sumpwise.service.sheet import Section
from sumpwise.service.vehicle import circuit_of, currency_of, total_of

VIAL_STEP = 0.05
"""Old fraction from vial to vial where the job says nothing."""


def by_the_line(entry: dict[str, Any]) -> bool:
    """Whether what was drained came by the cooler line, the engine running: it was timed or matched."""
    return "outlet_old" in entry or "duration" in entry


def followed(job: Job) -> tuple[Circuit, list[tuple[Circuit, float]]]:
    """The circuit led through the log, and its states with what was matched at the outlet."""
    total, _ = total_of(job)
    circuit, _ = circuit_of(job, total, sampled=True)
    density = nominal(job.value("fluid", "density_15"))
    scales = {v["name"]: 1 / (1 + nominal(v.get("reads_high", 0.0))) for v in job.entries("vessel")}
    before: dict[str, float] = {}
    seen: list[tuple[Circuit, float]] = []

    def at_20(litres: float, temperature: Any) -> Any:
        factor = volume_correction_factor.kernel
        return answer(litres * factor(nominal(temperature), density) / factor(20.0, density), "volume")

    for entry in job.entries("log"):
        event, vessel = entry["event"], entry.get("vessel", "")
        if event == "emptied":
            before[vessel] = 0.0
        elif event == "lost":
            circuit = circuit.drain(at_20(nominal(entry["volume"]), entry.get("temperature", 20.0)))
        elif event == "poured":
            circuit = circuit.pour(at_20(nominal(entry["reading"]) * scales[vessel], entry["temperature"]))
        elif event == "drained":
            reading = nominal(entry["reading"])
            out = reading - before.get(vessel, 0.0) if entry.get("cumulative") else reading
            before[vessel] = reading if entry.get("cumulative") else before.get(vessel, 0.0)
            volume = at_20(out * scales[vessel], entry["temperature"])
            circuit = circuit.pump(volume) if by_the_line(entry) else circuit.drain(volume)
            if "outlet_old" in entry:
                seen.append((circuit, nominal(entry["outlet_old"])))
        elif event == "drive":
            circuit = circuit.mix()
    return circuit, seen


def telling(job: Job) -> Section | None:
    """The section on what the outlet told, or nothing when nothing was matched."""
    if not any("outlet_old" in entry for entry in job.entries("log")):
        return None
    section = Section("outlet", "What the outlet told of the inside")
    target = nominal(job.value("target", "fresh", 0.9))
    prices = [p["price"] / nominal(p["volume"]) for p in job.entries("pack")]
    try:
        now, seen = followed(job)
        told = inside_from_outlet(
            seen, target, now=now, vial_step=VIAL_STEP, portion="1 L", cost_per_litre=min(prices) if prices else None
        )
    except SumpwiseError as error:
        section.lines.append(f"The log cannot be followed through the circuit: {error}.")
        return section
    old, line = 1 - told.resident.mean, 1 - told.outlet.mean
    cost = f" at {told.cost_per_point:.1f} {currency_of(job)} a point" if told.cost_per_point else ""
    section.lines = [
        f"**{'Enough' if told.verdict == 'stop' else 'Go on'}**: {told.reason}.",
        f"By all matches together {percent(old)} old is left inside ({percent(1 - told.resident.upper)} to "
        f"{percent(1 - told.resident.lower)}, nineteen chances in twenty) while the line carries {percent(line)}. "
        f"A long drive will darken what the line shows by about "
        f"{_points(100 * told.darkening.mean)}; the next litre buys {number(told.next_portion.mean, 1)} points{cost}.",
        *(f"- Caution: {c}." for c in told.cautions),
        *(f"- Assumed: {a.replace('_', ' ')}." for a in told.assumptions),
    ]
    section.columns = ["match", "seen old", "expected old"]
    section.rows = [[str(i), percent(match), f"{percent(e.mean)}"] for i, (match, e) in enumerate(told.matches, 1)]
    section.data = told.to_dict()
    return section


def _points(much: float) -> str:
    shown = number(much, 0)
    return f"{shown} point" if shown == "1" else f"{shown} points"
