"""An exchange by a shop's machine through the cooler line: fully stirred, the limit of plug flow, and after a drain."""

from __future__ import annotations

from collections.abc import Sequence
from math import erfc, exp, pi, sqrt
from typing import TYPE_CHECKING, Any

from sumpwise.mixing import continuous
from sumpwise.mixing.circuit.history import Operation
from sumpwise.service.facts.fact import Fact, Word, step
from sumpwise.service.kinds import STICK
from sumpwise.service.methods.drains import ONCE
from sumpwise.service.methods.method import Gain, Method, corrected, litres
from sumpwise.service.operations import exchange
from sumpwise.uncertainty import nominal, source, standard

if TYPE_CHECKING:
    from sumpwise.service.case import Case

PORTIONS = 12
"""Number of steps in which an exchange is followed."""
SURE = 1e-9
"""If the spread of the share is below this, plug flow has certainly filled the whole unit."""


class Machine(Method):
    """Pump new fluid in while the old runs out."""

    key = "machine stirred"
    tasks: tuple[str, ...] = ("machine",)
    by_shop = True

    def compared(self, case: Case) -> bool:
        return case.kind.pumped

    def impossible(self, case: Case) -> Word | None:
        """Without a cooler line there is nothing to connect."""
        return super().impossible(case) or (None if case.ask("vehicle", "cooler_line") else Word("impossible.no_line"))

    def pushed(self, case: Case) -> Any:
        """Litres that the machine pumps: those of the quote, if there is one."""
        return case.ask("quote", "volume")

    def operations(self, case: Case) -> list[Operation]:
        return [exchange(self.pushed(case))]

    def fresh(self, case: Case) -> Any:
        return self.after(case, self.pushed(case))

    def after(self, case: Case, pushed: Any) -> Any:
        """Fresh fraction after some volume has been pumped: fully stirred."""
        return continuous.exchange(litres(pushed), litres(case.total)).resident

    def gained(self, case: Case) -> list[Gain]:
        """Step by step of the volume pumped, after any drain before it."""
        first = nominal(self.volume(case) - self.pushed(case))
        portions = [self.pushed(case) * (k / PORTIONS) for k in range(PORTIONS + 1)]
        gained = [Gain(first + nominal(pushed), self.after(case, pushed)) for pushed in portions]
        return [Gain(0.0, 0.0), *gained] if first else gained

    def volume(self, case: Case) -> Any:
        return self.pushed(case)

    def own(self, case: Case) -> Any:
        """What of it is to be bought: not what the machine pumps, if the quote has a price, which includes it."""
        quoted = case.job.value("quote", "price") is not None
        return self.volume(case) - self.pushed(case) if quoted else self.volume(case)

    def bought(self, case: Case) -> list[tuple[Word, float]]:
        bought = nominal(self.own(case))
        if bought == nominal(self.volume(case)):
            return self.parts(case)
        return [(Word(f"method.{ONCE.key}"), bought)] if bought else []

    def spread(self, case: Case) -> float:
        return standard(self.own(case))

    def before(self, case: Case) -> list[Fact]:
        """Nothing is opened: only a stick is read."""
        return super().before(case) if case.check.key == STICK else []

    def cost(self, case: Case) -> Any:
        """What the quote says, fluid included; without one, the fluid alone."""
        asked = case.job.value("quote", "price")
        if asked is None:
            return super().cost(case)
        return (self.volume(case) - self.pushed(case)) * case.cost_per_litre + self.used(case) + asked

    def remarks(self, case: Case) -> list[str]:
        if case.job.value("quote", "price") is None:
            return ["assumed.machine_fluid"]
        return ["assumed.machine_quote"]

    def work(self, case: Case) -> list[Fact]:
        return self.shop()

    def shop(self) -> list[Fact]:
        return [step("steps.machine")]


class Plug(Machine):
    """The most that an exchange could reach: the old fluid leaves first, unmixed."""

    key, planned, bound = "machine plug", False, True

    def after(self, case: Case, pushed: Any) -> Any:
        return _plug_flow(pushed / case.total)


class After(Machine):
    """One drain first."""

    key, washers, tasks = "drain and machine", 1, ("drain", "machine")

    def count(self, case: Case) -> int:
        return 2

    def operations(self, case: Case) -> list[Operation]:
        return [*ONCE.operations(case), *super().operations(case)]

    def after(self, case: Case, pushed: Any) -> Any:
        """The exchange renews its share of what the drain left."""
        once = ONCE.fresh(case)
        return once + (1 - once) * super().after(case, pushed)

    def volume(self, case: Case) -> Any:
        return ONCE.drained(case) + self.pushed(case)

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        """The exchange: the level was checked after the drain."""
        return super().operations(case), corrected(case)

    def work(self, case: Case) -> list[Fact]:
        return [*ONCE.work(case), *super().work(case)]

    def before(self, case: Case) -> list[Fact]:
        return ONCE.before(case)


FAMILY = (Machine(), Plug(), After())


def _plug_flow(turnovers: Any) -> Any:
    """Fresh fraction min(1, θ) of plug flow for a normal θ: mean and spread are exact, since first order fails at the limit."""
    best, u = nominal(turnovers), standard(turnovers)
    if not u:
        return min(1.0, best)
    z = (1 - best) / u
    below, height = erfc(-z / sqrt(2)) / 2, exp(-z * z / 2) / sqrt(2 * pi)
    short = u * (z * below + height)
    spread = sqrt(max(u * u * ((z * z + 1) * below + z * height) - short * short, 0.0))
    return source(1 - short, spread, name="plug flow") if spread > SURE else 1 - short
