"""Doing nothing, and draining the plug: once, three times with a drive after each, or once every year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.buying.quotes import YEAR
from sumpwise.mixing.batch import drain_refill
from sumpwise.service.facts.fact import Amount, Fact, Word, step
from sumpwise.service.methods.method import Method, litres, torque
from sumpwise.service.operations import Operation

if TYPE_CHECKING:
    from sumpwise.service.case import Case

class Nothing(Method):
    """Leave the fill as it is."""

    key, planned = "nothing", False

    def impossible(self, case: Case) -> Word | None:
        """Never."""
        return None

    def count(self, case: Case) -> int:
        """None."""
        return 0

    def operations(self, case: Case) -> list[Operation]:
        """Nothing."""
        return []

    def fresh(self, case: Case) -> Any:
        """Nothing is renewed."""
        return 0.0

    def volume(self, case: Case) -> Any:
        """Nothing is used."""
        return 0.0

    def rhythm(self, case: Case) -> float | None:
        """Never."""
        return None

    def work(self, case: Case) -> list[Fact]:
        """Only look."""
        return []


class Drain(Method):
    """Drain the plug and pour back as much, `times` with a drive after each."""

    def __init__(self, key: str, times: int = 1, every: float | None = None) -> None:
        self.key = key
        self.times = times
        self.every = every
        self.washers = times
        self.hours = float(times)

    def count(self, case: Case) -> int:
        """How often."""
        return self.times

    def operations(self, case: Case) -> list[Operation]:
        """Out, in, a drive."""
        return [Operation("drain", case.plug), Operation("pour", case.plug), Operation("mix")] * self.times

    def fresh(self, case: Case) -> Any:
        """By full mixing between drains."""
        return drain_refill(litres(case.plug), litres(case.total), times=self.times)

    def volume(self, case: Case) -> Any:
        """What is poured back."""
        return self.times * case.plug

    def rhythm(self, case: Case) -> float | None:
        """Its own, or the interval."""
        return self.every or case.interval

    def work(self, case: Case) -> list[Fact]:
        """Drain, pour back, drive."""
        return [
            step("steps.drain", plug=Amount("volume", case.plug)),
            *case.check.refill(case, torque(case)),
            *case.check.after(case, self.times),
        ]


ONCE = Drain("drain")
FAMILY = (Nothing(), ONCE, Drain("drains", 3), Drain("yearly", every=YEAR))
