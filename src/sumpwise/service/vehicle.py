"""The vehicle of a job as the computing rooms see it: its total, its circuit with what nobody publishes, the history of its fill."""

from __future__ import annotations

from math import ceil, floor, inf, log, sqrt
from typing import Any

from sumpwise._uncertain import nominal, source, standard
from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import RangeError
from sumpwise.filling.bursts import longest_burst
from sumpwise.inference.prior import UNIFORM, UNPUBLISHED
from sumpwise.mixing.circuit import Circuit
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.units import by_symbol
from sumpwise.service.job import Job
from sumpwise.service.sticks import dipstick_of, doubted

MINUTES_A_YEAR = 525_960.0
FULL_DOUBT = 0.02
"""Relative standard uncertainty taken for a book total that carries none."""
COMPARTMENTS = {
    "converter": (0.25, 0.35, "of the total"), "cooler": (0.3, 0.8, "L"), "clutches": (0.05, 0.13, "of the total"),
    "pockets": (0.05, 0.17, "of the total"),
}  # fmt: skip
"""Ranges of the compartments where the job states none; common practice, no source. Flows: `prior.UNPUBLISHED`."""
FLOW_WORDS = {"bypass": "of the flow", "clutch_circulation": "per litre pumped", "pocket_circulation": "per litre pumped"}
RESERVE = 1.4
"""Litres of sump from the start level down to where the pump draws air, where the job states none; common practice 0.8 to 2 L."""
LEFT, LEFT_BY_PLUG = (0.0, 0.2), (0.2, 1.0)
"""Litres that stay in the sump after plug, pan and filter, and after the plug alone; common practice, no source."""
FLOW = 3.5
"""Litres a minute out of the cooler line where the job states none; common practice 1.5 to 8."""
REACTION = "2 s"
"""From seeing that it is time to the engine standing still."""


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


def circuit_of(job: Job, total: Any, sampled: bool = False, drained: Any = None) -> tuple[Circuit, list[str]]:
    """The circuit of the job before the work: what it states, ranges for the rest, each an assumption in words.

    The sump holds what is stated to drain, or what has `drained` by the log, and the little that stays behind; the compartments with a
    range share the rest of the fill, each by the variance of its range. With `sampled` the flows stay plain numbers, for
    `inside_from_outlet` draws them from their ranges itself.
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
    pan_off = job.has("capacity", "pan_and_filter") if drained is None else any(e["event"] == "lost" for e in job.entries("log"))
    if drained is None:
        drained = job.value("capacity", "plug_drain") + job.value("capacity", "pan_and_filter", 0.0)
    sump = job.value("circuit", "sump")
    if sump is None:
        sump = drained + range_of("left_in_the_sump", *(LEFT if pan_off else LEFT_BY_PLUG), UNIFORM, "L")
    free = {name: standard(value) ** 2 for name, value in inside.items() if not job.has("circuit", name)}
    gap = total + start_error(job) - sump - sum(inside.values())
    for name, variance in free.items():
        inside[name] = inside[name] + gap * (variance / sum(free.values()))
        if not nominal(inside[name]) > 0:
            raise RangeError(
                f"leaves nothing for the {name}", argument="sump", value=f"{nominal(sump):.3g} L", allowed="less than the total",
                hint="check plug_drain and pan_and_filter against the total, or state the volumes under [circuit]",
            )  # fmt: skip
    reserve, inlet = job.value("exchange", "reserve"), job.value("circuit", "sump_floor")
    if reserve is None and inlet is None:
        assumed.append(f"Usable sump reserve {RESERVE:g} L (common practice 0.8 to 2 L).")
    if inlet is None:
        inlet = max(0.0, nominal(sump) - RESERVE) if reserve is None else sump - reserve if nominal(sump) > nominal(reserve) else 0.0
    volumes = {"sump": sump, **inside, "sump_floor": inlet}
    return Circuit(**{name: answer(litres, "volume") for name, litres in volumes.items()}, **flows), assumed


def drained_and_refilled(job: Job) -> tuple[float, float]:
    """Litres out by plug, pan and filter, and poured back before the first burst."""
    out = nominal(job.value("capacity", "plug_drain")) + nominal(job.value("capacity", "pan_and_filter", 0.0))
    return out, nominal(job.value("exchange", "refill", out))


def reserve_of(job: Job, circuit: Circuit) -> float:
    """Litres of the sump at the start level above the level at which the pump draws air."""
    held, inlet = nominal(circuit.sump_volume.magnitude), job.value("circuit", "sump_floor")
    return min(held, nominal(job.value("exchange", "reserve", RESERVE))) if inlet is None else held - nominal(inlet)


def seconds_to_air(job: Job, circuit: Circuit) -> float:
    """Seconds a burst may run with nothing poured in: reserve and refill count from the start level, the reaction is taken off."""
    out, refill = drained_and_refilled(job)
    spare = answer(reserve_of(job, circuit) + refill - out, "volume")
    return float(number_in(longest_burst(spare, answer(nominal(job.value("exchange", "flow", FLOW)), "flow"), "0 L/min", REACTION), "s"))


def history_of(job: Job) -> FluidHistory:
    """Ages of the fill before the work, now as 0 y: all new `fluid_age` ago (or the vehicle's age), then each entry of the history."""
    age = job.value("vehicle", "fluid_age", job.value("vehicle", "age", 0.0))
    history = FluidHistory(answer(-age, "time", unit=by_symbol("y")))
    for entry in sorted(job.entries("history"), key=lambda e: -nominal(e["ago"])):
        history = history.replace(entry["share"], answer(-nominal(entry["ago"]), "time", unit=by_symbol("y")))
    return history


def start_error(job: Job) -> Any:
    """Litres at 20 °C off the target before the work, by a first stick reading in the check window; 0 without one."""
    first = next((e for e in job.entries("log") if e["event"] != "seen"), None)
    stick = dipstick_of(job)
    if stick is None or first is None or first["event"] != "stick":
        return 0.0
    if not stick.holds_at(answer(nominal(first["temperature"]), "temperature")):
        return 0.0
    return number_in(stick.error(answer(first["reading"], "length"), answer(doubted(first["temperature"]), "temperature")), "L")


def run_of_bursts(job: Job, circuit: Circuit) -> tuple[list[tuple[Circuit, Circuit]], Circuit]:
    """The pan refilled, then each burst: the circuit at its end and after its pour; and the circuit after the refill.

    A burst that lasts longer than the pump can run before it draws air is refused.
    """
    out, refill = drained_and_refilled(job)
    litres, count = nominal(job.value("exchange", "burst")), job.value("exchange", "bursts", 0)
    after = circuit.drain(answer(out, "volume")).pour(answer(refill, "volume"))
    first, steps = after, []
    lasts, air = litres / nominal(job.value("exchange", "flow", FLOW)) * 60, seconds_to_air(job, circuit) if count else inf
    if lasts > air:
        raise RangeError(
            f"a burst of {litres:g} L takes {ceil(lasts)} s, and the pump draws air after {floor(air)} s",
            argument="burst", value=job.text("exchange", "burst"),
            hint=f"bursts of at most {floor(100 * litres * air / lasts) / 100:g} L",
        )  # fmt: skip
    burst = answer(litres, "volume")
    for _ in range(count):
        pumped = after.pump(burst)
        after = pumped.pour(burst)
        steps.append((pumped, after))
    return steps, first
