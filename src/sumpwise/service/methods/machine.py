"""An exchange by a shop's machine through the cooler line: fully stirred, the bound of plug flow, and after a drain."""

from __future__ import annotations

from collections.abc import Sequence
from math import erfc, exp, pi, sqrt
from typing import TYPE_CHECKING, Any

from sumpwise.mixing import continuous
from sumpwise.mixing.circuit.history import Operation
from sumpwise.service.facts.fact import Fact, Word, step
from sumpwise.service.methods.drains import ONCE
from sumpwise.service.methods.method import Gain, Method, corrected, litres
from sumpwise.service.operations import exchange
from sumpwise.uncertainty import nominal, source, standard

if TYPE_CHECKING:
    from sumpwise.service.case import Case

PORTIONS = 12
"""Into which an exchange is divided where it is followed."""
SURE = 1e-9
"""Spread of a share below which plug flow has certainly filled the whole."""


class Machine(Method):
    """Push new fluid in while the old runs out."""

    key = "machine stirred"
    tasks: tuple[str, ...] = ("machine",)

    def compared(self, case: Case) -> bool:
        """Only where a pump moves the fluid."""
        return case.kind.pumped

    def impossible(self, case: Case) -> Word | None:
        """Without a cooler line there is nothing to connect."""
        return super().impossible(case) or (None if case.ask("vehicle", "cooler_line") else Word("impossible.no_line"))

    def pushed(self, case: Case) -> Any:
        """Litres that the machine pushes: those of the quote, where there is one."""
        return case.ask("quote", "volume")

    def operations(self, case: Case) -> list[Operation]:
        """As much in as out, all the time."""
        return [exchange(self.pushed(case))]

    def fresh(self, case: Case) -> Any:
        """When all is pushed."""
        return self.after(case, self.pushed(case))

    def after(self, case: Case, pushed: Any) -> Any:
        """Fresh fraction after so much is pushed: fully stirred."""
        return continuous.exchange(litres(pushed), litres(case.total)).resident

    def gained(self, case: Case) -> list[Gain]:
        """Share by share of what is pushed, after what was drained before."""
        first = nominal(self.volume(case) - self.pushed(case))
        portions = [self.pushed(case) * (k / PORTIONS) for k in range(PORTIONS + 1)]
        gained = [Gain(first + nominal(pushed), self.after(case, pushed)) for pushed in portions]
        return [Gain(0.0, 0.0), *gained] if first else gained

    def volume(self, case: Case) -> Any:
        """What is pushed in."""
        return self.pushed(case)

    def cost(self, case: Case) -> Any:
        """What the quote says, fluid included; without one the fluid alone."""
        asked = case.job.value("quote", "price")
        if asked is None:
            return super().cost(case)
        return (self.volume(case) - self.pushed(case)) * case.cost_per_litre + self.used(case) + asked

    def remarks(self, case: Case) -> list[str]:
        """What its price holds."""
        if case.job.value("quote", "price") is None:
            return ["assumed.machine_fluid"]
        return ["assumed.machine_quote"]

    def work(self, case: Case) -> list[Fact]:
        """Have it done."""
        return [step("steps.machine")]


class Plug(Machine):
    """The most that an exchange could reach: the old fluid leaves first, unmixed."""

    key, planned, bound = "machine plug", False, True

    def after(self, case: Case, pushed: Any) -> Any:
        """All that is pushed in stays, until it is full."""
        return _plug_flow(pushed / case.total)


class After(Machine):
    """One drain first."""

    key, washers, tasks = "drain and machine", 1, ("drain", "machine")

    def count(self, case: Case) -> int:
        """A drain and an exchange."""
        return 2

    def operations(self, case: Case) -> list[Operation]:
        """Both."""
        return [*ONCE.operations(case), *super().operations(case)]

    def after(self, case: Case, pushed: Any) -> Any:
        """Of what the drain left, the exchange renews its share."""
        once = ONCE.fresh(case)
        return once + (1 - once) * super().after(case, pushed)

    def volume(self, case: Case) -> Any:
        """Both together."""
        return ONCE.drained(case) + self.pushed(case)

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        """The exchange: the level was checked after the drain."""
        return super().operations(case), corrected(case)

    def work(self, case: Case) -> list[Fact]:
        """Drain, then have it exchanged."""
        return [*ONCE.work(case), *super().work(case)]


FAMILY = (Machine(), Plug(), After())


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
