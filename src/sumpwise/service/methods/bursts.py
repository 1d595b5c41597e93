"""A drain, with the pan off if it comes off, then bursts through the open cooler line, each poured back."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

from sumpwise.errors import SumpwiseError
from sumpwise.mixing.circuit.history import DRAIN, POUR, PUMP, Operation
from sumpwise.service.divisions import division
from sumpwise.service.facts.fact import Amount, Count, Fact, OnScale, Value, Word, Written, expected, step
from sumpwise.service.facts.refusals import refused
from sumpwise.service.methods.method import MOST, Gain, Method, closing, enough, pail, torque, worthwhile
from sumpwise.service.operations import at_best
from sumpwise.service.reached import reached
from sumpwise.uncertainty import combine, is_uncertain, nominal, standard

if TYPE_CHECKING:
    from sumpwise.service.case import Case


NO_MORE = 0.005
"""Litres that are not worth a pour of their own."""


class Bursts(Method):
    """The pump pumps into a pail for some seconds, as much is poured back, and so on."""

    key, washers, tasks, led = "bursts", 1, ("bursts",), True
    several = True

    def compared(self, case: Case) -> bool:
        return case.kind.pumped and bool(case.has("exchange", "bursts") or case.has("target", "fresh") or case.bursts_done)

    def impossible(self, case: Case) -> Word | None:
        why = super().impossible(case)
        if why is not None:
            return why
        if not case.ask("vehicle", "cooler_line"):
            return Word("impossible.no_line")
        if case.ask("vehicle", "cooler_thermostat"):
            return Word("impossible.thermostat")
        try:
            _ = case.circuit  # an impossible circuit is reported before a burst that is too long for it
            if not self.burst(case) > 0 or not (case.bursts_done or self.brings(case, self.soonest(case)) > 0):
                return Word("impossible.no_reserve")
            _ = self.fresh(case)
        except SumpwiseError as error:
            return Word("impossible.stop", {"reason": refused(error)})
        return None

    def filters(self, case: Case) -> int:
        return int(case.pan_off)

    def burst(self, case: Case) -> float:
        """Litres of one burst: as the job states, but no more than the pump can take before it draws air."""
        stated = case.job.value("exchange", "burst")
        return self._measured(case).value if stated is None or self.shortened(case) else nominal(stated)

    def one(self, case: Case) -> OnScale | Written:
        """One burst, as the sheet shows it."""
        stated = case.job.text("exchange", "burst")
        return self._measured(case) if not stated or self.shortened(case) else Written(stated, "volume")

    def shortened(self, case: Case) -> bool:
        """Whether a burst as stated in the job would outlast the sump."""
        stated = case.job.value("exchange", "burst")
        return stated is not None and nominal(stated) / case.flow * 60 > case.seconds_to_air * (1 + 1e-9)

    def _measured(self, case: Case) -> OnScale:
        """What the pump can take and its pail can catch, in whole divisions of the pail."""

        def most() -> OnScale:
            litres = case.flow * case.seconds_to_air / 60
            litres = litres if case.room is None else min(litres, case.room)
            return division(case, case.own_pail, litres).below(litres)

        return case.once("burst", most, held=True)

    def seconds(self, case: Case) -> float:
        """How long one lasts."""
        return self.burst(case) / case.flow * 60

    def count(self, case: Case) -> int:
        """As the job states, else by the target, at least as many as the log has; without a target, as many as that."""
        stated = case.job.value("exchange", "bursts", None if case.has("target", "fresh") else case.bursts_done)
        if stated is None:
            return max(case.once("bursts", lambda: self._enough(case), held=True), case.bursts_done)
        if not stated or not self.shortened(case):
            return int(stated)
        litres = int(stated) * nominal(case.job.value("exchange", "burst"))
        return min(MOST, ceil(litres / self.burst(case) - 1e-9))

    def _enough(self, case: Case) -> int:
        operations = [*self._refill(case), *self.round(case) * MOST]
        best = [after.resident for after in reached(case, case.middle, at_best(operations))[1::2]]
        return enough(case, best, lambda n: reached(case, case.circuit, operations[: 2 + 2 * n])[-1].resident) or worthwhile(case, best)

    def last(self, case: Case) -> tuple[Value, float] | None:
        if not self.count(case):
            return None
        poured = [after for one, after in case.course(self) if one.kind == POUR]
        return self.one(case), nominal(poured[-1].resident) - nominal(poured[-2].resident)

    def _refill(self, case: Case) -> list[Operation]:
        """Plug, pan and refill: if more or less comes out than expected, that much more or less is poured back."""
        return [Operation(DRAIN, case.let_out), Operation(POUR, combine(nominal(case.refill), [(1.0, case.let_out)]))]

    def round(self, case: Case) -> list[Operation]:
        """One burst, and what is poured back after it."""
        burst, meanwhile = self.burst(case), case.meanwhile * self.seconds(case) / 60
        return [Operation(PUMP, burst, meanwhile), Operation(POUR, burst - meanwhile)]

    def rest(self, case: Case) -> float:
        """Litres that came out and are only poured back after the last burst, because the job states a smaller refill."""
        less = case.out - nominal(case.refill) if case.has("exchange", "refill") and self.count(case) else 0.0
        return less if less > NO_MORE else 0.0

    def operations(self, case: Case) -> list[Operation]:
        """Plug and pan, the refill, then burst and pour; the rest of the refill after the last."""
        rounds = [*self._refill(case), *self.round(case) * self.count(case)]
        if self.rest(case):
            rounds[-1] = Operation(POUR, rounds[-1].volume + self.rest(case))
        return rounds

    def left(self, case: Case) -> list[Operation]:
        """The bursts that the log does not have yet, each poured back."""
        return self.round(case) * (self.count(case) - case.bursts_done)

    def fresh(self, case: Case) -> Any:
        return case.course(self)[-1][1].resident

    def gained(self, case: Case) -> list[Gain]:
        """After the refill, and after each burst and pour."""
        gained, poured = [Gain(0.0, 0.0)], 0.0
        outlet: tuple[float, Any] | None = None
        for one, after in case.course(self):
            if one.kind == PUMP:
                poured += one.poured
                outlet = poured, after.outlet
            elif one.kind == POUR:
                poured += nominal(one.volume)
                gained.append(Gain(poured, after.resident, outlet))
        return gained

    def volume(self, case: Case) -> Any:
        """Refill, bursts, what is left of the refill, and trim."""
        return case.refill + self.burst(case) * self.count(case) + self.rest(case) + case.ask("exchange", "trim")

    def spread(self, case: Case) -> float:
        """What comes out is poured back, whatever the job expects."""
        return super().spread(case) or standard(case.let_out)

    def parts(self, case: Case) -> list[tuple[Word, float]]:
        burst, count, later = self.burst(case), self.count(case), {"rest": self.rest(case), "trim": nominal(case.ask("exchange", "trim"))}
        bursts = Word("buy.bursts", {"count": Count(count), "burst": self.one(case)})
        parts = [(Word("buy.refill" if case.pan_off else "buy.refill_plug"), nominal(case.refill)), (bursts, count * burst)]
        return [*parts, *((Word(f"buy.{what}"), litres) for what, litres in later.items() if litres)]

    def work(self, case: Case) -> list[Fact]:
        pan: dict[str, Value] = {"pan": expected(case.pan)} if case.pan_off else {}
        return [
            step("steps.drain_and_pan" if pan else "steps.drain", pail=pail(case), plug=expected(case.plug), **pan),
            step("steps.filter" if pan else "steps.plug", torque=torque(case)),
            step("steps.pour_stated" if case.has("exchange", "refill") else "steps.pour_back", refill=self.poured(case)),
            self._one(case),
            *([step("steps.pour_rest", rest=Amount("volume", self.rest(case), main=True))] if self.rest(case) else []),
            step("steps.line_back"),
            *case.check.after(case, 1, closing(case)),
        ]  # fmt: skip

    def poured(self, case: Case) -> Value:
        """The refill before the first burst: as the job states, else what came out."""
        stated = case.job.text("exchange", "refill")
        return Written(stated, "volume") if stated else expected(case.refill)

    def _one(self, case: Case) -> Fact:
        """A burst, alone or with a helper."""
        says: dict[str, Value] = {
            "burst": self.one(case), "seconds": Count(floor(self.seconds(case) + 1e-9)),
            "flow": _flow(case), "times": Count(self.count(case)), "pail": pail(case), "first": self.first(case),
        }  # fmt: skip
        if not case.meanwhile:
            return step("steps.burst", **says)
        return step("steps.burst_helped", rate=Amount("flow", case.meanwhile, step=0.1), **says)

    def soonest(self, case: Case, lower: float = 0.0) -> int:
        """How many seconds the first burst may run at most: the converter takes its own back first.

        `lower` is by how many litres the sump is lower than planned.
        """
        return floor(case.seconds_until_air(case.meanwhile, lower + nominal(case.ask("circuit", "drain_back"))))

    def brings(self, case: Case, seconds: float) -> float:
        """Litres that the first burst delivers in so many seconds: what the pump moves, less what drained back."""
        return case.flow * seconds / 60 - nominal(case.ask("circuit", "drain_back"))

    def first(self, case: Case) -> Word:
        """That the first burst must be shorter than the others, if it must."""
        soonest = self.soonest(case)
        if soonest >= self.seconds(case):
            return Word("none")
        return Word("steps.first_burst", {"seconds": Count(soonest), "back": Amount("volume", case.ask("circuit", "drain_back"), step=0.1)})


def _flow(case: Case) -> Value:
    stated = case.job.text("exchange", "flow")
    if stated and is_uncertain(flow := case.job.value("exchange", "flow")):
        return Amount("flow", flow)
    return Written(stated, "flow") if stated else Amount("flow", case.flow, step=0.1)


BURSTS = Bursts()
FAMILY = (BURSTS,)
