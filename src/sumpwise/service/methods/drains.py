"""Doing nothing, and draining the plug: once, three times with a drive after each, or once every year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.mixing.batch import drain_refill
from sumpwise.service.figures import figure
from sumpwise.service.methods.method import FIRST_STEP, Method, litres, tight
from sumpwise.service.operations import Operation
from sumpwise.service.schema import YEAR

if TYPE_CHECKING:
    from sumpwise.service.case import Case

class Nothing(Method):
    """Leave the fill as it is."""

    key, name, planned = "nothing", "nothing", False

    def impossible(self, case: Case) -> str:
        """Never."""
        return ""

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

    def steps(self, case: Case) -> list[str]:
        """Only look."""
        return [FIRST_STEP]


class Drain(Method):
    """Drain the plug and pour back as much, `times` with a drive after each."""

    def __init__(self, key: str, name: str, times: int = 1, every: float | None = None) -> None:
        self.key = key
        self.name = name
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

    def steps(self, case: Case) -> list[str]:
        """Drain, pour back, drive."""
        return [
            FIRST_STEP,
            f"Drain the plug into the pail, expect {figure(case.plug, 'L')}; read the pail and the temperature of what is in it.",
            f"Fit the plug with a new washer at its {tight(case)}, pour back as much as came out, compared at 20 °C.",
            "Start, move through the gears, drive until warm, check the level in its window."
            + (" Three times in all." if self.times == 3 else ""),
        ]


ONCE = Drain("drain", "one drain")
THRICE = Drain("drains", "three drains, a drive after each", 3)
YEARLY = Drain("yearly", "one drain, again every year", every=YEAR)
