"""Doing nothing, and draining at the plug: once, as often as the target requires with a drive after each, or once every year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sumpwise.mixing.batch import drain_refill
from sumpwise.mixing.circuit.history import DRAIN, MIX, POUR, Operation
from sumpwise.service.dates import YEAR
from sumpwise.service.facts.fact import Amount, Fact, Value, Word, expected, step
from sumpwise.service.methods.method import MOST, Gain, Method, closing, corrected, enough, litres, pail, torque, worthwhile
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.case import Case

TENTH = 0.1


class Nothing(Method):
    """Leave the fill as it is."""

    key, planned = "nothing", False

    def impossible(self, case: Case) -> Word | None:
        return None

    def count(self, case: Case) -> int:
        return 0

    def operations(self, case: Case) -> list[Operation]:
        return []

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        return (), case.before

    def fresh(self, case: Case) -> Any:
        return 0.0

    def volume(self, case: Case) -> Any:
        return 0.0

    def rhythm(self, case: Case) -> float | None:
        return None

    def work(self, case: Case) -> list[Fact]:
        return []


class Drain(Method):
    """Drain at the plug, pour back as much, and drive."""

    washers, tasks = 1, ("drain",)

    def __init__(self, key: str, every: float | None = None) -> None:
        self.key = key
        self.every = every

    def drained(self, case: Case) -> Any:
        """Litres that come out and are poured back each time."""
        return case.plug

    def times(self, case: Case) -> int:
        return self.count(case)

    def operations(self, case: Case) -> list[Operation]:
        drained = self.drained(case)
        return [Operation(DRAIN, drained), Operation(POUR, drained), Operation(MIX)] * self.count(case)

    def left(self, case: Case) -> list[Operation]:
        """The drains that the log does not have yet, after a drive."""
        drains = self.operations(case)[3 * case.drains_done :]
        return [Operation(MIX), *drains] if drains else []

    def fresh(self, case: Case) -> Any:
        return self.after(case, self.count(case))

    def after(self, case: Case, times: int) -> Any:
        """Fresh fraction after this many drains."""
        return drain_refill(litres(self.drained(case)), litres(case.total), times=times)

    def gained(self, case: Case) -> list[Gain]:
        return [Gain(n * nominal(self.drained(case)), self.after(case, n) if n else 0.0) for n in range(self.count(case) + 1)]

    def volume(self, case: Case) -> Any:
        return self.count(case) * self.drained(case)

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        """The last drain: the level is checked after each one, and corrected by the stick before the next."""
        return self.operations(case)[-3:], corrected(case)

    def rhythm(self, case: Case) -> float | None:
        return self.every or case.interval

    def work(self, case: Case) -> list[Fact]:
        return [
            step("steps.drain", pail=pail(case), plug=expected(self.drained(case))),
            *case.check.refill(case, torque(case), closing(case)),
            *case.check.after(case, self.count(case), closing(case)),
        ]


class Drains(Drain):
    """As many as meet the target."""

    several = True

    def count(self, case: Case) -> int:
        """As the job states, else by the target, else an example; at least as many as the log has, if it has several."""
        if not case.has("exchange", "drains") and case.has("target", "fresh"):
            return max(case.once("drains", lambda: self._enough(case), held=True), case.drains_done)
        if not case.has("exchange", "drains") and case.drains_done > 1:
            return case.drains_done
        return max(int(case.ask("exchange", "drains")), case.drains_done)

    def _enough(self, case: Case) -> int:
        drained, capacity = nominal(self.drained(case)), nominal(case.total)
        best = [drain_refill.kernel(drained, capacity, n) for n in range(MOST + 1)]
        return enough(case, best, lambda n: self.after(case, n)) or worthwhile(case, best)

    def last(self, case: Case) -> tuple[Value, float] | None:
        if not (case.has("target", "fresh") or case.has("exchange", "drains")):
            return None
        count = self.count(case)
        bought = nominal(self.after(case, count)) - nominal(self.after(case, count - 1))
        return Amount("volume", nominal(self.drained(case)), step=TENTH), bought


ONCE = Drain("drain")
FAMILY = (Nothing(), ONCE, Drains("drains"), Drain("yearly", every=YEAR))
