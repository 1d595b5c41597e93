"""The methods side by side: how fresh inside, how many litres, the cost, the age over the years, and why one may be impossible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sumpwise.ageing.rhythms import over_horizon, repeated_changes
from sumpwise.buying.quotes import cost_per_litre_year, cost_per_point
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import answer, inside
from sumpwise.quantities.units import by_symbol
from sumpwise.service.dates import YEAR
from sumpwise.service.facts.assumed import assumed
from sumpwise.service.facts.fact import Amount, Count, Fact, Money, Part, Plain, Share, Table, Value, Word, item
from sumpwise.service.facts.phrases import chance, named
from sumpwise.service.methods.ending import outside
from sumpwise.service.methods.method import Method, at_least
from sumpwise.service.methods.registry import METHODS
from sumpwise.service.render.figures import plain
from sumpwise.service.render.writer import spoken
from sumpwise.service.sheet import Section
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.asked import Assumption
    from sumpwise.service.case import Case

TENTH, WHOLE = 0.1, 1.0


@dataclass(frozen=True, slots=True)
class MethodResult:
    """The result of one method.

    Attributes
    ----------
    key : str
        Which method.
    fresh : float or uncertain number
        Fresh fraction inside after doing it now.
    litres : float or uncertain number
        Fresh fluid used now; `volume` is the same as a Quantity.
    count : int
        Drains, bursts or exchanges at one service.
    probability : float or None
        Probability of being at least as fresh inside as the target; None if the job has no target.
    meets_target : bool or None
        Whether that is at least the required probability.
    cost : float or uncertain number
        Fluid, washers and filter now, in the job's currency; a machine exchange costs what the shop's quote says, if there is one.
    washers, filters : int
        Used now.
    hours : float
        Hands-on time now.
    minutes : float or uncertain number
        Mean age of the fill averaged over the horizon, repeating the method at its interval; `age` is the same as a Quantity, in years.
    horizon_litres : float or uncertain number
        Fresh fluid over the horizon; `horizon_volume` is the same as a Quantity.
    horizon_cost : float or uncertain number
        Fluid, washers and filters over the horizon.
    outside_band : float or None
        Chance that the level ends outside the marks if filled by the count, before the stick corrects it; None if the job has no stick or
        no vessel.
    why : Word or None
        Why it cannot be done here, as an entry of the catalogue.
    bound : bool
        Whether it is only a limit on what another method can reach.
    cost_per_point : float, uncertain number or None
        Cost of each percentage point of old fluid removed now; None if none is.
    cost_per_litre_year : float, uncertain number or None
        Cost of each litre kept a year younger on average (a litre-year), over the horizon, compared with doing nothing; None if none is.
    cost_per_year : float, uncertain number or None
        The same for the whole fill being a year younger.
    best_somewhere : bool
        Whether no other possible method beats it on age, litres and cost at once.
    """

    key: str
    fresh: Any
    litres: Any
    count: int
    probability: float | None
    meets_target: bool | None
    cost: Any
    washers: int
    filters: int
    hours: float
    minutes: Any
    horizon_litres: Any
    horizon_cost: Any
    outside_band: float | None
    why: Word | None
    bound: bool
    cost_per_point: Any = None
    cost_per_litre_year: Any = None
    cost_per_year: Any = None
    best_somewhere: bool = False

    @property
    def volume(self) -> Any:
        """Fresh fluid used now, a Quantity."""
        return answer(self.litres, "volume")

    @property
    def age(self) -> Any:
        """Mean age of the fill averaged over the horizon, a Quantity in years."""
        return answer(self.minutes, "time", unit=by_symbol("y"))

    @property
    def horizon_volume(self) -> Any:
        """Fresh fluid over the horizon, a Quantity."""
        return answer(self.horizon_litres, "volume")

    @property
    def name(self) -> str:
        """Its name."""
        return spoken().text(named(self.key))

    @property
    def impossible(self) -> str:
        """Why it cannot be done here, or an empty text."""
        return "" if self.why is None else spoken().text(self.why)


@dataclass(frozen=True, slots=True)
class Comparison:
    """The methods side by side.

    Attributes
    ----------
    methods : tuple of MethodResult
        In the order of `registry.METHODS`.
    currency : str
        Only a label.
    asked : tuple of Assumption
        What was assumed because the job does not say it.
    remarks : tuple of str
        Ids of what was assumed about the methods themselves.
    years : int
        The horizon, rounded.
    taken : tuple of Fact
        Both, as facts.
    assumptions : tuple of str
        The same as sentences, in metric units.
    """

    methods: tuple[MethodResult, ...]
    currency: str
    asked: tuple[Assumption, ...]
    remarks: tuple[str, ...]
    years: int

    @property
    def taken(self) -> tuple[Fact, ...]:
        """What was assumed because the job does not say it, as facts."""
        return (*map(assumed, self.asked), *map(item, self.remarks))

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was assumed because the job does not say it, as sentences."""
        return tuple(spoken().sentence(fact) for fact in self.taken)

    def __iter__(self) -> Iterator[MethodResult]:
        return iter(self.methods)

    def __len__(self) -> int:
        return len(self.methods)

    def __getitem__(self, key: str) -> MethodResult:
        for method in self.methods:
            if method.key == key:
                return method
        raise KeyError(f"{key!r} is none of {', '.join(method.key for method in self.methods)}")

    @property
    def frontier(self) -> tuple[MethodResult, ...]:
        """The possible methods that no other beats on age, litres and cost at once."""
        return tuple(m for m in self.methods if m.best_somewhere)

    def to_dict(self) -> dict[str, Any]:
        """Return the comparison as plain JSON data."""
        return {
            "currency": self.currency,
            "assumptions": list(self.assumptions),
            "methods": [
                {
                    "key": m.key, "name": m.name, "impossible": m.impossible, "unbeaten": m.best_somewhere, "hours": m.hours,
                    "washers": m.washers, "filters": m.filters,
                    "count": m.count, "probability": m.probability, "meets_target": m.meets_target,
                    "outside_band": m.outside_band, "fresh": plain(m.fresh, "1"), "volume": plain(m.litres, "L"),
                    "cost": plain(m.cost, self.currency), "mean_age": plain(m.minutes / YEAR, "y"),
                    "horizon_volume": plain(m.horizon_litres, "L"), "horizon_cost": plain(m.horizon_cost, self.currency),
                    "cost_per_point": None if m.cost_per_point is None else plain(m.cost_per_point, self.currency),
                    "cost_per_litre_year": None if m.cost_per_litre_year is None else plain(m.cost_per_litre_year, self.currency),
                }
                for m in self.methods
            ],
        }  # fmt: skip

    @property
    def today(self) -> Table:
        """The result of each method now, or why it cannot be done."""
        level = any(method.outside_band is not None for method in self)
        columns = ["method", "times", "fresh", "fluid", "washers", "filters", "cost", "point", "hours", *(["outside"] if level else [])]
        rows = [_row(method, self.currency, level) for method in self if method.key != "yearly"]
        return Table(tuple(f"methods.column.{name}" for name in columns), rows)

    @property
    def over_years(self) -> Table:
        """The result of each method over the horizon, repeated at its interval."""
        rows: list[list[Value]] = [
            [
                named(method.key), Amount("years", method.minutes),
                Amount("volume", nominal(method.horizon_litres), step=WHOLE),
                Money(method.horizon_cost, self.currency, 0),
                Word("dash") if method.cost_per_year is None else Money(method.cost_per_year, self.currency, 0),
                Word("years.best" if method.best_somewhere else "years.bound" if method.bound else "none"),
            ]
            for method in self
            if method.why is None
        ]  # fmt: skip
        return Table(tuple(f"years.column.{name}" for name in ("method", "age", "fluid", "cost", "saved", "best")), rows)

    def _sections(self) -> list[Section]:
        years = {"years": Count(self.years)}
        return [spoken().section(part) for part in (Part("methods", table=self.today), Part("years", table=self.over_years, title=years))]

    def __str__(self) -> str:
        return "\n\n".join(section.to_markdown() for section in self._sections())

    def _repr_markdown_(self) -> str:
        return f"{self}\n"

    def _repr_html_(self) -> str:
        return "\n".join(section.to_html() for section in self._sections())

    def __repr__(self) -> str:
        return f"<Comparison: {', '.join(m.key for m in self.methods)}; best somewhere: {', '.join(m.key for m in self.frontier)}>"


def _row(method: MethodResult, currency: str, level: bool) -> list[Value]:
    if method.why is not None:
        return [named(method.key), method.why, *(Word("none") for _ in range(7 + level))]
    point = method.cost_per_point
    cells: list[Value] = [
        named(method.key), Count(method.count), Share(method.fresh), Amount("volume", method.litres, step=TENTH),
        Count(method.washers), Count(method.filters), Money(method.cost, currency, 0),
        Word("dash") if point is None else Money(point, currency, 1), Plain(method.hours, 0),
    ]  # fmt: skip
    return [*cells, chance(method.outside_band or 0.0)] if level else cells


def compared(case: Case, horizon: float) -> Comparison:
    """The methods of a case over a horizon in minutes."""
    methods = [method for method in METHODS if method.compared(case)]
    until = inside(horizon, "time")
    idle = over_horizon(case.history, (), "0 y", until).average_age
    results = _with_frontier([_result(case, method, until, idle) for method in methods])
    remarks = dict.fromkeys(remark for method in methods for remark in method.remarks(case))
    return Comparison(results, case.currency, tuple(case.assumptions), tuple(remarks), round(horizon / YEAR))


def _result(case: Case, method: Method, until: Any, idle: Any) -> MethodResult:
    why = method.impossible(case)
    stuck = why is not None and method.led
    times = 1 if stuck else method.times(case)
    fresh, volume, cost = (0.0, 0.0, 0.0) if stuck else (method.fresh(case), method.volume(case), method.cost(case))
    unchecked = ((), case.start) if stuck else method.unchecked(case)
    rhythm = method.rhythm(case)
    changes = () if rhythm is None else repeated_changes(inside(rhythm, "time"), "0 y", until, fresh, inside(volume, "volume"))
    course = over_horizon(case.history, changes, "0 y", until)
    horizon_cost = cost * course.number
    minutes = number_in(course.average_age, "min")
    younger = nominal(minutes) < nominal(number_in(idle, "min"))
    sure = at_least(fresh, case.target) if case.has("target", "fresh") else None
    saved = cost_per_litre_year(horizon_cost, inside(case.total, "volume"), idle, course.average_age) if younger else None
    return MethodResult(
        method.key, fresh, volume, 0 if stuck else method.count(case), sure, None if sure is None else sure >= case.probability,
        cost, times * method.washers, times * method.filters(case), method.hours(case), minutes,
        number_in(course.volume, "L"), horizon_cost, outside(case, *unchecked), why, method.bound,
        cost_per_point(cost, fresh) if nominal(fresh) > 0 else None,
        saved, None if saved is None else saved * case.total,
    )  # fmt: skip


def _with_frontier(results: list[MethodResult]) -> tuple[MethodResult, ...]:
    merits = {m.key: tuple(map(nominal, (m.minutes, m.horizon_litres, m.horizon_cost))) for m in results if m.why is None and not m.bound}

    def beaten(mine: tuple[float, ...]) -> bool:
        return any(other != mine and all(a <= b for a, b in zip(other, mine, strict=True)) for other in merits.values())

    return tuple(replace(m, best_somewhere=True) if m.key in merits and not beaten(merits[m.key]) else m for m in results)
