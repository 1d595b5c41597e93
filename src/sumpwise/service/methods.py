"""The methods side by side: how fresh inside, how many litres, what money, what age over the years, and why one may be impossible."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import erfc, log, sqrt
from typing import Any

from sumpwise._uncertain import nominal, source, standard
from sumpwise.errors import SumpwiseError
from sumpwise.filling.quotes import cost_per_litre_year, cost_per_point
from sumpwise.fluid.history import FluidHistory
from sumpwise.fluid.rhythms import over_horizon, repeated_changes
from sumpwise.mixing.batch import drain_refill
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit_prior import UNIFORM, UNPUBLISHED
from sumpwise.mixing.continuous import exchange
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.units import by_symbol
from sumpwise.service.figures import figure, percent, plain
from sumpwise.service.job import Job

MINUTES_A_YEAR = 525_960.0
HORIZON = 10 * MINUTES_A_YEAR
FULL_DOUBT = 0.02
"""Relative standard uncertainty taken for a book total that carries none."""
PLUG_TANKS = 200
BOUNDS = ("machine plug",)
"""Methods that only bound what another can reach; they beat nobody."""

NAMES = {
    "nothing": "nothing",
    "drain": "one drain",
    "drains": "three drains, a drive after each",
    "yearly": "one drain, again every year",
    "bursts": "pan off, then bursts by the cooler line",
    "machine stirred": "machine exchange, fully stirred",
    "machine plug": "machine exchange, plug flow",
    "drain and machine": "one drain, then machine exchange",
}
"""Key of a method -> what the sheet calls it."""

COMPARTMENTS = {
    "converter": (0.25, 0.35, "of the total"), "cooler": (0.3, 0.8, "L"), "clutches": (0.05, 0.13, "of the total"),
    "pockets": (0.05, 0.17, "of the total"),
}  # fmt: skip
"""Ranges of the compartments where the job states none; common practice, no source. Flows: `circuit_prior.UNPUBLISHED`."""
FLOW_WORDS = {"bypass": "of the flow", "clutch_circulation": "per litre pumped", "pocket_circulation": "per litre pumped"}
RESERVE = 1.4
"""Litres of sump above the pump's inlet where the job states none; common practice 0.8 to 2 L."""
HOURS = {"drain": 1.0, "drains": 3.0, "yearly": 1.0, "bursts": 3.0, "machine stirred": 1.0, "machine plug": 1.0, "drain and machine": 2.0}
"""Hands-on hours at one service; common practice, no source."""
MACHINE_TURNOVERS = 1.3, 0.15
"""Fluid an exchange unit pushes, in totals, and its standard uncertainty; common practice, no source."""


@dataclass(frozen=True, slots=True)
class MethodResult:
    """What one method comes to.

    Attributes
    ----------
    key, name : str
        Which method.
    fresh : float or uncertain number
        Fresh fraction inside after doing it now.
    volume : Quantity
        Fresh fluid used now.
    cost : float or uncertain number
        Fluid, washers and filter now, in the job's currency.
    hours : float
        Hands-on time now.
    age : Quantity
        Mean age of the fill averaged over the horizon, repeating the method at its rhythm.
    horizon_volume : Quantity
        Fresh fluid over the horizon.
    horizon_cost : float or uncertain number
        Fluid, washers and filters over the horizon.
    outside_band : float
        Chance that the level ends outside the marks before the stick corrects it.
    impossible : str
        Why it cannot be done here, or an empty text.
    cost_per_point : float, uncertain number or None
        Money for each percentage point of old fluid removed now; None when none is.
    cost_per_litre_year : float, uncertain number or None
        Money for each litre-year of age saved over the horizon against doing nothing; None when none is.
    best_somewhere : bool
        Whether no other possible method beats it on age, litres and money at once.
    """

    key: str
    name: str
    fresh: Any
    volume: Any
    cost: Any
    hours: float
    age: Any
    horizon_volume: Any
    horizon_cost: Any
    outside_band: float
    impossible: str
    cost_per_point: Any = None
    cost_per_litre_year: Any = None
    best_somewhere: bool = False


@dataclass(frozen=True, slots=True)
class Comparison:
    """The methods side by side.

    Attributes
    ----------
    methods : tuple of MethodResult
        In the order of `NAMES`.
    currency : str
        A label only.
    assumptions : tuple of str
        What was taken where the job says nothing.
    """

    methods: tuple[MethodResult, ...]
    currency: str
    assumptions: tuple[str, ...] = field(default=())

    def __getitem__(self, key: str) -> MethodResult:
        for method in self.methods:
            if method.key == key:
                return method
        raise KeyError(key)

    @property
    def frontier(self) -> tuple[MethodResult, ...]:
        """The possible methods that no other beats on age, litres and money at once."""
        return tuple(m for m in self.methods if m.best_somewhere)

    def now(self) -> tuple[list[str], list[list[str]]]:
        """Columns and rows of what each method does today."""
        columns = ["method", "fresh inside", "fluid", f"cost, {self.currency}", "per point", "hours", "level off the marks"]
        return columns, [
            [m.name, m.impossible, "", "", "", "", ""] if m.impossible
            else [
                m.name, percent(m.fresh), figure(m.volume.magnitude, "L", 1), figure(nominal(m.cost), "", 0),
                "–" if m.cost_per_point is None else figure(nominal(m.cost_per_point), "", 1), f"{m.hours:g}",
                percent(m.outside_band, 1) if m.outside_band >= 0.001 else "under 0.1 %",
            ]
            for m in self.methods
            if m.key != "yearly"
        ]  # fmt: skip

    def over_years(self) -> tuple[list[str], list[list[str]]]:
        """Columns and rows of what each method comes to over the horizon, repeated at its rhythm."""
        columns = ["method", "mean age", "fluid", f"cost, {self.currency}", "per litre-year saved", "unbeaten"]
        return columns, [
            [
                m.name, figure(m.age.magnitude, "y", 1), figure(nominal(m.horizon_volume.magnitude), "L", 0),
                figure(nominal(m.horizon_cost), "", 0),
                "–" if m.cost_per_litre_year is None else figure(nominal(m.cost_per_litre_year), "", 1),
                "yes" if m.best_somewhere else "a bound" if m.key in BOUNDS else "",
            ]
            for m in self.methods
            if not m.impossible
        ]  # fmt: skip

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain JSON data."""
        return {
            "currency": self.currency,
            "assumptions": list(self.assumptions),
            "methods": [
                {
                    "key": m.key, "name": m.name, "impossible": m.impossible, "unbeaten": m.best_somewhere, "hours": m.hours,
                    "outside_band": m.outside_band, "fresh": plain(m.fresh, "1"), "volume": plain(m.volume.magnitude, "L"),
                    "cost": plain(m.cost, self.currency), "mean_age": plain(m.age.magnitude, "y"),
                    "horizon_volume": plain(m.horizon_volume.magnitude, "L"), "horizon_cost": plain(m.horizon_cost, self.currency),
                    "cost_per_point": None if m.cost_per_point is None else plain(m.cost_per_point, self.currency),
                    "cost_per_litre_year": None if m.cost_per_litre_year is None else plain(m.cost_per_litre_year, self.currency),
                }
                for m in self.methods
            ],
        }  # fmt: skip

    def _repr_markdown_(self) -> str:
        from sumpwise.service.sheet import Section

        parts = (("now", "Methods side by side", self.now()), ("years", "Over the years", self.over_years()))
        return "\n\n".join(Section(key, title, columns=columns, rows=rows).to_markdown() for key, title, (columns, rows) in parts)


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
    flows = {name: range_of(name, *prior, FLOW_WORDS[name]) for name, prior in UNPUBLISHED.items()}
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
    from sumpwise.service.sticks import dipstick_of

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


def compare_methods(job: Job, horizon: Any = "10 y") -> Comparison:
    """Compare the ways to renew the fill, now and over the years.

    Parameters
    ----------
    job : Job
        The vehicle with its history, tools and prices.
    horizon : time
        How far to look.

    Returns
    -------
    Comparison
        For each method: fresh fraction inside with its uncertainty, litres, money, hours, mean age over the horizon, the chance of ending
        outside the level band, and why it may be impossible. Percent fresh is never percent of life left.

    Raises
    ------
    SumpwiseError
        For a horizon that is no time.

    Notes
    -----
    Each method is repeated at the job's interval, "one drain, again every year" yearly. Money is fluid at the price per litre of the
    cheapest pack, washers and filters. The frontier compares mean age, litres and money over the horizon.

    Examples
    --------
    >>> from sumpwise import Job, compare_methods
    >>> comparison = compare_methods(Job.demo())
    >>> f"{comparison['drain'].fresh.nominal_value:.0%}"
    '37%'
    """
    until = argument("time", above=0, scalar=True).read(horizon, "horizon")
    total, doubt = total_of(job)
    assumptions = [doubt] if doubt else []
    circuit, assumed = circuit_of(job, total)
    plug = job.value("capacity", "plug_drain")
    pan = job.value("capacity", "pan_and_filter", 0.0)
    packs = job.entries("pack")
    litre_price = min((p["price"] / nominal(p["volume"]) for p in packs), default=0.0)
    washer, filter_price = job.value("costs", "washer", 0.0), job.value("costs", "filter", 0.0)
    interval = nominal(job.value("vehicle", "interval_time", 4 * MINUTES_A_YEAR))
    assumptions.append(f"Each method is repeated every {interval / MINUTES_A_YEAR:g} y, the yearly drain every year.")
    assumptions.append(
        "An exchange unit pushes {:g} ± {:g} totals; this and the hours are common practice without a source.".format(*MACHINE_TURNOVERS)
    )
    pushed = source(*MACHINE_TURNOVERS, name="fluid an exchange unit pushes") * total
    history = history_of(job)
    litres = {
        "nothing": 0.0, "drain": plug, "drains": 3 * plug, "yearly": plug, "machine stirred": pushed, "machine plug": pushed,
        "drain and machine": plug + pushed,
    }  # fmt: skip
    quantity = {key: answer(value, "volume") for key, value in litres.items()}
    whole, drained = answer(total, "volume"), answer(plug, "volume")
    once = drain_refill(drained, whole)
    fresh: dict[str, Any] = {
        "nothing": 0.0, "drain": once, "drains": drain_refill(drained, whole, times=3), "yearly": once,
        "machine stirred": exchange(quantity["machine stirred"], whole).resident,
        "machine plug": exchange(quantity["machine plug"], whole, tanks=PLUG_TANKS).resident,
    }  # fmt: skip
    fresh["drain and machine"] = once + (1 - once) * fresh["machine stirred"]
    stuck = ""
    if job.has("exchange", "burst", "bursts"):
        try:
            steps, first = run_of_bursts(job, circuit)
            fresh["bursts"] = steps[-1][1].resident if steps else first.resident
        except SumpwiseError as error:
            stuck, steps, fresh["bursts"] = f"the circuit refuses: {error.problem}", [], 0.0
        refill = job.value("exchange", "refill", plug + pan)
        litres["bursts"] = refill + job.value("exchange", "burst") * len(steps) + job.value("exchange", "trim", 0.0)
        quantity["bursts"] = answer(litres["bursts"], "volume")
        assumptions += assumed
    idle = over_horizon(history, (), "0 y", answer(until, "time", unit=by_symbol("y"))).average_age
    results = []
    for key, name in NAMES.items():
        if key not in fresh:
            continue
        rhythm = MINUTES_A_YEAR if key == "yearly" else interval
        changes = () if key == "nothing" else repeated_changes(
            answer(rhythm, "time", unit=by_symbol("y")), "0 y", answer(until, "time", unit=by_symbol("y")), fresh[key], quantity[key]
        )  # fmt: skip
        course = over_horizon(history, changes, "0 y", answer(until, "time", unit=by_symbol("y")), price=litre_price)
        parts = 0.0 if key == "nothing" else washer * (3 if key == "drains" else 1) + (filter_price if key == "bursts" else 0.0)
        cost, horizon_cost = litres[key] * litre_price + parts, course.cost + parts * course.number
        younger = nominal(course.average_age.magnitude) < nominal(idle.magnitude)
        results.append(MethodResult(
            key, name, fresh[key], quantity[key], cost, HOURS.get(key, 0.0), course.average_age,
            answer(_internal(course.volume), "volume"), horizon_cost, _outside(job, litres[key]),
            _impossible(job, key) or (stuck if key == "bursts" else ""),
            cost_per_point(cost, fresh[key]) if nominal(fresh[key]) > 0 else None,
            cost_per_litre_year(horizon_cost, whole, idle, course.average_age) if younger else None,
        ))  # fmt: skip
    return Comparison(_with_frontier(results), job.text("shopping", "currency", "money"), tuple(assumptions))


def _internal(quantity: Any) -> Any:
    return argument("volume").read(quantity, "volume")


def _impossible(job: Job, key: str) -> str:
    """Why a method cannot be done on this vehicle by its owner, or nothing."""
    sealed = job.value("vehicle", "level_check", "stick") == "sealed"
    if key != "nothing" and sealed:
        return "sealed fill: the maker's workshop checks the level"
    if key in ("bursts", "machine stirred", "machine plug", "drain and machine"):
        if not job.value("vehicle", "cooler_line", True):
            return "no cooler line to open"
        if key == "bursts" and job.value("vehicle", "cooler_thermostat", False):
            return "the thermostat shuts the cooler line until the fluid is hot"
    return ""


def _outside(job: Job, litres: Any) -> float:
    """Chance that poured minus drained misses half the band between the marks, by the vessel's scale and reading alone."""
    vessels = job.entries("vessel")
    if not vessels or not job.has("level", "marks_volume") or not nominal(litres):
        return 0.0
    scale = vessels[0].get("scale_uncertainty", 0.02)
    grain = nominal(vessels[0]["graduation"]) / 4 / sqrt(3)
    u = sqrt((scale * nominal(litres)) ** 2 + grain**2)
    return erfc(nominal(job.value("level", "marks_volume")) / 2 / u / sqrt(2))


def _with_frontier(results: list[MethodResult]) -> tuple[MethodResult, ...]:
    from dataclasses import replace

    def merits(m: MethodResult) -> tuple[float, float, float]:
        return nominal(m.age.magnitude), nominal(m.horizon_volume.magnitude), nominal(m.horizon_cost)

    def beaten(m: MethodResult) -> bool:
        mine = merits(m)
        if m.key in BOUNDS:
            return True
        return any(
            all(a <= b for a, b in zip(merits(o), mine, strict=True)) and merits(o) != mine for o in results
            if o is not m and not o.impossible and o.key not in BOUNDS
        )  # fmt: skip

    return tuple(replace(m, best_somewhere=not m.impossible and not beaten(m)) for m in results)
