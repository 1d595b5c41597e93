"""Pan off, then bursts by the open cooler line, each poured back."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

from sumpwise.errors import SumpwiseError
from sumpwise.service.facts.fact import Amount, Count, Fact, Word, step
from sumpwise.service.facts.refusals import refused
from sumpwise.service.methods.method import Method, torque
from sumpwise.service.operations import Operation
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.case import Case


class Bursts(Method):
    """The pump empties the line into a pail for some seconds, the same is poured back, again and again."""

    key, washers, filters, hours = "bursts", 1, 1, 3.0

    def compared(self, case: Case) -> bool:
        """Only where the job states them."""
        return case.has("exchange", "burst", "bursts")

    def impossible(self, case: Case) -> Word | None:
        """No line, a thermostat, a burst that outlasts the sump, or a circuit that cannot be."""
        why = super().impossible(case)
        if why is not None:
            return why
        if not case.ask("vehicle", "cooler_line"):
            return Word("impossible.no_line")
        if case.ask("vehicle", "cooler_thermostat"):
            return Word("impossible.thermostat")
        try:
            _ = case.circuit  # one that cannot be is said before a burst that is too long for it
            why = self._too_long(case)
            if why is None:
                case.course(self)
        except SumpwiseError as error:
            return Word("impossible.stop", {"reason": refused(error)})
        return why

    def _too_long(self, case: Case) -> Word | None:
        """Why a burst of the job lasts longer than the pump can run before it draws air, or nothing."""
        if not self.count(case):
            return None
        burst, lasts, air = self.burst(case), self.seconds(case), case.seconds_to_air
        if lasts <= air:
            return None
        most = floor(100 * burst * air / lasts) / 100
        return Word("impossible.too_long", {
            "burst": Amount("volume", burst), "lasts": Count(ceil(lasts)), "air": Count(floor(air)), "most": Amount("volume", most),
        })  # fmt: skip

    def burst(self, case: Case) -> float:
        """Litres of one."""
        return nominal(case.job.value("exchange", "burst"))

    def seconds(self, case: Case) -> float:
        """How long one lasts."""
        return self.burst(case) / case.flow * 60

    def count(self, case: Case) -> int:
        """As the job states."""
        return int(case.job.value("exchange", "bursts"))

    def operations(self, case: Case) -> list[Operation]:
        """Plug and pan, the refill, then burst and pour."""
        burst = self.burst(case)
        round_ = [Operation("pump", burst), Operation("pour", burst)]
        return [Operation("drain", case.out), Operation("pour", nominal(case.refill)), *round_ * self.count(case)]

    def fresh(self, case: Case) -> Any:
        """As the circuit says at the end."""
        return case.course(self)[-1][1].resident

    def volume(self, case: Case) -> Any:
        """Refill, bursts and trim."""
        return case.refill + self.burst(case) * self.count(case) + case.ask("exchange", "trim")

    def parts(self, case: Case) -> list[tuple[Word, float]]:
        """The three of them."""
        burst, count, trim = self.burst(case), self.count(case), nominal(case.ask("exchange", "trim"))
        bursts = Word("buy.bursts", {"count": Count(count), "burst": Amount("volume", burst)})
        parts = [(Word("buy.refill"), nominal(case.refill)), (bursts, count * burst)]
        return [*parts, (Word("buy.trim"), trim)] if trim else parts

    def work(self, case: Case) -> list[Fact]:
        """Plug, pan, refill, bursts, level."""
        return [
            step("steps.drain_and_pan", plug=Amount("volume", case.plug), pan=Amount("volume", case.pan)),
            step("steps.filter", torque=torque(case)),
            step("steps.pour_back", refill=Amount("volume", case.refill)),
            step(
                "steps.burst", burst=Amount("volume", self.burst(case)), seconds=Count(floor(self.seconds(case) + 1e-9)),
                flow=Amount("flow", case.flow), times=Count(self.count(case)),
            ),
            step("steps.line_back"),
            *case.check.after(case, 1),
        ]  # fmt: skip


FAMILY = (Bursts(),)
