"""The methods side by side: how fresh inside, how many litres, what money, what age over the years, and why one may be impossible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil, erfc, exp, hypot, pi, sqrt
from typing import Any

from sumpwise._uncertain import combine, nominal, source, standard
from sumpwise.ageing.rhythms import over_horizon, repeated_changes
from sumpwise.buying.quotes import cost_per_litre_year, cost_per_point
from sumpwise.errors import SumpwiseError, expect
from sumpwise.mixing.batch import drain_refill
from sumpwise.mixing.continuous import exchange
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.units import by_symbol
from sumpwise.service.figures import figure, percent, plain
from sumpwise.service.job import Job
from sumpwise.service.movements import vessels_of
from sumpwise.service.sheet import Section
from sumpwise.service.vehicle import MINUTES_A_YEAR, circuit_of, currency_of, history_of, run_of_bursts, start_error, total_of

HORIZON = 10 * MINUTES_A_YEAR
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

HOURS = {"drain": 1.0, "drains": 3.0, "yearly": 1.0, "bursts": 3.0, "machine stirred": 1.0, "machine plug": 1.0, "drain and machine": 2.0}
"""Hands-on hours at one service; common practice, no source."""
WASHERS = {"drain": 1, "drains": 3, "yearly": 1, "bursts": 1, "drain and machine": 1}
"""Plug washers of one service: a new one whenever the plug was out."""
FILTERS = {"bursts": 1}
"""Filters of one service: where the pan comes off."""
SURE = 1e-9
"""Spread of a share below which plug flow has certainly filled the whole."""
MACHINES = ("machine stirred", "machine plug", "drain and machine")
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
        Fluid, washers and filter now, in the job's currency; an exchange by a machine costs what the shop's quote says, where there is one.
    washers, filters : int
        Used now.
    hours : float
        Hands-on time now.
    age : Quantity
        Mean age of the fill averaged over the horizon, repeating the method at its rhythm.
    horizon_volume : Quantity
        Fresh fluid over the horizon.
    horizon_cost : float or uncertain number
        Fluid, washers and filters over the horizon.
    outside_band : float or None
        Chance that the level ends outside the marks before the stick corrects it; None where the job has no stick or no vessel.
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
    washers: int
    filters: int
    hours: float
    age: Any
    horizon_volume: Any
    horizon_cost: Any
    outside_band: float | None
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

    def __iter__(self) -> Iterator[MethodResult]:
        return iter(self.methods)

    def __len__(self) -> int:
        return len(self.methods)

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
        columns = ["method", "fresh inside", "fluid", "washers", "filters", f"cost, {self.currency}", "per point", "hours"]
        level = any(m.outside_band is not None for m in self.methods)
        rows = []
        for m in self.methods:
            if m.key == "yearly":
                continue
            cells = [
                percent(m.fresh), figure(m.volume.magnitude, "L", 1), f"{m.washers}", f"{m.filters}", figure(nominal(m.cost), "", 0),
                "–" if m.cost_per_point is None else figure(nominal(m.cost_per_point), "", 1), f"{m.hours:g}",
            ]  # fmt: skip
            if level:
                cells.append("under 0.1 %" if (chance := m.outside_band or 0.0) < 0.001 else percent(chance, 1))
            rows.append([m.name, m.impossible, *[""] * (len(cells) - 1)] if m.impossible else [m.name, *cells])
        return columns + ["chance off the marks"] * level, rows

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
                    "washers": m.washers, "filters": m.filters,
                    "outside_band": m.outside_band, "fresh": plain(m.fresh, "1"), "volume": plain(m.volume.magnitude, "L"),
                    "cost": plain(m.cost, self.currency), "mean_age": plain(m.age.magnitude, "y"),
                    "horizon_volume": plain(m.horizon_volume.magnitude, "L"), "horizon_cost": plain(m.horizon_cost, self.currency),
                    "cost_per_point": None if m.cost_per_point is None else plain(m.cost_per_point, self.currency),
                    "cost_per_litre_year": None if m.cost_per_litre_year is None else plain(m.cost_per_litre_year, self.currency),
                }
                for m in self.methods
            ],
        }  # fmt: skip

    def _parts(self) -> list[Section]:
        parts = (("now", "Methods side by side", self.now()), ("years", "Over the years", self.over_years()))
        return [Section(key, title, columns=columns, rows=rows) for key, title, (columns, rows) in parts]

    def _repr_markdown_(self) -> str:
        return "\n\n".join(part.to_markdown() for part in self._parts()) + "\n"

    def _repr_html_(self) -> str:
        return "\n".join(part.to_html() for part in self._parts())

    def __repr__(self) -> str:
        return f"<Comparison: {', '.join(m.key for m in self.methods)}; unbeaten: {', '.join(m.key for m in self.frontier)}>"


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
    cheapest pack, washers and filters; litres and price of an exchange by a machine are those of the quote. The frontier compares mean
    age, litres and money over the horizon.

    Examples
    --------
    >>> from sumpwise import Job, compare_methods
    >>> comparison = compare_methods(Job.demo())
    >>> f"{comparison['drain'].fresh.nominal_value:.0%}"
    '37%'
    """
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    until = argument("time", above=0, scalar=True).read(horizon, "horizon")
    total, doubt = total_of(job)
    assumptions = [doubt] if doubt else []
    plug = job.value("capacity", "plug_drain")
    pan = job.value("capacity", "pan_and_filter", 0.0)
    packs = job.entries("pack")
    litre_price = min((p["price"] / nominal(p["volume"]) for p in packs), default=0.0)
    washer, filter_price = job.value("costs", "washer", 0.0), job.value("costs", "filter", 0.0)
    interval = nominal(job.value("vehicle", "interval_time", 4 * MINUTES_A_YEAR))
    assumptions.append(f"Each method is repeated every {interval / MINUTES_A_YEAR:g} y, the yearly drain every year.")
    pushed, shop = job.value("quote", "volume"), job.value("quote", "price")
    assumptions.append(
        "An exchange unit pushes {:g} ± {:g} totals; this and the hours are common practice without a source.".format(*MACHINE_TURNOVERS)
        if pushed is None
        else f"An exchange unit pushes the {job.text('quote', 'volume')} of the quote; the hours are common practice without a source."
    )
    assumptions.append(
        "An exchange by a machine costs its fluid; the work of the shop is not counted." if shop is None
        else "An exchange by a machine costs what the quote says, fluid included."
    )  # fmt: skip
    if pushed is None:
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
        "machine plug": _plug_flow(pushed / total),
    }  # fmt: skip
    fresh["drain and machine"] = once + (1 - once) * fresh["machine stirred"]
    stuck = ""
    if job.has("exchange", "burst", "bursts"):
        try:
            circuit, assumed = circuit_of(job, total)
            assumptions += assumed
            steps, first = run_of_bursts(job, circuit)
            fresh["bursts"] = steps[-1][1].resident if steps else first.resident
        except SumpwiseError as error:
            stuck, steps, fresh["bursts"] = f"stop: {error.problem}" + (f"; {error.hint}" if error.hint else ""), [], 0.0
        refill = job.value("exchange", "refill", plug + pan)
        litres["bursts"] = refill + job.value("exchange", "burst") * len(steps) + job.value("exchange", "trim", 0.0)
        quantity["bursts"] = answer(litres["bursts"], "volume")
    idle = over_horizon(history, (), "0 y", answer(until, "time", unit=by_symbol("y"))).average_age
    results = []
    for key, name in NAMES.items():
        if key not in fresh:
            continue
        rhythm = MINUTES_A_YEAR if key == "yearly" else interval
        changes = () if key == "nothing" else repeated_changes(
            answer(rhythm, "time", unit=by_symbol("y")), "0 y", answer(until, "time", unit=by_symbol("y")), fresh[key], quantity[key]
        )  # fmt: skip
        course = over_horizon(history, changes, "0 y", answer(until, "time", unit=by_symbol("y")))
        washers, filters = WASHERS.get(key, 0), FILTERS.get(key, 0)
        asked = shop if key in MACHINES else None
        parts = washers * washer + filters * filter_price
        cost = litres[key] * litre_price + parts if asked is None else (litres[key] - pushed) * litre_price + parts + asked
        horizon_cost = cost * course.number
        younger = nominal(course.average_age.magnitude) < nominal(idle.magnitude)
        results.append(MethodResult(
            key, name, fresh[key], quantity[key], cost, washers, filters, HOURS.get(key, 0.0), course.average_age,
            answer(_internal(course.volume), "volume"), horizon_cost, _outside(job, litres[key]),
            _impossible(job, key) or (stuck if key == "bursts" else ""),
            cost_per_point(cost, fresh[key]) if nominal(fresh[key]) > 0 else None,
            cost_per_litre_year(horizon_cost, whole, idle, course.average_age) if younger else None,
        ))  # fmt: skip
    return Comparison(_with_frontier(results), currency_of(job), tuple(assumptions))


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


def _plug_flow(turnovers: Any) -> Any:
    """Resident fresh fraction min(1, θ) of plug flow, θ normal: mean and spread exactly, for first order fails at the bound."""
    best, u = nominal(turnovers), standard(turnovers)
    if not u:
        return min(1.0, best)
    z = (1 - best) / u
    below, height = erfc(-z / sqrt(2)) / 2, exp(-z * z / 2) / sqrt(2 * pi)
    short = u * (z * below + height)
    spread = sqrt(max(u * u * ((z * z + 1) * below + z * height) - short * short, 0.0))
    return source(1 - short, spread, name="plug flow") if spread > SURE else 1 - short


def _outside(job: Job, litres: Any) -> float | None:
    """Chance that the level ends off the marks when as much goes in as came out: start level, and fills of the first vessel."""
    vessel = next(iter(vessels_of(job).values()), None)
    if vessel is None or not job.has("level", "marks_volume"):
        return None
    start, half = start_error(job), nominal(job.value("level", "marks_volume")) / 2
    read = nominal(litres) / vessel.scale
    fills = ceil(read / vessel.capacity) if vessel.capacity else int(read > 0)
    each = [(1.0, number_in(vessel.volume(answer(read / fills, "volume")), "L")) for _ in range(fills)]
    doubt = standard(combine(0.0, each))
    u, off = hypot(standard(start), doubt), nominal(start)
    return (erfc((half - off) / u / sqrt(2)) + erfc((half + off) / u / sqrt(2))) / 2 if u else float(abs(off) > half)


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
