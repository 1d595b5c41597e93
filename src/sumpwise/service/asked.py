"""What a job says, or what is assumed instead: asking for a default records it."""

from __future__ import annotations

from functools import cache
from math import log, sqrt
from typing import Any, NamedTuple, Self

from sumpwise.mixing.circuit.compartments import UNIFORM
from sumpwise.quantities.boundary import Argument, argument
from sumpwise.service.job import Job
from sumpwise.service.keys import LOOSELY, Default, Doubt, Key
from sumpwise.service.render.systems import System, system_named
from sumpwise.service.schema import INTERVAL, LISTS, TABLES, TEMPERATURE
from sumpwise.service.tracing import Traced, WorkedOut
from sumpwise.service.weights import DOUBT
from sumpwise.uncertainty import contributions, nominal, source, standard

NUMBER = argument("number", scalar=True)
LEVEL = "level"
"""Role of a source that all readings of the stick share."""

Place = tuple[str, str, int]
"""Table, key, and the identity of the entry of a list."""


class Assumption(NamedTuple):
    """Something assumed because the job does not say it.

    Attributes
    ----------
    id : str
        Such as `assumed.exchange.flow`.
    key : Key
        The key of the schema.
    whose : str
        Name of the entry if it is in a list, else empty.
    taken : Default or Doubt
        As the schema has it, with its reason.
    values : dict
        Place where it was assumed -> value, in the internal unit of its kind; for a default that is a multiple, the factor.
    """

    id: str
    key: Key
    whose: str
    taken: Default | Doubt
    values: dict[Place, Any]


class Asked(Traced[Place]):
    """The layer of a case that knows what a job says, and what is assumed instead."""

    def __init__(self, job: Job, units: str | None = None) -> None:
        super().__init__()
        self.job = job
        self.units = units
        self.best_only = False
        self._assumed: dict[str, Assumption] = {}

    def with_(self, **changes: Any) -> Self:
        """The case of the job with changes, as `Job.with_` takes them."""
        return type(self)(self.job.with_(**changes), self.units)

    def ask(self, table: str, key: str, entry: dict[str, Any] | None = None, *, base: Any = None) -> Any:
        """What the job says; else the default of the schema, which then becomes an assumption; None if there is neither.

        The entry is that of a list. `base` is what a default is a multiple of; by default, the total. The answer is in the internal unit of
        its kind, and always the same source of uncertainty, however often it is asked for.
        """
        spec = (TABLES.get(table) or LISTS[table])[key]
        written = self.job.value(table, key) if entry is None else entry.get(key)
        rule = spec.default if written is None else spec.doubt
        taken = rule(self, entry or {}) if callable(rule) else rule
        place = (table, key, 0 if entry is None else id(entry))
        if place not in self.known and (taken is None or (written is not None and standard(written))):
            return written
        value = self.once(place, self._take, place, spec, written, taken, entry or {})
        if isinstance(taken, Default) and taken.of:
            return value * (self.total if base is None else base)
        return value

    @WorkedOut
    def system(self) -> System:
        """The units of the reader."""
        return system_named(self.ask("report", "units") if self.units is None else self.units, self.job)

    @WorkedOut
    def total(self) -> Any:
        """The whole fill."""
        return self.ask("capacity", "total")

    def _take(self, place: Place, spec: Key, written: Any, taken: Default | Doubt, entry: dict[str, Any]) -> Any:
        self.rests_on(place)
        words = place[1].replace("_", " ")
        value = _doubted(written, taken, spec, words) if isinstance(taken, Doubt) else self.read_default(spec, taken, words)
        if taken.reason:
            self._assume(place, entry, value, taken)
        return value

    def read_default(self, spec: Key, taken: Default, words: str = "") -> Any:
        """A default in the internal unit of its kind; for a multiple, the factor."""

        def read(value: Any) -> Any:
            if taken.of:
                return NUMBER.value(value, words)
            return spec.kind.value(value, words) if isinstance(spec.kind, Argument) else value

        return _spread(read(taken.low), read(taken.high), taken.shape, words) if taken.shape else read(taken.value)

    def _assume(self, place: Place, entry: dict[str, Any], value: Any, taken: Default | Doubt) -> None:
        table, key, _ = place
        whose = str(entry.get("name", ""))
        id_ = ".".join(["assumed", table, key, *(["doubt"] if isinstance(taken, Doubt) else [])])
        new = Assumption(id_, (TABLES.get(table) or LISTS[table])[key], whose, taken, {})
        self._assumed.setdefault(f"{id_} {whose}", new).values[place] = value

    def otherwise(self, values: dict[Place, Any]) -> Self:
        """A copy of the case with something assumed differently; results that do not depend on it, and those that are held, are kept.

        Its circuits are run with best estimates only.
        """
        other = type(self)(self.job, self.units)
        other.best_only = True
        other.take_over(self, values)
        return other

    def lasting(self, value: Any) -> list[tuple[Any, float]]:
        """The sources of a value's uncertainty, with their parts, that belong to the vehicle or a tool: the next service shares them.

        The others belong to a single reading.
        """
        tables = [self.job.value(table, key) for table, keys in TABLES.items() for key in keys]
        taken = [told for place, (told, _) in self.known.items() if isinstance(place, tuple) and place[0] != "log"]
        again = {cause for one in [*tables, *taken] for cause, _ in contributions(one)}
        of_a_tool = [(cause, part) for cause, part in contributions(value) if part]
        return [(cause, part) for cause, part in of_a_tool if cause.vessel or cause.role == LEVEL or cause in again]

    @property
    def assumptions(self) -> list[Assumption]:
        """What has been assumed so far, in the order of the schema."""
        for loose in self.job.loose:
            entry = {} if loose.entry is None else self.job.entries(loose.table)[loose.entry]
            value = entry[loose.key] if entry else self.job.value(loose.table, loose.key)
            u = standard(value)
            warm = (TABLES | LISTS)[loose.table][loose.key].kind == TEMPERATURE
            doubt = Doubt(f"{u:.2g} Δ°C" if warm else u / abs(nominal(value) or 1.0), LOOSELY)
            self._assume((loose.table, loose.key, id(entry) if entry else 0), entry, value, doubt)
        if any(spot.table == "log" for spot in self.job.weighed) and not standard(self.job.value("fluid", "density_15")):
            self._assume(("fluid", "density_15", 0), {}, self.job.value("fluid", "density_15"), DOUBT)
        order = _order()
        return sorted(self._assumed.values(), key=lambda one: order[one.id.removeprefix("assumed.").removesuffix(".doubt")])

    def has(self, table: str, *keys: str) -> bool:
        """Whether the job has all of these keys."""
        return self.job.has(table, *keys)


@cache
def _order() -> dict[str, int]:
    """The place of each key in the schema."""
    return {key: i for i, key in enumerate(f"{table}.{key}" for table, keys in (TABLES | LISTS).items() for key in keys)}


def _doubted(value: Any, taken: Doubt, spec: Key, words: str) -> Any:
    """A written value with the uncertainty that is assumed for it."""
    kind = INTERVAL if spec.kind == TEMPERATURE or not isinstance(spec.kind, Argument) else spec.kind
    u = taken.value * nominal(value) if isinstance(taken.value, float) else nominal(kind.value(taken.value))
    return source(value, u, name=words) if u else value


def _spread(low: Any, high: Any, shape: str, words: str) -> Any:
    """An uncertain number over a range."""
    low, high = nominal(low), nominal(high)
    if shape == UNIFORM:
        return source((low + high) / 2, (high - low) / 2 / sqrt(3), shape="rectangular", name=words)
    mean = (high - low) / log(high / low)
    return source(mean, sqrt((high**2 - low**2) / 2 / log(high / low) - mean**2), name=words)
