"""Pan off, then bursts by the open cooler line, each poured back."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

from sumpwise._uncertain import nominal
from sumpwise.errors import SumpwiseError
from sumpwise.service.figures import figure, number
from sumpwise.service.methods.method import FIRST_STEP, Method, tight
from sumpwise.service.operations import Operation

if TYPE_CHECKING:
    from sumpwise.service.case import Case


class Bursts(Method):
    """The pump empties the line into a pail for some seconds, the same is poured back, again and again."""

    key, name, washers, filters, hours = "bursts", "pan off, then bursts by the cooler line", 1, 1, 3.0

    def compared(self, case: Case) -> bool:
        """Only where the job states them."""
        return case.has("exchange", "burst", "bursts")

    def impossible(self, case: Case) -> str:
        """No line, a thermostat, a burst that outlasts the sump, or a circuit that cannot be."""
        why = super().impossible(case)
        if why:
            return why
        if not case.ask("vehicle", "cooler_line"):
            return "no cooler line to open"
        if case.ask("vehicle", "cooler_thermostat"):
            return "the thermostat shuts the cooler line until the fluid is hot"
        try:
            why = self._too_long(case)
            if not why:
                case.course(self)
        except SumpwiseError as error:
            return f"stop: {error.problem}" + (f"; {error.hint}" if error.hint else "")
        return why

    def _too_long(self, case: Case) -> str:
        """Why a burst of the job lasts longer than the pump can run before it draws air, or nothing."""
        if not self.count(case):
            return ""
        burst = self.burst(case)
        lasts, air = self.seconds(case), case.seconds_to_air
        if lasts <= air:
            return ""
        return (
            f"stop: a burst of {burst:g} L takes {ceil(lasts)} s, and the pump draws air after {floor(air)} s; "
            f"bursts of at most {floor(100 * burst * air / lasts) / 100:g} L"
        )

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
        return case.refill + self.burst(case) * self.count(case) + case.job.value("exchange", "trim", 0.0)

    def parts(self, case: Case) -> list[tuple[str, float]]:
        """The three of them."""
        burst, count, trim = self.burst(case), self.count(case), nominal(case.job.value("exchange", "trim", 0.0))
        parts = [("refill after plug, pan and filter", nominal(case.refill)), (f"{count} bursts of {number(burst, 2)} L", count * burst)]
        return [*parts, ("trim", trim)] if trim else parts

    def steps(self, case: Case) -> list[str]:
        """Plug, pan, refill, bursts, level."""
        burst = self.burst(case)
        return [
            FIRST_STEP,
            f"Drain the plug into the pail, expect {figure(case.plug, 'L')}; pan and filter bring about {figure(case.pan, 'L')} more. "
            "Read, write down, empty the pail.",
            f"New filter, clean pan and magnet; bolts and plug at their {tight(case)}.",
            f"Pour {figure(case.refill, 'L')} with the engine off.",
            f"Open the return line into the pail. Run the engine for one burst of {figure(burst, 'L')}, "
            f"about {floor(self.seconds(case) + 1e-9)} s at {number(case.flow, 2)} L/min, stop, pour back what came out. "
            f"{self.count(case)} times.",
            "Line back on, through the gears, a drive, then the level in its window; add in steps of at most a third of the band.",
        ]
