"""What the log saw at the outlet, and what it says of the inside."""

from __future__ import annotations

from itertools import takewhile
from typing import Any

from sumpwise._uncertain import nominal, standard
from sumpwise.errors import SumpwiseError
from sumpwise.fluid.density import volume_correction_factor
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit_prior import UNPUBLISHED
from sumpwise.mixing.outlet_evidence import inside_from_outlet
from sumpwise.quantities.boundary import answer
from sumpwise.service.figures import number, percent
from sumpwise.service.job import Job
from sumpwise.service.sheet import Section
from sumpwise.service.vehicle import circuit_of, currency_of, total_of

VIAL_STEP = 0.05
"""Old fraction from vial to vial where the job says nothing."""


PROBABILITY = 0.9
"""With which the target is to be met where the job says nothing."""


def by_the_line(entry: dict[str, Any]) -> bool:
    """Whether what was drained came by the cooler line, the engine running: it was timed or matched."""
    return "outlet_old" in entry or "duration" in entry


def followed(job: Job) -> tuple[Circuit, list[tuple[Circuit, float]]]:
    """The circuit led through the log, and its states with what was matched at the outlet."""
    density = nominal(job.value("fluid", "density_15"))
    scales = {v["name"]: 1 / (1 + nominal(v.get("reads_high", 0.0))) for v in job.entries("vessel")}
    before: dict[str, float] = {}
    moves: list[tuple[str, float, Any]] = []

    def at_20(litres: float, temperature: Any) -> float:
        factor = volume_correction_factor.kernel
        return float(litres * factor(nominal(temperature), density) / factor(20.0, density))

    for entry in job.entries("log"):
        event, vessel = entry["event"], entry.get("vessel", "")
        if event == "emptied":
            before[vessel] = 0.0
        elif event == "lost":
            moves.append(("drain", at_20(nominal(entry["volume"]), entry.get("temperature", 20.0)), entry))
        elif event == "poured":
            moves.append(("pour", at_20(nominal(entry["reading"]) * scales[vessel], entry["temperature"]), entry))
        elif event == "drained":
            reading = nominal(entry["reading"])
            out = reading - before.get(vessel, 0.0) if entry.get("cumulative") else reading
            before[vessel] = reading if entry.get("cumulative") else before.get(vessel, 0.0)
            moves.append(("pump" if by_the_line(entry) else "drain", at_20(out * scales[vessel], entry["temperature"]), entry))
        elif event == "drive":
            moves.append(("mix", 0.0, entry))
    drained = sum(volume for _, volume, _ in takewhile(lambda move: move[0] == "drain", moves))
    circuit, _ = circuit_of(job, total_of(job)[0], sampled=True, drained=drained or None)
    seen: list[tuple[Circuit, float]] = []
    for kind, volume, entry in moves:
        circuit = circuit.mix() if kind == "mix" else getattr(circuit, kind)(answer(volume, "volume"))
        if "outlet_old" in entry:
            seen.append((circuit, nominal(entry["outlet_old"])))
    return circuit, seen


def _stated(job: Job) -> dict[str, Any]:
    """What the job states of the circuit without an uncertainty: certain, where the library would take a range."""
    stated = {name: job.value("circuit", name) for name in (*UNPUBLISHED, "pockets", "sump_floor") if job.has("circuit", name)}
    return {name: value if name in UNPUBLISHED else answer(value, "volume") for name, value in stated.items() if not standard(value)}


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
            seen, target, now=now, ranges=_stated(job), vial_step=VIAL_STEP, portion="1 L", cost_per_litre=min(prices) if prices else None,
            confidence=job.value("target", "probability", PROBABILITY),
        )  # fmt: skip
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
