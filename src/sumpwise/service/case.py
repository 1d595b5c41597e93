"""A case: everything that follows from one job, each thing worked out once; sections, cards and the record only read it.

It is built in layers, each a class that knows those below it: what the job says or leaves to be assumed (`asked.py`), what is known before
the work (`equipped.py`), what the log did (`logged.py`), what is inside (`filled.py`), and here what can be done and what it takes.
"""

from __future__ import annotations

from sumpwise.errors import SumpwiseError
from sumpwise.filling.bursts import BurstPlan, planned
from sumpwise.inference.outlet_answer import OutletEvidence
from sumpwise.mixing.circuit.history import Operation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.agreement import Agreement
from sumpwise.service.facts.fact import Value, Word
from sumpwise.service.facts.refusals import refused
from sumpwise.service.filled import BRIM, Filled
from sumpwise.service.matching import evidence_of
from sumpwise.service.methods.bursts import BURSTS
from sumpwise.service.methods.comparison import Comparison, MethodResult, compared
from sumpwise.service.methods.method import Method
from sumpwise.service.methods.registry import BY_KEY
from sumpwise.service.operations import at_best
from sumpwise.service.reached import Reached, reached
from sumpwise.service.shopping import OWN, Basket, baskets, shelves
from sumpwise.service.tracing import WorkedOut
from sumpwise.uncertainty import nominal


class Case(Filled):
    """A job, and what follows from it. Volumes are litres at 20 °C, temperatures degrees Celsius, money in the job's currency.

    Parameters
    ----------
    job : Job
        What is written.
    units : str, optional
        The system of units that the reader asks for; by default what the job says, else as written.
    """

    # -- money and target

    @WorkedOut
    def currency(self) -> str:
        """Currency of the prices; only a label."""
        return str(self.ask("shopping", "currency"))

    @WorkedOut
    def cost_per_litre(self) -> float:
        """Price of the cheapest litre of the unit's own fluid; 0 if no pack of it is listed."""
        return min((price / nominal(number_in(volume, "L")) for volume, price, _ in shelves(self).get(OWN, [])), default=0.0)

    @WorkedOut
    def baskets(self) -> list[Basket]:
        """What to buy, one basket for each fluid, that of the unit first."""
        return baskets(self)

    @WorkedOut
    def sized(self) -> set[str]:
        """The packs without a name of their own, which are called by their size."""
        return {pack["volume"] for pack in self.job.written("pack") if not pack.get("name")}

    @WorkedOut
    def target(self) -> float:
        """Share of new fluid wanted inside."""
        return nominal(self.ask("target", "fresh"))

    @WorkedOut
    def probability(self) -> float:
        """The required probability of reaching the target."""
        return nominal(self.ask("target", "probability"))

    # -- what was seen

    @WorkedOut
    def told(self) -> OutletEvidence | SumpwiseError | None:
        """What the vials say about the inside, or why they say nothing; None if none was matched, or if the amounts are disputed."""
        found = self.agreement
        if not isinstance(found, Agreement) or found.conflict or not any("outlet_old" in entry for entry in self.job.entries("log")):
            return None
        try:
            return evidence_of(self, found)
        except SumpwiseError as error:
            return error

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
        """The one that the job names or its log has begun, if possible; else the cheapest that meets the target, or the freshest."""
        named = str(self.job.value("target", "method", self.under_way))
        if named in self.possible or not self.possible:
            return BY_KEY[named if self.possible else "nothing"]
        if self.cheapest is not None:
            return BY_KEY[self.cheapest.key]
        return BY_KEY[max(self.possible.values(), key=lambda m: (nominal(m.fresh), m.key)).key]

    @WorkedOut
    def under_way(self) -> str:
        """Key of the method that the log has begun; empty while it may be any: one drain may be the only one, or the first of several."""
        return "bursts" if self.bursts_done else "drains" if self.drains_done > 1 else ""

    @WorkedOut
    def able(self) -> list[MethodResult]:
        """The methods that can be planned and meet the target."""
        return [m for m in self.possible.values() if m.meets_target]

    @WorkedOut
    def cheapest(self) -> MethodResult | None:
        """The cheapest method that meets the target (of equal cost, the one with least fluid).

        Without a target, the cheapest of those whose number the job writes, such as `drains = 2`; if it writes none, the cheapest of all.
        """
        counted = [m for m in self.possible.values() if BY_KEY[m.key].several and self.has("exchange", m.key)]
        able = self.able if self.has("target", "fresh") else counted or list(self.possible.values())
        return min(able, key=lambda m: (nominal(m.cost), nominal(m.litres), m.key), default=None)

    @WorkedOut
    def refused(self) -> Word | None:
        """Why the method that the job names is not the one planned, or None."""
        named = self.job.value("target", "method", self.method.key)
        if named == self.method.key:
            return None
        return next((m.why for m in self.comparison.methods if m.key == named), Word("methods.no_bursts"))

    def course(self, method: Method) -> list[tuple[Operation, Reached]]:
        """The operations that a method plans, each with its result."""
        return self.once(f"course of {method.key}", lambda: self._course(method.operations(self)))

    def _course(self, operations: list[Operation]) -> list[tuple[Operation, Reached]]:
        led = at_best(operations) if self.best_only else operations
        return list(zip(led, reached(self, self.circuit, led), strict=True))

    @WorkedOut
    def timetable(self) -> BurstPlan | Value | None:
        """The timetable of the bursts, minutes and litres; or why it cannot be made; None if there are no bursts."""
        method = BURSTS
        count = method.count(self) if method.compared(self) and method.impossible(self) is None else 0
        if not count:
            return None
        if self.filler_rate is None:
            return Word("timetable.no_tube")
        burst = method.burst(self)
        room = BRIM * nominal(self.ask("vessel", "holds", self.own_pail or {"name": "pail"}))
        change, emptying = (inside(nominal(self.ask("exchange", key)), "time") for key in ("change", "emptying"))
        try:
            _, plan = planned(
                inside(count * burst, "volume"), inside(self.flow, "flow"), self.filler_rate, inside(self.spare, "volume"),
                inside(room, "volume"), burst=inside(burst, "volume"), reaction=self.reaction, change=change, emptying=emptying,
                helper=bool(self.ask("exchange", "helper")),
            )  # fmt: skip
        except SumpwiseError as error:
            return refused(error)
        return plan
