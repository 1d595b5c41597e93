"""The vehicle of a job as the computing rooms see it: its total, its circuit with what nobody publishes, the history of its fill."""

from __future__ import annotations

from math import log, sqrt
from typing import Any

from sumpwise._uncertain import nominal, source, standard
from sumpwise.fluid.history import FluidHistory
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit_prior import UNIFORM, UNPUBLISHED
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.units import by_symbol
from sumpwise.service.job import Job
from sumpwise.service.sticks import dipstick_of

MINUTES_A_YEAR = 525_960.0
FULL_DOUBT = 0.02
"""Relative standard uncertainty taken for a book total that carries none."""
COMPARTMENTS = {
    "converter": (0.25, 0.35, "of the total"), "cooler": (0.3, 0.8, "L"), "clutches": (0.05, 0.13, "of the total"),
    "pockets": (0.05, 0.17, "of the total"),
}  # fmt: skip
"""Ranges of the compartments where the job states none; common practice, no source. Flows: `circuit_prior.UNPUBLISHED`."""
FLOW_WORDS = {"bypass": "of the flow", "clutch_circulation": "per litre pumped", "pocket_circulation": "per litre pumped"}
RESERVE = 1.4
"""Litres of sump above the pump's inlet where the job states none; common practice 0.8 to 2 L."""


def currency_of(job: Job) -> str:
    """What prices are counted in; a label only."""
    return job.text("shopping", "currency") or "units of money"


def total_of(job: Job) -> tuple[Any, str]:
    """The total capacity as an uncertain number of litres, and the assumption made, if one was."""
    total = job.value("capacity", "total")
    if standard(total):
        return total, ""
    doubt = (
        f"The total of {job.text('capacity', 'total')} is taken with a standard uncertainty of {FULL_DOUBT * 100:g} %: none was written."
    )
    return source(total, FULL_DOUBT * total, name="total capacity"), doubt


def circuit_of(job: Job, total: Any, sampled: bool = False) -> tuple[Circuit, list[str]]:
    """The circuit of the job: what it states, ranges for the rest, each an assumption in words.

    With `sampled` the flows stay plain numbers, for `inside_from_outlet` draws them from their ranges itself.
    """
    assumed: list[str] = []

    def range_of(name: str, low: float, high: float, shape: str, what: str) -> Any:
        stated = job.value("circuit", name)
        if stated is not None:
            return stated
        words = name.replace("_", " ")
        assumed.append(f"{words.capitalize()}: {low:g} to {high:g} {what} ({shape}; nobody publishes it).")
        if shape == UNIFORM:
            return source((low + high) / 2, (high - low) / 2 / sqrt(3), shape="rectangular", name=words)
        mean = (high - low) / log(high / low)
        return source(mean, sqrt((high**2 - low**2) / 2 / log(high / low) - mean**2), name=words)

    inside = {}
    for name, (low, high, what) in COMPARTMENTS.items():
        value = range_of(name, low, high, UNIFORM, what)
        inside[name] = value * total if what == "of the total" and not job.has("circuit", name) else value
    flows: dict[str, Any] = {name: range_of(name, *prior, FLOW_WORDS[name]) for name, prior in UNPUBLISHED.items()}
    if sampled:
        flows = {name: value if job.has("circuit", name) else nominal(value) for name, value in flows.items()}
    sump = job.value("circuit", "sump")
    if sump is None:
        sump = total + start_error(job) - sum(inside.values())
    reserve = job.value("exchange", "reserve")
    if reserve is None:
        reserve = RESERVE
        assumed.append(f"Usable sump reserve {RESERVE:g} L (common practice 0.8 to 2 L).")
    floor = job.value("circuit", "sump_floor")
    if floor is None:
        floor = max(0.0, nominal(sump) - nominal(reserve))
    volumes = {"sump": sump, **inside, "sump_floor": floor}
    return Circuit(**{name: answer(litres, "volume") for name, litres in volumes.items()}, **flows), assumed


def history_of(job: Job) -> FluidHistory:
    """Ages of the fill before the work, now as 0 y: all new `fluid_age` ago (or the vehicle's age), then each entry of the history."""
    age = job.value("vehicle", "fluid_age", job.value("vehicle", "age", 0.0))
    history = FluidHistory(answer(-age, "time", unit=by_symbol("y")))
    for entry in sorted(job.entries("history"), key=lambda e: -nominal(e["ago"])):
        history = history.replace(entry["share"], answer(-nominal(entry["ago"]), "time", unit=by_symbol("y")))
    return history


def start_error(job: Job) -> float:
    """Litres at 20 °C off the target before the work, by a first stick reading in the check window; 0 without one."""
    first = next((e for e in job.entries("log") if e["event"] != "seen"), None)
    stick = dipstick_of(job)
    if stick is None or first is None or first["event"] != "stick":
        return 0.0
    at = answer(nominal(first["temperature"]), "temperature")
    if not stick.holds_at(at):
        return 0.0
    error = stick.error(answer(nominal(first["reading"]), "length"), at)
    return nominal(error.m_as("L"))


def run_of_bursts(job: Job, circuit: Circuit) -> tuple[list[tuple[Circuit, Circuit]], Circuit]:
    """The pan refilled, then each burst: the circuit at its end and after its pour; and the circuit after the refill."""
    out = nominal(job.value("capacity", "plug_drain")) + nominal(job.value("capacity", "pan_and_filter", 0.0))
    refill = nominal(job.value("exchange", "refill", out))
    burst = answer(nominal(job.value("exchange", "burst")), "volume")
    after = circuit.drain(answer(out, "volume")).pour(answer(refill, "volume"))
    first, steps = after, []
    for _ in range(job.value("exchange", "bursts", 0)):
        pumped = after.pump(burst)
        after = pumped.pour(burst)
        steps.append((pumped, after))
    return steps, first
