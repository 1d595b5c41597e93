"""What is inside the unit, compartment by compartment, and how much its pump can take before it draws air."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.filling.bursts import KEPT, longest_burst
from sumpwise.filling.pouring import pour_rate
from sumpwise.fluid.viscosity import viscosity_at
from sumpwise.measurement.pooling import pooled
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit.compartments import COMPARTMENTS, FLOWS, NAMES
from sumpwise.mixing.circuit.history import PUMP, Operation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.quantities.telling import in_unit, unit_given
from sumpwise.service.agreement import Agreement
from sumpwise.service.logged import Logged
from sumpwise.service.movements import Movement, performed
from sumpwise.service.reached import Reached, reached
from sumpwise.service.tracing import WorkedOut
from sumpwise.uncertainty import combine, nominal, standard

NOTHING = 1e-9
"""Litres that are less than rounding."""
BRIM = 0.9
"""How full a pail may get, as a share of what it holds: one that is full to the brim cannot be carried without spilling."""
DRAWN = tuple(one.volume.name for one in COMPARTMENTS if one.drawn)


APART = 1.5
"""Timed bursts disagree if the fastest flow is more than this many times the slowest."""


SHORTEST = 5.0
"""Seconds: nobody starts an engine, reads a pail and stops it again in less."""


class Timings(NamedTuple):
    """The slowest and the fastest flow that was timed or stated, in litres per minute; whether they disagree.

    It is `too_fast` if the fastest leaves no time to stop the engine before the pump draws air, where the slowest does.
    """

    slowest: float
    fastest: float
    apart: bool
    too_fast: bool


class Filled(Logged):
    """The layer of a case that knows what is inside the unit, and how much of it can be pumped."""

    # -- the circuit

    @WorkedOut
    def pan_off(self) -> bool:
        """Whether the pan comes off, judging by the volume stated or logged for it: none if it stays on."""
        stated = self.job.value("capacity", "pan_and_filter")
        return not self.gone_on or bool(self.from_pan) if stated is None else nominal(stated) > 0

    @WorkedOut
    def circuit(self) -> Circuit:
        """The circuit before the work."""
        return self._built(self.let_out)

    @WorkedOut
    def middle(self) -> Circuit:
        """The circuit before the work with best estimates only, for things that are tried often."""
        return self._built(self.let_out, best=True)

    @WorkedOut
    def sampled(self) -> Circuit:
        """The circuit that the log started from; flows that the job does not state have no uncertainty: the evidence draws them."""
        return Circuit(**self._compartments(self._drained_first, sampled=True))

    @WorkedOut
    def followed(self) -> list[tuple[Movement, Reached]]:
        """The entries of the log, each with the state after it; an error if the unit cannot have done what the log says."""
        return list(zip(self.moves, self._led([]), strict=True))

    @WorkedOut
    def arrived(self) -> Reached:
        """The state after the last entry."""
        return self.followed[-1][1]

    def led_on(self, operations: Iterable[Operation]) -> Reached:
        """The state after the log and some more operations."""
        return self._led(operations)[-1]

    def _led(self, more: Iterable[Operation]) -> list[Reached]:
        """The states after each entry of the log, and after some more operations."""
        return reached(self, self._built(self._drained_first), [*map(self._operation, self.moves, performed(self.moves)), *more])

    def _operation(self, move: Movement, one: Operation | None) -> Operation | None:
        """What an entry of the log did: a burst with what a helper poured meanwhile, and a pour with what was left of it then."""
        meanwhile = self.helped.get(move.number, 0.0)
        if one is None or not meanwhile:
            return one
        if one.kind == PUMP:
            return one._replace(poured=meanwhile)
        return one._replace(volume=one.volume - meanwhile) if one.volume - meanwhile > NOTHING else None

    @WorkedOut
    def helped(self) -> dict[int, float]:
        """Litres that a helper poured while the pump ran, by entry of the log: of each burst, and of the pours entered after it."""
        during: dict[int, float] = {}
        rate, burst, room = self.meanwhile, 0, 0.0
        for move in self.moves if rate else ():
            if move.by_the_line and move.litres < 0:
                minutes = nominal(move.entry.get("duration", 0.0)) or -move.litres / self.flow
                burst, room = move.number, min(rate * minutes, KEPT * -move.litres)
            elif move.event == "poured" and burst and move.litres > 0:
                part = min(room, move.litres)
                during[move.number], room = part, room - part
                during[burst] = during.get(burst, 0.0) + part
            elif move.event in ("drained", "lost", "drive"):
                burst = 0
        return during

    def _built(self, drained: Any, best: bool = False) -> Circuit:
        parts = self._compartments(drained, sampled=False)
        if best or self.best_only:
            parts = {n: nominal(p) if n in FLOWS else inside(nominal(number_in(p, "L")), "volume") for n, p in parts.items()}
        return Circuit(**parts)

    @property
    def _drained_first(self) -> Any:
        """What the log drained before anything went in; without a log, what plug, pan and filter let out."""
        drained = self.agreement.drained_first if isinstance(self.agreement, Agreement) else None
        return self.let_out if drained is None else drained

    def _sump(self, drained: Any) -> Any:
        """What the sump holds before the work: as stated, else what drains plus what stays behind."""
        stated = self.job.value("circuit", "sump")
        return drained + self.ask("circuit", "left") if stated is None else stated

    def _compartments(self, drained: Any, sampled: bool) -> dict[str, Any]:
        """The unit with the engine off: the sump holds what drains and what stays behind, which includes what ran back from the converter.

        Compartments that are not stated share the rest, by their variances.
        """
        flows = {name: self.ask("circuit", name) for name in FLOWS}
        if sampled:
            flows = {name: value if self.has("circuit", name) else nominal(value) for name, value in flows.items()}
        others = {name: self.ask("circuit", name) for name in NAMES}
        sump, back = self._sump(drained), self.ask("circuit", "drain_back")
        others["converter"] = others["converter"] - back
        if self.has("circuit", "sump"):  # as it is while the engine runs
            sump = sump + back
        free = {name: standard(value) ** 2 for name, value in others.items() if not self.has("circuit", name)}
        gap = combine(
            nominal(self.total) + nominal(self.start) - nominal(sump) - sum(map(nominal, others.values())),
            [*((-1.0, one) for one in reversed(others.values())), (-1.0, sump), (1.0, self.start), (1.0, self.total)],
        )
        for name, variance in free.items():
            share, one = variance / sum(free.values()), others[name]
            others[name] = combine(nominal(one) + nominal(gap) * share, [(share, gap), (1.0, one)])
            if not nominal(others[name]) > 0:
                unit = unit_given(self.job.text("circuit", "sump") or self.job.text("capacity", "plug_drain"), "volume")
                raise RangeError(
                    f"leaves nothing for the {name}", code="circuit.no_volume", argument="sump", value=in_unit(nominal(sump), unit),
                    allowed=f"less than the total, {in_unit(nominal(self.total), unit)}",
                    hint="check plug_drain and pan_and_filter against the total, or state the volumes under [circuit]",
                )  # fmt: skip
        inlet = self.job.value("circuit", "sump_floor")
        if inlet is None:
            reserve = self.ask("exchange", "reserve")
            held, given = nominal(sump), nominal(reserve)
            inlet = 0.0 if given >= held else sump - reserve if self.has("exchange", "reserve") else held - given
        volumes = {"sump": sump, **others, "sump_floor": inlet}
        return {name: inside(litres, "volume") for name, litres in volumes.items()} | flows

    @WorkedOut
    def stated(self) -> dict[str, Any]:
        """What the job states about the circuit without an uncertainty, where the library would otherwise assume a range."""
        said = {name: self.job.value("circuit", name) for name in (*FLOWS, *DRAWN, "sump_floor") if self.has("circuit", name)}
        return {name: value if name in FLOWS else inside(value, "volume") for name, value in said.items() if not standard(value)}

    # -- bursts through the cooler line

    @WorkedOut
    def flow(self) -> float:
        """Litres per minute out of the open line: as the job states, else as the timed bursts of the log have shown, else what is usual.

        If these disagree it is the fastest, so that no burst is planned too long for the pump; if that leaves no time to stop the engine,
        some of the timings are wrong, and it is the slowest, or what is usual.
        """
        timed = self.timings
        if timed is None or (self.has("exchange", "flow") and not timed.apart):
            return nominal(self.ask("exchange", "flow"))
        if timed.too_fast:
            return self._slow(timed.slowest)
        return timed.fastest if timed.apart else nominal(pooled(self.timed_flows).value)

    @property
    def timings(self) -> Timings | None:
        """What the timed bursts, and the flow that the job states beside them, say of the flow; None without a timed burst.

        It is not worked out again whatever is assumed differently of the vessels: that moves it less than it takes to disagree.
        """
        return self.once("timings", self._timings, held=True)

    def _timings(self) -> Timings | None:
        flows = [*map(nominal, self.timed_flows)]
        if not flows:
            return None
        if self.has("exchange", "flow"):
            flows.append(nominal(self.job.value("exchange", "flow")))
        slowest, fastest = min(flows), max(flows)
        try:
            too_fast = self._alone(fastest) < SHORTEST and self._alone(self._slow(slowest)) >= SHORTEST
        except SumpwiseError:  # no unit can hold what the job states; the methods say so
            too_fast = False
        return Timings(slowest, fastest, fastest > APART * slowest, too_fast)

    def _slow(self, slowest: float) -> float:
        """The flow to plan by if the fastest cannot be right: the slowest that was timed, or what is stated or usual."""
        return min(slowest, nominal(self.ask("exchange", "flow")))

    def _alone(self, flow: float) -> float:
        """Seconds until the pump draws air at some flow, with nobody pouring."""
        return 60.0 * float(longest_burst.kernel(self.spare, flow, 0.0, nominal(self.ask("exchange", "reaction"))))

    @WorkedOut
    def let_out(self) -> Any:
        """What plug, pan and filter let out."""
        return self.plug + self.pan

    @WorkedOut
    def out(self) -> float:
        """The same, as a plain number of litres."""
        return nominal(self.let_out)

    @property
    def own_pail(self) -> dict[str, Any] | None:
        """The pail of the job, if what drains does not fill it to the brim; None if another one is needed."""
        own = self.pail
        if own is None or self.catches(own) or "holds" not in own:
            return own
        return own if BRIM * nominal(own["holds"]) >= self.out else None

    @property
    def room(self) -> float | None:
        """Litres that it may catch before it must be emptied; None if the job does not say what it holds."""
        return None if self.own_pail is None or "holds" not in self.own_pail else BRIM * nominal(self.own_pail["holds"])

    @WorkedOut
    def refill(self) -> Any:
        """What is poured back before the first burst."""
        return self.ask("exchange", "refill", base=self.let_out)

    @WorkedOut
    def reserve(self) -> float:
        """What the sump can give from the start level until the pump draws air."""
        held, inlet = nominal(self._sump(self.let_out)), self.job.value("circuit", "sump_floor")
        return min(held, nominal(self.ask("exchange", "reserve"))) if inlet is None else held - nominal(inlet)

    @WorkedOut
    def spare(self) -> float:
        """The same after plug, pan and refill."""
        return self.reserve + nominal(self.refill) - self.out

    @WorkedOut
    def reaction(self) -> Any:
        """Time from the call until the engine has stopped, as read."""
        return inside(nominal(self.ask("exchange", "reaction")), "time")

    @WorkedOut
    def seconds_to_air(self) -> float:
        """How long a burst may run, after subtracting the reaction time."""
        return self.seconds_until_air(self.meanwhile)

    def seconds_until_air(self, poured: float, taken: float = 0.0) -> float:
        """The same with some litres per minute poured in, and some litres first taken by a converter that has drained back."""
        reaction = nominal(self.ask("exchange", "reaction"))
        return max(0.0, 60.0 * float(longest_burst.kernel(self.spare - taken, self.flow, poured, reaction)))

    @WorkedOut
    def meanwhile(self) -> float:
        """Litres per minute that a helper pours while the pump runs: the rate of the tube, limited to most of the pump's flow."""
        if not self.ask("exchange", "helper"):
            return 0.0
        rate = nominal(self.ask("filler", "rate")) if self.filler_rate is None else nominal(number_in(self.filler_rate, "L/min"))
        return min(rate, KEPT * self.flow)

    @WorkedOut
    def filler_rate(self) -> Any:
        """How fast cold fluid runs down the filler tube, as read; None without that, or without its dimensions and the viscosities."""
        if self.has("filler", "rate"):
            return inside(self.job.value("filler", "rate"), "flow")
        if not (self.has("filler", "bore", "length", "head") and self.has("fluid", "viscosity_40", "viscosity_100")):
            return None
        thick = viscosity_at(
            self.cold, inside(nominal(self.job.value("fluid", "viscosity_40")), "viscosity"),
            inside(nominal(self.job.value("fluid", "viscosity_100")), "viscosity"),
        )  # fmt: skip
        bore, length, head = (inside(nominal(self.job.value("filler", k)), "length") for k in ("bore", "length", "head"))
        return pour_rate(bore, length, head, thick, venting=self.ask("filler", "venting"))
