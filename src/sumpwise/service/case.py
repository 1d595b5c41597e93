"""A case: whatever follows from one job, each thing worked out once; sections, cards and the record only read it."""

from __future__ import annotations

from math import inf, log, pi, sqrt
from typing import Any, NamedTuple, TypeVar

from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.filling.bursts import KEPT, BurstPlan, burst_plan, longest_burst
from sumpwise.filling.level import Dipstick
from sumpwise.filling.overflow import OverflowPlug
from sumpwise.filling.pouring import pour_rate
from sumpwise.filling.vessel import Vessel
from sumpwise.fluid.viscosity import viscosity_at
from sumpwise.inference.prior import UNIFORM
from sumpwise.mixing.circuit import Circuit
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import Argument, answer, argument
from sumpwise.quantities.spans import Span
from sumpwise.quantities.units import by_symbol
from sumpwise.service.agreement import Agreement
from sumpwise.service.checks import CHECKS, Check
from sumpwise.service.dates import between
from sumpwise.service.facts.fact import Value, Word
from sumpwise.service.facts.refusals import refused
from sumpwise.service.holding import poured
from sumpwise.service.job import Job
from sumpwise.service.kinds import KINDS, OVERFLOW, Kind
from sumpwise.service.measures import FLOOR
from sumpwise.service.methods.bursts import BURSTS
from sumpwise.service.methods.comparison import Comparison, MethodResult, compared
from sumpwise.service.methods.method import Method
from sumpwise.service.methods.registry import BY_KEY
from sumpwise.service.movements import MOVING
from sumpwise.service.operations import Operation, follow
from sumpwise.service.schema import FLOWS, HOT, LISTS, LOOSELY, TABLES, TEMPERATURE, Default, Doubt, Key
from sumpwise.service.shopping import OWN, Basket, baskets, packs_of
from sumpwise.service.tracing import Traced, WorkedOut
from sumpwise.uncertainty import combine, contributions, nominal, source, standard

Known = TypeVar("Known")
COMPARTMENTS = ("converter", "cooler", "clutches", "pockets")
READ = ("drained", "poured")
"""Events that are read on a vessel."""
NUMBER = argument("number", scalar=True)
LEVEL = "level"
"""Role of a source that all readings of the stick share."""
TOO_HOT = 120.0
"""Degrees Celsius from which on the fluid is a stop sign by itself."""


Place = tuple[str, str, int]
"""Table, key, and the identity of the entry of a list."""


class Assumption(NamedTuple):
    """What was taken because the job does not say it.

    Attributes
    ----------
    id : str
        Such as `assumed.exchange.flow`.
    key : Key
        The key of the schema.
    whose : str
        Name of the entry of a list, or nothing.
    taken : Default or Doubt
        As the schema has it, with its reason.
    values : dict
        Where it was taken -> what, in the internal unit of its kind; of a default that is a multiple, how many times.
    """

    id: str
    key: Key
    whose: str
    taken: Default | Doubt
    values: dict[Place, Any]


class Case(Traced[Place]):
    """A job, and what follows from it. Volumes are litres at 20 °C, temperatures degrees Celsius, money in the job's currency.

    Parameters
    ----------
    job : Job
        What is written.
    """

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job
        self.best_only = False
        self._assumed: dict[str, Assumption] = {}

    def with_(self, **changes: Any) -> Case:
        """The case of the job with changes, as `Job.with_` takes them."""
        return Case(self.job.with_(**changes))

    # -- what is written, or taken instead

    def ask(self, table: str, key: str, entry: dict[str, Any] | None = None, *, base: Any = None) -> Any:
        """What the job says; else the default of the schema, which is then an assumption; None where there is neither.

        Parameters
        ----------
        table, key : str
            As in the schema.
        entry : dict, optional
            The entry, where the table is a list.
        base : float or uncertain number, optional
            What a default that is a multiple is a multiple of; by default the total.

        Returns
        -------
        float, uncertain number, str, bool or None
            In the internal unit of its kind; one source of uncertainty, however often it is asked for.
        """
        spec = (TABLES.get(table) or LISTS[table])[key]
        written = self.job.value(table, key) if entry is None else entry.get(key)
        taken: Default | Doubt | None = spec.doubt(self, entry or {}) if callable(spec.doubt) else spec.doubt
        if written is None:
            taken = spec.default(self, entry or {}) if callable(spec.default) else spec.default
        place = (table, key, 0 if entry is None else id(entry))
        self.rests_on(place)
        if place not in self.known:
            if taken is None or (written is not None and standard(written)):
                return written
            given = taken
            self.once(place, lambda: self._take(place, spec, written, given, entry or {}))
        value, places = self.known[place]
        self.rests_on(*places)
        if isinstance(taken, Default) and taken.of:
            return value * (self.total if base is None else base)
        return value

    def _take(self, place: Place, spec: Key, written: Any, taken: Default | Doubt, entry: dict[str, Any]) -> Any:
        words = place[1].replace("_", " ")
        value = _doubted(written, taken, words) if isinstance(taken, Doubt) else self.read_default(spec, taken, words)
        if taken.reason:
            self._assume(place, entry, value, taken)
        return value

    def read_default(self, spec: Key, taken: Default, words: str = "") -> Any:
        """A default in the internal unit of its kind, a number of one that is a multiple."""

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

    def otherwise(self, values: dict[Place, Any]) -> Case:
        """The same case with something taken otherwise; whatever does not rest on it, and what is held, is as it was.

        Circuits of it are led by best estimates alone.
        """
        other = Case(self.job)
        other.best_only = True
        other.take_over(self, values)
        return other

    def lasting(self, cause: Any) -> bool:
        """Whether a source of uncertainty belongs to the vehicle or a tool, so that the next service has it again; else to one reading."""
        if cause.vessel or cause.role == LEVEL:
            return True
        tables = [self.job.value(table, key) for table, keys in TABLES.items() for key in keys]
        taken = [value for place, (value, _) in self.known.items() if isinstance(place, tuple) and place[0] != "log"]
        return any(cause is known for value in [*tables, *taken] for known, _ in contributions(value))

    @property
    def assumptions(self) -> list[Assumption]:
        """What has been taken so far, in the order of the schema."""
        for loose in self.job.loose:
            entry = {} if loose.entry is None else self.job.entries(loose.table)[loose.entry]
            value = entry[loose.key] if entry else self.job.value(loose.table, loose.key)
            u = standard(value)
            warm = (TABLES | LISTS)[loose.table][loose.key].kind == TEMPERATURE
            doubt = Doubt(f"{u:.2g} Δ°C" if warm else u / abs(nominal(value) or 1.0), LOOSELY)
            self._assume((loose.table, loose.key, id(entry) if entry else 0), entry, value, doubt)
        order = {f"{table}.{key}": i for i, (table, key) in enumerate((t, k) for t, keys in (TABLES | LISTS).items() for k in keys)}
        return sorted(self._assumed.values(), key=lambda one: order[one.id.removeprefix("assumed.").removesuffix(".doubt")])

    def has(self, table: str, *keys: str) -> bool:
        """Whether the job says all of them."""
        return self.job.has(table, *keys)

    # -- the unit and its fluid

    @WorkedOut
    def total(self) -> Any:
        """The whole fill."""
        return self.ask("capacity", "total")

    @WorkedOut
    def density(self) -> Any:
        """Density at 15 °C, a Quantity."""
        return answer(nominal(self.ask("fluid", "density_15")), "density")

    @WorkedOut
    def cold(self) -> Any:
        """Temperature of the new fluid, a Quantity."""
        return answer(nominal(self.ask("fluid", "temperature")), "temperature")

    @WorkedOut
    def plug(self) -> Any:
        """What the plug lets out: as the job states it, else as the log has shown it, else what is usual."""
        found = None if self.has("capacity", "plug_drain") else self.agreement
        shown = found.plug_drain if isinstance(found, Agreement) and not found.conflict else None
        return shown if shown is not None and 0 < nominal(shown) < nominal(self.total) else self.ask("capacity", "plug_drain")

    @WorkedOut
    def pan(self) -> Any:
        """What pan and filter bring besides."""
        return self.ask("capacity", "pan_and_filter")

    @WorkedOut
    def history(self) -> FluidHistory:
        """Ages of the fill before the work, now as 0 y."""
        history = FluidHistory(_years(-self.ask("vehicle", "fluid_age")))
        for entry in sorted(self.job.entries("history"), key=lambda e: -self.ago(e)):
            history = history.replace(entry["share"], _years(-self.ago(entry)))
        return history

    def ago(self, entry: dict[str, Any]) -> float:
        """Minutes from an entry of the history to the work."""
        return nominal(entry["ago"]) if "ago" in entry else between(entry["date"], self.job.value("vehicle", "date"))

    @WorkedOut
    def interval(self) -> float:
        """Minutes between services."""
        return nominal(self.ask("vehicle", "interval_time"))

    # -- money and target

    @WorkedOut
    def currency(self) -> str:
        """What prices are counted in; a label only."""
        return str(self.ask("shopping", "currency"))

    @WorkedOut
    def cost_per_litre(self) -> float:
        """Price of the cheapest litre of the unit's own fluid; 0 where no pack of it is listed."""
        return min((price / nominal(number_in(volume, "L")) for volume, price, _ in packs_of(self, OWN)), default=0.0)

    @WorkedOut
    def baskets(self) -> list[Basket]:
        """What to buy, one basket a fluid, that of the unit first."""
        return baskets(self)

    @WorkedOut
    def target(self) -> float:
        """Share of new fluid wanted inside."""
        return nominal(self.ask("target", "fresh"))

    @WorkedOut
    def probability(self) -> float:
        """How sure to be of the target."""
        return nominal(self.ask("target", "probability"))

    # -- vessels, stick, and where the level is

    @WorkedOut
    def vessels(self) -> dict[str, Vessel]:
        """The vessels by name: those that are described, and whatever else the log names."""
        named = {entry["vessel"] for entry in self.job.entries("log") if "vessel" in entry}
        plain = {v["name"]: self._vessel(v) for v in (*self.job.entries("vessel"), *self.job.undescribed.values())}
        return plain | {name: Vessel(name, answer(volume, "volume")) for name, volume in self.packs.items() if name in named}

    @WorkedOut
    def packs(self) -> dict[str, float]:
        """Packs by name, and the litres in each; a vessel of the same name is no pack."""
        described = {v["name"] for v in self.job.entries("vessel")}
        return {pack["name"]: nominal(pack["volume"]) for pack in self.job.entries("pack") if pack["name"] not in described}

    def read(self, entry: dict[str, Any]) -> Any:
        """What the vessel of an entry showed, a Quantity; of packs, as well as their contents are known."""
        volume = self.packs.get(entry["vessel"])
        return answer(entry["reading"] if volume is None else poured(entry["reading"], volume), "volume")

    def _vessel(self, written: dict[str, Any]) -> Vessel:
        division = nominal(self.ask("vessel", "graduation", written))
        return Vessel(
            written["name"], answer(division, "volume"), scale=1 / (1 + nominal(self.ask("vessel", "reads_high", written))),
            scale_uncertainty=self.ask("vessel", "scale_uncertainty", written),
            reading_fraction=sqrt(3.0) * nominal(self.ask("vessel", "reading", written)) / division,
            tilt=answer(nominal(self.ask("vessel", "tilt", written)), "angle"), width=answer(1000.0 * self.width(written), "length"),
            residue=answer(self.ask("vessel", "film", written), "volume"), expansion=self.ask("vessel", "material_growth", written),
            air=self.ask("vessel", "air", written), capacity=answer(nominal(written["holds"]), "volume") if "holds" in written else None,
        )  # fmt: skip

    def _read_on(self, vessel: dict[str, Any]) -> list[dict[str, Any]]:
        return [entry for entry in self.job.entries("log") if entry.get("vessel") == vessel["name"] and "reading" in entry]

    def catches(self, vessel: dict[str, Any]) -> bool:
        """Whether fluid is drained into a vessel, by the log."""
        return vessel["name"] in self._drained_into

    @WorkedOut
    def _drained_into(self) -> list[str]:
        return [entry["vessel"] for entry in self.job.entries("log") if entry["event"] == "drained" and "vessel" in entry]

    def width(self, vessel: dict[str, Any]) -> float:
        """Metres across a vessel as wide as high that holds what this one holds, or the most that was read on it."""
        most = max((nominal(entry["reading"]) for entry in self._read_on(vessel)), default=0.0) or nominal(
            self.ask("vessel", "graduation", vessel)
        )
        return float((4 / pi * nominal(vessel.get("holds", most)) / 1000.0) ** (1 / 3))

    @WorkedOut
    def pail(self) -> dict[str, Any] | None:
        """The vessel that is drained into: the first one that the log drains into, else the largest, as far as they say what they hold."""
        vessels = self.job.entries("vessel")
        caught = next((vessel for vessel in vessels if vessel["name"] in self._drained_into), None)
        return caught or max(vessels, key=lambda vessel: nominal(vessel.get("holds", inf)), default=None)

    @WorkedOut
    def hand(self) -> dict[str, Any] | None:
        """The vessel poured from: the last one, else one that caught nothing, else any; nothing where it is a pack."""
        vessels = {vessel["name"]: vessel for vessel in self.job.entries("vessel")}
        poured = [entry["vessel"] for entry in self.job.entries("log") if entry["event"] == "poured" and "vessel" in entry]
        if poured:
            return vessels.get(poured[-1])
        clean = [vessel for vessel in vessels.values() if not self.catches(vessel) and vessel is not self.pail]
        return next(iter([*clean[:1], *([] if self.packs else vessels.values())]), None)

    @WorkedOut
    def stick(self) -> Dipstick | None:
        """The stick, where the job describes one."""
        if not self.has("level", "marks_volume", "marks_length", "window"):
            return None

        def shared(key: str, name: str) -> Any:
            return source(0.0, nominal(self.ask("level", key)), name=name, role=LEVEL)

        return Dipstick(
            answer(self.ask("level", "marks_volume"), "volume"), answer(nominal(self.job.value("level", "marks_length")), "length"),
            answer(nominal(self.total), "volume"), self.density, self._window(),
            resolution=answer(nominal(self.ask("level", "resolution")), "length"),
            reading=answer(nominal(self.ask("level", "reading")), "length"), bias=answer(shared("floor", FLOOR), "length"),
            bulk=answer(shared("bulk", "fill warmer than what is measured"), "interval"), air=shared("air", "air in the hot fill"),
        )  # fmt: skip

    @WorkedOut
    def kind(self) -> Kind:
        """The kind of unit."""
        return KINDS[self.ask("vehicle", "kind")]

    @WorkedOut
    def check(self) -> Check:
        """How the level is checked."""
        return CHECKS[self.ask("vehicle", "level_check")]

    @WorkedOut
    def overflow(self) -> OverflowPlug | None:
        """The overflow plug, where the level is checked by one and its window is stated."""
        if self.check.key != OVERFLOW or not self.has("level", "window"):
            return None
        return OverflowPlug(answer(self.total, "volume"), self.density, self._window())

    def _window(self) -> Span:
        return Span(*(answer(nominal(t), "temperature") for t in self.job.value("level", "window")))

    def warm(self, entry: dict[str, Any]) -> Any:
        """Temperature of an entry of the log, a Quantity with the doubt of its thermometer; None where none was written.

        That of a stick reading is also in doubt by how differently the whole fill has warmed.
        """
        if "temperature" not in entry and entry["event"] not in READ:
            return None
        read = self.ask("log", "temperature", entry)
        if entry["event"] == "stick":
            idling = self.once(
                f"idling {id(entry)}",
                lambda: source(0.0, nominal(self.ask("level", "idling")), name="idling before the stick was read"),
            )  # fmt: skip
            read = combine(nominal(read), [(1.0, read), (1.0, idling)])
        return answer(read, "temperature")

    @WorkedOut
    def start(self) -> Any:
        """Litres off the target before the work, by a first stick reading in the check window; 0 without one."""
        first = next((e for e in self.job.entries("log") if e["event"] != "seen"), None)
        if self.stick is None or first is None or first["event"] != "stick":
            return 0.0
        if not self.stick.holds_at(answer(nominal(first["temperature"]), "temperature")):
            return 0.0
        return number_in(self.stick.error(answer(first["reading"], "length"), self.warm(first)), "L")

    @WorkedOut
    def begun(self) -> Any:
        """Off the target by the stick reading that the log begins with, a Quantity; nothing where fluid was moved before it."""
        for entry in self.job.entries("log"):
            if entry["event"] in MOVING:
                return None
            if entry["event"] == "stick":
                return None if self.stick is None else self.stick.error(answer(entry["reading"], "length"), self.warm(entry))
        return None

    @WorkedOut
    def before(self) -> Any:
        """Litres off the target before the work, as `start`; where nobody has read it, as far off as it may be."""
        if standard(self.start):
            return self.start
        return source(0.0, nominal(self.ask("level", "before")), name="level before the work")

    # -- the log

    @WorkedOut
    def agreement(self) -> Agreement | SumpwiseError | None:
        """The log folded once, count against stick; why it cannot be followed; nothing where nothing was moved."""
        if not any(entry["event"] in MOVING for entry in self.job.entries("log")):
            return None
        try:
            return Agreement(self)
        except SumpwiseError as error:
            return error

    @WorkedOut
    def operations(self) -> list[Operation]:
        """What was done by the log; empty where it cannot be followed."""
        return [move.operation for move in self.agreement.moves] if isinstance(self.agreement, Agreement) else []

    @WorkedOut
    def halted(self) -> tuple[str, ...]:
        """The stop signs seen, in order."""
        log_ = self.job.entries("log")
        seen = [entry["seen"] for entry in log_ if "seen" in entry]
        if any(nominal(entry["temperature"]) >= TOO_HOT for entry in log_ if "temperature" in entry):
            seen.append(HOT)
        return tuple(dict.fromkeys(seen))

    # -- the circuit

    @WorkedOut
    def pan_off(self) -> bool:
        """Whether the pan comes off, by what is stated or logged to come out with it."""
        return self.has("capacity", "pan_and_filter") or any(entry["event"] == "lost" for entry in self.job.entries("log"))

    @WorkedOut
    def circuit(self) -> Circuit:
        """The circuit before the work."""
        return self._built(self.plug + self.pan)

    @WorkedOut
    def middle(self) -> Circuit:
        """The same by best estimates alone, for what is tried often."""
        return self._built(self.plug + self.pan, best=True)

    @WorkedOut
    def sampled(self) -> Circuit:
        """The circuit that the log started from, with flows that are not stated as plain values."""
        return Circuit(**self._compartments(self._drained_first, sampled=True))

    @WorkedOut
    def logged(self) -> Circuit:
        """The circuit that the log started from."""
        return self._built(self._drained_first)

    @WorkedOut
    def followed(self) -> list[tuple[Operation, Circuit]]:
        """What was done by the log, each operation with the circuit after it; an error where the unit cannot have done it."""
        return list(follow(self.logged, self.operations))

    def _built(self, drained: Any, best: bool = False) -> Circuit:
        parts = self._compartments(drained, sampled=False)
        if best or self.best_only:
            parts = {n: nominal(p) if n in FLOWS else answer(nominal(number_in(p, "L")), "volume") for n, p in parts.items()}
        return Circuit(**parts)

    @property
    def _drained_first(self) -> Any:
        """What the log drained before anything went in; without a log what plug, pan and filter let out."""
        drained = self.agreement.drained_first if isinstance(self.agreement, Agreement) else None
        return self.plug + self.pan if drained is None else drained

    def _sump(self, drained: Any) -> Any:
        """What the sump holds before the work: what is stated, else what drains and what stays behind."""
        stated = self.job.value("circuit", "sump")
        return drained + self.ask("circuit", "left") if stated is None else stated

    def _compartments(self, drained: Any, sampled: bool) -> dict[str, Any]:
        """The sump holds what drains and what stays behind; compartments that are not stated share the rest, by their variances."""
        flows = {name: self.ask("circuit", name) for name in FLOWS}
        if sampled:
            flows = {name: value if self.has("circuit", name) else nominal(value) for name, value in flows.items()}
        inside = {name: self.ask("circuit", name) for name in COMPARTMENTS}
        sump = self._sump(drained)
        free = {name: standard(value) ** 2 for name, value in inside.items() if not self.has("circuit", name)}
        gap = self.total + self.start - sump - sum(inside.values())
        for name, variance in free.items():
            inside[name] = inside[name] + gap * (variance / sum(free.values()))
            if not nominal(inside[name]) > 0:
                raise RangeError(
                    f"leaves nothing for the {name}", code="circuit.no_volume", argument="sump", value=f"{nominal(sump):.3g} L",
                    allowed="less than the total",
                    hint="check plug_drain and pan_and_filter against the total, or state the volumes under [circuit]",
                )  # fmt: skip
        inlet = self.job.value("circuit", "sump_floor")
        if inlet is None:
            reserve = self.ask("exchange", "reserve")
            held, given = nominal(sump), nominal(reserve)
            inlet = 0.0 if given >= held else sump - reserve if self.has("exchange", "reserve") else held - given
        volumes = {"sump": sump, **inside, "sump_floor": inlet}
        return {name: answer(litres, "volume") for name, litres in volumes.items()} | flows

    @WorkedOut
    def stated(self) -> dict[str, Any]:
        """What the job states of the circuit without an uncertainty: certain, where the library would take a range."""
        said = {name: self.job.value("circuit", name) for name in (*FLOWS, "pockets", "sump_floor") if self.has("circuit", name)}
        return {name: value if name in FLOWS else answer(value, "volume") for name, value in said.items() if not standard(value)}

    # -- the methods

    @WorkedOut
    def comparison(self) -> Comparison:
        """All methods side by side."""
        return compared(self, nominal(self.ask("target", "horizon")))

    @WorkedOut
    def possible(self) -> dict[str, MethodResult]:
        """The methods that can be planned, by key."""
        return {m.key: m for m in self.comparison.methods if m.why is None and BY_KEY[m.key].planned}

    @WorkedOut
    def method(self) -> Method:
        """The method planned: the one the job names if it can be done, else the cheapest that meets the target, else the freshest."""
        named = str(self.job.value("target", "method"))
        if named in self.possible or not self.possible:
            return BY_KEY[named if self.possible else "nothing"]
        if self.cheapest is not None:
            return BY_KEY[self.cheapest.key]
        return BY_KEY[max(self.possible.values(), key=lambda m: (nominal(m.fresh), m.key)).key]

    @WorkedOut
    def able(self) -> list[MethodResult]:
        """The methods that can be planned and meet the target."""
        return [m for m in self.possible.values() if m.meets_target]

    @WorkedOut
    def cheapest(self) -> MethodResult | None:
        """The cheapest of those, of equal cost that of the least fluid; without a target of all that are possible."""
        able = self.able if self.has("target", "fresh") else list(self.possible.values())
        return min(able, key=lambda m: (nominal(m.cost), nominal(m.volume.magnitude), m.key), default=None)

    @WorkedOut
    def refused(self) -> Word | None:
        """Why the method that the job names is not the one planned, or nothing."""
        named = self.job.value("target", "method", self.method.key)
        if named == self.method.key:
            return None
        return next((m.why for m in self.comparison.methods if m.key == named), Word("methods.no_bursts"))

    def course(self, method: Method) -> list[tuple[Operation, Circuit]]:
        """What a method foresees, each operation with the circuit after it."""
        return self.once(f"course of {method.key}", lambda: list(follow(self.circuit, method.operations(self))))

    # -- bursts by the cooler line

    @WorkedOut
    def flow(self) -> float:
        """Litres a minute out of the open line."""
        return nominal(self.ask("exchange", "flow"))

    @WorkedOut
    def out(self) -> float:
        """What plug, pan and filter let out."""
        return nominal(self.plug) + nominal(self.pan)

    @WorkedOut
    def refill(self) -> Any:
        """What is poured back before the first burst."""
        return self.ask("exchange", "refill", base=self.plug + self.pan)

    @WorkedOut
    def reserve(self) -> float:
        """What the sump can give from the start level until the pump draws air."""
        held, inlet = nominal(self._sump(self.plug + self.pan)), self.job.value("circuit", "sump_floor")
        return min(held, nominal(self.ask("exchange", "reserve"))) if inlet is None else held - nominal(inlet)

    @WorkedOut
    def spare(self) -> float:
        """The same after plug, pan and refill."""
        return self.reserve + nominal(self.refill) - self.out

    @WorkedOut
    def reaction(self) -> Any:
        """From seeing that it is time to the engine standing still, a Quantity."""
        return answer(nominal(self.ask("exchange", "reaction")), "time")

    @WorkedOut
    def seconds_to_air(self) -> float:
        """How long a burst may run; the reaction is taken off."""
        return self.seconds_until_air(self.meanwhile)

    def seconds_until_air(self, poured: float) -> float:
        """The same with so many litres a minute poured in meanwhile."""
        if self.spare <= 0:
            return 0.0
        spare, flow, back = answer(self.spare, "volume"), answer(self.flow, "flow"), answer(poured, "flow")
        return float(number_in(longest_burst(spare, flow, back, self.reaction), "s"))

    @WorkedOut
    def meanwhile(self) -> float:
        """Litres a minute that a helper pours while the pump runs: what the tube lets through, of most of the pump's flow at most."""
        if not self.ask("exchange", "helper"):
            return 0.0
        rate = nominal(self.ask("filler", "rate")) if self.filler_rate is None else nominal(number_in(self.filler_rate, "L/min"))
        return min(rate, KEPT * self.flow)

    @WorkedOut
    def filler_rate(self) -> Any:
        """How fast cold fluid runs down the filler tube, a Quantity; nothing without that or its measures and the viscosities."""
        if self.has("filler", "rate"):
            return answer(self.job.value("filler", "rate"), "flow")
        if not (self.has("filler", "bore", "length", "head") and self.has("fluid", "viscosity_40", "viscosity_100")):
            return None
        thick = viscosity_at(
            self.cold, answer(nominal(self.job.value("fluid", "viscosity_40")), "viscosity"),
            answer(nominal(self.job.value("fluid", "viscosity_100")), "viscosity"),
        )  # fmt: skip
        bore, length, head = (answer(nominal(self.job.value("filler", k)), "length") for k in ("bore", "length", "head"))
        return pour_rate(bore, length, head, thick, venting=self.ask("filler", "venting"))

    @WorkedOut
    def timetable(self) -> BurstPlan | Value | None:
        """The bursts in time; why that cannot be made; nothing where there are no bursts."""
        method = BURSTS
        count = method.count(self) if method.compared(self) and method.impossible(self) is None else 0
        if not count:
            return None
        if self.filler_rate is None:
            return Word("timetable.no_tube")
        burst = method.burst(self)
        vessels = self.job.entries("vessel")
        pail = next((v for v in vessels if "holds" in v), vessels[0] if vessels else {"name": "pail"})
        holds = nominal(self.ask("vessel", "holds", pail))
        change, emptying = (answer(nominal(self.ask("exchange", key)), "time") for key in ("change", "emptying"))
        try:
            return burst_plan(
                answer(count * burst, "volume"), answer(self.flow, "flow"), self.filler_rate, answer(self.spare, "volume"),
                answer(holds, "volume"), burst=answer(burst, "volume"), reaction=self.reaction, change=change, emptying=emptying,
                helper=bool(self.ask("exchange", "helper")),
            )  # fmt: skip
        except SumpwiseError as error:
            return refused(error)


def _years(minutes: Any) -> Any:
    return answer(minutes, "time", unit=by_symbol("y"))


def _doubted(value: Any, taken: Doubt, words: str) -> Any:
    """A written value with the doubt that is taken for it."""
    u = taken.value * nominal(value) if isinstance(taken.value, float) else argument("interval").value(taken.value)
    return source(value, u, name=words) if u else value


def _spread(low: Any, high: Any, shape: str, words: str) -> Any:
    """An uncertain number over a range."""
    low, high = nominal(low), nominal(high)
    if shape == UNIFORM:
        return source((low + high) / 2, (high - low) / 2 / sqrt(3), shape="rectangular", name=words)
    mean = (high - low) / log(high / low)
    return source(mean, sqrt((high**2 - low**2) / 2 / log(high / low) - mean**2), name=words)
