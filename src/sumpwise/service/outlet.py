"""What the log saw at the outlet, and what it says of the inside."""

from __future__ import annotations

from typing import Any

from sumpwise._uncertain import nominal, standard
from sumpwise.errors import SumpwiseError
from sumpwise.inference.estimates import OutletEvidence
from sumpwise.inference.outlet import inside_from_outlet
from sumpwise.inference.prior import UNPUBLISHED
from sumpwise.mixing.circuit import Circuit
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.service.agreement import Agreement
from sumpwise.service.figures import number, percent
from sumpwise.service.job import Job
from sumpwise.service.movements import Movement, opening
from sumpwise.service.sheet import Section
from sumpwise.service.vehicle import circuit_of, currency_of, total_of

VIAL_STEP = 0.05
"""Old fraction from vial to vial where the job says nothing."""


PROBABILITY = 0.9
"""With which the target is to be met where the job says nothing."""


def led_through(job: Job, moves: list[Movement]) -> tuple[Circuit, list[tuple[Circuit, float]]]:
    """The circuit led through the log, and its states with what was matched at the outlet."""
    _, last = opening(moves)
    drained = nominal(number_in(last.after.total_drained, "L")) if last else None
    circuit, _ = circuit_of(job, total_of(job)[0], sampled=True, drained=drained)
    seen: list[tuple[Circuit, float]] = []
    for move in moves:
        volume = answer(abs(move.litres), "volume")
        if move.event == "drive":
            circuit = circuit.mix()
        elif move.litres > 0:
            circuit = circuit.pour(volume)
        elif move.litres < 0:
            circuit = circuit.pump(volume) if move.by_the_line else circuit.drain(volume)
        if "outlet_old" in move.entry:
            seen.append((circuit, nominal(move.entry["outlet_old"])))
    return circuit, seen


def _stated(job: Job) -> dict[str, Any]:
    """What the job states of the circuit without an uncertainty: certain, where the library would take a range."""
    stated = {name: job.value("circuit", name) for name in (*UNPUBLISHED, "pockets", "sump_floor") if job.has("circuit", name)}
    return {name: value if name in UNPUBLISHED else answer(value, "volume") for name, value in stated.items() if not standard(value)}


def telling(job: Job, found: Agreement | SumpwiseError | None) -> Section | None:
    """The section on what the outlet told, or nothing when nothing was matched."""
    if found is None or not any("outlet_old" in entry for entry in job.entries("log")):
        return None
    section = Section("outlet", "What the outlet told of the inside")
    if isinstance(found, SumpwiseError) or found.conflict:
        section.lines.append("**Cannot say**: what is seen at the outlet is weighed with the litres of the log, and they are in doubt.")
        section.data = {"verdict": "cannot say", "probability": None, "resident": None}
        return section
    target = nominal(job.value("target", "fresh", 0.9))
    prices = [p["price"] / nominal(p["volume"]) for p in job.entries("pack")]
    try:
        now, seen = led_through(job, found.moves)
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
        f"**{_verdict(told)}**: {told.reason}.",
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


def _verdict(told: OutletEvidence) -> str:
    """Enough only where the target is met with the probability asked."""
    if told.litres_needed is None:
        return "Not to be had by more of the same"
    return "Go on" if told.litres_needed else "Enough"


def _points(much: float) -> str:
    shown = number(much, 0)
    return f"{shown} point" if shown == "1" else f"{shown} points"
