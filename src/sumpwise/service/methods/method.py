"""What a method is: its name, what it needs, its operations, what it uses, and why it may be impossible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import erfc, sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.mixing.circuit.history import POUR
from sumpwise.quantities.boundary import inside
from sumpwise.service.facts.fact import Count, Fact, Name, Series, Value, Word, Written, expected
from sumpwise.service.facts.torque import settings
from sumpwise.service.kinds import SEALED
from sumpwise.uncertainty import nominal, standard

if TYPE_CHECKING:
    from sumpwise.mixing.circuit.history import Operation
    from sumpwise.service.case import Case


MOST = 40
"""The most drains or bursts tried for one service, as many as a job may state."""


class Gain(NamedTuple):
    """Litres of new fluid used so far, the fresh share inside then, and the same two at the end of the line before that (None without)."""

    litres: float
    inside: Any
    outlet: tuple[float, Any] | None = None


class Method:
    """One way to renew the fill. Each family of methods is a module next to this one; `registry.METHODS` lists them all.

    Attributes
    ----------
    key : str
        Stable; its name is the entry `method.<key>` of the catalogue.
    washers : int
        Used each time: one whenever the plug was out.
    tasks : tuple of str
        What takes the owner's time: keys of the table `hours`.
    planned : bool
        Whether it can be planned; a mere limit, or doing nothing, cannot.
    bound : bool
        Whether it is only a limit on what another method can reach.
    led : bool
        Whether its result is only known by running the circuit through it, so that there is none if it is impossible.
    several : bool
        Whether it is a number of drains or bursts that depends on the target.
    by_shop : bool
        Whether it ends with what only a shop does, which no log has.
    """

    key = ""
    washers = 0
    tasks: tuple[str, ...] = ()
    planned = True
    bound = False
    led = False
    several = False
    by_shop = False

    def compared(self, case: Case) -> bool:
        """Whether the job says enough to compare it at all."""
        return True

    def impossible(self, case: Case) -> Word | None:
        """Why the owner cannot do it on this unit, or None."""
        return Word("impossible.sealed") if case.check.key == SEALED else None

    def count(self, case: Case) -> int:
        """How many drains, bursts or exchanges."""
        return 1

    def times(self, case: Case) -> int:
        """How often washers, filters and hours are used at one service."""
        return 1

    def filters(self, case: Case) -> int:
        """Used each time: one if the pan comes off."""
        return 0

    def hours(self, case: Case) -> float:
        """Hands-on hours of one service."""
        return self.times(case) * sum(nominal(case.ask("hours", task)) for task in self.tasks) / 60

    def last(self, case: Case) -> tuple[Value, float] | None:
        """The last drain or burst of a number that was worked out, as shown, and the fresh share it added; None if there is none."""
        return None

    def operations(self, case: Case) -> list[Operation]:
        """The planned operations, in order."""
        raise NotImplementedError

    def left(self, case: Case) -> list[Operation]:
        """Those that are still to come after what the log has; none of what others do."""
        return []

    def fresh(self, case: Case) -> Any:
        """Fresh fraction inside after doing it now."""
        raise NotImplementedError

    def volume(self, case: Case) -> Any:
        """Litres of new fluid used now."""
        raise NotImplementedError

    def spread(self, case: Case) -> float:
        """Standard uncertainty of the litres it will actually need."""
        return standard(self.volume(case))

    def gained(self, case: Case) -> list[Gain]:
        """How fresh it gets with every litre, from the start."""
        return [Gain(0.0, 0.0), Gain(nominal(self.volume(case)), self.fresh(case))]

    def poured(self, case: Case) -> Value | None:
        """What goes in first, as shown; None if nothing is poured."""
        first = next((one for one in self.operations(case) if one.kind == POUR), None)
        return None if first is None else expected(first.volume)

    def unchecked(self, case: Case) -> tuple[Sequence[Operation], Any]:
        """What is done after the last level check, and how far off the level may have been then: by default everything, and the start."""
        return self.operations(case), corrected(case)

    def parts(self, case: Case) -> list[tuple[Word, float]]:
        """The parts of the volume, for the shopping list."""
        return [(Word(f"method.{self.key}"), nominal(self.volume(case)))]

    def bought(self, case: Case) -> list[tuple[Word, float]]:
        """Those that the owner has to buy."""
        return self.parts(case)

    def cost(self, case: Case) -> Any:
        """Cost now: fluid, washers, filters, and own hours if the job says what one is worth."""
        return self.volume(case) * case.cost_per_litre + self.used(case)

    def used(self, case: Case) -> float:
        """Cost of washers, filters and own hours."""
        wears = {"washer": self.washers, "filter": self.filters(case)}
        each = sum(count * nominal(case.ask("costs", part)) for part, count in wears.items() if count)
        return self.times(case) * each + self.hours(case) * (case.job.value("costs", "hour") or 0.0)

    def rhythm(self, case: Case) -> float | None:
        """Minutes until it is done again; None for never."""
        return case.interval

    def remarks(self, case: Case) -> list[str]:
        """What is assumed about it beyond the keys of the job: ids of facts."""
        return []

    def steps(self, case: Case) -> list[Fact]:
        """What to do, step by step, if it is planned."""
        return [*self.before(case), *self.work(case)]

    def before(self, case: Case) -> list[Fact]:
        """Whatever this way of checking the level requires first."""
        return case.check.before(case)

    def work(self, case: Case) -> list[Fact]:
        """The steps of the work itself."""
        raise NotImplementedError

    def shop(self) -> list[Fact]:
        """Those of them that only a shop does."""
        return []


def at_least(fresh: Any, target: float) -> float:
    """Probability that a share is at least the target, assuming it is normal."""
    best, u = nominal(fresh), standard(fresh)
    return erfc((target - best) / u / sqrt(2)) / 2 if u else float(best >= target)


def enough(case: Case, likely: Sequence[float], share: Callable[[int], Any]) -> int | None:
    """The fewest drains or bursts that meet the target with the required probability; None if none do.

    `likely` is about the fresh share inside after none, one, two and so on: it only says which numbers to try. `share` is that share after
    a number of them, with its uncertainty; few are asked for, mostly the last that fails, the first that is enough, and one before.
    """
    from statistics import NormalDist

    away = NormalDist().inv_cdf(case.probability)
    fails, meets = 0, len(likely)
    tried = next((n for n in range(1, meets) if likely[n] >= case.target), meets - 1)
    less, bend, before = 0.0, 0.0, 0.0
    """By how much the share reached that surely is less than the likely one, how that changes with the likely one, and which that was."""
    while meets - fails > 1:
        told = share(tried)
        if at_least(told, case.target) >= case.probability:
            meets = tried
        else:
            fails = tried
        now, last = likely[tried] - nominal(told) + away * standard(told), likely[tried]
        bend = (now - less) / (last - before) if before and last != before else 0.0
        less, before = now, last
        ahead = (n for n in range(fails + 1, meets) if likely[n] - less - bend * (likely[n] - before) >= case.target)
        tried = next(ahead, meets - 1)
    return meets if meets < len(likely) else None


def worthwhile(case: Case, best: Sequence[float]) -> int:
    """How many drains or bursts each add as much as the job asks of one, by best estimates after none, one, two and so on; at least one."""
    worth = nominal(case.ask("target", "worth"))
    return max((n for n in range(1, len(best)) if best[n] - best[n - 1] >= worth), default=1)


def corrected(case: Case) -> Any:
    """Litres off the target after the level was corrected: zero, with the uncertainty of a stick reading, or of an unread level."""
    return case.before - nominal(case.before)


def litres(value: Any) -> Any:
    """Internal litres as an argument takes them."""
    return inside(value, "volume")


def pail(case: Case) -> Word:
    """What to drain into: the pail of the job if it can hold the fluid, else any other with a scale."""
    own = case.own_pail
    return Word("steps.a_pail") if own is None else Word("steps.vessel", {"name": Name(own["name"])})


def torque(case: Case) -> Word:
    """The torque of each bolt and the setting of the wrench; of the plug alone if the pan stays on; else where to find torques."""
    last = _last(case)
    bolts = [bolt for bolt in settings(case) if bolt not in last]
    if not case.method.filters(case):
        plugs = [bolt for bolt in bolts if any(word in bolt[0].text.lower() for word in ("plug", "drain"))]
        bolts = plugs or [bolt for bolt in bolts if "pan" not in bolt[0].text.lower().split()]
    return _torques(bolts) if bolts else Word("steps.torque_maker")


def closing(case: Case) -> Word:
    """The same for the plug that is closed last, if the job lists it; else nothing."""
    last = _last(case)
    return Word("steps.closing", {"count": Count(len(last)), "torque": _torques(last)}) if last else Word("none")


def _last(case: Case) -> list[tuple[Name, Written, Value]]:
    """The plug used for the level check, found by its name."""
    return [bolt for bolt in settings(case) if any(word in bolt[0].text.lower().split() for word in case.check.closes)]


def _torques(bolts: list[tuple[Name, Written, Value]]) -> Word:
    listed = [
        Word(f"steps.torque_{'plain' if isinstance(setting, Word) else 'bolt'}", {"bolt": name, "torque": says, "setting": setting})
        for name, says, setting in bolts
    ]
    return Word("steps.torque_values", {"bolts": Series(tuple(listed), "join.semicolon")})
